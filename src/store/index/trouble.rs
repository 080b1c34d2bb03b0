//! What can be wrong with the index, in words. None of it loses anything: takes and journal are files of their own.

use std::fmt;
use std::path::PathBuf;

use rusqlite::ErrorCode;

/// What was met, and what was done about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// A newer program made it.
    Newer {
        /// The index.
        path: PathBuf,
        /// The version of its layout.
        layout: i64,
    },
    /// It was damaged, moved aside and made again.
    Damaged {
        /// The index.
        path: PathBuf,
        /// What is wrong with it.
        fault: String,
        /// Where it is now.
        moved_to: PathBuf,
    },
    /// Something else has written it since; nothing is wrong with it.
    Touched {
        /// The index.
        path: PathBuf,
    },
    /// It had no bytes and was made again.
    Empty {
        /// The index.
        path: PathBuf,
    },
    /// It cannot be written or used where it is.
    Unusable {
        /// The index.
        path: PathBuf,
        /// Why.
        why: String,
    },
    /// Another program has been writing it for longer than is waited.
    Busy {
        /// The index.
        path: PathBuf,
    },
    /// The journal does not take down when takes were kept.
    NotNoted {
        /// Why, with its place.
        why: String,
    },
    /// A take's file holds something else than was kept.
    Changed {
        /// The file.
        path: PathBuf,
    },
    /// It stands in a network folder.
    Network {
        /// The index.
        path: PathBuf,
    },
}

/// Prints the place, what is wrong, and what becomes of it.
impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Newer { path, layout } => write!(
                f,
                "{}: a newer barwise made this index (layout {layout}); it is left alone, and the files are read \
                 instead. Update barwise, or delete it: it is made again",
                path.display()
            ),
            Self::Damaged { path, fault, moved_to } => write!(
                f,
                "{}: the index was damaged ({fault}); it is made again from the files. The damaged one is {}",
                path.display(),
                moved_to.display()
            ),
            Self::Touched { path } => {
                write!(f, "{}: the index is not as it was left; it was checked, and is whole", path.display())
            }
            Self::Empty { path } => {
                write!(f, "{}: the index was empty; it is made again from the files", path.display())
            }
            Self::Unusable { path, why } => write!(
                f,
                "{}: the index cannot be used ({why}); the files are read instead, and nothing is kept for the next \
                 time",
                path.display()
            ),
            Self::Busy { path } => write!(
                f,
                "{}: another barwise is writing the index; the files are read instead",
                path.display()
            ),
            Self::NotNoted { why } => {
                write!(f, "When takes were kept is known by the times of their files alone: {why}")
            }
            Self::Changed { path } => {
                write!(
                    f,
                    "{}: this is not the file that was kept under its number; it has changed",
                    path.display()
                )
            }
            Self::Network { path } => write!(
                f,
                "{}: this seems to be a network folder; the index is kept there in a slower and safer way",
                path.display()
            ),
        }
    }
}

/// Why something could not be done with a database.
#[derive(Debug, thiserror::Error)]
pub enum Fault {
    /// SQLite says so.
    #[error(transparent)]
    Sqlite(#[from] rusqlite::Error),
    /// A row is not as it was written.
    #[error("a row of {0} is not as it was written")]
    Row(&'static str),
    /// A newer program made it.
    #[error("layout {0} is newer than this program")]
    Newer(i64),
    /// SQLite's own check finds something wrong.
    #[error("its pages do not fit together")]
    Unsound,
    /// A copy could not be kept before its layout was changed.
    #[error("no copy could be kept before its layout is changed: {0}")]
    NoCopy(String),
}

/// What is to be done about a fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Remedy {
    /// Leave it alone and work from the files.
    LeaveNewer(i64),
    /// Leave it to the program that writes it.
    LeaveBusy,
    /// It cannot be written here: work from the files.
    DoWithout,
    /// Move it aside and make it again.
    MakeAgain,
}

impl Fault {
    pub(super) fn remedy(&self) -> Remedy {
        match self {
            Self::Newer(layout) => Remedy::LeaveNewer(*layout),
            Self::NoCopy(_) => Remedy::DoWithout,
            Self::Row(_) | Self::Unsound => Remedy::MakeAgain,
            Self::Sqlite(error) => match error.sqlite_error_code() {
                Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Remedy::LeaveBusy,
                Some(
                    ErrorCode::DiskFull
                    | ErrorCode::ReadOnly
                    | ErrorCode::CannotOpen
                    | ErrorCode::PermissionDenied
                    | ErrorCode::SystemIoFailure
                    | ErrorCode::FileLockingProtocolFailed
                    | ErrorCode::OutOfMemory,
                ) => Remedy::DoWithout,
                _ => Remedy::MakeAgain,
            },
        }
    }

    /// The fault in plain words that can stand in brackets.
    pub(super) fn in_words(&self) -> String {
        let Self::Sqlite(error) = self else { return self.to_string() };
        let plain = match error.sqlite_error_code() {
            Some(ErrorCode::DiskFull) => "the disk is full",
            Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied) => "it cannot be written",
            Some(ErrorCode::CannotOpen) => "it cannot be opened",
            Some(ErrorCode::SystemIoFailure) => "the disk does not take or give what is asked",
            Some(ErrorCode::NotADatabase) => "it is no database",
            Some(ErrorCode::DatabaseCorrupt) => "its pages do not fit together",
            _ => return error.to_string(),
        };
        plain.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rusqlite::ffi;

    fn sqlite(code: i32) -> Fault {
        Fault::Sqlite(rusqlite::Error::SqliteFailure(ffi::Error::new(code), None))
    }

    #[test]
    fn each_fault_has_its_remedy() {
        let check = |fault: Fault, expect: Remedy| assert_eq!(fault.remedy(), expect, "{fault}");
        check(sqlite(ffi::SQLITE_CORRUPT), Remedy::MakeAgain);
        check(sqlite(ffi::SQLITE_NOTADB), Remedy::MakeAgain);
        check(sqlite(ffi::SQLITE_ERROR), Remedy::MakeAgain);
        check(Fault::Row("takes"), Remedy::MakeAgain);
        check(Fault::Unsound, Remedy::MakeAgain);
        check(sqlite(ffi::SQLITE_FULL), Remedy::DoWithout);
        check(sqlite(ffi::SQLITE_READONLY), Remedy::DoWithout);
        check(sqlite(ffi::SQLITE_IOERR), Remedy::DoWithout);
        check(sqlite(ffi::SQLITE_BUSY), Remedy::LeaveBusy);
        check(Fault::Newer(9), Remedy::LeaveNewer(9));
    }
}
