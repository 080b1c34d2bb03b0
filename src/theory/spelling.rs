//! Note names: which letter and accidental a pitch class is written with.

use std::fmt;
use std::str::FromStr;

use super::pitch_class::PitchClass;

/// The seven letters, C first so that an octave starts where the octave number does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Letter {
    /// C
    C,
    /// D
    D,
    /// E
    E,
    /// F
    F,
    /// G
    G,
    /// A
    A,
    /// B
    B,
}

impl Letter {
    /// All seven, from C up.
    pub const ALL: [Self; 7] = [Self::C, Self::D, Self::E, Self::F, Self::G, Self::A, Self::B];

    /// Semitones of the natural note above C.
    pub const fn semitones(self) -> i32 {
        [0, 2, 4, 5, 7, 9, 11][self as usize]
    }

    /// The letter `steps` further on, wrapping after G to A.
    #[must_use]
    pub const fn up(self, steps: i32) -> Self {
        Self::ALL[(self as i32 + steps).rem_euclid(7) as usize]
    }

    /// The letter of an upper-case character.
    pub fn from_char(c: char) -> Option<Self> {
        "CDEFGAB".find(c).map(|i| Self::ALL[i])
    }
}

/// A written note without its octave: a letter and its accidental (`Bb`, `F##`).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NoteName {
    /// The letter.
    pub letter: Letter,
    /// Semitones up (sharps) or down (flats) from the natural note.
    pub alter: i8,
}

impl NoteName {
    /// The note `letter` with `alter` sharps (or flats, when negative).
    pub const fn new(letter: Letter, alter: i8) -> Self {
        Self { letter, alter }
    }

    /// The pitch class that sounds.
    pub const fn pitch_class(self) -> PitchClass {
        PitchClass::from_semitones(self.letter.semitones() + self.alter as i32)
    }

    /// The name of `pitch_class` written with `letter`, accidentals as many as it takes (at most six).
    pub const fn with_letter(pitch_class: PitchClass, letter: Letter) -> Self {
        let up = (pitch_class.semitones() as i32 - letter.semitones()).rem_euclid(12);
        let alter = if up > 6 { up - 12 } else { up };
        Self { letter, alter: alter as i8 }
    }

    /// The plain name of a pitch class: natural where there is one, else with the accidental asked for.
    pub fn plain(pitch_class: PitchClass, accidental: Accidental) -> Self {
        let semitones = i32::from(pitch_class.semitones());
        let natural = |s: i32| Letter::ALL.into_iter().find(|l| l.semitones() == s);
        if let Some(letter) = natural(semitones) {
            return Self::new(letter, 0);
        }
        let (below, alter) = match accidental {
            Accidental::Sharp => (semitones - 1, 1),
            Accidental::Flat => (semitones + 1, -1),
        };
        natural(below).map_or(Self::new(Letter::C, 0), |letter| Self::new(letter, alter))
    }

    /// The name of the degree `steps` letters and `semitones` above this note (a minor third: 2 letters, 3 semitones).
    #[must_use]
    pub const fn up(self, steps: i32, semitones: i32) -> Self {
        Self::with_letter(self.pitch_class().up(semitones), self.letter.up(steps))
    }
}

/// Which accidental to prefer for a note outside a scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Accidental {
    /// `#`
    Sharp,
    /// `b`
    Flat,
}

impl fmt::Display for NoteName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?}", self.letter)?;
        let sign = if self.alter < 0 { "b" } else { "#" };
        (0..self.alter.unsigned_abs()).try_for_each(|_| f.write_str(sign))
    }
}

/// Reads the note name at the start of `text`: an upper-case letter, then at most two accidentals (`#`, `b`, `♯`, `♭`).
///
/// Returns the name and what is left of the text. A note takes its `b` first: `Ab5` is A flat, then `5`.
pub fn read_note_name(text: &str) -> Option<(NoteName, &str)> {
    let letter = Letter::from_char(text.chars().next()?)?;
    let mut rest = &text[1..];
    let mut alter = 0;
    for _ in 0..2 {
        let Some((sign, after)) = read_accidental(rest) else {
            break;
        };
        if alter != 0 && sign != alter {
            break;
        }
        alter += sign;
        rest = after;
    }
    Some((NoteName::new(letter, alter), rest))
}

fn read_accidental(text: &str) -> Option<(i8, &str)> {
    [("#", 1), ("♯", 1), ("b", -1), ("♭", -1)]
        .into_iter()
        .find_map(|(sign, alter)| text.strip_prefix(sign).map(|rest| (alter, rest)))
}

/// Says why a text is no note name.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0:?} is no note name: write a letter A to G, then # or b (as in Bb, F#)")]
pub struct NoNoteName(String);

impl FromStr for NoteName {
    type Err = NoNoteName;

    fn from_str(text: &str) -> Result<Self, NoNoteName> {
        match read_note_name(text) {
            Some((name, "")) => Ok(name),
            _ => Err(NoNoteName(text.to_owned())),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_read_and_print() {
        for text in ["C", "Bb", "F##", "Ebb", "B#", "Cb"] {
            assert_eq!(text.parse::<NoteName>().expect("a name").to_string(), text);
        }
        assert_eq!("B♭".parse::<NoteName>().expect("a name").to_string(), "Bb");
        for text in ["", "H", "c", "Cx", "Cb#", "C###"] {
            assert!(text.parse::<NoteName>().is_err(), "{text}");
        }
    }

    #[test]
    fn a_flat_belongs_to_the_note_before_the_number() {
        assert_eq!(read_note_name("Ab5"), Some((NoteName::new(Letter::A, -1), "5")));
    }

    #[test]
    fn degrees_keep_their_letter() {
        let b_flat: NoteName = "Bb".parse().expect("a name");
        assert_eq!(b_flat.up(2, 4).to_string(), "D");
        assert_eq!(b_flat.up(2, 3).to_string(), "Db");
        assert_eq!(b_flat.up(6, 9).to_string(), "Abb");
    }

    #[test]
    fn plain_names_prefer_the_accidental_asked_for() {
        let c_sharp = PitchClass::from_semitones(1);
        assert_eq!(NoteName::plain(c_sharp, Accidental::Sharp).to_string(), "C#");
        assert_eq!(NoteName::plain(c_sharp, Accidental::Flat).to_string(), "Db");
    }
}
