//! Writing a fresh text for bars that come from elsewhere (another format, a file of chord texts).
//!
//! A chart that was read keeps its own text, see [`super::ascii`]; here headers and barlines are lined up.

use super::barline::{Barline, TWICE};
use super::form::Sevenths;
use super::header::{Feel, Header, key_text};
use super::model::{BarContent, BeatPlace, WrittenBar, WrittenChord};

/// The text of a chart with this header and these bars.
///
/// The bars must be a chart's: endings and repeats in order, chords in their meter; otherwise the text does not read.
pub fn lay_out(header: &Header, bars: &[WrittenBar]) -> String {
    let mut text = header_text(header);
    let rows = rows(header, bars);
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let widths: Vec<usize> = (0..columns)
        .map(|column| {
            let cells = rows.iter().filter_map(|row| row.get(column));
            cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
        })
        .collect();
    for row in rows {
        let cells = row.iter().zip(&widths).map(|(cell, &width)| format!("{cell:width$}"));
        text += cells.collect::<Vec<_>>().join(" ").trim_end();
        text.push('\n');
    }
    text
}

fn header_text(header: &Header) -> String {
    let default = Header::default();
    let differs = |differs: bool, value: String| differs.then_some(value);
    let lines = [
        ("title", header.title.as_deref().map(one_line)),
        ("by", header.by.as_deref().map(one_line)),
        ("key", header.key.map(key_text)),
        ("meter", differs(header.meter != default.meter, header.meter.to_string())),
        ("tempo", differs(header.tempo != default.tempo, header.tempo.to_string())),
        ("feel", differs(header.feel != Feel::default(), header.feel.to_string())),
        ("form", differs(!header.form.is_empty(), header.form.join(" "))),
        ("choruses", header.choruses.map(|count| count.to_string())),
        ("sevenths", differs(header.sevenths == Sevenths::Assume, "assume".to_owned())),
    ];
    let written =
        lines.into_iter().filter_map(|(name, value)| Some((name, value.filter(|value| !value.is_empty())?)));
    let written: Vec<_> = written.collect();
    let widest = written.iter().map(|(name, _)| name.len()).max().unwrap_or(0) + 1;
    let line = |(name, value)| format!("{:widest$} {value}\n", format!("{name}:"));
    written.into_iter().map(line).collect::<Vec<_>>().concat()
}

/// Most characters of a title or name that are written.
const LONGEST_NAME: usize = 200;

/// A title as one line that holds no comment.
fn one_line(text: &str) -> String {
    let plain: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let words: Vec<&str> = plain.split_whitespace().collect();
    let line = words.join(" ").replace(" ;", ",");
    line.trim_start_matches(';').trim_start().chars().take(LONGEST_NAME).collect()
}

/// The cells of each line: the letter, then barline and bar by turns, and the last barline.
fn rows(header: &Header, bars: &[WrittenBar]) -> Vec<Vec<String>> {
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut meter = header.meter;
    for (index, bar) in bars.iter().enumerate() {
        if index == 0 || begins_line(bar) {
            let opening = if bar.before.opens() { Barline::Open } else { Barline::Single };
            rows.push(vec![bar.label.clone().unwrap_or_default(), opening.to_string()]);
        }
        let line_ends = bars.get(index + 1).is_none_or(begins_line);
        if let Some(row) = rows.last_mut() {
            if let (Some(ending), Some(mark)) = (bar.ending, row.last_mut()) {
                mark.extend([ending.to_string().as_str(), "."]);
            }
            row.push(bar_text(bar, bar.meter != meter));
            row.push(closing_text(bar.after, line_ends));
        }
        meter = bar.meter;
    }
    rows
}

/// Whether a line must begin with this bar: it did, or a count and an opening repeat, which share no barline, meet here.
fn begins_line(bar: &WrittenBar) -> bool {
    let counted = matches!(bar.before, Barline::CloseAndOpen { times } if times != TWICE);
    bar.starts_line || bar.label.is_some() || counted
}

fn closing_text(barline: Barline, line_ends: bool) -> String {
    match barline {
        Barline::CloseAndOpen { times } if line_ends => Barline::Close { times }.to_string(),
        Barline::Open if line_ends => Barline::Single.to_string(),
        barline => barline.to_string(),
    }
}

fn bar_text(bar: &WrittenBar, meter_changes: bool) -> String {
    let content = match &bar.content {
        BarContent::Hold => String::new(),
        BarContent::RepeatBar => "%".to_owned(),
        BarContent::Even(chords) => joined(chords.iter().map(chord_text)),
        BarContent::Slots(slots) => {
            joined(slots.iter().map(|slot| slot.as_ref().map_or_else(|| "/".to_owned(), chord_text)))
        }
        BarContent::Placed(placed) => {
            let alone = placed.len() == 1;
            joined(placed.iter().map(|(place, chord)| match *place {
                BeatPlace::FIRST if !alone => chord_text(chord),
                place => format!("{}@{place}", chord_text(chord)),
            }))
        }
    };
    if meter_changes { format!("{} {content}", bar.meter).trim_end().to_owned() } else { content }
}

fn chord_text(chord: &WrittenChord) -> String {
    match &chord.scale {
        Some(scale) => format!("{}={scale}", chord.text),
        None => chord.text.clone(),
    }
}

fn joined(texts: impl Iterator<Item = String>) -> String {
    texts.collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Chart;
    use crate::theory::chord::BareSymbols;

    #[test]
    fn headers_and_barlines_are_lined_up() {
        let text = "key: Bb\nsevenths: assume\nA | Cm7 F7 | % |\nB |: 3/4 Bb=lydian |1. C@2& :|2. F |";
        let (chart, _) = Chart::parse("-", text, BareSymbols::default()).expect("a chart");
        let expect = [
            "key:      Bb",
            "sevenths: assume",
            "A |  Cm7 F7        |   %    |",
            "B |: 3/4 Bb=lydian |1. C@2& :|2. F |",
        ];
        let fresh = lay_out(chart.header(), chart.bars());
        assert_eq!(fresh.lines().collect::<Vec<_>>(), expect);
    }

    #[test]
    fn a_title_stays_a_title() {
        let check = |title: &str, expect: &str| assert_eq!(one_line(title), expect);
        check("A ; B\nC", "A, B C");
        check("; A", "A");
        check("key: F", "key: F");
        check(&"x".repeat(2_000), &"x".repeat(LONGEST_NAME));
    }
}
