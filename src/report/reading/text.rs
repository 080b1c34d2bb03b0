//! The reading as rows: one a chord.

use crate::report::output_form::OutputForm;
use crate::report::reading::{ReadChord, ReadingDocument, ScaleRecord};
use crate::report::region_lines::region_lines;
use crate::report::review::text::chord_name;
use crate::report::table::{Cell, Column, Row, Table};

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

/// Most numbers of bars as played that one row shows.
const MOST_NUMBERS: usize = 4;

fn table(reading: &ReadingDocument, bar: Option<usize>, sentences: Sentences) -> Table {
    let played = is_unfolded(reading).then(|| Column::words("played"));
    let words = ["chord", "key", "function", "scale"].map(Column::words);
    let more =
        ["why", "also in use"].map(Column::words).into_iter().filter(|_| sentences == Sentences::InColumns);
    let columns = [Column::numbers("bar")].into_iter().chain(played).chain(words).chain(more);
    let mut table = Table::new(columns);
    for listed in rows(reading, bar) {
        let played = played.map(|_| Cell::from(numbers(&listed.played)));
        table.push(row(listed.chord, played, sentences));
    }
    for line in reading.chart.written_for().into_iter().chain(region_lines(reading, bar)) {
        table.note(line);
    }
    table
}

/// Whether bars are played in another order, or oftener, than they stand on the page.
fn is_unfolded(reading: &ReadingDocument) -> bool {
    reading.played_bars.iter().enumerate().any(|(index, &written)| written != index + 1)
}

/// A chord of the page, with the bars of the form that it is played in.
struct Listed<'a> {
    chord: &'a ReadChord,
    played: Vec<usize>,
}

/// The chords to list: a bar that is played again reads the same, so it is listed once, unless it means something else
/// there.
fn rows(reading: &ReadingDocument, bar: Option<usize>) -> Vec<Listed<'_>> {
    let mut rows: Vec<Listed<'_>> = Vec::new();
    for chord in reading.chords.iter().filter(|chord| bar.is_none_or(|bar| chord.bar == bar)) {
        match rows.iter_mut().find(|listed| reads_the_same(listed.chord, chord)) {
            Some(listed) => listed.played.push(chord.form_bar),
            None => rows.push(Listed { chord, played: vec![chord.form_bar] }),
        }
    }
    rows
}

/// Whether two soundings are the same chord at the same place of the page, and read as the same.
fn reads_the_same(one: &ReadChord, other: &ReadChord) -> bool {
    let place = |chord: &ReadChord| (chord.bar, chord.beat.0.to_bits());
    place(one) == place(other)
        && row(one, None, Sentences::InColumns) == row(other, None, Sentences::InColumns)
}

/// `9, 25`; the first few where there are many.
fn numbers(bars: &[usize]) -> String {
    let shown = if bars.len() > MOST_NUMBERS { &bars[..MOST_NUMBERS - 1] } else { bars };
    let more = if shown.len() < bars.len() { ", …" } else { "" };
    shown.iter().map(usize::to_string).collect::<Vec<_>>().join(", ") + more
}

fn row(chord: &ReadChord, played: Option<Cell>, sentences: Sentences) -> Row {
    let word = |text: Option<&str>| Cell::from(text.unwrap_or_default());
    let also: Vec<&str> = chord.alternatives.iter().map(|scale| scale.name.as_str()).collect();
    let scale = chord.scale.as_ref().map(ScaleRecord::in_words);
    // The key stands in its column; in a sentence its short form does.
    let why = match (chord.why.as_deref(), chord.key.as_deref()) {
        (Some(why), Some(key)) => why.replace(key, key.trim_end_matches(" major")),
        (why, _) => why.unwrap_or_default().to_owned(),
    };
    let bar: Cell = chord.bar.to_string().into();
    let cells = [
        chord_name(&chord.symbol).into(),
        word(chord.key.as_deref().map(|key| key.trim_end_matches(" major"))),
        word(chord.function.as_deref()),
        word(scale.as_deref()),
    ];
    let cells = [bar].into_iter().chain(played).chain(cells);
    let also = also.join(", ");
    match sentences {
        Sentences::InColumns => Row::new(cells.chain([why.into(), also.into()])),
        Sentences::Below if also.is_empty() => Row::new(cells).with_note(why),
        Sentences::Below => Row::new(cells).with_note(format!("{why}; also in use: {also}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Chart;
    use crate::harmony::Overrides;
    use crate::judge::ChordSource;
    use crate::report::{Ink, Signs};
    use crate::theory::chord::BareSymbols;

    /// The first columns of the rows, the headings among them.
    fn first_columns(text: &str, count: usize) -> Vec<String> {
        let (chart, _) = Chart::parse("chart.bars", text, BareSymbols::default()).expect("a chart");
        let source = ChordSource::of_chart(&chart, &Overrides::default());
        let reading = ReadingDocument::new(source.id, &source.form, &source.reading);
        let form = OutputForm::Piped { ink: Ink::Plain, signs: Signs::Unicode };
        let text = chords(&reading, None, form).text(form).expect("rows");
        let columns = |line: &str| line.split('\t').take(count).collect::<Vec<_>>().join(" | ");
        text.lines().map(columns).filter(|line| !line.starts_with(" | ")).collect()
    }

    #[test]
    fn rows_count_bars_as_played_too_where_that_is_another_count() {
        let repeated = first_columns("|: Dm7 | G7 |1. Cmaj7 :|2. C6 ||", 3);
        let expect =
            ["bar | played | chord", "1 | 1, 4 | Dm7", "2 | 2, 5 | G7", "3 | 3 | Cmaj7", "4 | 6 | C6"];
        assert_eq!(repeated, expect);
        assert_eq!(first_columns("| Dm7 | Dm7 |", 2), ["bar | chord", "1 | Dm7", "2 | Dm7"]);
        assert_eq!(first_columns("A |: Em7 :|x16", 2)[1], "1 | 1, 2, 3, …");
    }
}
