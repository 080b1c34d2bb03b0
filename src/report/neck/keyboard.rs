//! Keys as a picture of text: the black ones above, the white ones below, with the marks of the neck.

use crate::report::neck::ChordOnNeck;
use crate::report::neck::picture::{Drawn, Marks};
use crate::report::picture::Line;
use crate::theory::PitchClass;

/// Columns of a white key.
const KEY: usize = 5;
/// How far the mark of a black key stands right of the white key below it, in columns.
const BLACK: usize = 2;
/// The white keys.
const WHITE: [i32; 7] = [0, 2, 4, 5, 7, 9, 11];
/// Their names.
const LETTERS: [&str; 7] = ["C", "D", "E", "F", "G", "A", "B"];

/// The most white keys: three octaves and the C that closes them.
const WIDEST: usize = 22;

/// The picture: black keys, white keys, the names of the white ones; from C up, as many as `width` columns hold.
pub fn keys_picture(shown: &ChordOnNeck, drawn: Drawn, width: usize) -> Vec<Line> {
    let marks = Marks::new(shown, drawn);
    let whites = (width.saturating_sub(1) / KEY).clamp(WHITE.len() + 1, WIDEST);
    let white = |index: usize| PitchClass::from_semitones(WHITE[index % WHITE.len()]);
    let is_black = |pitch_class: PitchClass| !WHITE.contains(&i32::from(pitch_class.semitones()));
    let mut above = Line::words(" ".repeat(BLACK + 1));
    let mut below = Line::words(" ");
    let names: Vec<String> =
        (0..whites).map(|index| format!("{:^KEY$}", LETTERS[index % WHITE.len()])).collect();
    for index in 0..whites {
        let (text, role) = marks.cell(white(index));
        below.push(text, role);
        let black = white(index).up(1);
        let (text, role) =
            if is_black(black) && index + 1 < whites { marks.cell(black) } else { (" ".repeat(KEY), None) };
        above.push(text, role);
    }
    vec![above, below, Line::words(format!(" {}", names.concat()))]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::neck::{Fret, FretRange, Tuning};
    use crate::report::neck::picture::Naming;
    use crate::theory::{ChordSymbol, Mode};

    #[test]
    fn black_keys_stand_above_and_between() {
        let chord: ChordSymbol = "Fm7".parse().expect("a symbol");
        let shown = ChordOnNeck {
            chord,
            scale: Mode::Dorian.on(chord.root),
            next: Some("Bb7".parse().expect("a symbol")),
            tuning: Tuning::standard(),
            frets: FretRange::new(Fret(0), Fret(0)).expect("a range"),
            position: None,
        };
        let lines: Vec<String> =
            keys_picture(&shown, Drawn::whole(Naming::Degrees), 42).iter().map(Line::text).collect();
        let expect = [
            "     ·   [b7]       ·  »[b3] ›o",
            "  [5]  »o    ·  ›[1]   o    ·    ·   [5]",
            "   C    D    E    F    G    A    B    C",
        ];
        assert_eq!(lines, expect);
    }
}
