//! The lines of the journal: how an entry is written as one, and how lines are read back without losing any.

use std::fmt;
use std::io::{self, BufRead, Read};
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use super::LONGEST_LINE;
use super::entry::{Entry, EntryId};
use crate::judge::fingerprint;

/// The version that lines are written in.
pub const VERSION: u32 = 1;

/// Digits of an entry's name.
const ID_DIGITS: usize = 16;

/// The most of a damaged line's fault that is repeated, in characters.
const LONGEST_SHOWN: usize = 120;

/// An entry with when it was made and what it is called.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// The version of the line.
    #[serde(rename = "v")]
    pub version: u32,
    /// When it was made.
    pub at: Timestamp,
    /// What it is called.
    pub id: EntryId,
    /// The entry.
    #[serde(flatten)]
    pub entry: Entry,
}

impl Record {
    /// A record of an entry made at `at`, to stand `place` bytes into the file.
    pub(super) fn new(place: u64, at: Timestamp, entry: Entry) -> Self {
        let text = format!("{place} {} {}", at.as_nanosecond(), serde_json::json!(entry));
        let id = fingerprint(text.as_bytes()).chars().take(ID_DIGITS).collect();
        Self { version: VERSION, at, id: EntryId(id), entry }
    }

    /// The record as a line, its end included.
    pub fn line(&self) -> String {
        format!("{}\n", serde_json::json!(self))
    }
}

/// How far a journal was read: up to the end of a whole line.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Reach {
    /// Bytes.
    pub bytes: u64,
    /// Lines.
    pub lines: u64,
}

/// What a reading of the journal gave.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ReadBack {
    /// The entries in the order of the file, each with the number of its line from 1.
    pub records: Vec<(u64, Record)>,
    /// Lines that gave none.
    pub oddities: Vec<Oddity>,
    /// How far it came.
    pub reach: Reach,
}

/// A line that gave no entry. It stays in the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Oddity {
    /// The file.
    pub path: PathBuf,
    /// The line, from 1.
    pub line: u64,
    /// What is odd about it.
    pub kind: OddityKind,
}

/// What is odd about a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OddityKind {
    /// It does not read.
    Damaged(String),
    /// It is the last one and has no end: the program was cut off while it wrote.
    Torn,
    /// A newer program wrote it.
    Newer,
}

/// Prints the place first, then what is odd and what becomes of it.
impl fmt::Display for Oddity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}: ", self.path.display(), self.line)?;
        match &self.kind {
            OddityKind::Damaged(fault) => {
                write!(f, "this line does not read ({fault}); it is passed over and stays in the file")
            }
            OddityKind::Torn => {
                f.write_str("this line was cut off while it was written; what it was to say is lost, all before it is whole")
            }
            OddityKind::Newer => {
                f.write_str("a newer barwise wrote this line; it is passed over and stays in the file")
            }
        }
    }
}

/// Reads the lines of the file `path` from `from` on.
pub(super) fn read(reader: &mut impl BufRead, path: &Path, from: Reach) -> io::Result<ReadBack> {
    let mut found = ReadBack { reach: from, ..ReadBack::default() };
    let mut line = Vec::new();
    loop {
        line.clear();
        let bytes = next_line(reader, &mut line)?;
        if bytes == 0 {
            return Ok(found);
        }
        let number = found.reach.lines + 1;
        let whole = line.pop_if(|last| *last == b'\n').is_some();
        let read = if line.len() > LONGEST_LINE {
            Err(OddityKind::Damaged(format!("more than {LONGEST_LINE} bytes")))
        } else if line.is_empty() {
            Ok(None)
        } else {
            record(&line).map(Some)
        };
        match read {
            Ok(record) => found.records.extend(record.map(|record| (number, record))),
            Err(OddityKind::Damaged(_)) if !whole => found.tell(path, number, OddityKind::Torn),
            Err(kind) => found.tell(path, number, kind),
        }
        if !whole {
            // The next writer ends this line; until then a reader comes back to it.
            return Ok(found);
        }
        found.reach = Reach { bytes: found.reach.bytes + bytes, lines: number };
    }
}

impl ReadBack {
    fn tell(&mut self, path: &Path, line: u64, kind: OddityKind) {
        self.oddities.push(Oddity { path: path.to_owned(), line, kind });
    }
}

/// Reads a line with its end, of a line that is too long only its beginning; gives the bytes it has in the file, 0 at the
/// end.
fn next_line(reader: &mut impl BufRead, line: &mut Vec<u8>) -> io::Result<u64> {
    let most = LONGEST_LINE as u64 + 1;
    let read = reader.by_ref().take(most).read_until(b'\n', line)? as u64;
    if read < most || line.last() == Some(&b'\n') {
        return Ok(read);
    }
    // The rest is looked at and not kept; its end tells whether the line is whole.
    let mut rest = 0u64;
    loop {
        let part = reader.fill_buf()?;
        let end = part.iter().position(|&byte| byte == b'\n');
        let length = end.map_or(part.len(), |at| at + 1);
        reader.consume(length);
        rest += length as u64;
        if end.is_some() {
            line.push(b'\n');
        }
        if end.is_some() || length == 0 {
            return Ok(read + rest);
        }
    }
}

/// What one line says.
fn record(line: &[u8]) -> Result<Record, OddityKind> {
    let damaged = |fault: String| OddityKind::Damaged(fault.chars().take(LONGEST_SHOWN).collect());
    let text = std::str::from_utf8(line).map_err(|_| damaged("no text".to_owned()))?;
    let object: Map<String, Value> = serde_json::from_str(text).map_err(|error| damaged(fault_of(&error)))?;
    if object.get("v").and_then(Value::as_u64).is_some_and(|version| version > VERSION.into()) {
        return Err(OddityKind::Newer);
    }
    let kind = object.get("entry").and_then(Value::as_str).map(str::to_owned);
    let is_known = kind.is_none_or(|kind| Entry::KINDS.contains(&kind.as_str()));
    let record = serde_json::from_value(Value::Object(object));
    record.map_err(|error| if is_known { damaged(error.to_string()) } else { OddityKind::Newer })
}

/// What is wrong with the JSON of one line, by its column: the line is known from the file.
fn fault_of(error: &serde_json::Error) -> String {
    let said = error.to_string();
    let words = said.split(" at line ").next().unwrap_or_default();
    format!("{words} in column {}", error.column())
}
