//! Reading a take's file for the index: what it says of itself, and its tally by the settings of its day. Many at once.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::Read;
use std::path::Path;

use jiff::Timestamp;
use jiff::tz::TimeZone;
use serde_json::{Map, Value};

use super::files::Seen;
use crate::judge::{Choices, Dated, Indexed, fingerprint, indexed};
use crate::store::error_words::in_words;
use crate::take::midi_file::MAX_FILE_BYTES;
use crate::take::{Imprint, MidiFile};

/// Digits of the fingerprint of what is kept for a chart.
const KEPT_DIGITS: usize = 16;

/// How takes are to be judged.
#[derive(Clone, Copy)]
pub struct Judging<'a> {
    /// The choices for a take that brings these settings of its day.
    pub choices: &'a (dyn Fn(&Map<String, Value>) -> Choices + Sync),
    /// Is told how many of how many files have been read.
    pub progress: &'a dyn Fn(usize, usize),
}

impl Judging<'_> {
    /// The fingerprint of the choices for the settings of a day, as their text is kept.
    pub(super) fn print_of(&self, settings: &str) -> String {
        print_of(&(self.choices)(&serde_json::from_str(settings).unwrap_or_default()))
    }

    /// What stands behind that for takes of a chart that scales are kept for, by its title.
    pub(super) fn kept_prints(&self) -> Vec<(String, String)> {
        let choices = (self.choices)(&Map::new());
        kept_prints(&choices).map(|(title, print)| (title.to_owned(), print)).collect()
    }
}

/// The fingerprint of every choice that can change a figure of any take: 16 digits, as they stand in every row; behind them
/// stand those of what is kept for its chart, where anything is.
fn print_of(choices: &Choices) -> String {
    let whole = fingerprint(serde_json::json!(choices.named).to_string().as_bytes());
    whole.chars().take(16).collect()
}

/// The titles of the charts that scales are kept for, each with what stands in a row for them.
fn kept_prints(choices: &Choices) -> impl Iterator<Item = (&str, String)> {
    choices.kept.prints().map(|(title, print)| (title, format!("+{}", &print[..KEPT_DIGITS])))
}

/// What the journal says about when takes were kept: the fingerprint of the file, and the time.
pub(super) type Kept = BTreeMap<u32, (String, Timestamp)>;

/// A take's file, read and judged.
pub(super) struct Taken {
    pub seen: Seen,
    pub sha256: String,
    /// When it was kept.
    pub kept_at: Timestamp,
    /// The settings of its day, as JSON.
    pub settings: String,
    /// Whether it ended before its last chorus.
    pub stopped: bool,
    /// The last chorus of the tune, where the first and the last are the tune.
    pub head: Option<u32>,
    /// Bars traded at a time.
    pub trade: Option<u8>,
    /// The fingerprint of the settings it was judged by.
    pub print: String,
    /// What was found, or why it cannot be judged.
    pub found: Result<Box<Indexed>, String>,
}

/// Reads and judges one file. An error says with its place why it cannot be read: it may be readable the next time.
pub(super) fn read(seen: Seen, kept: &Kept, judging: Judging<'_>) -> Result<Taken, (u32, String)> {
    let named = |why: &str| (seen.number, format!("{}: {why}", seen.path.display()));
    let bytes = bytes_of(&seen.path).map_err(|why| named(&why))?;
    let sha256 = fingerprint(&bytes);
    let imprint = MidiFile::parse(&bytes).ok().and_then(|midi| Imprint::of(&midi));
    let of_day = imprint.as_ref().map(|imprint| imprint.settings.clone()).unwrap_or_default();
    let choices = (judging.choices)(&of_day);
    let noted = kept.get(&seen.number).filter(|(noted, _)| *noted == sha256);
    let kept_at = noted.map_or_else(|| seen.written_at(), |(_, at)| *at);
    let day = kept_at.to_zoned_datetime(TimeZone::system()).date();
    let found = indexed(&bytes, Dated { take: seen.number, day }, &choices);
    let title = found.as_ref().map_or("", |found| found.digest.title.as_str());
    let of_chart = kept_prints(&choices).find(|(kept, _)| *kept == title).map(|(_, print)| print);
    let of_chart = of_chart.unwrap_or_default();
    Ok(Taken {
        found: found.map(Box::new).map_err(|error| error.to_string()),
        seen,
        sha256,
        kept_at,
        settings: Value::Object(of_day).to_string(),
        stopped: imprint.as_ref().is_some_and(|imprint| imprint.stopped.is_some()),
        head: imprint.as_ref().and_then(|imprint| imprint.head),
        trade: imprint.as_ref().and_then(|imprint| imprint.trade),
        print: print_of(&choices) + &of_chart,
    })
}

fn bytes_of(path: &Path) -> Result<Vec<u8>, String> {
    if path.is_dir() {
        return Err("is a folder".to_owned());
    }
    let mut bytes = Vec::new();
    let read = File::open(path).and_then(|file| file.take(MAX_FILE_BYTES as u64 + 1).read_to_end(&mut bytes));
    read.map_err(|error| in_words(&error))?;
    if bytes.len() > MAX_FILE_BYTES {
        return Err(format!("has more than {MAX_FILE_BYTES} bytes, the most that is read"));
    }
    Ok(bytes)
}
