//! A played note, and why one is left out of every count.

use crate::theory::Pitch;
use crate::time::{NanoSpan, Nanos};

/// One note-on of the judged track, in the order it came.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Note {
    /// When it was struck.
    pub on: Nanos,
    /// When the key was let go or the string damped; sustain pedals do not lengthen it.
    pub off: Nanos,
    /// The pitch heard, bends taken in and rounded to the semitone.
    pub pitch: Pitch,
    /// How hard it was struck, 1 to 127.
    pub velocity: u8,
    /// The MIDI channel, 0 to 15.
    pub channel: u8,
    /// The string it was played on, 1 the highest, where the channel tells (mode 4).
    pub string: Option<u8>,
    /// The fret on that string.
    pub fret: Option<u8>,
    /// Notes struck together share a number; a single note has one of its own. Numbers rise with the onsets.
    pub event: usize,
    /// Why it is not counted; `None` when it is.
    pub left_out: Option<LeftOut>,
}

impl Note {
    /// How long it sounded.
    pub fn length(&self) -> NanoSpan {
        self.off - self.on
    }
}

/// Why a note is kept out of every count. It stays listed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LeftOut {
    /// Misread: too soft and short, an overtone, or below the open string.
    Ghost,
    /// A grace note.
    Ornament,
    /// The same key struck again at once.
    Retrigger,
    /// Its pitch settled between two semitones.
    Between,
    /// No chord sounds where it was played.
    NoChord,
    /// Played before bar 1.
    CountIn,
    /// Played in the first or last chorus, kept for the tune.
    Head,
    /// Played in the bars of the other player.
    NotYours,
}

impl LeftOut {
    /// The word that records use.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Ghost => "ghost",
            Self::Ornament => "ornament",
            Self::Retrigger => "retrigger",
            Self::Between => "between",
            Self::NoChord => "no-chord",
            Self::CountIn => "count-in",
            Self::Head => "head",
            Self::NotYours => "not-yours",
        }
    }
}
