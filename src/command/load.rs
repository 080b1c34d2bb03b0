//! Loading: charts, takes and assignments from where the command line says, with sizes limited and slips explained.

use std::fmt;
use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use crate::chart::read::MOST_BYTES;
use crate::chart::{Backing, Chart, ChartErrors, Warning};
use crate::practice::assignment::{self, Assignment, NoAssignment};
use crate::practice::hand_in;
use crate::store::error_words::in_words;
use crate::take::midi_file::MAX_FILE_BYTES;
use crate::theory::chord::BareSymbols;
use crate::theory::nearest;

use super::values::ChartSource;

/// Endings of files that are not read yet, and what to bring instead.
const NOT_YET: [&str; 3] = ["musicxml", "mxl", "xml"];

/// The largest list of names, in bytes.
const LONGEST_LIST: usize = 1 << 20;

/// Why something named on the command line could not be loaded.
#[derive(Debug, thiserror::Error)]
pub enum NotLoaded {
    /// The file could not be opened or read.
    #[error("{}: {}", path.display(), said(source))]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// It is a folder.
    #[error("{}: is a folder; name a file in it", path.display())]
    Folder {
        /// The folder.
        path: PathBuf,
    },
    /// It is larger than what is read.
    #[error("{}: has more than {most} bytes, the most that is read", path.display())]
    TooLarge {
        /// The file.
        path: PathBuf,
        /// The most.
        most: usize,
    },
    /// It is no text.
    #[error("{}: byte {byte} is no UTF-8; {kind}. Save it as UTF-8", path.display())]
    NoText {
        /// The file.
        path: PathBuf,
        /// What it should be.
        kind: TextKind,
        /// The first byte that does not read, from 0.
        byte: usize,
    },
    /// Neither a file nor a chart that ships.
    #[error("no file and no chart that ships is called \"{name}\". {}", near_or_all(nearest.as_deref()))]
    NoChart {
        /// What was written.
        name: String,
        /// The nearest chart that ships, if one is near.
        nearest: Option<String>,
    },
    /// A format that is not read yet.
    #[error("{}: MusicXML is not read yet. Export the chart as MIDI with its chord symbols as text, or write it as .bars", path.display())]
    NotYet {
        /// The file.
        path: PathBuf,
    },
    /// The chart has slips.
    #[error(transparent)]
    Chart(#[from] ChartErrors),
    /// The assignment has slips.
    #[error(transparent)]
    Assignment(#[from] NoAssignment),
}

/// The kinds of text that are read. Prints what such a file is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TextKind {
    /// A chart.
    Chart,
    /// An assignment.
    Bands,
    /// What a student hands in.
    HandIn,
    /// Names, one a line.
    Names,
}

impl fmt::Display for TextKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Chart => "a chart is plain text",
            Self::Names => "a list of names is plain text",
            Self::HandIn => "a hand-in is plain text",
            Self::Bands => "a file of bands is plain text, as in chord = \"55-70\"",
        })
    }
}

fn near_or_all(nearest: Option<&str>) -> String {
    let all = || {
        let stems: Vec<&str> = Backing::ALL.iter().map(|backing| backing.stem).collect();
        format!("Charts that ship: {}", stems.join(", "))
    };
    nearest.map_or_else(all, |stem| format!("Did you mean {stem}?"))
}

fn said(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file; check its name and folder".to_owned(),
        io::ErrorKind::PermissionDenied => "may not be read; see its permissions".to_owned(),
        _ => in_words(error),
    }
}

/// A chart with what was odd about its text.
pub struct LoadedChart {
    /// The chart.
    pub chart: Chart,
    /// Cautions, with their places.
    pub warnings: Vec<Warning>,
}

/// Loads a chart from standard input, a file, or those that ship.
pub fn chart(source: &ChartSource, bare: BareSymbols) -> Result<LoadedChart, NotLoaded> {
    let (name, text) = match source {
        ChartSource::Stdin => ("-".to_owned(), text(Path::new("-"), io::stdin().lock())?),
        ChartSource::Named(path) => chart_text(path)?,
        ChartSource::Carried { name, text } => (name.clone(), text.clone()),
    };
    let (chart, warnings) = Chart::parse(&name, &text, bare)?;
    Ok(LoadedChart { chart, warnings })
}

fn chart_text(path: &Path) -> Result<(String, String), NotLoaded> {
    refuse_what_is_not_read(path)?;
    let written = path.display().to_string();
    let shipped = Backing::find(written.strip_suffix(".bars").unwrap_or(&written));
    match (path.exists(), shipped) {
        (false, Some(backing)) => Ok((format!("{}.bars", backing.stem), backing.text.to_owned())),
        (false, None) if path.components().count() == 1 && path.extension().is_none() => {
            let stems = Backing::ALL.iter().map(|backing| backing.stem.to_owned());
            let near = |stem: &String| strsim::damerau_levenshtein(&written, stem) <= stem.len() / 2;
            Err(NotLoaded::NoChart { nearest: nearest(&written, stems).filter(near), name: written })
        }
        _ => Ok((written, text(path, open(path)?)?)),
    }
}

fn refuse_what_is_not_read(path: &Path) -> Result<(), NotLoaded> {
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    if ending.is_some_and(|ending| NOT_YET.contains(&ending.as_str())) {
        return Err(NotLoaded::NotYet { path: path.to_owned() });
    }
    Ok(())
}

/// Loads the bytes of a MIDI file; `-` is standard input.
pub fn midi_bytes(path: &Path) -> Result<Vec<u8>, NotLoaded> {
    refuse_what_is_not_read(path)?;
    if path == Path::new("-") {
        return bytes(path, io::stdin().lock(), MAX_FILE_BYTES);
    }
    bytes(path, open(path)?, MAX_FILE_BYTES)
}

/// Loads an assignment.
pub fn assignment(path: &Path) -> Result<Assignment, NotLoaded> {
    Ok(Assignment::parse(&path.display().to_string(), &assignment_text(path)?)?)
}

/// Loads the text of an assignment as it is written.
pub fn assignment_text(path: &Path) -> Result<String, NotLoaded> {
    let raw = bytes(path, open(path)?, assignment::LARGEST)?;
    decoded(path, raw, TextKind::Bands)
}

/// Loads the text of a hand-in as it is written.
pub fn hand_in_text(path: &Path) -> Result<String, NotLoaded> {
    let raw = bytes(path, open(path)?, hand_in::LARGEST)?;
    decoded(path, raw, TextKind::HandIn)
}

/// Loads a list of names, one a line.
pub fn list_of_names(path: &Path) -> Result<String, NotLoaded> {
    let raw = bytes(path, open(path)?, LONGEST_LIST)?;
    decoded(path, raw, TextKind::Names)
}

fn open(path: &Path) -> Result<File, NotLoaded> {
    let unreadable = |source| NotLoaded::Unreadable { path: path.to_owned(), source };
    if path.is_dir() {
        return Err(NotLoaded::Folder { path: path.to_owned() });
    }
    File::open(path).map_err(unreadable)
}

fn text(path: &Path, from: impl Read) -> Result<String, NotLoaded> {
    let raw = bytes(path, from, MOST_BYTES)?;
    decoded(path, raw, TextKind::Chart)
}

fn decoded(path: &Path, raw: Vec<u8>, kind: TextKind) -> Result<String, NotLoaded> {
    String::from_utf8(raw).map_err(|error| {
        let byte = error.utf8_error().valid_up_to();
        NotLoaded::NoText { path: path.to_owned(), kind, byte }
    })
}

/// Reads at most `most` bytes; one more is refused.
fn bytes(path: &Path, from: impl Read, most: usize) -> Result<Vec<u8>, NotLoaded> {
    let mut bytes = Vec::new();
    let unreadable = |source| NotLoaded::Unreadable { path: path.to_owned(), source };
    from.take(most as u64 + 1).read_to_end(&mut bytes).map_err(unreadable)?;
    if bytes.len() > most {
        return Err(NotLoaded::TooLarge { path: path.to_owned(), most });
    }
    Ok(bytes)
}
