//! Pitches: notes with their octave, as MIDI keys.

use std::fmt;

use super::pitch_class::PitchClass;
use super::spelling::NoteName;

/// A pitch as a MIDI key number, 0 to 127; 60 is C4 (middle C), 69 is A4 (MIDI 1.0, general use).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Pitch(u8);

impl Pitch {
    /// The pitch of MIDI key `key`, or `None` past 127.
    pub const fn new(key: u8) -> Option<Self> {
        if key < 128 { Some(Self(key)) } else { None }
    }

    /// The pitch `semitones` away, or `None` outside 0 to 127.
    #[must_use]
    pub fn up(self, semitones: i32) -> Option<Self> {
        u8::try_from(i32::from(self.0) + semitones).ok().and_then(Self::new)
    }

    /// The MIDI key number, 0 to 127.
    pub const fn key(self) -> u8 {
        self.0
    }

    /// The pitch without its octave.
    pub const fn pitch_class(self) -> PitchClass {
        PitchClass::from_semitones(self.0 as i32)
    }

    /// Signed distance in semitones from `other` up to this pitch.
    pub const fn semitones_above(self, other: Self) -> i32 {
        self.0 as i32 - other.0 as i32
    }

    /// This pitch written with the letter of `name`: `Bb3`, `B#3` (whose octave follows its letter).
    pub fn written(self, name: NoteName) -> WrittenPitch {
        WrittenPitch { pitch: self, name }
    }
}

/// A pitch with its spelling, which prints as `Bb3`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WrittenPitch {
    pitch: Pitch,
    name: NoteName,
}

impl fmt::Display for WrittenPitch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let natural = i32::from(self.pitch.0) - i32::from(self.name.alter);
        write!(f, "{}{}", self.name, natural.div_euclid(12) - 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn octaves_follow_the_letter() {
        let written = |key, name: &str| {
            Pitch::new(key).expect("a key").written(name.parse().expect("a name")).to_string()
        };
        assert_eq!(written(60, "C"), "C4");
        assert_eq!(written(58, "Bb"), "Bb3");
        assert_eq!(written(60, "B#"), "B#3");
        assert_eq!(written(59, "Cb"), "Cb4");
    }
}
