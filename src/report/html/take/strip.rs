//! Bar by bar: a column a chord, a square a note, and under each chord how the change was met.

use maud::{Markup, html};

use super::super::picture::{Drawing, Picture, WIDTH, figure};
use super::super::table::{Title, folded};
use super::super::text_width::text_width;
use super::Chorus;
use crate::report::review::{ChordRecord, LandingRecord, Review};
use crate::report::review_text::chord_name;
use crate::report::table::{Column, Row, Table};

/// The side of a square and the way from one to the next.
const SQUARE: f64 = 11.0;
const PITCH: f64 = 13.2;

/// The most squares on top of each other, where there is room beside.
const HIGHEST: usize = 16;

/// Bars in a row, the most first; as many are taken as leave room for the symbols.
const IN_A_ROW: [usize; 4] = [16, 8, 4, 2];

/// The widest a bar is drawn.
const WIDEST_BAR: f64 = 108.0;

/// The sizes of a symbol that has a bar for itself, and of one that shares it.
const SIZES: (f64, f64) = (12.0, 11.0);

/// Picture and table of each chorus.
pub fn section(review: &Review, choruses: &[Chorus<'_>]) -> Markup {
    let played = choruses.iter().filter(|chorus| chorus.is_played());
    html! {
        section {
            h2 { "Bar by bar" }
            p.note {
                "One square a note, chord tones at the bottom. Under each chord: ▼ where the line landed on its third or \
                 seventh, – where it did not, and the degree it came on."
            }
            @for chorus in played {
                @if !chorus.of_chorus.is_empty() { h3 { "Chorus " (chorus.number) } }
                (figure(&pictures(chorus), &format!("Bar by bar{}", chorus.of_chorus)))
                (folded(&rows(chorus), Title {
                    id: &format!("bars-{}", chorus.number),
                    caption: &format!("Counts by bar{}", chorus.of_chorus),
                }, "short"))
            }
            @if review.totals.counted.0 <= 0.0 { p { "There is nothing to show." } }
        }
    }
}

fn rows(chorus: &Chorus<'_>) -> Table {
    let numbers = ["bar", "notes", "chord", "scale", "other scale", "outside", "resolved", "open"];
    let mut table = Table::new(numbers.map(Column::numbers));
    for bar in &chorus.bars {
        let counts = [bar.counted, bar.chord, bar.scale, bar.other, bar.outside, bar.resolved, bar.open];
        let cells = [bar.bar.to_string()].into_iter().chain(counts.map(|count| count.to_string()));
        table.push(Row::new(cells.map(Into::into)));
    }
    table
}

/// One chord in its column.
struct Pile<'a> {
    chord: &'a ChordRecord,
    left: f64,
    width: f64,
    /// Whether it shares its bar.
    shares: bool,
}

fn pictures(chorus: &Chorus<'_>) -> Vec<Picture> {
    let in_a_row = bars_in_a_row(chorus);
    let bar_width = (WIDTH / in_a_row as f64).min(WIDEST_BAR);
    let rows = chorus
        .bars
        .chunks(in_a_row)
        .map(|bars| piles(chorus, bars.first().map_or(1, |bar| bar.bar), bars.len(), bar_width));
    let rows: Vec<Vec<Pile<'_>>> = rows.collect();
    let tallest = rows.iter().flatten().map(|column| stack_height(column)).max().unwrap_or(0);
    let one = |(index, columns): (usize, &Vec<Pile<'_>>)| picture(chorus, index, columns, tallest, bar_width);
    rows.iter().enumerate().map(one).collect()
}

/// As many bars as leave each symbol its room.
fn bars_in_a_row(chorus: &Chorus<'_>) -> usize {
    let fits = |&in_a_row: &usize| {
        let width = (WIDTH / in_a_row as f64).min(WIDEST_BAR);
        let first = chorus.bars.first().map_or(1, |bar| bar.bar);
        let columns = piles(chorus, first, chorus.bars.len(), width);
        columns
            .iter()
            .all(|column| text_width(chord_name(&column.chord.symbol), column.size()) <= column.width)
    };
    let most = IN_A_ROW.into_iter().find(fits).unwrap_or(1);
    let rows = chorus.bars.len().div_ceil(most);
    let even = chorus.bars.len().div_ceil(rows.max(1));
    even.next_multiple_of(4).min(most).max(1)
}

impl Pile<'_> {
    const fn size(&self) -> f64 {
        if self.shares { SIZES.1 } else { SIZES.0 }
    }

    /// How many squares stand side by side.
    fn abreast(&self) -> usize {
        let room = ((self.width - 4.0) / PITCH) as usize;
        squares(self.chord).len().div_ceil(HIGHEST).clamp(1, room.max(1))
    }
}

fn stack_height(column: &Pile<'_>) -> usize {
    squares(column.chord).len().div_ceil(column.abreast())
}

/// The columns of some bars, each bar shared by its chords as they share its beats.
fn piles<'a>(chorus: &Chorus<'a>, first: usize, count: usize, bar_width: f64) -> Vec<Pile<'a>> {
    let bars = first..first + count;
    let chords = chorus.chords.iter().filter(|chord| bars.contains(&chord.bar)).copied();
    let chords: Vec<&ChordRecord> = chords.collect();
    let of_bar = |bar: usize| chords.iter().filter(move |chord| chord.bar == bar);
    let mut columns = Vec::new();
    for (place, bar) in bars.enumerate() {
        let shares = of_bar(bar).count();
        for (index, chord) in of_bar(bar).enumerate() {
            let width = (bar_width - 6.0) / shares as f64;
            let left = place as f64 * bar_width + 3.0 + index as f64 * width;
            columns.push(Pile { chord, left, width, shares: shares > 1 });
        }
    }
    columns
}

/// A square: its fill, and how much of it there is where notes struck together share one.
fn squares(chord: &ChordRecord) -> Vec<(&'static str, f64, bool)> {
    let resolved = chord.outside.0 - chord.open.0;
    let layers = [
        ("c", chord.chord.0, false),
        ("s", chord.scale_notes.0, false),
        ("o", chord.other.0, false),
        ("x", resolved, false),
        ("x", chord.open.0, true),
    ];
    let of_layer = |(fill, count, open): (&'static str, f64, bool)| {
        let whole = count.floor();
        let part = count - whole;
        let whole = std::iter::repeat_n((fill, 1.0, open), whole as usize);
        whole.chain((part > 1e-9).then_some((fill, part, open)))
    };
    layers.into_iter().flat_map(of_layer).collect()
}

fn picture(
    chorus: &Chorus<'_>,
    index: usize,
    columns: &[Pile<'_>],
    tallest: usize,
    bar_width: f64,
) -> Picture {
    let base = 20.0 + tallest as f64 * PITCH;
    let mut drawing = Drawing::default();
    let mut bars: Vec<usize> = columns.iter().map(|column| column.chord.bar).collect();
    bars.dedup();
    for (place, bar) in bars.iter().enumerate() {
        let left = place as f64 * bar_width;
        drawing.text("m mid z11", (left + bar_width / 2.0, 12.0), &bar.to_string());
        drawing.line("rule", (left + 3.0, base), (left + bar_width - 3.0, base));
        if place % 4 == 0 {
            drawing.line("rule", (left, 4.0), (left, base + 40.0));
        }
    }
    for column in columns {
        stack(&mut drawing, column, base);
        under(&mut drawing, column, base);
    }
    let (first, last) = (bars.first().copied().unwrap_or(0), bars.last().copied().unwrap_or(0));
    Picture {
        id: format!("strip-{}-{index}", chorus.number),
        title: format!("Bars {first} to {last}{}", chorus.of_chorus),
        desc: "One square for each counted note under its chord: chord tones at the bottom, then scale, then outside, \
               open ones with a question mark. A triangle marks a change landed on its third or seventh. The counts are in \
               the table below."
            .to_owned(),
        height: base + 44.0,
        drawing,
    }
}

fn stack(drawing: &mut Drawing, column: &Pile<'_>, base: f64) {
    let abreast = column.abreast();
    let middle = column.left + column.width / 2.0;
    for (index, (fill, part, open)) in squares(column.chord).into_iter().enumerate() {
        let (across, up) = (index % abreast, index / abreast);
        let left = middle - (abreast as f64 * PITCH - (PITCH - SQUARE)) / 2.0 + across as f64 * PITCH;
        let top = base - 2.0 - (up + 1) as f64 * PITCH + (PITCH - SQUARE);
        drawing.rect(fill, (left, top + SQUARE * (1.0 - part)), (SQUARE, SQUARE * part), 2.0);
        if open {
            mark_open(drawing, (left, top), column.width);
        }
    }
}

/// `?` beside a square, or in it where there is no room.
fn mark_open(drawing: &mut Drawing, (left, top): (f64, f64), width: f64) {
    if width >= 40.0 {
        drawing.text("b", (left + SQUARE + 2.5, top + 10.0), "?");
    } else {
        drawing.disc("w", (left + SQUARE / 2.0, top + SQUARE / 2.0), 4.6);
        drawing.text("b mid z11", (left + SQUARE / 2.0, top + 9.3), "?");
    }
}

/// The symbol, and how the change was met.
fn under(drawing: &mut Drawing, column: &Pile<'_>, base: f64) {
    let middle = column.left + column.width / 2.0;
    let class = if column.shares { "b mid z11" } else { "b mid" };
    drawing.text(class, (middle, base + 14.0), &shortened(column));
    let Some(LandingRecord { degree: Some(degree), hit, .. }) = &column.chord.landing else { return };
    if *hit == Some(true) {
        drawing.path(
            "ink",
            &format!(
                "M{} {}h8l-4 6.5z",
                super::super::picture::Px(middle - 4.0),
                super::super::picture::Px(base + 20.0)
            ),
        );
        drawing.text("mid z11", (middle, base + 38.0), degree);
    } else {
        drawing.text("m mid", (middle, base + 27.0), "–");
        drawing.text("m mid z11", (middle, base + 38.0), degree);
    }
}

/// The symbol as far as its column goes; it stands whole in the tables.
fn shortened(column: &Pile<'_>) -> String {
    let name = chord_name(&column.chord.symbol);
    if text_width(name, column.size()) <= column.width {
        return name.to_owned();
    }
    let mut short = String::new();
    for sign in name.chars() {
        if text_width(&format!("{short}{sign}…"), column.size()) > column.width {
            break;
        }
        short.push(sign);
    }
    short + "…"
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::number::Count;

    fn chord(chord: f64, scale: f64, outside: f64, open: f64) -> ChordRecord {
        ChordRecord {
            chord_index: 1,
            chorus: 1,
            bar: 1,
            beat: Count(1.0),
            beats: Count(4.0),
            symbol: "F7".to_owned(),
            scale: None,
            chord_tones: Vec::new(),
            guide_tones: Vec::new(),
            chord: Count(chord),
            scale_notes: Count(scale),
            other: Count(0.0),
            outside: Count(outside),
            open: Count(open),
            landing: None,
            kept_out: None,
        }
    }

    #[test]
    fn there_is_a_square_a_note_and_a_part_of_one_for_notes_struck_together() {
        let check = |record: &ChordRecord, expect: &[(&'static str, f64, bool)]| {
            assert_eq!(squares(record), expect);
            let drawn: f64 = squares(record).iter().map(|square| square.1).sum();
            let counted = record.chord.0 + record.scale_notes.0 + record.other.0 + record.outside.0;
            assert!((drawn - counted).abs() < 1e-9);
        };
        check(&chord(2.0, 1.0, 0.0, 0.0), &[("c", 1.0, false), ("c", 1.0, false), ("s", 1.0, false)]);
        check(&chord(1.5, 0.0, 0.0, 0.0), &[("c", 1.0, false), ("c", 0.5, false)]);
        check(&chord(0.0, 0.0, 2.0, 1.0), &[("x", 1.0, false), ("x", 1.0, true)]);
    }
}
