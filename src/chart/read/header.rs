//! Header lines: a name, a colon, a value.

use std::collections::HashMap;
use std::ops::Range;

use winnow::Parser;
use winnow::ascii::{alpha1, space0};
use winnow::combinator::{not, terminated};
use winnow::token::rest;

use crate::theory::close;
use crate::time::Bpm;

use super::super::form::Sevenths;
use super::super::header::{MOST_CHORUSES, NAMES};
use super::super::slip::Slip;
use super::Reader;

/// Where headers stand in the text.
#[derive(Default)]
pub(super) struct HeaderSpots {
    /// The value of `key:`.
    pub key: Option<Range<usize>>,
    /// Each label of `form:`.
    pub form: Vec<Range<usize>>,
    /// The end of the last header line, its line feed included.
    pub end: usize,
    names: HashMap<String, Range<usize>>,
}

/// Name and value of a header line, as ranges of the line; `None` where the line is none. `A :|` is a section's letter.
pub(super) fn split(line: &str) -> Option<(Range<usize>, Range<usize>)> {
    let name = alpha1::<_, winnow::error::EmptyError>;
    let colon = (space0, ':', not('|'));
    let mut header = (space0.take(), terminated(name, colon), rest);
    let (indent, name, value) = header.parse(line).ok()?;
    let value_start = line.len() - value.trim_start().len();
    Some((indent.len()..indent.len() + name.len(), value_start..value_start + value.trim().len()))
}

impl Reader<'_> {
    /// Reads the header `name` with its `value`; the next line begins at `next`.
    pub(super) fn read_header(&mut self, name_span: Range<usize>, value_span: Range<usize>, next: usize) {
        let text = self.text;
        let name = text[name_span.clone()].to_lowercase();
        let value = &text[value_span.clone()];
        if value.starts_with('|') && !NAMES.contains(&name.as_str()) {
            let letter = text[name_span.clone()].to_owned();
            self.slip(name_span, Slip::LetterWithColon(letter));
        } else if !NAMES.contains(&name.as_str()) {
            let close = close(&name, NAMES.map(str::to_owned));
            let name = text[name_span.clone()].to_owned();
            self.slip(name_span, Slip::UnknownHeader { name, close });
        } else if !self.bars.is_empty() {
            self.slip(name_span, Slip::HeaderBelowBars(name));
        } else if let Some(first) = self.header_spots.names.get(&name) {
            let line = self.lines.place(first).line;
            self.slip(name_span, Slip::HeaderTwice { name, line });
        } else {
            self.header_spots.end = next;
            self.header_spots.names.insert(name.clone(), name_span.clone());
            if value.is_empty() {
                self.slip(name_span, Slip::HeaderEmpty(name));
            } else if let Err(slip) = self.take_header(&name, value, value_span.clone()) {
                self.slip(value_span, slip);
            }
        }
    }

    fn take_header(&mut self, name: &str, value: &str, span: Range<usize>) -> Result<(), Slip> {
        let header = &mut self.header;
        match name {
            "title" => header.title = Some(value.to_owned()),
            "by" => header.by = Some(value.to_owned()),
            "key" => {
                header.key = Some(value.parse()?);
                self.header_spots.key = Some(span);
            }
            "meter" => {
                header.meter = value.parse()?;
                self.meter = header.meter;
            }
            "tempo" => header.tempo = tempo(value)?,
            "feel" => header.feel = value.parse()?,
            "form" => {
                let labels = words(value);
                header.form = labels.iter().map(|label| value[label.clone()].to_owned()).collect();
                self.header_spots.form =
                    labels.into_iter().map(|label| super::shifted(label, span.start)).collect();
            }
            "choruses" => header.choruses = Some(choruses(value)?),
            _ => header.sevenths = sevenths(value)?,
        }
        Ok(())
    }
}

fn tempo(value: &str) -> Result<Bpm, Slip> {
    let quarters = value.parse().ok();
    quarters.and_then(Bpm::new).ok_or_else(|| Slip::Tempo(value.to_owned()))
}

fn choruses(value: &str) -> Result<u32, Slip> {
    let count = value.parse().ok();
    count.filter(|count| (1..=MOST_CHORUSES).contains(count)).ok_or_else(|| Slip::Choruses(value.to_owned()))
}

fn sevenths(value: &str) -> Result<Sevenths, Slip> {
    match value.to_lowercase().as_str() {
        "assume" => Ok(Sevenths::Assume),
        "as written" | "as-written" => Ok(Sevenths::AsWritten),
        _ => Err(Slip::Sevenths(value.to_owned())),
    }
}

/// The words of a text, parted by blanks, as ranges of bytes.
pub(super) fn words(text: &str) -> Vec<Range<usize>> {
    let mut words = Vec::new();
    let mut start = None;
    for (at, c) in text.char_indices().chain([(text.len(), ' ')]) {
        match (start, c.is_whitespace()) {
            (None, false) => start = Some(at),
            (Some(from), true) => {
                words.push(from..at);
                start = None;
            }
            _ => {}
        }
    }
    words
}
