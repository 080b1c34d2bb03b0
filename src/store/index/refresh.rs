//! Bringing the index up to date: the journal read on, and the take files that are new or changed read and judged.

use std::time::{Duration, Instant};

use jiff::Timestamp;
use rayon::prelude::*;

use super::files::{self, Work, compare, look};
use super::journal_rows::{self, About, NotTakenIn};
use super::reading::{self, Judging, Kept, Taken};
use super::trouble::Fault;
use super::{Failed, Index, Place, Trouble, take_rows};
use crate::store::journal::{Entry, State};

/// How many files are read and judged before they are written down: a kill costs at most so many.
const CHUNK: usize = 512;

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

impl Index {
    pub(super) fn refresh_once(&mut self, judging: Judging<'_>) -> Result<Refreshed, Failed> {
        let began = Instant::now();
        self.take_in_journal()?;
        let (seen, unread) = look(self.takes.list().map_err(Failed::Takes)?);
        self.unread = unread;
        take_rows::want(&self.connection, judging)?;
        let known = take_rows::known(&self.connection)?;
        let work = compare(seen, &known, &take_rows::untallied(&self.connection)?);
        let mut done =
            Refreshed { new: work.new, changed: work.changed, gone: work.gone.len(), ..Refreshed::default() };
        if !work.to_read.is_empty() || !work.gone.is_empty() {
            done.judged = self.do_work(&work, judging)?;
            take_rows::want(&self.connection, judging)?;
        }
        let count = |table: &str| {
            let sql = format!("SELECT count(*) FROM {table}");
            self.connection.query_row(&sql, [], |row| row.get::<_, i64>(0)).map(|rows| rows as usize)
        };
        (done.takes, done.entries) = (count("takes")?, count("journal")?);
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

    pub(super) fn take_in_journal(&mut self) -> Result<(), Fault> {
        self.journal_error = None;
        match journal_rows::take_in(&mut self.connection, &self.journal) {
            Ok(torn) => self.torn = torn,
            Err(NotTakenIn::Index(fault)) => return Err(fault),
            Err(NotTakenIn::Journal(error)) => self.journal_error = Some(error),
        }
        Ok(())
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
