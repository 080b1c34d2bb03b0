//! Levels: how much louder or softer than the usual mix each part of the band is to be.

use std::fmt;
use std::str::FromStr;

use super::{NoPart, Part};

/// The softest and the loudest a part can be set, in decibels against the usual mix.
const RANGE: std::ops::RangeInclusive<f32> = -40.0..=6.0;
/// What is written for the mix as it is.
const USUAL: &str = "usual";

/// A ratio of two amplitudes, in decibels: 20 times the logarithm to base 10.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Default)]
pub struct Decibels(pub f32);

impl Decibels {
    /// As loud as before.
    pub const NONE: Self = Self(0.0);

    /// The ratio as a factor: 1 for 0 dB, about 2 for 6 dB.
    pub fn factor(self) -> f32 {
        10.0_f32.powf(self.0 / 20.0)
    }
}

/// The level of each part against the usual mix, from -40 to +6 decibels.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Levels([Decibels; Part::ALL.len()]);

impl Levels {
    /// The level of a part.
    pub const fn of(&self, part: Part) -> Decibels {
        self.0[part as usize]
    }
}

/// Says why a text gives no levels.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoLevels {
    /// It is no list of parts and numbers.
    #[error("write parts and decibels, as in bass=-6,ride=+3, or {USUAL}")]
    Form,
    /// A number too small or too great.
    #[error("{part} is -40 to +6 decibels, as in {part}=-6", part = .0.word())]
    Range(Part),
    /// A part named twice.
    #[error("{} is there twice", .0.word())]
    Twice(Part),
    /// A part there is not.
    #[error(transparent)]
    Part(#[from] NoPart),
}

/// Reads `bass=-6,ride=+3`, or `usual`.
impl FromStr for Levels {
    type Err = NoLevels;

    fn from_str(text: &str) -> Result<Self, NoLevels> {
        let mut levels = Self::default();
        if text == USUAL {
            return Ok(levels);
        }
        let mut named = Vec::new();
        for entry in text.split(',') {
            let (part, level) = entry.split_once('=').ok_or(NoLevels::Form)?;
            let part: Part = part.trim().parse()?;
            let level: f32 = level.trim().parse().map_err(|_| NoLevels::Form)?;
            if !RANGE.contains(&level) {
                return Err(NoLevels::Range(part));
            }
            if named.contains(&part) {
                return Err(NoLevels::Twice(part));
            }
            named.push(part);
            levels.0[part as usize] = Decibels(level);
        }
        Ok(levels)
    }
}

/// Prints the levels as they are typed; parts at 0 are left out.
impl fmt::Display for Levels {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let changed = Part::ALL.into_iter().filter(|&part| self.of(part) != Decibels::NONE);
        let written: Vec<String> =
            changed.map(|part| format!("{}={:+}", part.word(), self.of(part).0)).collect();
        f.write_str(if written.is_empty() { USUAL } else { "" })?;
        f.write_str(&written.join(","))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<String, String> {
        text.parse::<Levels>().map(|levels| levels.to_string()).map_err(|no| no.to_string())
    }

    #[test]
    fn levels_are_read_and_printed_as_they_are_typed() {
        assert_eq!(read("bass=-6,ride=+3").as_deref(), Ok("bass=-6,ride=+3"));
        assert_eq!(read("ride=3, bass=-4.5").as_deref(), Ok("bass=-4.5,ride=+3"));
        assert_eq!(read("comp=0").as_deref(), Ok("usual"));
        assert_eq!(read("usual").as_deref(), Ok("usual"));
    }

    #[test]
    fn what_is_no_level_says_what_to_write() {
        let form = "write parts and decibels, as in bass=-6,ride=+3, or usual";
        for text in ["", "bass", "bass=loud", "bass=-6;ride=3", "bass=-6,", "bass==2"] {
            assert_eq!(read(text), Err(form.to_owned()), "{text}");
        }
        assert_eq!(read("bass=7"), Err("bass is -40 to +6 decibels, as in bass=-6".to_owned()));
        assert_eq!(read("hat=-41"), Err("hat is -40 to +6 decibels, as in hat=-6".to_owned()));
        assert_eq!(read("bass=NaN"), Err("bass is -40 to +6 decibels, as in bass=-6".to_owned()));
        assert_eq!(read("bass=1,bass=2"), Err("bass is there twice".to_owned()));
        assert!(read("kazoo=1").is_err_and(|told| told.contains("possible values: bass, comp, ride")));
    }

    #[test]
    fn six_decibels_are_about_twice_as_much() {
        assert!((Decibels(6.0).factor() - 1.995).abs() < 0.001);
        assert!((Decibels(-40.0).factor() - 0.01).abs() < 1e-6);
        assert!((Decibels::NONE.factor() - 1.0).abs() < f32::EPSILON);
    }
}
