//! Tunings: the open strings, by a name in use or note by note.

use std::fmt;
use std::str::FromStr;

use super::place::{Fret, Place, StringNumber};
use crate::theory::spelling::{Accidental, read_note_name};
use crate::theory::{NoteName, Pitch};

/// The fewest and the most strings a tuning may have.
const STRINGS: std::ops::RangeInclusive<usize> = 1..=12;

/// Tunings in common use, lowest string first (common practice; the keys follow from the notes).
const NAMED: [(&str, &str); 8] = [
    ("standard", "E2 A2 D3 G3 B3 E4"),
    ("drop-d", "D2 A2 D3 G3 B3 E4"),
    ("dadgad", "D2 A2 D3 G3 A3 D4"),
    ("open-g", "D2 G2 D3 G3 B3 D4"),
    ("fourths", "E2 A2 D3 G3 C4 F4"),
    ("seven-string", "B1 E2 A2 D3 G3 B3 E4"),
    ("half-step-down", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4"),
    ("bass", "E1 A1 D2 G2"),
];

/// The open strings of an instrument, lowest string first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tuning(Vec<Pitch>);

impl Tuning {
    /// The usual tuning of a six-string guitar.
    pub fn standard() -> Self {
        let keys = [40, 45, 50, 55, 59, 64];
        Self(keys.into_iter().filter_map(Pitch::new).collect())
    }

    /// The tuning with these open strings, lowest string first; `None` where there are too few or too many.
    pub fn of_strings(strings: Vec<Pitch>) -> Option<Self> {
        STRINGS.contains(&strings.len()).then_some(Self(strings))
    }

    /// The open strings, lowest string first.
    pub fn strings(&self) -> &[Pitch] {
        &self.0
    }

    /// The lowest open string.
    pub fn lowest(&self) -> Pitch {
        self.0[0]
    }

    /// The strings with their numbers, from the lowest string up.
    pub fn from_lowest(&self) -> impl DoubleEndedIterator<Item = (StringNumber, Pitch)> + ExactSizeIterator {
        self.0.iter().enumerate().map(|(index, &open)| (StringNumber::from_lowest(index, self.0.len()), open))
    }

    /// What sounds at a place; `None` where there is no such string or the pitch is beyond MIDI's.
    pub fn pitch_at(&self, place: Place) -> Option<Pitch> {
        let index = self.0.len().checked_sub(usize::from(place.string.number()))?;
        self.0.get(index)?.up(i32::from(place.fret.0))
    }

    /// The tuning with a capo on `fret`: every string sounds so many semitones higher. `None` beyond MIDI's range.
    pub fn with_capo(&self, fret: Fret) -> Option<Self> {
        self.0.iter().map(|open| open.up(i32::from(fret.0))).collect::<Option<Vec<_>>>().map(Self)
    }

    /// The names that can be written for a tuning.
    pub fn names() -> impl Iterator<Item = &'static str> {
        NAMED.iter().map(|&(name, _)| name)
    }

    fn notes(&self) -> String {
        let written =
            |pitch: &Pitch| pitch.written(NoteName::plain(pitch.pitch_class(), Accidental::Flat)).to_string();
        self.0.iter().map(written).collect::<Vec<_>>().join(" ")
    }
}

/// Says why a text is no tuning, and what to write.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoTuning {
    /// One of the notes cannot be read.
    #[error("\"{0}\" is no note with its octave (E2), nor a tuning's name ({names})", names = named())]
    Note(String),
    /// Too few or too many strings.
    #[error("{0} strings: a tuning has {least} to {most}", least = STRINGS.start(), most = STRINGS.end())]
    Strings(usize),
}

fn named() -> String {
    Tuning::names().collect::<Vec<_>>().join(", ")
}

/// Reads a name (`drop-d`) or the notes, lowest string first (`D2 A2 D3 G3 B3 E4`).
impl FromStr for Tuning {
    type Err = NoTuning;

    fn from_str(text: &str) -> Result<Self, NoTuning> {
        let named = NAMED.iter().find(|(name, _)| *name == text.trim());
        let notes: Vec<&str> = named.map_or(text, |(_, notes)| notes).split_whitespace().collect();
        if !STRINGS.contains(&notes.len()) {
            return Err(NoTuning::Strings(notes.len()));
        }
        let read = |note: &&str| read_pitch(note).ok_or_else(|| NoTuning::Note((*note).to_owned()));
        notes.iter().map(read).collect::<Result<_, _>>().map(Self)
    }
}

/// Reads a note with its octave; the octave follows the letter, as in `B#3`.
fn read_pitch(text: &str) -> Option<Pitch> {
    let (name, octave) = read_note_name(text)?;
    let octave: i32 = octave.parse().ok().filter(|octave| (-1..=9).contains(octave))?;
    let letter = name.letter.semitones();
    let key = 12 * (octave + 1) + letter + i32::from(name.alter);
    u8::try_from(key).ok().and_then(Pitch::new)
}

/// Prints the name where there is one, else the notes.
impl fmt::Display for Tuning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let named = NAMED.iter().find(|(_, notes)| notes.parse().is_ok_and(|tuning: Self| tuning == *self));
        match named {
            Some((name, _)) => f.write_str(name),
            None => f.write_str(&self.notes()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn keys(text: &str) -> Vec<u8> {
        let tuning: Tuning = text.parse().expect("a tuning");
        tuning.strings().iter().map(|pitch| pitch.key()).collect()
    }

    #[test]
    fn named_tunings_have_the_keys_in_use() {
        assert_eq!(keys("standard"), [40, 45, 50, 55, 59, 64]);
        assert_eq!(keys("drop-d"), [38, 45, 50, 55, 59, 64]);
        assert_eq!(keys("dadgad"), [38, 45, 50, 55, 57, 62]);
        assert_eq!(keys("open-g"), [38, 43, 50, 55, 59, 62]);
        assert_eq!(keys("fourths"), [40, 45, 50, 55, 60, 65]);
        assert_eq!(keys("seven-string"), [35, 40, 45, 50, 55, 59, 64]);
        assert_eq!(keys("half-step-down"), [39, 44, 49, 54, 58, 63]);
        assert_eq!(keys("bass"), [28, 33, 38, 43]);
        assert_eq!(Tuning::standard(), "standard".parse().expect("a tuning"));
    }

    #[test]
    fn notes_are_read_and_printed_by_name_where_there_is_one() {
        let printed = |text: &str| text.parse::<Tuning>().expect("a tuning").to_string();
        assert_eq!(printed("E2 A2 D3 G3 B3 E4"), "standard");
        assert_eq!(printed("C2 G2 D3 A3"), "C2 G2 D3 A3");
        assert_eq!(printed("B#1"), "C2");
    }

    #[test]
    fn strings_are_numbered_from_the_highest() {
        let at = |string, fret| {
            let string = StringNumber::new(string).expect("a string");
            Tuning::standard().pitch_at(Place { string, fret: Fret(fret) }).map(Pitch::key)
        };
        assert_eq!([at(6, 0), at(6, 3), at(1, 12), at(7, 0)], [Some(40), Some(43), Some(76), None]);
        let numbers: Vec<u8> = Tuning::standard().from_lowest().map(|(string, _)| string.number()).collect();
        assert_eq!(numbers, [6, 5, 4, 3, 2, 1]);
    }

    #[test]
    fn a_capo_raises_every_string() {
        let capo = Tuning::standard().with_capo(Fret(2)).expect("within MIDI");
        assert_eq!(capo.to_string(), "Gb2 B2 E3 A3 Db4 Gb4");
    }

    #[test]
    fn what_is_no_tuning_says_what_to_write() {
        let refused = |text: &str| text.parse::<Tuning>().expect_err("no tuning").to_string();
        assert!(refused("drop-c").contains("drop-d"));
        assert!(refused("E2 A2 H3").starts_with("\"H3\" is no note"));
        assert!(refused("E99").contains("E99"));
        assert_eq!(refused(""), "0 strings: a tuning has 1 to 12");
    }
}
