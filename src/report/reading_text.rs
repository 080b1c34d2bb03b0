//! The reading as rows: one a chord.

use super::output_form::OutputForm;
use super::reading::{ReadChord, ReadingDocument};
use super::region_lines::region_lines;
use super::table::{Cell, Column, Row, Table};

/// The chords of a reading as rows; those of one written bar where `bar` asks for it. Where a terminal is too narrow for
/// reasons and other scales in columns, they stand below their row.
pub fn chords(reading: &ReadingDocument, bar: Option<usize>, form: OutputForm) -> Table {
    let wide = table(reading, bar, Sentences::InColumns);
    if wide.fits(form) { wide } else { table(reading, bar, Sentences::Below) }
}

/// Where the reason and the other scales stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Sentences {
    InColumns,
    Below,
}

fn table(reading: &ReadingDocument, bar: Option<usize>, sentences: Sentences) -> Table {
    let words = ["chord", "key", "function", "scale"].map(Column::words);
    let more =
        ["why", "also in use"].map(Column::words).into_iter().filter(|_| sentences == Sentences::InColumns);
    let mut table = Table::new([Column::numbers("bar")].into_iter().chain(words).chain(more));
    let mut seen = Vec::new();
    for chord in reading.chords.iter().filter(|chord| bar.is_none_or(|bar| chord.bar == bar)) {
        // A bar that is played again reads the same, so it is listed once, unless it means something else there.
        let row = row(chord, sentences);
        let listed = (chord.bar, chord.beat.0.to_bits(), row.clone());
        if !seen.contains(&listed) {
            seen.push(listed);
            table.push(row);
        }
    }
    for line in region_lines(reading, bar) {
        table.note(line);
    }
    table
}

fn row(chord: &ReadChord, sentences: Sentences) -> Row {
    let word = |text: Option<&str>| Cell::from(text.unwrap_or_default());
    let also: Vec<&str> = chord.alternatives.iter().map(|scale| scale.name.as_str()).collect();
    let root = chord.scale.as_ref().and_then(|scale| scale.names.first());
    let scale = chord.scale.as_ref().map(|scale| match root {
        Some(root) if !scale.name.starts_with("harmonic minor of") => format!("{root} {}", scale.name),
        _ => scale.name.clone(),
    });
    // The key stands in its column; in a sentence its short form does.
    let why = match (chord.why.as_deref(), chord.key.as_deref()) {
        (Some(why), Some(key)) => why.replace(key, key.trim_end_matches(" major")),
        (why, _) => why.unwrap_or_default().to_owned(),
    };
    let cells = [
        chord.bar.to_string().into(),
        chord.symbol.as_str().into(),
        word(chord.key.as_deref().map(|key| key.trim_end_matches(" major"))),
        word(chord.function.as_deref()),
        word(scale.as_deref()),
    ];
    let also = also.join(", ");
    match sentences {
        Sentences::InColumns => Row::new(cells.into_iter().chain([why.into(), also.into()])),
        Sentences::Below if also.is_empty() => Row::new(cells).with_note(why),
        Sentences::Below => Row::new(cells).with_note(format!("{why}; also in use: {also}")),
    }
}
