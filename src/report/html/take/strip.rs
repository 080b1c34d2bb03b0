//! Bar by bar: a column a chord, a square a note, and under each chord how the change was met.

use maud::{Markup, html};

use super::super::picture::{Drawing, Picture, Px, WIDTH, figure};
use super::super::table::{Title, folded};
use super::super::text_width::text_width;
use super::Chorus;
use crate::report::review::text::chord_name;
use crate::report::review::{BarRecord, ChordRecord, LandingRecord, Review};
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

/// The most bars in a row whose widths may differ.
const MOST_UNEVEN: usize = 8;

/// The size of a symbol, the least width of a column, and the room between two bars.
const SIZE: f64 = 11.0;
const NARROWEST: f64 = 22.0;
const BETWEEN: f64 = 6.0;

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
                @if !chorus.suffix.is_empty() { h3 { "Chorus " (chorus.number) } }
                (figure(&pictures(chorus), &format!("Bar by bar{}", chorus.suffix)))
                (folded(&rows(chorus), Title {
                    id: &format!("bars-{}", chorus.number),
                    caption: &format!("Counts by bar{}", chorus.suffix),
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

/// One bar with its chords, and the least width their symbols need.
struct Bar<'a> {
    number: usize,
    chords: Vec<&'a ChordRecord>,
    need: f64,
}

/// A bar in its row: where it begins, and the piles of its chords.
struct Stand<'a> {
    number: usize,
    left: f64,
    piles: Vec<Pile<'a>>,
}

/// The notes of one chord in their pile.
struct Pile<'a> {
    chord: &'a ChordRecord,
    left: f64,
    width: f64,
}

/// What a symbol needs for itself.
fn need(chord: &ChordRecord) -> f64 {
    (text_width(chord_name(&chord.symbol), SIZE) + 6.0).max(NARROWEST)
}

fn bars_of<'a>(chorus: &Chorus<'a>) -> Vec<Bar<'a>> {
    let bar = |record: &&BarRecord| {
        let chords = chorus.chords.iter().filter(|chord| chord.bar == record.bar).copied();
        let chords: Vec<&ChordRecord> = chords.collect();
        let need = chords.iter().map(|chord| need(chord)).sum::<f64>() + BETWEEN;
        Bar { number: record.bar, chords, need }
    };
    chorus.bars.iter().map(bar).collect()
}

/// How wide the bars of a row are: all alike if that leaves each symbol its room, else each as it needs; `None` where they
/// do not fit.
fn widths(row: &[Bar<'_>], in_a_row: usize) -> Option<Vec<f64>> {
    let alike = (WIDTH / in_a_row as f64).min(WIDEST_BAR);
    if row.iter().all(|bar| bar.need <= alike) {
        return Some(vec![alike; row.len()]);
    }
    let all: f64 = row.iter().map(|bar| bar.need).sum();
    let more = ((WIDTH - all) / row.len() as f64).min(WIDEST_BAR / 2.0);
    (in_a_row <= MOST_UNEVEN && more >= 0.0).then(|| row.iter().map(|bar| bar.need + more).collect())
}

/// As many bars in a row as leave each symbol its room.
fn bars_in_a_row(bars: &[Bar<'_>]) -> usize {
    let fits = |in_a_row: &usize| bars.chunks(*in_a_row).all(|row| widths(row, *in_a_row).is_some());
    let most = IN_A_ROW.into_iter().find(fits).unwrap_or(1);
    let rows = bars.len().div_ceil(most).max(1);
    let even = bars.len().div_ceil(rows).next_multiple_of(4).min(most).max(1);
    if fits(&even) { even } else { most }
}

fn pictures(chorus: &Chorus<'_>) -> Vec<Picture> {
    let bars = bars_of(chorus);
    let in_a_row = bars_in_a_row(&bars);
    let rows: Vec<Vec<Stand<'_>>> = bars.chunks(in_a_row).map(|row| stands(row, in_a_row)).collect();
    let piles = rows.iter().flatten().flat_map(|stand| &stand.piles);
    let tallest = piles.map(Pile::height).max().unwrap_or(0);
    rows.iter().enumerate().map(|(index, row)| picture(chorus, index, row, tallest)).collect()
}

/// The bars of a row, each where it stands.
fn stands<'a>(row: &[Bar<'a>], in_a_row: usize) -> Vec<Stand<'a>> {
    let alike = WIDTH / row.len().max(1) as f64;
    let widths = widths(row, in_a_row).unwrap_or_else(|| vec![alike; row.len()]);
    let mut left = 0.0;
    let place = |(bar, width): (&Bar<'a>, f64)| {
        let stand = Stand { number: bar.number, left, piles: piles(bar, left, width) };
        left += width;
        stand
    };
    row.iter().zip(widths).map(place).collect()
}

/// The columns of a bar, each as wide as its symbol needs in proportion.
fn piles<'a>(bar: &Bar<'a>, left: f64, width: f64) -> Vec<Pile<'a>> {
    let stretch = (width - BETWEEN) / (bar.need - BETWEEN).max(1.0);
    let mut at = left + BETWEEN / 2.0;
    let pile = |&chord: &&'a ChordRecord| {
        let pile = Pile { chord, left: at, width: need(chord) * stretch };
        at += pile.width;
        pile
    };
    bar.chords.iter().map(pile).collect()
}

impl Pile<'_> {
    fn middle(&self) -> f64 {
        self.left + self.width / 2.0
    }

    /// How many squares stand side by side.
    fn abreast(&self) -> usize {
        let room = ((self.width - 4.0) / PITCH) as usize;
        squares(self.chord).len().div_ceil(HIGHEST).clamp(1, room.max(1))
    }

    /// How many squares stand on each other.
    fn height(&self) -> usize {
        squares(self.chord).len().div_ceil(self.abreast())
    }
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

fn picture(chorus: &Chorus<'_>, index: usize, row: &[Stand<'_>], tallest: usize) -> Picture {
    let base = 20.0 + tallest as f64 * PITCH;
    let mut drawing = Drawing::default();
    for (place, Stand { number, left, piles }) in row.iter().enumerate() {
        let right = piles.last().map_or(*left, |pile| pile.left + pile.width);
        drawing.text("m mid z11", (f64::midpoint(*left, right), 12.0), &number.to_string());
        drawing.line("rule", (left + BETWEEN / 2.0, base), (right, base));
        if place % 4 == 0 {
            drawing.line("rule", (*left, 4.0), (*left, base + 40.0));
        }
        for pile in piles {
            stack(&mut drawing, pile, base);
            under(&mut drawing, pile, base);
        }
    }
    let number = |stand: Option<&Stand<'_>>| stand.map_or(0, |stand| stand.number);
    Picture {
        id: format!("strip-{}-{index}", chorus.number),
        title: format!("Bars {} to {}{}", number(row.first()), number(row.last()), chorus.suffix),
        desc: "One square for each counted note under its chord: chord tones at the bottom, then scale, then outside, \
               open ones with a question mark. A triangle marks a change landed on its third or seventh. The counts are in \
               the table below."
            .to_owned(),
        height: base + 44.0,
        drawing,
    }
}

fn stack(drawing: &mut Drawing, pile: &Pile<'_>, base: f64) {
    let abreast = pile.abreast();
    let middle = pile.middle();
    for (index, (fill, part, open)) in squares(pile.chord).into_iter().enumerate() {
        let (across, up) = (index % abreast, index / abreast);
        let left = middle - (abreast as f64 * PITCH - (PITCH - SQUARE)) / 2.0 + across as f64 * PITCH;
        let top = base - 2.0 - (up + 1) as f64 * PITCH + (PITCH - SQUARE);
        drawing.rect(fill, (left, top + SQUARE * (1.0 - part)), (SQUARE, SQUARE * part), 2.0);
        if open {
            mark_open(drawing, (left, top), pile.width);
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
fn under(drawing: &mut Drawing, pile: &Pile<'_>, base: f64) {
    let middle = pile.middle();
    drawing.text("b mid z11", (middle, base + 14.0), chord_name(&pile.chord.symbol));
    let Some(LandingRecord { degree: Some(degree), hit, .. }) = &pile.chord.landing else { return };
    if *hit == Some(true) {
        drawing.path("ink", &format!("M{} {}h8l-4 6.5z", Px(middle - 4.0), Px(base + 20.0)));
        drawing.text("mid z11", (middle, base + 38.0), degree);
    } else {
        drawing.text("m mid", (middle, base + 27.0), "–");
        drawing.text("m mid z11", (middle, base + 38.0), degree);
    }
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
