//! The neck as a picture of text: a line a string, the highest above, a cell a fret.
//!
//! The nearer a place is to the chord, the more ink: `[b3]` a chord tone, `o` the scale, `·` one of the twelve. In front of
//! the mark `›` says that the place is in the chord that comes, `»` that it is its third or seventh.

use std::collections::BTreeMap;

use crate::neck::{Fret, InNext, Layer, Layers, Place, PlacedNote, Tuning};
use crate::report::neck::ChordOnNeck;
use crate::report::picture::Line;
use crate::report::theme::Role;
use crate::theory::spelling::Accidental;
use crate::theory::{NoteName, PitchClass};

/// Columns of one fret, with the fret's own line.
pub(in crate::report) const CELL: usize = 6;
/// Columns before the first fret.
pub(in crate::report) const MARGIN: usize = 2;

/// What stands between the brackets of a chord tone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Naming {
    /// What it is to the chord: `b3`.
    #[default]
    Degrees,
    /// Its name: `Ab`.
    Names,
}

/// How a picture is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Drawn {
    /// What stands in the brackets.
    pub naming: Naming,
    /// The layer furthest from the chord that is drawn; what lies further stays empty, unless the next chord has it.
    pub down_to: Layer,
}

impl Drawn {
    /// All three layers.
    pub const fn whole(naming: Naming) -> Self {
        Self { naming, down_to: Layer::Chromatic }
    }
}

/// The picture: fret numbers, then the strings.
pub fn neck_picture(shown: &ChordOnNeck, drawn: Drawn) -> Vec<Line> {
    let placed: BTreeMap<Place, PlacedNote> =
        shown.places().into_iter().map(|note| (note.place, note)).collect();
    let marks = Marks::new(shown, drawn);
    let mut lines = vec![fret_numbers(shown)];
    let strings = shown.tuning.from_lowest().rev().zip(string_labels(&shown.tuning));
    for ((string, _), label) in strings {
        let mut line = Line::words(format!("{label:<MARGIN$}"));
        for fret in shown.frets.iter() {
            let (text, role) = match placed.get(&Place { string, fret }) {
                Some(note) => marks.cell(note.pitch.pitch_class()),
                None => (" ".repeat(CELL - 1), None),
            };
            line.push(text, role);
            line.push(if fret == Fret::OPEN { "║" } else { "│" }, None);
        }
        lines.push(line);
    }
    lines
}

fn fret_numbers(shown: &ChordOnNeck) -> Line {
    let number = |fret: Fret| format!("{:^CELL$}", fret.to_string() + " ");
    Line::words(" ".repeat(MARGIN) + &shown.frets.iter().map(number).collect::<String>())
}

/// What stands before each string, the highest first: its note, in a small letter where a lower string has the same.
fn string_labels(tuning: &Tuning) -> Vec<String> {
    let name =
        |open: &crate::theory::Pitch| NoteName::plain(open.pitch_class(), Accidental::Flat).to_string();
    let names: Vec<String> = tuning.strings().iter().map(name).collect();
    let label = |(index, name): (usize, &String)| {
        let is_highest = index + 1 == names.len();
        let again = is_highest && names[..index].contains(name);
        if again { name.to_lowercase() } else { name.clone() }
    };
    names.iter().enumerate().map(label).rev().collect()
}

/// The marks of a chord in its scale.
pub(in crate::report) struct Marks<'s> {
    shown: &'s ChordOnNeck,
    layers: Layers,
    drawn: Drawn,
}

impl<'s> Marks<'s> {
    pub(in crate::report) fn new(shown: &'s ChordOnNeck, drawn: Drawn) -> Self {
        Self { shown, layers: shown.layers(), drawn }
    }

    /// One cell of five columns: the flag, and the mark in the middle.
    pub(in crate::report) fn cell(&self, pitch_class: PitchClass) -> (String, Option<Role>) {
        let flag = match self.layers.in_next(pitch_class) {
            InNext::Absent => " ",
            InNext::Tone => "›",
            InNext::GuideTone => "»",
        };
        let (mark, role) = match self.layers.layer(pitch_class) {
            layer if layer < self.drawn.down_to && flag == " " => (String::new(), Role::Dim),
            Layer::Chord => (bracketed(flag, &self.label(pitch_class)), Role::Chord),
            Layer::Scale => (format!(" {flag}o"), Role::Scale),
            Layer::Chromatic if flag == " " => ("  ·".to_owned(), Role::Dim),
            Layer::Chromatic => (format!(" {flag}·"), Role::Dim),
        };
        (format!("{mark:<width$}", width = CELL - 1), Some(role))
    }

    fn label(&self, pitch_class: PitchClass) -> String {
        match self.drawn.naming {
            Naming::Degrees => self.shown.chord.degree_of(pitch_class).to_string(),
            Naming::Names => self.shown.name(pitch_class).to_string(),
        }
    }
}

/// A chord tone in its brackets. What is too long for a cell with its flag goes without the bracket that closes it.
fn bracketed(flag: &str, label: &str) -> String {
    let whole = format!("{flag}[{label}]");
    match whole.strip_prefix(' ') {
        Some(without) if whole.chars().count() >= CELL => without.to_owned(),
        None if whole.chars().count() >= CELL => format!("{flag}[{label}"),
        _ => whole,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::neck::{FretRange, Position};
    use crate::theory::{ChordSymbol, Mode};

    fn shown(frets: (u8, u8)) -> ChordOnNeck {
        let chord: ChordSymbol = "Fm7".parse().expect("a symbol");
        ChordOnNeck {
            chord,
            scale: Mode::Dorian.on(chord.root),
            next: Some("Bb7".parse().expect("a symbol")),
            tuning: Tuning::standard(),
            frets: FretRange::new(Fret(frets.0), Fret(frets.1)).expect("a range"),
            position: None,
        }
    }

    fn text(lines: &[Line]) -> String {
        lines.iter().map(|line| line.text() + "\n").collect()
    }

    #[test]
    fn the_layers_and_the_next_chord_stand_on_the_neck() {
        let expect = "    0     1     2     3     4     5     6     7     8     9    10    11    12
e   ·  ║›[1] │  ·  │  o  │»[b3]│  ·  │ ›o  │  ·  │ [5] │  ·  │ »o  │ [b7]│  ·  │
B   ·  ║ [5] │  ·  │ »o  │ [b7]│  ·  │›[1] │  ·  │  o  │»[b3]│  ·  │ ›o  │  ·  │
G   o  ║»[b3]│  ·  │ ›o  │  ·  │ [5] │  ·  │ »o  │ [b7]│  ·  │›[1] │  ·  │  o  │
D  »o  ║ [b7]│  ·  │›[1] │  ·  │  o  │»[b3]│  ·  │ ›o  │  ·  │ [5] │  ·  │ »o  │
A   ·  ║ ›o  │  ·  │ [5] │  ·  │ »o  │ [b7]│  ·  │›[1] │  ·  │  o  │»[b3]│  ·  │
E   ·  ║›[1] │  ·  │  o  │»[b3]│  ·  │ ›o  │  ·  │ [5] │  ·  │ »o  │ [b7]│  ·  │
";
        assert_eq!(text(&neck_picture(&shown((0, 12)), Drawn::whole(Naming::Degrees))), expect);
    }

    #[test]
    fn a_position_leaves_every_other_place_empty() {
        let mut shown = shown((3, 8));
        let start = "G".parse().expect("a name");
        shown.position = Some(Position::of(&shown.scale, start, &shown.tuning).expect("a position"));
        shown.next = None;
        let expect = "    3     4     5     6     7     8
e      │ [b3]│     │  o  │     │ [5] │
B      │ [b7]│     │ [1] │     │  o  │
G   o  │     │ [5] │     │  o  │     │
D  [1] │     │  o  │ [b3]│     │     │
A  [5] │     │  o  │ [b7]│     │     │
E   o  │ [b3]│     │  o  │     │     │
";
        assert_eq!(text(&neck_picture(&shown, Drawn::whole(Naming::Degrees))), expect);
    }

    #[test]
    fn layers_are_taken_away_but_not_what_comes_next() {
        let drawn = |down_to| {
            let drawn = Drawn { naming: Naming::Degrees, down_to };
            neck_picture(&shown((4, 6)), drawn).iter().skip(3).take(1).map(Line::text).collect::<String>()
        };
        assert_eq!(drawn(Layer::Chromatic), "G   ·  │ [5] │  ·  │");
        assert_eq!(drawn(Layer::Scale), "G      │ [5] │     │");
        let above = |down_to| {
            let drawn = Drawn { naming: Naming::Degrees, down_to };
            neck_picture(&shown((2, 3)), drawn)[2].text()
        };
        assert_eq!(above(Layer::Scale), "B      │ »o  │");
        assert_eq!(above(Layer::Chord), "B      │ »o  │");
    }

    #[test]
    fn names_stand_in_the_same_brackets() {
        let picture = text(&neck_picture(&shown((0, 1)), Drawn::whole(Naming::Names)));
        assert!(picture.contains("G   o  ║»[Ab]│"), "{picture}");
    }

    #[test]
    fn a_long_degree_keeps_to_its_cell() {
        assert_eq!(bracketed(" ", "b7"), " [b7]");
        assert_eq!(bracketed(" ", "bb7"), "[bb7]");
        assert_eq!(bracketed("»", "bb7"), "»[bb7");
    }
}
