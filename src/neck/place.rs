//! Places on the neck: a string and a fret, and the note that sounds there.

use std::fmt;
use std::str::FromStr;

use crate::theory::{NoteName, Pitch};

/// A string by its number: 1 is the highest, and the lowest of six is 6 (common practice).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct StringNumber(u8);

impl StringNumber {
    /// String `number`, from 1.
    pub const fn new(number: u8) -> Option<Self> {
        if number > 0 { Some(Self(number)) } else { None }
    }

    /// The string at `index` from the lowest, which is 0, of `strings` strings.
    pub(super) const fn from_lowest(index: usize, strings: usize) -> Self {
        Self(strings.saturating_sub(index) as u8)
    }

    /// The number, from 1.
    pub const fn number(self) -> u8 {
        self.0
    }
}

impl fmt::Display for StringNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

/// A fret, counted from the nut or the capo; 0 is the open string.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Fret(pub u8);

impl Fret {
    /// The open string.
    pub const OPEN: Self = Self(0);
    /// The highest fret that is shown or asked for (common practice: guitars have 19 to 24).
    pub const HIGHEST: Self = Self(24);

    /// Frets from `other` up to this one; negative when it lies below.
    pub const fn above(self, other: Self) -> i32 {
        self.0 as i32 - other.0 as i32
    }
}

impl fmt::Display for Fret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

/// Frets in a row, first and last among them. Reads and prints as `0-12`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct FretRange {
    first: Fret,
    last: Fret,
}

impl FretRange {
    /// The frets from `first` to `last`; `None` where they run backwards or leave the neck.
    pub fn new(first: Fret, last: Fret) -> Option<Self> {
        (first <= last && last <= Fret::HIGHEST).then_some(Self { first, last })
    }

    /// The frets from the nut to `last`, at most to the highest.
    pub const fn from_nut(last: Fret) -> Self {
        Self { first: Fret::OPEN, last: if last.0 <= Fret::HIGHEST.0 { last } else { Fret::HIGHEST } }
    }

    /// The lowest fret.
    pub const fn first(self) -> Fret {
        self.first
    }

    /// The highest fret.
    pub const fn last(self) -> Fret {
        self.last
    }

    /// Every fret, from the lowest.
    pub fn iter(self) -> impl Iterator<Item = Fret> {
        (self.first.0..=self.last.0).map(Fret)
    }
}

impl fmt::Display for FretRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}-{}", self.first, self.last)
    }
}

/// Says why a text is no range of frets.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("write the first and the last fret, 0 to {highest}, as in 0-12", highest = Fret::HIGHEST)]
pub struct NoFrets;

impl FromStr for FretRange {
    type Err = NoFrets;

    fn from_str(text: &str) -> Result<Self, NoFrets> {
        let fret = |text: &str| text.trim().parse().map(Fret).ok();
        let ends = text.split_once('-').and_then(|(first, last)| Some((fret(first)?, fret(last)?)));
        ends.and_then(|(first, last)| Self::new(first, last)).ok_or(NoFrets)
    }
}

/// A place on the neck. Prints as `6/3`: string 6, fret 3.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// The string.
    pub string: StringNumber,
    /// The fret.
    pub fret: Fret,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.string, self.fret)
    }
}

/// A note at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct PlacedNote {
    /// Where it is played.
    pub place: Place,
    /// What sounds.
    pub pitch: Pitch,
    /// How it is written.
    pub name: NoteName,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_of_frets_read_and_print() {
        assert_eq!("3-8".parse::<FretRange>().expect("a range").to_string(), "3-8");
        for text in ["8-3", "0-25", "3", "-", "a-b", ""] {
            assert_eq!(text.parse::<FretRange>(), Err(NoFrets), "{text}");
        }
    }

    #[test]
    fn strings_count_from_one() {
        assert_eq!(StringNumber::new(0), None);
    }
}
