//! Who may open or replace the index, and whether it is as the last program left it: a small file beside it.
//!
//! The file is locked while the index is opened, made again or closed, so that two programs never do so at once. In it
//! stands the size and time that the index had when it was last closed; while these hold nobody else has touched it.

use std::fs::{self, File, Metadata};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use crate::store::error_words::in_words;

/// What SQLite keeps beside a database while it is open, or after a program was killed.
const COMPANIONS: [&str; 3] = ["-wal", "-shm", "-journal"];

/// The longest seal, in bytes.
const LONGEST: u64 = 100;

/// Waits until no other program opens, closes or replaces the index; for as long as what is given back lives. `None`
/// where the folder cannot be written or knows no locks: there nobody can do any of it.
pub(super) fn turn(path: &Path) -> Option<File> {
    let file =
        File::options().read(true).write(true).create(true).truncate(false).open(seal_of(path)).ok()?;
    file.lock().ok().map(|()| file)
}

/// The file beside the index.
pub(super) fn seal_of(path: &Path) -> PathBuf {
    with_suffix(path, ".seal")
}

/// The file beside a database under a suffix.
pub(super) fn with_suffix(path: &Path, suffix: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(suffix);
    name.into()
}

/// How an index is found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Found {
    /// As the last program left it.
    AsLeft,
    /// Open in another program, left by one that was killed, or never sealed.
    Unsealed,
    /// Changed since the last program closed it.
    Touched,
}

/// How the index is found. No other program is to open, close or replace it meanwhile.
pub(super) fn found(path: &Path) -> Found {
    let mut sealed = String::new();
    let read = File::open(seal_of(path)).and_then(|file| file.take(LONGEST).read_to_string(&mut sealed));
    let is_closed = !COMPANIONS.iter().any(|suffix| with_suffix(path, suffix).exists());
    if read.is_err() || sealed.is_empty() || !is_closed {
        return Found::Unsealed;
    }
    let there = fs::metadata(path).ok().as_ref().and_then(words_of);
    if there.as_ref() == Some(&sealed) { Found::AsLeft } else { Found::Touched }
}

/// Writes down how the index was left; `turn` is the right to do so.
pub(super) fn set(path: &Path, turn: Option<File>) {
    let words = fs::metadata(path).ok().as_ref().and_then(words_of).unwrap_or_default();
    if let Some(mut file) = turn {
        // Without a seal the next program checks the index, that is all.
        let _ = file.set_len(0).and_then(|()| file.write_all(words.as_bytes()));
    }
}

fn words_of(there: &Metadata) -> Option<String> {
    let modified = Timestamp::try_from(there.modified().ok()?).ok()?;
    Some(format!("{} bytes, {}", there.len(), modified.as_nanosecond()))
}

/// Which file stands under a name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Identity(u64, u64);

impl Identity {
    /// The file that stands there now.
    #[cfg(unix)]
    pub(super) fn of(path: &Path) -> Option<Self> {
        use std::os::unix::fs::MetadataExt;
        fs::metadata(path).ok().map(|there| Self(there.dev(), there.ino()))
    }

    /// The file that stands there now, by when it was made.
    #[cfg(not(unix))]
    pub(super) fn of(path: &Path) -> Option<Self> {
        let made = Timestamp::try_from(fs::metadata(path).ok()?.created().ok()?).ok()?;
        Some(Self(made.as_second().cast_unsigned(), made.subsec_nanosecond().unsigned_abs().into()))
    }
}

/// Moves the index aside, with what SQLite keeps beside it; gives its new name.
pub(super) fn move_aside(path: &Path) -> io::Result<PathBuf> {
    let moved_to = aside(path, &Timestamp::now().strftime("%Y%m%d-%H%M%S").to_string());
    // What stays beside the new index would be laid over it, so it goes first.
    for suffix in COMPANIONS {
        match fs::rename(with_suffix(path, suffix), with_suffix(&moved_to, suffix)) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => {
                return Err(io::Error::new(error.kind(), in_words(&error)));
            }
            _ => {}
        }
    }
    fs::rename(path, &moved_to).map(|()| moved_to)
}

/// A name for a damaged index, beside it, that is not taken yet.
fn aside(path: &Path, stamp: &str) -> PathBuf {
    let named = |suffix: &str| path.with_file_name(format!("index-damaged-{stamp}{suffix}.sqlite"));
    let others = (2..).map(|number| named(&format!("-{number}")));
    std::iter::once(named("")).chain(others).find(|name| !name.exists()).unwrap_or_else(|| named(""))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder() -> (tempfile::TempDir, PathBuf) {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("index.sqlite");
        fs::write(&path, "an index").expect("a file");
        (folder, path)
    }

    #[test]
    fn a_seal_holds_until_the_index_is_changed() {
        let (_folder, path) = folder();
        assert_eq!(found(&path), Found::Unsealed, "nobody has sealed it");
        set(&path, turn(&path));
        assert_eq!(found(&path), Found::AsLeft);
        fs::write(with_suffix(&path, "-wal"), "more").expect("a file");
        assert_eq!(found(&path), Found::Unsealed, "a program has not closed it");
        fs::remove_file(with_suffix(&path, "-wal")).expect("removed");
        fs::write(&path, "another index").expect("a file");
        assert_eq!(found(&path), Found::Touched);
    }

    #[test]
    fn what_is_moved_aside_takes_its_companions_along() {
        let (_folder, path) = folder();
        fs::write(with_suffix(&path, "-wal"), "more").expect("a file");
        let before = Identity::of(&path);
        let moved_to = move_aside(&path).expect("moved");
        assert_eq!(Identity::of(&moved_to), before);
        assert!(!path.exists() && !with_suffix(&path, "-wal").exists());
        assert_eq!(fs::read_to_string(with_suffix(&moved_to, "-wal")).expect("a file"), "more");
        assert_eq!(Identity::of(&path), None);
    }

    #[test]
    fn a_name_that_is_taken_is_not_taken_twice() {
        let (_folder, path) = folder();
        let first = aside(&path, "20261130");
        fs::write(&first, b"").expect("a file");
        let second = aside(&path, "20261130");
        assert!(second.ends_with("index-damaged-20261130-2.sqlite"), "{}", second.display());
    }
}
