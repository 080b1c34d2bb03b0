//! Drop-outs: bars in which the band lays out, so that the player carries time and form alone.

use std::fmt;
use std::num::NonZeroU8;
use std::str::FromStr;

use super::BarsBefore;

/// The longest stretch of bars in which the band lays out once: that of the longest common form.
pub const LONGEST_CYCLE: u8 = 64;

/// Bars in which the band lays out: the last so many of every so many.
///
/// The last ones, because a phrase ends there, where time and form are lost most easily, and because the band then
/// comes in again at the head of a phrase: whoever is elsewhere hears it at once. Counted from bar 1 on through all
/// choruses. Not even the hi-hat plays in them; after the last bar the closing tonic sounds all the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BandOut {
    bars: NonZeroU8,
    of: NonZeroU8,
}

impl BandOut {
    /// `bars` in every `of`; `None` where that leaves the band no bar to play, or none to lay out in, or where `of` is
    /// more than [`LONGEST_CYCLE`].
    pub fn of(bars: u8, of: u8) -> Option<Self> {
        let sound = bars < of && of <= LONGEST_CYCLE;
        let (bars, of) = NonZeroU8::new(bars).zip(NonZeroU8::new(of))?;
        sound.then_some(Self { bars, of })
    }

    /// How many bars the band plays before it first lays out.
    pub const fn bars_before_the_first(self) -> u8 {
        self.of.get() - self.bars.get()
    }

    /// Whether the band lays out in a bar.
    pub const fn lays_out(self, bar: BarsBefore) -> bool {
        bar.0 % self.of.get() as u64 >= self.bars_before_the_first() as u64
    }
}

/// Says which bars the band can lay out in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "write how many bars the band lays out, a slash, and of how many (more of them, at most {LONGEST_CYCLE}), as in 2/8"
)]
pub struct NoBandOut;

/// Prints `2/8`.
impl fmt::Display for BandOut {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.bars, self.of)
    }
}

/// Reads `2/8`.
impl FromStr for BandOut {
    type Err = NoBandOut;

    fn from_str(text: &str) -> Result<Self, NoBandOut> {
        let (bars, of) = text.split_once('/').ok_or(NoBandOut)?;
        let numbers = bars.parse().ok().zip(of.parse().ok());
        numbers.and_then(|(bars, of)| Self::of(bars, of)).ok_or(NoBandOut)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn out(text: &str, bars: u64) -> String {
        let band_out: BandOut = text.parse().expect("bars");
        (0..bars).map(|bar| if band_out.lays_out(BarsBefore(bar)) { '.' } else { 'b' }).collect()
    }

    #[test]
    fn the_band_lays_out_at_the_end_of_each_stretch_of_bars() {
        assert_eq!(out("2/8", 16), "bbbbbb..bbbbbb..");
        assert_eq!(out("1/2", 5), "b.b.b");
        assert_eq!(out("3/4", 8), "b...b...");
    }

    #[test]
    fn some_bars_are_left_to_the_band_and_some_are_not() {
        for text in ["0/8", "8/8", "9/8", "2/65", "2", "2/", "/8", "-2/8", "a/b", "2/8/1", ""] {
            assert_eq!(text.parse::<BandOut>(), Err(NoBandOut), "{text}");
        }
        let printed = "63/64".parse().map(|band_out: BandOut| band_out.to_string());
        assert_eq!(printed, Ok("63/64".to_owned()));
    }
}
