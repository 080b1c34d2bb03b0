//! The journal: what a player or a teacher entered, in the order they entered it. An append-only file in the data folder.
//!
//! It is text, one JSON object a line ([`entry`] has the kinds), and it is the truth: what the [index](super::index) knows
//! of it can be made again. An entry is whole on the disk before anybody is told that it was kept. Nothing is ever taken
//! out of the file: a line that does not read, or that a newer program wrote, is reported and stays where it is. A last
//! line without its end was torn by a cut; the next entry begins on a line of its own. Programs that write at once take
//! turns by a lock on the file.
//!
//! What holds now is found by [`state::State::replay`], a pure function over the entries.

pub mod entry;
pub mod lines;
pub mod state;

use std::fs::{self, File};
use std::io::{self, BufReader, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::error_words::in_words;
use super::replace::sync_folder_of;
use super::takes::FOLDER_VARIABLE;
use crate::judge::fingerprint;

pub use entry::{Entry, EntryId};
pub use lines::{Oddity, OddityKind, Reach, ReadBack, Record};
pub use state::State;

/// The name of the file in the data folder.
pub const FILE: &str = "journal.jsonl";

/// The longest line, in bytes: an assignment with a model take in it.
pub const LONGEST_LINE: usize = 8 << 20;

/// Bytes at the end of what was read by which the file is known again.
const TAIL: u64 = 1 << 10;

/// Why an entry was not written or the journal not read. Nothing that was in the file has changed.
#[derive(Debug, thiserror::Error)]
pub enum JournalError {
    /// The file is there and cannot be read.
    #[error("{}: cannot be read: {}; see its permissions", path.display(), in_words(source))]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// The file or its folder cannot be written.
    #[error("{}: this was not written down: {}; set {FOLDER_VARIABLE} to a folder that may be written", path.display(), in_words(source))]
    Unwritable {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// The entry is larger than what is read back.
    #[error("{}: this was not written down: it has {bytes} bytes, and {LONGEST_LINE} are the most", path.display())]
    TooLong {
        /// The file.
        path: PathBuf,
        /// Bytes of the line.
        bytes: usize,
    },
}

/// The journal of a data folder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Journal {
    path: PathBuf,
}

impl Journal {
    /// The journal in the [data folder](super::takes::data_folder) `data`, whether it is there yet or not.
    pub fn in_folder(data: &Path) -> Self {
        Self { path: data.join(FILE) }
    }

    /// Where it is, or would be.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Writes an entry down that was made at `at`. When this returns, the disk has it.
    pub fn append(&self, entry: Entry, at: Timestamp) -> Result<Record, JournalError> {
        let (mut file, end, start) = self.begin()?;
        let record = Record::new(end + start.len() as u64, at, entry);
        self.write(&mut file, end, &(start + &self.line_of(&record)?))?;
        Ok(record)
    }

    /// Writes entries down that were made at `at`, all of them or none.
    pub fn append_all(&self, entries: Vec<Entry>, at: Timestamp) -> Result<Vec<Record>, JournalError> {
        if entries.is_empty() {
            return Ok(Vec::new());
        }
        let (mut file, end, mut text) = self.begin()?;
        let mut records = Vec::with_capacity(entries.len());
        for entry in entries {
            let record = Record::new(end + text.len() as u64, at, entry);
            text.push_str(&self.line_of(&record)?);
            records.push(record);
        }
        self.write(&mut file, end, &text)?;
        Ok(records)
    }

    /// The file, how long it is, and what is to be written first: the end of a line that was torn.
    fn begin(&self) -> Result<(File, u64, String), JournalError> {
        let begun = || {
            let mut file = self.open_to_append()?;
            let end = file.seek(SeekFrom::End(0))?;
            let torn = end > 0 && last_byte(&mut file)? != b'\n';
            Ok((file, end, if torn { "\n".to_owned() } else { String::new() }))
        };
        begun().map_err(|source| self.unwritable(source))
    }

    fn line_of(&self, record: &Record) -> Result<String, JournalError> {
        let line = record.line();
        if line.len() > LONGEST_LINE {
            return Err(JournalError::TooLong { path: self.path.clone(), bytes: line.len() });
        }
        Ok(line)
    }

    fn write(&self, file: &mut File, end: u64, text: &str) -> Result<(), JournalError> {
        let written = write_or_take_back(file, end, text.as_bytes());
        let known = written.and_then(|()| if end == 0 { sync_folder_of(&self.path) } else { Ok(()) });
        known.map_err(|source| self.unwritable(source))
    }

    fn unwritable(&self, source: io::Error) -> JournalError {
        JournalError::Unwritable { path: self.path.clone(), source }
    }

    /// Opens the file at its end and waits for its lock, which goes with the file.
    fn open_to_append(&self) -> io::Result<File> {
        if let Some(folder) = self.path.parent() {
            fs::create_dir_all(folder)?;
        }
        let file = File::options().read(true).append(true).create(true).open(&self.path)?;
        match file.lock() {
            // Some network folders know no locks; there a line still goes to the system in one piece.
            Err(error) if error.kind() == io::ErrorKind::Unsupported => Ok(file),
            locked => locked.map(|()| file),
        }
    }

    /// Every entry that reads, and what was odd. A journal that is not there yet is empty.
    pub fn read(&self) -> Result<ReadBack, JournalError> {
        self.read_on(Reach::default())
    }

    /// The entries behind `from`, which an earlier reading came to.
    pub fn read_on(&self, from: Reach) -> Result<ReadBack, JournalError> {
        let unreadable = |source| JournalError::Unreadable { path: self.path.clone(), source };
        let Some(mut file) = self.open_to_read().map_err(unreadable)? else {
            return Ok(ReadBack::default());
        };
        file.seek(SeekFrom::Start(from.bytes)).map_err(unreadable)?;
        lines::read(&mut BufReader::new(file), &self.path, from).map_err(unreadable)
    }

    /// The file, locked against those who write; `None` where there is none.
    fn open_to_read(&self) -> io::Result<Option<File>> {
        match File::open(&self.path) {
            Ok(file) => {
                // Where there are no locks a line that is being written may read as torn, and is whole the next time.
                let _ = file.lock_shared();
                Ok(Some(file))
            }
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(error),
        }
    }

    /// A fingerprint of the last bytes before `reach`, to know whether the file still begins as it did; `None` where the
    /// file is shorter.
    pub fn tail(&self, reach: Reach) -> Result<Option<String>, JournalError> {
        let unreadable = |source| JournalError::Unreadable { path: self.path.clone(), source };
        let Some(mut file) = self.open_to_read().map_err(unreadable)? else {
            return Ok((reach.bytes == 0).then(|| fingerprint(&[])));
        };
        let length = TAIL.min(reach.bytes);
        file.seek(SeekFrom::Start(reach.bytes - length)).map_err(unreadable)?;
        let mut bytes = Vec::new();
        file.take(length).read_to_end(&mut bytes).map_err(unreadable)?;
        Ok((bytes.len() as u64 == length).then(|| fingerprint(&bytes)))
    }
}

fn last_byte(file: &mut File) -> io::Result<u8> {
    let mut byte = [0];
    file.seek(SeekFrom::End(-1))?;
    file.read_exact(&mut byte)?;
    Ok(byte[0])
}

/// Writes `bytes` behind `end` and makes the disk hold them. What could be written in part only (a full disk) is taken
/// back, so that no half line is left.
fn write_or_take_back(file: &mut File, end: u64, bytes: &[u8]) -> io::Result<()> {
    let written = file.write_all(bytes).and_then(|()| file.sync_all());
    if written.is_err() {
        // Where even this fails a torn line stays, which the next reader and the next writer know how to meet.
        let _ = file.set_len(end);
    }
    written
}

#[cfg(test)]
mod tests;
