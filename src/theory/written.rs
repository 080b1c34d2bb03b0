//! Transposing instruments: in which key one is pitched, and how far above what sounds its player reads.

use std::fmt;
use std::str::FromStr;

use super::{Key, Pitch};

/// The key in which an instrument is pitched: the note that sounds where its player reads C. It prints as the trade
/// writes it, `Bb`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub enum Written {
    /// Concert pitch: what is read is what sounds.
    #[default]
    C,
    /// Trumpet, clarinet, tenor and soprano saxophone.
    Bb,
    /// Alto and baritone saxophone.
    Eb,
    /// Horn.
    F,
    /// Clarinet in A.
    A,
    /// Trumpet in D, and strings that are tuned a tone up.
    D,
    /// Alto flute.
    G,
    /// Strings tuned four semitones down, or eight up.
    Ab,
    /// Strings with a capo in the first fret.
    Db,
    /// Strings tuned so.
    E,
    /// Strings tuned a semitone down.
    B,
    /// Strings tuned so.
    Gb,
}

/// Says why a text is no key that an instrument is pitched in.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("\"{0}\" is no key that an instrument is pitched in: write C, Bb, Eb, F, A")]
pub struct NotPitchedIn(String);

impl Written {
    /// Every one, concert pitch first and the usual ones next.
    pub const ALL: [Self; 12] = [
        Self::C,
        Self::Bb,
        Self::Eb,
        Self::F,
        Self::A,
        Self::D,
        Self::G,
        Self::Ab,
        Self::Db,
        Self::E,
        Self::B,
        Self::Gb,
    ];

    /// How it is written.
    pub const fn word(self) -> &'static str {
        match self {
            Self::C => "C",
            Self::Bb => "Bb",
            Self::Eb => "Eb",
            Self::F => "F",
            Self::A => "A",
            Self::D => "D",
            Self::G => "G",
            Self::Ab => "Ab",
            Self::Db => "Db",
            Self::E => "E",
            Self::B => "B",
            Self::Gb => "Gb",
        }
    }

    /// Semitones from what sounds up to what is read, within the octave (common practice: a Bb instrument reads a major
    /// second above what sounds, an Eb instrument a major sixth).
    pub const fn semitones(self) -> u8 {
        match self {
            Self::C => 0,
            Self::B => 1,
            Self::Bb => 2,
            Self::A => 3,
            Self::Ab => 4,
            Self::G => 5,
            Self::Gb => 6,
            Self::F => 7,
            Self::E => 8,
            Self::Eb => 9,
            Self::D => 10,
            Self::Db => 11,
        }
    }

    /// Whether what is read is what sounds.
    pub const fn is_concert(self) -> bool {
        matches!(self, Self::C)
    }

    /// The key that is read where `key` sounds, with the usual signature.
    #[must_use]
    pub fn key(self, key: Key) -> Key {
        if self.is_concert() {
            return key;
        }
        Key::new(key.tonic.pitch_class().up(self.semitones().into()), key.mode)
    }

    /// Semitones to move these pitches by so that none leaves what MIDI can say: the interval, an octave lower where it
    /// takes the highest too far. `None` where both ends are in the way.
    pub fn shift_of(self, pitches: &[Pitch]) -> Option<i32> {
        let up = i32::from(self.semitones());
        let fits = |by: &i32| pitches.iter().all(|pitch| pitch.up(*by).is_some());
        [up, up - 12].into_iter().find(fits)
    }
}

impl fmt::Display for Written {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

impl FromStr for Written {
    type Err = NotPitchedIn;

    fn from_str(text: &str) -> Result<Self, NotPitchedIn> {
        let plain = text.trim().replace('♭', "b");
        let found = Self::ALL.into_iter().find(|written| written.word().eq_ignore_ascii_case(&plain));
        found.ok_or_else(|| NotPitchedIn(text.to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::theory::NoteName;

    #[test]
    fn each_instrument_reads_as_far_above_what_sounds_as_common_practice_has_it() {
        for (written, semitones, c_is_read_as) in [
            ("C", 0, "C"),
            ("Bb", 2, "D"),
            ("Eb", 9, "A"),
            ("F", 7, "G"),
            ("A", 3, "Eb"),
            ("D", 10, "Bb"),
            ("G", 5, "F"),
        ] {
            let written: Written = written.parse().expect("a key");
            assert_eq!(written.semitones(), semitones, "{written}");
            assert_eq!(written.key("C".parse().expect("a key")).tonic.to_string(), c_is_read_as);
        }
    }

    #[test]
    fn the_note_it_is_named_after_sounds_where_c_is_read() {
        for written in Written::ALL {
            let named: NoteName = written.word().parse().expect("a note");
            let read = named.pitch_class().up(written.semitones().into());
            assert_eq!(read.semitones(), 0, "{written}");
        }
    }

    #[test]
    fn it_reads_as_it_prints_and_as_others_type_it() {
        for written in Written::ALL {
            assert_eq!(written.to_string().parse(), Ok(written));
        }
        assert_eq!(("bb".parse(), "E♭".parse()), (Ok(Written::Bb), Ok(Written::Eb)));
        assert!("H".parse::<Written>().is_err_and(|error| error.to_string().contains("\"H\" is no key")));
    }

    #[test]
    fn pitches_stay_within_what_midi_can_say() {
        let pitches = |keys: &[u8]| keys.iter().filter_map(|&key| Pitch::new(key)).collect::<Vec<_>>();
        assert_eq!(Written::Eb.shift_of(&pitches(&[40, 90])), Some(9));
        assert_eq!(Written::Eb.shift_of(&pitches(&[40, 120])), Some(-3));
        assert_eq!(Written::Eb.shift_of(&pitches(&[0, 127])), None);
    }
}
