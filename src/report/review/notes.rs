//! The notes of a review one by one: the listing, and the reason behind a single note.
//!
//! A note is named by its place, `9.4`: the fourth of the notes that count in bar 9, in the order they were played. A note
//! struck early counts in the bar of the chord it belongs to, so it is numbered there, as the rows of the bars have it.

use std::collections::HashMap;
use std::fmt;

use crate::report::review::text::has_choruses;
use crate::report::review::{NoteRecord, Review};
use crate::report::spreadsheet;
use crate::report::table::{Cell, Column, Row, Table};

/// Where a note that counts is found: its bar, and its number there. Prints `9.4`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct NotePlace {
    /// Times through, from 1.
    chorus: u32,
    /// Bar of the form it counts in, from 1.
    bar: usize,
    /// Which of the notes that count there, from 1.
    number: usize,
}

impl fmt::Display for NotePlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}", self.bar, self.number)
    }
}

/// Every note with its place; one that is left out has none.
fn placed(review: &Review) -> impl Iterator<Item = (&NoteRecord, Option<NotePlace>)> {
    let mut counted: HashMap<(u32, usize), usize> = HashMap::new();
    review.notes.iter().flatten().map(move |note| {
        let bar = note.chord_chorus.zip(note.chord_bar).filter(|_| note.counted);
        let place = bar.map(|(chorus, bar)| {
            let number = counted.entry((chorus, bar)).or_default();
            *number += 1;
            NotePlace { chorus, bar, number: *number }
        });
        (note, place)
    })
}

/// What the places of the listing are, below its rows.
const PLACES: &str = "place is what --why takes. A note struck early has its place in the bar of its chord; a note that is left out has none.";

/// Every note of the judged track, left-out notes included; those of one bar where `only_bar` asks for it.
pub fn notes(review: &Review, only_bar: Option<usize>) -> Table {
    let numbers = ["place", "index", "chorus", "bar", "beat"].map(Column::numbers);
    let words = ["chord", "note", "degree", "class", "tag", "rule", "early", "left out"].map(Column::words);
    let mut table = Table::new(numbers.into_iter().chain(words));
    for (note, place) in placed(review) {
        let bar = place.map_or(note.bar, |place| place.bar as i64);
        if only_bar.is_none_or(|only| bar == only as i64) {
            table.push(row(note, place));
        }
    }
    table.note(PLACES);
    table
}

/// Every note as a row that spreadsheets read, its reason in the last column.
pub fn spreadsheet(review: &Review) -> String {
    let headings = [
        "place",
        "index",
        "chorus",
        "bar",
        "beat",
        "chord",
        "scale",
        "note",
        "degree",
        "class",
        "tag",
        "rule",
        "early",
        "left out",
        "onset ms",
        "duration ms",
        "velocity",
        "string",
        "fret",
        "why",
    ];
    let rows: Vec<Vec<String>> = placed(review).map(|(note, place)| cells(note, place)).collect();
    spreadsheet::rows(&headings, rows.iter().map(Vec::as_slice))
}

fn cells(note: &NoteRecord, place: Option<NotePlace>) -> Vec<String> {
    let word = |word: Option<&str>| word.unwrap_or_default().to_owned();
    let number = |number: Option<u8>| number.map_or_else(String::new, |number| number.to_string());
    vec![
        place.map_or_else(String::new, |place| place.to_string()),
        note.index.to_string(),
        note.chorus.to_string(),
        note.bar.to_string(),
        format!("{:.3}", note.beat),
        note.chord.clone(),
        word(note.scale.as_deref()),
        note.name.clone(),
        word(note.degree.as_deref()),
        note.class.to_owned(),
        word(note.tag),
        word(note.rule),
        if note.early { "early" } else { "" }.to_owned(),
        word(note.left_out),
        note.onset_ms.to_string(),
        note.duration_ms.to_string(),
        note.velocity.to_string(),
        number(note.string),
        number(note.fret),
        note.why.clone(),
    ]
}

fn row(note: &NoteRecord, place: Option<NotePlace>) -> Row {
    let word = |word: Option<&str>| Cell::from(word.unwrap_or_default());
    let cells = [
        place.map_or_else(String::new, |place| place.to_string()).into(),
        note.index.to_string().into(),
        note.chorus.to_string().into(),
        note.bar.to_string().into(),
        format!("{:.3}", note.beat).into(),
        note.chord.as_str().into(),
        note.name.as_str().into(),
        word(note.degree.as_deref()),
        note.class.into(),
        word(note.tag),
        word(note.rule),
        if note.early { "early" } else { "" }.into(),
        word(note.left_out),
    ];
    Row::new(cells).with_note(note.why.as_str())
}

/// The notes that stand in `bar` as the `number`th (from 1) that counts there: one a chorus, or that of `chorus`.
pub fn nth_note(review: &Review, bar: usize, number: usize, chorus: Option<u32>) -> Vec<&NoteRecord> {
    let is_meant = |place: NotePlace| {
        (place.bar, place.number) == (bar, number) && chorus.is_none_or(|chorus| chorus == place.chorus)
    };
    placed(review).filter(|(_, place)| place.is_some_and(is_meant)).map(|(note, _)| note).collect()
}

/// The reason for the note of this index; `None` where none such counts.
pub fn why_note(review: &Review, index: usize) -> Option<Vec<String>> {
    let (_, place) = placed(review).find(|(note, _)| note.index == index)?;
    let NotePlace { chorus, bar, number } = place?;
    why(review, chorus, bar, number)
}

/// The reason for note `number` (from 1) of those that count in `bar` of `chorus`; `None` when there is no such note.
pub fn why(review: &Review, chorus: u32, bar: usize, number: usize) -> Option<Vec<String>> {
    let asked = NotePlace { chorus, bar, number };
    let (note, _) = placed(review).find(|(_, place)| *place == Some(asked))?;
    Some(vec![
        heading(review, note, asked),
        format!("  {:<10} {}", note.class, note.why),
        format!("  counts     {}", counts(note)),
    ])
}

/// Which note it is, and where it was struck if that was in another bar.
fn heading(review: &Review, note: &NoteRecord, place: NotePlace) -> String {
    let NotePlace { chorus, bar, number } = place;
    let in_chorus = if has_choruses(review) { format!("chorus {chorus}, ") } else { String::new() };
    let all = notes_in(review, chorus, bar);
    let struck = match (note.chorus == chorus, note.bar == bar as i64) {
        (true, true) => String::new(),
        (true, false) => format!(" of bar {}", note.bar),
        (false, _) => format!(" of bar {}, chorus {}", note.bar, note.chorus),
    };
    let struck = if struck.is_empty() { struck } else { format!("{struck} (struck early)") };
    let (name, beat) = (&note.name, note.beat);
    let degree = note.degree.as_deref().unwrap_or("no degree");
    let chord = &note.chord;
    format!(
        "{in_chorus}bar {bar}, note {number} of {all}: {name} on beat {beat}{struck}, {degree} of {chord}"
    )
}

fn counts(note: &NoteRecord) -> &'static str {
    match (note.class, note.tag) {
        ("outside", Some("resolved")) => "as outside, resolved. It does not count as open.",
        ("outside", Some("held-outside")) => {
            "as outside and open: the totals have held-outside among the open."
        }
        ("outside", _) => "as outside and open.",
        ("other", _) => "as scale, from another scale (~).",
        ("scale", _) => "as scale.",
        _ => "as chord tone.",
    }
}

/// How many notes count in a bar of a chorus.
pub fn notes_in(review: &Review, chorus: u32, bar: usize) -> usize {
    let counts =
        |note: &&NoteRecord| note.counted && note.chord_chorus == Some(chorus) && note.chord_bar == Some(bar);
    review.notes.iter().flatten().filter(counts).count()
}
