//! Keys: a tonic and a mode, as a stretch of a tune is heard in.

use std::fmt;
use std::str::FromStr;

use super::pitch_class::PitchClass;
use super::spelling::{NoteName, read_note_name};

/// The mode of a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum KeyMode {
    /// Major.
    Major,
    /// Minor, whatever its sixth and seventh.
    Minor,
    /// A blues: dominant chords on I, IV and V.
    Blues,
}

/// A key, such as Eb major, A minor or F blues.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Key {
    /// The tonic, as the key signature spells it.
    pub tonic: NoteName,
    /// The mode.
    pub mode: KeyMode,
}

/// Tonics as key signatures are commonly written (common practice), by pitch class from C.
const MAJOR_TONICS: [&str; 12] = ["C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"];
const MINOR_TONICS: [&str; 12] = ["C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "A", "Bb", "B"];

impl Key {
    /// The key on `tonic` in `mode`, spelled with the usual signature.
    pub fn new(tonic: PitchClass, mode: KeyMode) -> Self {
        let names = if mode == KeyMode::Minor { MINOR_TONICS } else { MAJOR_TONICS };
        let name = names[usize::from(tonic.semitones())];
        let tonic = read_note_name(name)
            .map_or_else(|| NoteName::plain(tonic, super::spelling::Accidental::Flat), |(name, _)| name);
        Self { tonic, mode }
    }

    /// The major key with the same signature: of the tonic itself, or a minor third above a minor tonic.
    pub fn relative_major(self) -> PitchClass {
        match self.mode {
            KeyMode::Minor => self.tonic.pitch_class().up(3),
            KeyMode::Major | KeyMode::Blues => self.tonic.pitch_class(),
        }
    }

    /// Sharps in the key signature (flats when negative).
    pub fn fifths(self) -> i8 {
        let letter_fifths = [0, 2, 4, -1, 1, 3, 5][self.tonic.letter as usize];
        let minor = if self.mode == KeyMode::Minor { 3 } else { 0 };
        letter_fifths + 7 * self.tonic.alter - minor
    }
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mode = match self.mode {
            KeyMode::Major => "major",
            KeyMode::Minor => "minor",
            KeyMode::Blues => "blues",
        };
        write!(f, "{} {mode}", self.tonic)
    }
}

/// Says why a text is no key.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("\"{0}\" is no key: write the tonic, A to G with # or b, and m for minor (Eb, F#m)")]
pub struct NoKey(String);

/// Reads `Eb`, `Am`, `A minor`, `F blues`, as a chart's header or a flag gives it.
impl FromStr for Key {
    type Err = NoKey;

    fn from_str(text: &str) -> Result<Self, NoKey> {
        let no_key = || NoKey(text.to_owned());
        let (tonic, rest) = read_note_name(text.trim()).ok_or_else(no_key)?;
        let mode = match rest.trim().to_lowercase().as_str() {
            "" | "major" | "maj" => KeyMode::Major,
            "m" | "minor" | "min" | "-" => KeyMode::Minor,
            "blues" => KeyMode::Blues,
            _ => return Err(no_key()),
        };
        let key = Self { tonic, mode };
        if key.fifths().abs() <= 7 { Ok(key) } else { Err(no_key()) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_read_and_print() {
        let printed = |text: &str| text.parse::<Key>().expect("a key").to_string();
        assert_eq!(printed("Eb"), "Eb major");
        assert_eq!(printed("F#m"), "F# minor");
        assert_eq!(printed("F blues"), "F blues");
        assert!("H".parse::<Key>().is_err());
        assert!("Fb".parse::<Key>().is_err(), "a signature of eight flats is not written");
    }

    #[test]
    fn signatures_count_sharps_and_flats() {
        let fifths = |text: &str| text.parse::<Key>().expect("a key").fifths();
        assert_eq!(
            [fifths("C"), fifths("Eb"), fifths("A"), fifths("Am"), fifths("Cm"), fifths("G#m")],
            [0, -3, 3, 0, -3, 5]
        );
    }
}
