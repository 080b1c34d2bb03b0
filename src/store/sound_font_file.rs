//! The player's SoundFont: a file somewhere, opened and read before anything sounds.

use std::fmt;
use std::fs::File;
use std::path::{Path, PathBuf};
use std::str::FromStr;

use super::error_words::in_words;
use crate::band::voices::sound_font::{NoSoundFont, SoundFont};

/// The largest file that is read, in bytes: about as much memory is taken. General MIDI SoundFonts have 5 to 500 MB.
const LARGEST: u64 = 1 << 30;

/// Where a SoundFont is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SoundFontPath(PathBuf);

/// Says what to write for a SoundFont.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("write the name of a file, as in piano.sf2, or none")]
pub struct NoPath;

/// Any text but none at all: whether there is such a file is found out when it is to be played.
impl FromStr for SoundFontPath {
    type Err = NoPath;

    fn from_str(text: &str) -> Result<Self, NoPath> {
        if text.is_empty() { Err(NoPath) } else { Ok(Self(text.into())) }
    }
}

/// Prints the path as it was typed.
impl fmt::Display for SoundFontPath {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.display().fmt(f)
    }
}

/// Says why a SoundFont is not played, with its path.
#[derive(Debug, thiserror::Error)]
pub enum SoundFontFileError {
    /// It cannot be opened or read.
    #[error("{}: {why}", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system says, in words.
        why: String,
    },
    /// It is a folder.
    #[error("{}: is a folder; name a SoundFont in it, a file whose name ends in .sf2", .0.display())]
    Folder(PathBuf),
    /// It is larger than `LARGEST`.
    #[error("{}: has more than {megabytes} megabytes, the most that is read: choose a smaller one", path.display(), megabytes = LARGEST >> 20)]
    TooLarge {
        /// The file.
        path: PathBuf,
    },
    /// What it holds cannot be played.
    #[error("{}: {why}", path.display())]
    Refused {
        /// The file.
        path: PathBuf,
        /// Why not, and what to do.
        why: NoSoundFont,
    },
}

/// Reads the SoundFont at `path`.
pub fn read(path: &SoundFontPath) -> Result<SoundFont, SoundFontFileError> {
    let path = path.0.as_path();
    let mut file = open(path)?;
    SoundFont::read(&mut file).map_err(|why| match why {
        NoSoundFont::Unreadable(error) => unreadable(path, &error),
        why => SoundFontFileError::Refused { path: path.to_owned(), why },
    })
}

fn open(path: &Path) -> Result<File, SoundFontFileError> {
    let told = std::fs::metadata(path).map_err(|error| unreadable(path, &error))?;
    if told.is_dir() {
        return Err(SoundFontFileError::Folder(path.to_owned()));
    }
    if told.len() > LARGEST {
        return Err(SoundFontFileError::TooLarge { path: path.to_owned() });
    }
    File::open(path).map_err(|error| unreadable(path, &error))
}

fn unreadable(path: &Path, error: &std::io::Error) -> SoundFontFileError {
    SoundFontFileError::Unreadable { path: path.to_owned(), why: in_words(error) }
}
