//! The index: a database over the take files and the journal, so that much is found at once. It holds nothing of its own:
//! it may be deleted at any time and is made again from the files.
//!
//! Whoever asks gets what holds now: each question first compares the folder with what is known (names, sizes, times),
//! reads and judges what is new or changed, and forgets what is gone. Takes are judged by the settings of their day; a
//! tally is kept for each version of the rules and each set of settings, so that none is mixed with another.
//!
//! Nothing that goes wrong with the index costs an answer. One that is damaged is moved aside and made again; where none
//! can be kept (a newer program's, a folder that is only read, a full disk, another program that writes on and on), the
//! work is done in memory. Each is told as a [`Trouble`]. It runs on the thread that asks, and reads files on every core.

mod asking;
mod database;
mod files;
mod journal_rows;
mod layout;
mod mark;
mod reading;
mod seal;
mod take_rows;
mod trouble;

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use jiff::Timestamp;
use rayon::prelude::*;
use rusqlite::Connection;

use self::files::{Work, compare, look};
use self::journal_rows::NotTakenIn;
use self::reading::{Kept, Taken};
use self::trouble::{Fault, Remedy};
use super::journal::{Entry, Journal, JournalError, Oddity, Record, State};
use super::takes::{NotKept, TakeFolder};
use crate::practice::Digest;

pub use self::asking::{ChartPlayed, Filter, ListedTake};
pub use self::journal_rows::About;
pub use self::reading::Judging;
pub use self::trouble::Trouble;

/// The name of the index in the data folder.
pub const FILE: &str = "index.sqlite";

/// How many files are read and judged before they are written down: a kill costs at most so many.
const CHUNK: usize = 512;

/// How often a question is asked again after trouble: the index made again, then memory, then no more.
const MOST_TRIES: usize = 4;

/// Why the index gives no answer.
#[derive(Debug, thiserror::Error)]
pub enum IndexError {
    /// The takes themselves cannot be found out.
    #[error(transparent)]
    Takes(#[from] NotKept),
    /// The journal cannot be read.
    #[error(transparent)]
    Journal(#[from] JournalError),
    /// Not even in memory.
    #[error("the index cannot be made, not even in memory: {0}")]
    Broken(String),
}

/// The index of a data folder.
#[derive(Debug)]
pub struct Index {
    connection: Connection,
    takes: TakeFolder,
    journal: Journal,
    path: PathBuf,
    place: Place,
    /// Which file was opened, for another may stand in its place by and by.
    opened: Option<seal::Identity>,
    troubles: Vec<Trouble>,
    /// Takes whose files could not be read this time.
    unread: Vec<(u32, String)>,
    /// The last line of the journal, if it was cut off.
    torn: Option<Oddity>,
    journal_error: Option<JournalError>,
}

/// Where it is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Place {
    File,
    Memory,
}

/// What was done to bring the index up to date.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Refreshed {
    /// Takes that are there and known.
    pub takes: usize,
    /// Takes that were not known before.
    pub new: usize,
    /// Takes whose files had changed.
    pub changed: usize,
    /// Takes whose files are gone.
    pub gone: usize,
    /// Takes that were read and judged.
    pub judged: usize,
    /// Entries of the journal.
    pub entries: usize,
    /// How long it took.
    pub took: Duration,
}

/// Something that went wrong on the way to an answer.
enum Failed {
    Index(Fault),
    Takes(NotKept),
}

impl From<Fault> for Failed {
    fn from(fault: Fault) -> Self {
        Self::Index(fault)
    }
}

impl From<rusqlite::Error> for Failed {
    fn from(error: rusqlite::Error) -> Self {
        Self::Index(error.into())
    }
}

impl Index {
    /// Opens the index of the [data folder](super::takes::data_folder) `data`. What is wrong with it is among the
    /// [troubles](Self::troubles). Where there is no such folder yet, none is made.
    pub fn open(data: &Path) -> Result<Self, IndexError> {
        let path = data.join(FILE);
        let broken = |fault: Fault| IndexError::Broken(fault.in_words());
        let mut index = Self {
            connection: Connection::open_in_memory().map_err(|error| broken(error.into()))?,
            takes: TakeFolder::in_folder(data),
            journal: Journal::in_folder(data),
            path,
            place: Place::Memory,
            opened: None,
            troubles: Vec::new(),
            unread: Vec::new(),
            torn: None,
            journal_error: None,
        };
        if !data.is_dir() {
            index.connection = database::open_memory(None).map_err(broken)?;
            return Ok(index);
        }
        index.open_file()?;
        Ok(index)
    }

    /// Opens the file, or works around it.
    fn open_file(&mut self) -> Result<(), IndexError> {
        let turn = seal::turn(&self.path);
        match self.open_in_turn() {
            Ok(()) => Ok(()),
            Err(fault) => {
                drop(turn);
                self.work_around(&fault)
            }
        }
    }

    fn open_in_turn(&mut self) -> Result<(), Fault> {
        let (is_new, is_sealed) = (!self.path.exists(), seal::holds(&self.path));
        if self.path.metadata().is_ok_and(|there| there.is_file() && there.len() == 0) {
            self.troubles.push(Trouble::Empty { path: self.path.clone() });
        }
        self.place = Place::File;
        self.opened = seal::Identity::of(&self.path);
        self.connection = database::open_file(&self.path)?;
        self.opened = seal::Identity::of(&self.path);
        if is_new && database::is_on_network(&self.path) {
            self.troubles.push(Trouble::Network { path: self.path.clone() });
        }
        // Somebody else wrote it, or a program was killed while it did.
        if !is_new && !is_sealed { database::check(&self.connection) } else { Ok(()) }
    }

    /// Goes on after a fault: with an index made again, or with one in memory.
    fn work_around(&mut self, fault: &Fault) -> Result<(), IndexError> {
        let was_made_again = self.troubles.iter().any(|trouble| matches!(trouble, Trouble::Damaged { .. }));
        let (path, why) = (self.path.clone(), fault.in_words());
        match (self.place, fault.remedy()) {
            (Place::Memory, _) => return Err(IndexError::Broken(why)),
            (Place::File, Remedy::MakeAgain) if !was_made_again => return self.make_again(why),
            (Place::File, Remedy::LeaveNewer(layout)) => self.troubles.push(Trouble::Newer { path, layout }),
            (Place::File, Remedy::LeaveBusy) => self.troubles.push(Trouble::Busy { path }),
            (Place::File, Remedy::DoWithout | Remedy::MakeAgain) => {
                self.troubles.push(Trouble::Unusable { path, why });
            }
        }
        self.go_into_memory()
    }

    fn go_into_memory(&mut self) -> Result<(), IndexError> {
        self.place = Place::Memory;
        let made = database::open_memory(Some(&self.path));
        self.connection = made.map_err(|fault| IndexError::Broken(fault.in_words()))?;
        Ok(())
    }

    /// Moves a damaged index aside, with what SQLite keeps beside it, and begins a new one. Where another program has
    /// already done so, its new one is taken.
    fn make_again(&mut self, fault: String) -> Result<(), IndexError> {
        let turn = seal::turn(&self.path);
        // Closed first, so that it writes nothing any more.
        self.connection = Connection::open_in_memory()
            .map_err(|error| IndexError::Broken(Fault::from(error).in_words()))?;
        let path = self.path.clone();
        if seal::Identity::of(&path) == self.opened {
            match seal::move_aside(&path) {
                Ok(moved_to) => self.troubles.push(Trouble::Damaged { path, fault, moved_to }),
                Err(error) => {
                    let error = super::in_words::in_words(&error);
                    let why = format!("{fault}, and it cannot be moved aside: {error}");
                    self.troubles.push(Trouble::Unusable { path, why });
                    return self.go_into_memory();
                }
            }
        }
        match self.open_in_turn() {
            Ok(()) => Ok(()),
            Err(fault) => {
                drop(turn);
                self.work_around(&fault)
            }
        }
    }

    /// Where it is kept, or would be.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// What was wrong with the index so far, each told once.
    pub fn troubles(&mut self) -> Vec<Trouble> {
        std::mem::take(&mut self.troubles)
    }

    /// Answers a question on an index that is up to date.
    fn answer<T>(
        &mut self,
        judging: Judging<'_>,
        question: impl Fn(&Self) -> Result<T, Fault>,
    ) -> Result<T, IndexError> {
        self.persist(|index| {
            index.refresh_once(judging)?;
            Ok(question(index)?)
        })
    }

    /// Tries again until what goes wrong has been worked around.
    fn persist<T>(&mut self, mut work: impl FnMut(&mut Self) -> Result<T, Failed>) -> Result<T, IndexError> {
        let mut fault = None;
        for _ in 0..MOST_TRIES {
            if let Some(fault) = fault.take() {
                self.work_around(&fault)?;
            }
            match work(self) {
                Ok(answer) => return Ok(answer),
                Err(Failed::Takes(error)) => return Err(error.into()),
                Err(Failed::Index(met)) => fault = Some(met),
            }
        }
        let why = fault.map_or_else(String::new, |fault| fault.in_words());
        Err(IndexError::Broken(why))
    }

    /// Brings the index up to date and says what there was to do.
    pub fn refresh(&mut self, judging: Judging<'_>) -> Result<Refreshed, IndexError> {
        self.persist(|index| index.refresh_once(judging))
    }

    /// Forgets everything and makes it anew from the files.
    pub fn rebuild(&mut self, judging: Judging<'_>) -> Result<Refreshed, IndexError> {
        self.persist(|index| {
            let emptied = "DELETE FROM tallies; DELETE FROM takes; DELETE FROM settings; DELETE FROM journal; \
                           DELETE FROM reach";
            index.connection.execute_batch(&format!("BEGIN IMMEDIATE; {emptied}; COMMIT; VACUUM"))?;
            Ok(())
        })?;
        self.refresh(judging)
    }

    fn refresh_once(&mut self, judging: Judging<'_>) -> Result<Refreshed, Failed> {
        let began = Instant::now();
        self.take_in_journal()?;
        let (seen, unread) = look(self.takes.list().map_err(Failed::Takes)?);
        self.unread = unread;
        let there = seen.len();
        take_rows::want(&self.connection, judging)?;
        let known = take_rows::known(&self.connection)?;
        let work = compare(seen, &known, &take_rows::untallied(&self.connection)?);
        let mut done = Refreshed {
            takes: there,
            new: work.new,
            changed: work.changed,
            gone: work.gone.len(),
            ..Refreshed::default()
        };
        if !work.to_read.is_empty() || !work.gone.is_empty() {
            done.judged = self.do_work(&work, judging)?;
            take_rows::want(&self.connection, judging)?;
        }
        done.takes -= self.unread.len().min(done.takes);
        done.entries =
            self.connection.query_row("SELECT count(*) FROM journal", [], |row| row.get::<_, i64>(0))?
                as usize;
        done.took = began.elapsed();
        Ok(done)
    }

    /// Reads and judges files on every core and writes them down a chunk at a time.
    fn do_work(&mut self, work: &Work, judging: Judging<'_>) -> Result<usize, Failed> {
        let kept = self.kept()?;
        let all = work.to_read.len();
        take_rows::write(&mut self.connection, &[], &work.gone)?;
        let (mut done, mut judged, mut to_note) = (0, 0, Vec::new());
        for chunk in work.to_read.chunks(CHUNK) {
            (judging.progress)(done, all);
            let choices = judging.choices;
            let quiet = |_: usize, _: usize| {};
            let read = |seen: &files::Seen| {
                reading::read(seen.clone(), &kept, Judging { choices, progress: &quiet })
            };
            let read: Vec<Result<Taken, (u32, String)>> = chunk.par_iter().map(read).collect();
            let (taken, unread) = parted(read);
            self.unread.extend(unread);
            take_rows::write(&mut self.connection, &taken, &[])?;
            self.troubles.extend(taken.iter().filter_map(|taken| changed(taken, &kept)));
            to_note.extend(taken.iter().filter_map(|taken| note_of(taken, &kept)));
            judged += taken.len();
            done += chunk.len();
        }
        (judging.progress)(done, all);
        self.note(to_note)?;
        Ok(judged)
    }

    /// When takes were kept, as the journal says.
    fn kept(&self) -> Result<Kept, Fault> {
        let records = journal_rows::records(&self.connection, About::Kind("kept"))?;
        Ok(State::replay(&records).kept)
    }

    /// Writes into the journal when takes were kept that it does not know of: the times of files do not outlive every copy.
    fn note(&mut self, entries: Vec<Entry>) -> Result<(), Fault> {
        if entries.is_empty() {
            return Ok(());
        }
        match self.journal.append_all(entries, Timestamp::now()) {
            Ok(_) => self.take_in_journal(),
            Err(error) => {
                // Where the index itself cannot be kept the folder is only read, which is told already.
                if self.place == Place::File {
                    self.troubles.push(Trouble::NotNoted { why: error.to_string() });
                }
                Ok(())
            }
        }
    }

    fn take_in_journal(&mut self) -> Result<(), Fault> {
        self.journal_error = None;
        match journal_rows::take_in(&mut self.connection, &self.journal) {
            Ok(torn) => self.torn = torn,
            Err(NotTakenIn::Index(fault)) => return Err(fault),
            Err(NotTakenIn::Journal(error)) => self.journal_error = Some(error),
        }
        Ok(())
    }

    /// The takes that a filter lets through, by number. What stands in the way of others is told by
    /// [`unlisted`](Self::unlisted) afterwards.
    pub fn takes(&mut self, filter: &Filter, judging: Judging<'_>) -> Result<Vec<ListedTake>, IndexError> {
        self.answer(judging, |index| asking::listed(&index.connection, index.takes.path(), filter))
    }

    /// The charts that were played, each with its last take, the one played last first.
    pub fn charts(&mut self, judging: Judging<'_>) -> Result<Vec<ChartPlayed>, IndexError> {
        self.answer(judging, |index| asking::charts(&index.connection, index.takes.path()))
    }

    /// The digests of the takes that a filter lets through, by number.
    pub fn digests(&mut self, filter: &Filter, judging: Judging<'_>) -> Result<Vec<Digest>, IndexError> {
        self.answer(judging, |index| asking::digests(&index.connection, filter))
    }

    /// The takes that could not be read or judged when the index was last brought up to date, by number: with their
    /// files, and why.
    pub fn unlisted(&self) -> Result<Vec<(u32, String)>, IndexError> {
        let faults = asking::faults(&self.connection, self.takes.path());
        let mut all = faults.map_err(|fault| IndexError::Broken(fault.in_words()))?;
        all.extend(self.unread.iter().cloned());
        all.sort();
        Ok(all)
    }

    /// The entries of the journal that are asked for, in the order they were made.
    pub fn records(&mut self, about: About<'_>) -> Result<Vec<Record>, IndexError> {
        let records = self.persist(|index| {
            index.take_in_journal()?;
            Ok(journal_rows::records(&index.connection, about)?)
        })?;
        match self.journal_error.take() {
            Some(error) => Err(error.into()),
            None => Ok(records),
        }
    }

    /// What holds by the entries of the journal that are asked for.
    pub fn state(&mut self, about: About<'_>) -> Result<State, IndexError> {
        Ok(State::replay(&self.records(about)?))
    }

    /// What is odd about the journal: lines that do not read, those of a newer program, a last one that was cut off. An
    /// error where it cannot be read at all.
    pub fn oddities(&mut self) -> Result<Vec<Oddity>, IndexError> {
        let mut oddities = self.persist(|index| {
            index.take_in_journal()?;
            Ok(journal_rows::oddities(&index.connection, &index.journal)?)
        })?;
        oddities.extend(self.torn.clone());
        match self.journal_error.take() {
            Some(error) => Err(error.into()),
            None => Ok(oddities),
        }
    }
}

/// Seals the file, so that the next program need not check it.
impl Drop for Index {
    fn drop(&mut self) {
        if self.place == Place::File && self.opened == seal::Identity::of(&self.path) {
            let turn = seal::turn(&self.path);
            // What SQLite keeps beside the file is taken into it. If that cannot be done, or no memory can be had, no seal
            // is set, and the next program checks the file.
            if let Ok(memory) = Connection::open_in_memory()
                && std::mem::replace(&mut self.connection, memory).close().is_ok()
            {
                seal::set(&self.path, turn);
            }
        }
    }
}

fn parted(read: Vec<Result<Taken, (u32, String)>>) -> (Vec<Taken>, Vec<(u32, String)>) {
    let (mut taken, mut unread) = (Vec::new(), Vec::new());
    for one in read {
        match one {
            Ok(take) => taken.push(take),
            Err(said) => unread.push(said),
        }
    }
    (taken, unread)
}

/// Says that a take's file is another than the journal knows.
fn changed(taken: &Taken, kept: &Kept) -> Option<Trouble> {
    let noted = kept.get(&taken.seen.number).is_some_and(|(noted, _)| *noted != taken.sha256);
    noted.then(|| Trouble::Changed { path: taken.seen.path.clone() })
}

/// What the journal is to be told of a take, if it does not know it yet.
fn note_of(taken: &Taken, kept: &Kept) -> Option<Entry> {
    let (take, sha256, kept_at) = (taken.seen.number, taken.sha256.clone(), taken.kept_at);
    let is_noted = kept.get(&take).is_some_and(|(noted, _)| *noted == sha256);
    (!is_noted).then_some(Entry::Kept { take, sha256, kept_at })
}

#[cfg(test)]
mod tests;
