//! The keyboard: a disc on each key that was played.

use maud::{Markup, html};

use super::super::picture::{Drawing, Picture, Px, WIDTH, figure};
use super::super::table::{Title, folding};
use super::places::{commonest, radius};
use crate::report::review::{KeyRecord, PlacesRecord};
use crate::report::table::{Cell, Column, Row, Table};

/// Which keys of an octave are black.
const BLACK: [u8; 5] = [1, 3, 6, 8, 10];

/// The widest a white key is drawn.
const WIDEST: f64 = 44.0;

/// How far white and black keys reach down, and where they begin.
const TOP: f64 = 22.0;
const WHITE_LENGTH: f64 = 104.0;
const BLACK_LENGTH: f64 = 62.0;

/// Picture and table by key.
pub fn figure_and_table(places: &PlacesRecord) -> Markup {
    html! {
        (figure(&[picture(&places.keys)], "On the keys"))
        div.small { (folding(&rows(&places.keys), Title { id: "keys", caption: "By key" })) }
    }
}

/// The keys drawn: whole octaves from C to B.
struct Keyboard {
    low: u8,
    high: u8,
    white: f64,
}

impl Keyboard {
    fn of(keys: &[KeyRecord]) -> Self {
        let low = keys.iter().map(|key| key.key).min().unwrap_or(60) / 12 * 12;
        let high = (keys.iter().map(|key| key.key).max().unwrap_or(60) / 12 * 12 + 11).min(127);
        let whites = (low..=high).filter(|&key| !is_black(key)).count();
        Self { low, high, white: ((WIDTH - 4.0) / whites as f64).min(WIDEST) }
    }

    fn keys(&self) -> impl Iterator<Item = u8> {
        self.low..=self.high
    }

    /// The left edge of a key and its width.
    fn place(&self, key: u8) -> (f64, f64) {
        let before = (self.low..key).filter(|&key| !is_black(key)).count() as f64;
        let left = 2.0 + before * self.white;
        if is_black(key) { (left - self.white * 0.3, self.white * 0.6) } else { (left, self.white) }
    }
}

const fn is_black(key: u8) -> bool {
    let mut index = 0;
    while index < BLACK.len() {
        if BLACK[index] == key % 12 {
            return true;
        }
        index += 1;
    }
    false
}

fn picture(keys: &[KeyRecord]) -> Picture {
    let board = Keyboard::of(keys);
    let mut drawing = Drawing::default();
    for key in board.keys().filter(|&key| !is_black(key)) {
        let (left, width) = board.place(key);
        drawing.rect("white", (left, TOP), (width, WHITE_LENGTH), 2.0);
        if key % 12 == 0 {
            let name = format!("C{}", i32::from(key / 12) - 1);
            drawing.text("m mid z11", (left + width / 2.0, TOP + WHITE_LENGTH + 15.0), &name);
        }
    }
    for key in board.keys().filter(|&key| is_black(key)) {
        let (left, width) = board.place(key);
        let played = keys.iter().any(|record| record.key == key);
        drawing.rect(if played { "played" } else { "black" }, (left, TOP), (width, BLACK_LENGTH), 2.0);
    }
    let most = keys.iter().map(|key| key.counts.notes).max().unwrap_or(1);
    for record in keys {
        played(&mut drawing, record, &board, most);
    }
    Picture {
        id: "keyboard".to_owned(),
        title: "Which keys the line was played on".to_owned(),
        desc: "A disc on each key, the larger the more often, with the number of notes above or in it. Solid where most of them \
               were chord tones, hatched where they were scale tones, dotted where they were outside. The table below has the \
               keys."
            .to_owned(),
        height: TOP + WHITE_LENGTH + 22.0,
        drawing,
    }
}

/// The disc of a key and, over it, its number.
fn played(drawing: &mut Drawing, record: &KeyRecord, board: &Keyboard, most: usize) {
    let (left, width) = board.place(record.key);
    let largest = (board.white * 0.3 - 2.0).min(12.0);
    let radius = radius(record.counts.notes, most, largest).min(largest.max(2.5));
    let x = left + width / 2.0;
    let y = if is_black(record.key) { TOP + BLACK_LENGTH - 14.0 } else { TOP + WHITE_LENGTH - 14.0 };
    drawing.disc(commonest(&record.counts), (x, y), radius);
    let number = record.counts.notes.to_string();
    if is_black(record.key) {
        // Over the keyboard: a black key is narrower than two digits.
        drawing.text("mid z11", (x, TOP - 6.0), &number);
        drawing.path("lead-line", &format!("M{} {}V{}", Px(x), Px(TOP - 3.0), Px(y - radius)));
    } else {
        drawing.text("mid z11", (x, y - radius - 4.0), &number);
    }
}

fn rows(keys: &[KeyRecord]) -> Table {
    let numbers = ["notes", "chord", "scale", "outside"].map(Column::numbers);
    let mut table = Table::new([Column::words("key")].into_iter().chain(numbers));
    for key in keys.iter().rev() {
        let counts = &key.counts;
        let numbers = [counts.notes, counts.chord, counts.scale + counts.other, counts.outside];
        let cells = [key.name.clone()].into_iter().chain(numbers.map(|count| count.to_string()));
        table.push(Row::new(cells.map(Cell::from)));
    }
    table
}
