//! Pitch classes and sets of them: the twelve notes without their octave.

use std::fmt;
use std::ops::{BitAnd, BitOr, Sub};

use serde::{Serialize, Serializer};

/// One of the twelve pitch classes, counted in semitones up from C (C = 0, B = 11).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PitchClass(u8);

impl PitchClass {
    /// C, where counting starts.
    pub const C: Self = Self(0);

    /// The pitch class `semitones` above C, folded into one octave.
    pub const fn from_semitones(semitones: i32) -> Self {
        Self(semitones.rem_euclid(12) as u8)
    }

    /// Semitones above C, 0 to 11.
    pub const fn semitones(self) -> u8 {
        self.0
    }

    /// The pitch class `semitones` above this one (below, when negative).
    #[must_use]
    pub const fn up(self, semitones: i32) -> Self {
        Self::from_semitones(self.0 as i32 + semitones)
    }

    /// Semitones one has to go up from `other` to reach this one, 0 to 11.
    pub const fn above(self, other: Self) -> u8 {
        (self.0 + 12 - other.0) % 12
    }

    /// All twelve, from C up.
    pub fn all() -> impl Iterator<Item = Self> {
        (0..12).map(Self)
    }
}

impl Serialize for PitchClass {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_u8(self.0)
    }
}

/// A set of pitch classes as a 12-bit number: "is this a chord tone?" is one AND.
///
/// Chords and scales share this type. A set may also be held *relative* to a root; the name of the variable says so.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct PitchClassSet(u16);

impl PitchClassSet {
    /// No note at all.
    pub const EMPTY: Self = Self(0);

    /// The set of the given semitones above C (or above a root, for a relative set). Folds into one octave.
    pub const fn of(semitones: &[u8]) -> Self {
        let mut bits = 0;
        let mut i = 0;
        while i < semitones.len() {
            bits |= 1 << (semitones[i] % 12);
            i += 1;
        }
        Self(bits)
    }

    /// The set holding `pitch_class` alone.
    pub const fn single(pitch_class: PitchClass) -> Self {
        Self(1 << pitch_class.0)
    }

    /// The set with `pitch_class` in it too.
    #[must_use]
    pub const fn with(self, pitch_class: PitchClass) -> Self {
        Self(self.0 | (1 << pitch_class.0))
    }

    /// Whether `pitch_class` is in the set.
    pub const fn has(self, pitch_class: PitchClass) -> bool {
        self.0 & (1 << pitch_class.0) != 0
    }

    /// Whether the set holds the note `semitones` above C (above the root, for a relative set).
    pub const fn has_semitone(self, semitones: u8) -> bool {
        self.0 & (1 << (semitones % 12)) != 0
    }

    /// Whether every note of `other` is in this set too.
    pub const fn holds(self, other: Self) -> bool {
        self.0 & other.0 == other.0
    }

    /// Whether the two sets share a note.
    pub const fn meets(self, other: Self) -> bool {
        self.0 & other.0 != 0
    }

    /// How many notes the set holds.
    pub const fn len(self) -> usize {
        self.0.count_ones() as usize
    }

    /// Whether the set holds no note.
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// The set moved up by `semitones`: turns a set relative to a root into an absolute one (and back, when negative).
    #[must_use]
    pub const fn up(self, semitones: i32) -> Self {
        let by = semitones.rem_euclid(12) as u32;
        let wide = (self.0 as u32) << by;
        Self(((wide | (wide >> 12)) & 0xfff) as u16)
    }

    /// The members, from C up.
    pub fn iter(self) -> impl Iterator<Item = PitchClass> {
        PitchClass::all().filter(move |&p| self.has(p))
    }

    /// The members, from `root` up through one octave.
    pub fn iter_from(self, root: PitchClass) -> impl Iterator<Item = PitchClass> {
        (0..12).map(move |s| root.up(s)).filter(move |&p| self.has(p))
    }
}

impl BitOr for PitchClassSet {
    type Output = Self;
    fn bitor(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }
}

impl BitAnd for PitchClassSet {
    type Output = Self;
    fn bitand(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }
}

impl Sub for PitchClassSet {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }
}

impl FromIterator<PitchClass> for PitchClassSet {
    fn from_iter<I: IntoIterator<Item = PitchClass>>(members: I) -> Self {
        members.into_iter().fold(Self::EMPTY, |set, p| set | Self::single(p))
    }
}

impl fmt::Debug for PitchClassSet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_set().entries(self.iter().map(PitchClass::semitones)).finish()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counting_goes_up_and_wraps() {
        assert_eq!(PitchClass::from_semitones(-1).semitones(), 11);
        assert_eq!(PitchClass::C.up(7).above(PitchClass::C.up(9)), 10);
    }

    #[test]
    fn a_relative_set_moves_to_its_root_and_back() {
        let dorian = PitchClassSet::of(&[0, 2, 3, 5, 7, 9, 10]);
        let d_dorian = dorian.up(2);
        assert_eq!(d_dorian, PitchClassSet::of(&[0, 2, 4, 5, 7, 9, 11]));
        assert_eq!(d_dorian.up(-2), dorian);
        let from_d: Vec<u8> = d_dorian.iter_from(PitchClass::C.up(2)).map(PitchClass::semitones).collect();
        assert_eq!(from_d, [2, 4, 5, 7, 9, 11, 0]);
    }
}
