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
mod opening;
mod reading;
mod refresh;
mod seal;
mod take_rows;
mod trouble;

use std::path::{Path, PathBuf};

use rusqlite::Connection;

use self::trouble::Fault;
use super::journal::{Journal, JournalError, Oddity, Record, State};
use super::takes::{NotKept, TakeFolder};
use crate::practice::Digest;

pub use self::asking::{ChartPlayed, Filter, ListedTake};
pub use self::journal_rows::About;
pub use self::reading::Judging;
pub use self::refresh::Refreshed;
pub use self::trouble::Trouble;

/// The name of the index in the data folder.
pub const FILE: &str = "index.sqlite";

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

impl Drop for Index {
    fn drop(&mut self) {
        self.close();
    }
}

#[cfg(test)]
mod tests;
