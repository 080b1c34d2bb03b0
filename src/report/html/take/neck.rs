//! The neck: a disc at each place that was played.

use maud::{Markup, html};

use super::super::picture::{Drawing, Picture, WIDTH, figure};
use super::super::table::{Title, table};
use super::places::{commonest, radius};
use crate::report::review::{PlaceRecord, PlacesRecord, StringRecord};
use crate::report::table::{Cell, Column, Row, Table};

/// Frets drawn at the least.
const FEWEST_FRETS: u8 = 12;

/// Frets that carry a mark on most necks.
const MARKED: [u8; 8] = [3, 5, 7, 9, 12, 15, 17, 19];

/// Where the open strings stand, and where the nut does.
const OPEN: f64 = 58.0;
const NUT: f64 = 78.0;

/// The way from string to string, and where the first is.
const STRING: f64 = 28.0;
const TOP: f64 = 20.0;

/// The largest disc.
const LARGEST: f64 = 12.5;

/// Picture and table by string.
pub fn figure_and_table(places: &PlacesRecord) -> Markup {
    html! {
        (figure(&[picture(places)], "On the neck"))
        div.small { (table(&rows(&places.strings), Title { id: "strings", caption: "By string" })) }
    }
}

fn picture(places: &PlacesRecord) -> Picture {
    let highest = places.on_strings.iter().map(|place| place.fret).max().unwrap_or(0);
    let frets = highest.max(FEWEST_FRETS);
    let fret_width = (WIDTH - NUT - 6.0) / f64::from(frets);
    let x = |fret: u8| if fret == 0 { OPEN } else { NUT + (f64::from(fret) - 0.5) * fret_width };
    let y = |string: u8| TOP + (f64::from(string) - 1.0) * STRING;
    let bottom = y(places.strings.len() as u8);
    let mut drawing = Drawing::default();
    for string in &places.strings {
        drawing.text("m end", (OPEN - 18.0, y(string.string) + 4.0), &string.open);
        drawing.line("rule", (NUT, y(string.string)), (WIDTH - 6.0, y(string.string)));
    }
    for fret in 0..=frets {
        let at = NUT + f64::from(fret) * fret_width;
        drawing.line(if fret == 0 { "heavy" } else { "hair" }, (at, y(1)), (at, bottom));
        if fret > 0 {
            let class = if MARKED.contains(&fret) { "b mid" } else { "m mid" };
            drawing.text(class, (x(fret), bottom + 32.0), &fret.to_string());
        }
    }
    let most = places.on_strings.iter().map(|place| place.counts.notes).max().unwrap_or(1);
    for place in &places.on_strings {
        disc(&mut drawing, place, (x(place.fret), y(place.string)), most);
    }
    Picture {
        id: "neck".to_owned(),
        title: "Where on the neck the line was played".to_owned(),
        desc: "A disc at each place, the larger the more often, with the number of notes. Solid where most of them were chord \
               tones, hatched where they were scale tones, dotted where they were outside. The table below has the strings."
            .to_owned(),
        height: bottom + 40.0,
        drawing,
    }
}

/// A disc with its number, on it where it is large enough, else beside it.
pub(super) fn disc(drawing: &mut Drawing, place: &PlaceRecord, at: (f64, f64), most: usize) {
    let radius = radius(place.counts.notes, most, LARGEST);
    numbered(drawing, commonest(&place.counts), at, radius, place.counts.notes);
}

fn numbered(drawing: &mut Drawing, fill: &'static str, (x, y): (f64, f64), radius: f64, notes: usize) {
    let number = notes.to_string();
    drawing.disc("w", (x, y), radius + 2.0);
    drawing.disc(fill, (x, y), radius);
    if radius < 9.0 {
        drawing.text("z11", (x + radius + 3.0, y + 4.0), &number);
    } else if fill == "c" {
        drawing.text("w mid z11 b", (x, y + 4.0), &number);
    } else {
        drawing.disc("w", (x, y), radius - 3.5);
        drawing.text("mid z11 b", (x, y + 4.0), &number);
    }
}

fn rows(strings: &[StringRecord]) -> Table {
    let numbers = ["notes", "chord", "scale", "outside"].map(Column::numbers);
    let mut table =
        Table::new([Column::words("string")].into_iter().chain(numbers).chain([Column::words("frets")]));
    for string in strings {
        let counts = &string.counts;
        let frets = match (string.lowest_fret, string.highest_fret) {
            (Some(low), Some(high)) if low == high => low.to_string(),
            (Some(low), Some(high)) => format!("{low}–{high}"),
            _ => "–".to_owned(),
        };
        let numbers = [counts.notes, counts.chord, counts.scale + counts.other, counts.outside];
        let name = format!("{} ({})", string.string, string.open);
        let cells = [name].into_iter().chain(numbers.map(|count| count.to_string())).chain([frets]);
        table.push(Row::new(cells.map(Cell::from)));
    }
    table
}
