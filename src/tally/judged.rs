//! A judged note: what a played note was found to be, and the words for it.

use crate::take::{LeftOut, Note};

use super::attribution::Timing;
use super::stage::Place;

/// The layer a counted note lies in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Class {
    /// In the basic arpeggio.
    Chord,
    /// In the scale in force.
    Scale,
    /// Outside that scale, inside the one alternative the whole take leans to over this chord.
    Other,
    /// In none of these.
    Outside,
}

impl Class {
    /// Every class, from the chord outwards.
    pub const ALL: [Self; 4] = [Self::Chord, Self::Scale, Self::Other, Self::Outside];

    /// The word that records use.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Chord => "chord",
            Self::Scale => "scale",
            Self::Other => "other",
            Self::Outside => "outside",
        }
    }
}

/// What became of an outside note.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Tag {
    /// It goes on to a chord tone, by this device.
    Resolved(Device),
    /// It does not.
    Open,
    /// It sounds longer than a beat: no approach, even if it resolves. Counts as open.
    HeldOutside,
}

impl Tag {
    /// The word that records use.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Resolved(_) => "resolved",
            Self::Open => "open",
            Self::HeldOutside => "held-outside",
        }
    }

    /// The device, if it resolved.
    pub const fn device(self) -> Option<Device> {
        match self {
            Self::Resolved(device) => Some(device),
            Self::Open | Self::HeldOutside => None,
        }
    }
}

/// How an outside note resolved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Device {
    /// A semitone to a chord tone.
    Approach,
    /// A semitone on from one inside note to another.
    Passing,
    /// Two semitones in one direction to a chord tone.
    DoubleChromatic,
    /// From above and below to a chord tone.
    Enclosure,
}

impl Device {
    /// The word that records use.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Approach => "approach",
            Self::Passing => "passing",
            Self::DoubleChromatic => "double-chromatic",
            Self::Enclosure => "enclosure",
        }
    }
}

/// How much a note weighs in a count: one of m notes struck together weighs 1/m. Kept exact for up to ten.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Weight(u64);

impl Weight {
    /// Nothing.
    pub const ZERO: Self = Self(0);

    /// The least common multiple of 1 to 10, so that a share of a chord of up to ten notes is a whole number.
    const WHOLE: u64 = 2_520;

    /// The weight of one of `m` notes struck together (at least 1).
    pub const fn one_of(m: usize) -> Self {
        Self(Self::WHOLE / if m == 0 { 1 } else { m as u64 })
    }

    /// As a number of notes.
    pub fn notes(self) -> f64 {
        self.0 as f64 / Self::WHOLE as f64
    }
}

impl std::ops::AddAssign for Weight {
    fn add_assign(&mut self, other: Self) {
        self.0 += other.0;
    }
}

impl std::iter::Sum for Weight {
    fn sum<I: Iterator<Item = Self>>(weights: I) -> Self {
        Self(weights.map(|w| w.0).sum())
    }
}

/// A played note with everything found about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Judged {
    /// The note as played; `left_out` says why it is not counted, if so.
    pub note: Note,
    /// Its timing in the line.
    pub timing: Timing,
    /// Where it was struck.
    pub place: Place,
    /// Index of the chord's visit it belongs to; `None` before the first chord.
    pub visit: Option<usize>,
    /// Whether it was struck before that chord began.
    pub early: bool,
    /// Whether it could be either of two chords.
    pub either: bool,
    /// Its layer; `None` when it is not counted.
    pub class: Option<Class>,
    /// What became of it, for an outside note.
    pub tag: Option<Tag>,
    /// What it weighs.
    pub weight: Weight,
}

impl Judged {
    /// Whether it counts.
    pub const fn is_counted(&self) -> bool {
        self.class.is_some()
    }

    /// Why it does not count.
    pub const fn left_out(&self) -> Option<LeftOut> {
        self.note.left_out
    }
}
