//! What is not understood in a settings file, and where it stands.
//!
//! Only two things stop a run: text that is no TOML, and a bad value for a setting there is, as playing on with another
//! value could change figures unseen. A name that is no setting is passed over with a word about it, so that a file of a
//! newer version still serves.

use std::path::{Path, PathBuf};

use super::table::{NotAccepted, UnknownSetting};

/// A slip in a settings file, with its place.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}:{line}:{column}: {fault}", path.display())]
pub struct Slip {
    path: PathBuf,
    line: usize,
    column: usize,
    key: Option<String>,
    fault: Fault,
}

/// What is not understood.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// It is no TOML.
    #[error("this is no setting ({0}). Mend the line, as in counting = \"lenient\", or move the file away")]
    Syntax(String),
    /// No setting has this name.
    #[error(transparent)]
    Unknown(#[from] UnknownSetting),
    /// The value is none of those taken.
    #[error(transparent)]
    Value(#[from] NotAccepted),
    /// A table, a list or a date stands where a value should.
    #[error("{0} takes one value, as in {0} = {1}")]
    Shape(&'static str, String),
}

impl Slip {
    /// The slip `fault` at a byte of the text of the file at `path`; `key` is the name that it is written under.
    pub(super) fn at(byte: usize, (path, text): (&Path, &str), key: Option<&str>, fault: Fault) -> Self {
        let (line, column) = line_and_column(text, byte);
        Self { path: path.to_owned(), line, column, key: key.map(str::to_owned), fault }
    }

    /// The name that it is written under; none where nothing reads.
    pub fn key(&self) -> Option<&str> {
        self.key.as_deref()
    }

    /// Whether no setting has this name, so that the line can be passed over.
    pub const fn is_unknown(&self) -> bool {
        matches!(self.fault, Fault::Unknown(_))
    }
}

/// The line and the column, in characters and from 1, of a byte offset.
fn line_and_column(text: &str, at: usize) -> (usize, usize) {
    let before = text.get(..at).unwrap_or(text);
    let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
    (before.matches('\n').count() + 1, before[line_start..].chars().count() + 1)
}
