//! Degrees: how far a note lies above a root, named as players name it (`b3`, `#11`, `13`).

use std::fmt;
use std::str::FromStr;

use super::pitch_class::{PitchClass, PitchClassSet};
use super::spelling::NoteName;

/// A degree: a number of the major scale above a root, 1 to 13, raised or lowered (`b7`, `#11`).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Degree {
    number: u8,
    alter: i8,
}

/// Semitones of the degrees 1 to 7 of the major scale.
const MAJOR: [i32; 7] = [0, 2, 4, 5, 7, 9, 11];

impl Degree {
    /// The degree `number` (1 to 13) with `alter` sharps or flats (at most two), or `None` outside those ranges.
    pub const fn new(number: u8, alter: i8) -> Option<Self> {
        if number >= 1 && number <= 13 && alter >= -2 && alter <= 2 {
            Some(Self { number, alter })
        } else {
            None
        }
    }

    /// The number, 1 to 13.
    pub const fn number(self) -> u8 {
        self.number
    }

    /// Semitones above the root, folded into one octave (0 to 11).
    pub const fn semitones(self) -> u8 {
        let steps = (self.number as usize - 1) % 7;
        (MAJOR[steps] + self.alter as i32).rem_euclid(12) as u8
    }

    /// The note this degree is above `root`, spelled with the degree's own letter.
    pub const fn above(self, root: NoteName) -> NoteName {
        root.up((self.number as i32 - 1) % 7, self.semitones() as i32)
    }

    /// The pitch class this degree is above `root`.
    pub const fn pitch_class(self, root: PitchClass) -> PitchClass {
        root.up(self.semitones() as i32)
    }

    /// What a player calls the note `semitones` above the root of a chord with these basic tones (relative to its root).
    ///
    /// Chord tones are 1 to 7, everything else is named as a tension where the trade does so (common practice):
    /// 3 semitones are `b3` in a chord without a major third and `#9` over one with it.
    pub fn in_chord(semitones: u8, tones: PitchClassSet) -> Self {
        let in_chord = tones.has_semitone(semitones);
        let has = |s| tones.has_semitone(s);
        let (number, alter) = match semitones % 12 {
            0 => (1, 0),
            1 => (9, -1),
            2 if in_chord && !has(3) && !has(4) => (2, 0),
            2 => (9, 0),
            3 if in_chord || !has(4) => (3, -1),
            3 => (9, 1),
            4 => (3, 0),
            5 if in_chord && !has(3) && !has(4) => (4, 0),
            5 => (11, 0),
            6 if in_chord => (5, -1),
            6 => (11, 1),
            7 => (5, 0),
            8 if in_chord && has(7) => (6, -1),
            8 if in_chord => (5, 1),
            8 => (13, -1),
            9 if in_chord && has(6) && has(3) && !has(10) => (7, -2),
            9 if in_chord => (6, 0),
            9 => (13, 0),
            10 => (7, -1),
            _ => (7, 0),
        };
        Self { number, alter }
    }
}

impl fmt::Display for Degree {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.alter < 0 { "b" } else { "#" };
        (0..self.alter.unsigned_abs()).try_for_each(|_| f.write_str(sign))?;
        write!(f, "{}", self.number)
    }
}

/// Says why a text is no degree.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0:?} is no degree: write a number 1 to 13 with # or b before it (as in b3, #11)")]
pub struct NoDegree(String);

impl FromStr for Degree {
    type Err = NoDegree;

    fn from_str(text: &str) -> Result<Self, NoDegree> {
        let digits = text.trim_start_matches(['b', '#', '♭', '♯']);
        let signs = &text[..text.len() - digits.len()];
        let flats = signs.chars().filter(|c| matches!(c, 'b' | '♭')).count();
        let sharps = signs.chars().count() - flats;
        let alter = match (flats, sharps) {
            (flats @ 0..=2, 0) => i8::try_from(flats).map(|f| -f),
            (0, sharps @ 1..=2) => i8::try_from(sharps),
            _ => return Err(NoDegree(text.to_owned())),
        };
        let number = digits.parse().ok().filter(|_| !digits.starts_with('+'));
        number
            .zip(alter.ok())
            .and_then(|(number, alter)| Self::new(number, alter))
            .ok_or_else(|| NoDegree(text.to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn degrees_read_print_and_sound() {
        for (text, semitones) in
            [("1", 0), ("b3", 3), ("#11", 6), ("bb7", 9), ("13", 9), ("b9", 1), ("b4", 4)]
        {
            let degree: Degree = text.parse().expect("a degree");
            assert_eq!(degree.to_string(), text);
            assert_eq!(degree.semitones(), semitones, "{text}");
        }
        for text in ["", "b", "14", "0", "+3", "bbb7", "b#3", "x"] {
            assert!(text.parse::<Degree>().is_err(), "{text}");
        }
    }

    #[test]
    fn names_depend_on_the_chord() {
        let minor7 = PitchClassSet::of(&[0, 3, 7, 10]);
        let dominant = PitchClassSet::of(&[0, 4, 7, 10]);
        let diminished = PitchClassSet::of(&[0, 3, 6, 9]);
        let sus = PitchClassSet::of(&[0, 5, 7, 10]);
        let name = |s, tones| Degree::in_chord(s, tones).to_string();
        assert_eq!([3, 4, 6, 8, 11].map(|s| name(s, minor7)).join(" "), "b3 3 #11 b13 7");
        assert_eq!([1, 2, 3, 5, 6, 9].map(|s| name(s, dominant)).join(" "), "b9 9 #9 11 #11 13");
        assert_eq!([6, 7, 9].map(|s| name(s, diminished)).join(" "), "b5 5 bb7");
        assert_eq!([3, 4, 5].map(|s| name(s, sus)).join(" "), "b3 3 4");
    }

    #[test]
    fn a_degree_keeps_its_letter() {
        let d: NoteName = "D".parse().expect("a name");
        let name = |text: &str| text.parse::<Degree>().expect("a degree").above(d).to_string();
        assert_eq!([name("#11"), name("b9"), name("b7")], ["G#", "Eb", "C"]);
    }
}
