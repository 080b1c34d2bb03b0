//! The takes a player keeps: MIDI files, numbered, in the data folder of the user. The files are the truth.

use std::ffi::OsString;
use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use etcetera::BaseStrategy;

/// The environment variable that names the folder of takes and other data.
pub const FOLDER_VARIABLE: &str = "BARWISE_DATA_DIR";

/// How often a number may turn out to be taken by another program before giving up.
const MOST_TRIES: u32 = 100;

/// Why a take could not be kept.
#[derive(Debug, thiserror::Error)]
pub enum NotKept {
    /// The system names no home folder.
    #[error("no home folder is known for takes: set {FOLDER_VARIABLE} to a folder")]
    NoHome,
    /// The folder or the file could not be written.
    #[error("{}: {source}; set {FOLDER_VARIABLE} to a folder that may be written", path.display())]
    Unwritable {
        /// The folder or file.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
}

/// The folder of takes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TakeFolder {
    path: PathBuf,
}

/// A take that was kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeptTake {
    /// Its number, from 1.
    pub number: u32,
    /// Its file.
    pub path: PathBuf,
}

impl TakeFolder {
    /// The folder of this user's takes: in `folder` (the value of [`FOLDER_VARIABLE`]) if it is given, else in `barwise`
    /// within the folder the system keeps data in (XDG Base Directory Specification).
    pub fn of_user(folder: Option<OsString>) -> Result<Self, NotKept> {
        let data = match folder.filter(|folder| !folder.is_empty()) {
            Some(folder) => PathBuf::from(folder),
            None => etcetera::choose_base_strategy().map_err(|_| NotKept::NoHome)?.data_dir().join("barwise"),
        };
        Ok(Self { path: data.join("takes") })
    }

    /// The number the next take will have.
    pub fn next_number(&self) -> u32 {
        let entries = fs::read_dir(&self.path).into_iter().flatten().flatten();
        let numbers = entries.filter_map(|entry| number_of(&entry.path()));
        numbers.max().unwrap_or(0) + 1
    }

    /// Keeps the bytes of a take under the next number. No file is ever written over.
    pub fn keep(&self, bytes: &[u8]) -> Result<KeptTake, NotKept> {
        let unwritable = |path: &Path| {
            let path = path.to_owned();
            move |source| NotKept::Unwritable { path, source }
        };
        fs::create_dir_all(&self.path).map_err(unwritable(&self.path))?;
        let first = self.next_number();
        let mut last = io::Error::from(io::ErrorKind::AlreadyExists);
        for number in first..first.saturating_add(MOST_TRIES) {
            let path = self.path.join(format!("take-{number:04}.mid"));
            match write_new(&path, bytes) {
                Ok(()) => return Ok(KeptTake { number, path }),
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => last = error,
                Err(error) => return Err(unwritable(&path)(error)),
            }
        }
        Err(unwritable(&self.path)(last))
    }
}

/// The number in a take's file name.
fn number_of(path: &Path) -> Option<u32> {
    let name = path.file_name()?.to_str()?;
    name.strip_prefix("take-")?.strip_suffix(".mid")?.parse().ok()
}

/// Writes a file that must not be there yet, and waits until it is on the disk.
fn write_new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn takes_are_numbered_on_and_never_written_over() {
        let home = tempfile::tempdir().expect("a folder");
        let folder = TakeFolder::of_user(Some(home.path().into())).expect("a folder");
        assert_eq!(folder.next_number(), 1);
        assert_eq!(folder.keep(b"one").expect("kept").number, 1);
        let second = folder.keep(b"two").expect("kept");
        assert_eq!((second.number, fs::read(&second.path).expect("a file")), (2, b"two".to_vec()));
        fs::write(home.path().join("takes/take-0041.mid"), b"").expect("a file");
        assert_eq!(folder.next_number(), 42);
    }

    #[test]
    fn a_folder_that_cannot_be_made_is_said_with_what_to_do() {
        let home = tempfile::tempdir().expect("a folder");
        let file = home.path().join("file");
        fs::write(&file, b"").expect("a file");
        let folder = TakeFolder::of_user(Some(file.into())).expect("a folder");
        let message = folder.keep(b"").expect_err("no folder").to_string();
        assert!(message.contains("set BARWISE_DATA_DIR"), "{message}");
    }
}
