//! A played note, and why one is left out of every count.

use crate::theory::Pitch;
use crate::time::{NanoSpan, Nanos};

/// One note-on of the judged track, or one of the two notes that a bend made of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Note {
    /// Which note-on of the track it is, from 0 in the order they came. Both parts of a bent note carry the same.
    pub index: u32,
    /// Which event it belongs to, from 0: the notes of a double stop or chord share one, and each of m weighs 1/m.
    /// Ghosts and re-triggers stand alone.
    pub event: u32,
    /// When it was struck (the later part of a bent note: when the bend arrived).
    pub on: Nanos,
    /// When the key was let go or the string damped; sustain pedals do not lengthen it.
    pub off: Nanos,
    /// The pitch heard, bends taken in and rounded to the semitone.
    pub pitch: Pitch,
    /// How far the pitch settled above the key struck (below when negative), in cents; 0 without a bend.
    pub bend_cents: i16,
    /// Whether it is a whole note-on or what a bend made of one.
    pub part: BendPart,
    /// How hard it was struck, 1 to 127.
    pub velocity: u8,
    /// The MIDI channel, 0 to 15.
    pub channel: u8,
    /// The string it was played on, 1 the highest, where the channel tells (mode 4).
    pub string: Option<u8>,
    /// The fret on that string at which it was struck; a bend does not move it.
    pub fret: Option<u8>,
    /// Why it is not counted; `None` when it is.
    pub left_out: Option<LeftOut>,
}

impl Note {
    /// How long it sounded.
    pub fn length(&self) -> NanoSpan {
        self.off - self.on
    }
}

/// What part of its note-on a note is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub enum BendPart {
    /// All of it.
    #[default]
    Whole,
    /// The settled start, before the bend left it.
    Start,
    /// The pitch the bend arrived at.
    Bent,
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
    /// Its pitch settled between two semitones, or nowhere.
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
    /// Whether the note itself is the reason, so that a player who meant it may have it counted; else it is where it lies.
    pub const fn is_of_the_note(self) -> bool {
        match self {
            Self::Ghost | Self::Ornament | Self::Retrigger => true,
            Self::Between | Self::NoChord | Self::CountIn | Self::Head | Self::NotYours => false,
        }
    }

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
