//! Trading: some bars for the player over the band, then as many for the drums alone.

use std::num::NonZeroU8;
use std::str::FromStr;

use super::BarsBefore;

/// The most bars that are traded at a time: a chorus of the commonest long form.
pub const LONGEST_TRADE: u8 = 32;

/// Bars traded with the drums: so many for the player, then as many for them.
///
/// They are counted from bar 1 on through all choruses, not anew in each: over twelve bars in fours the order turns
/// round with every chorus (common practice).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Trade {
    bars: NonZeroU8,
}

impl Trade {
    /// So many bars at a time; `None` for none or more than [`LONGEST_TRADE`].
    pub fn of(bars: u8) -> Option<Self> {
        NonZeroU8::new(bars).filter(|bars| bars.get() <= LONGEST_TRADE).map(|bars| Self { bars })
    }

    /// How many bars at a time.
    pub const fn bars(self) -> u8 {
        self.bars.get()
    }

    /// Whether a bar is the player's; the others are the drums'.
    pub const fn is_yours(self, bar: BarsBefore) -> bool {
        (bar.0 / self.bars.get() as u64).is_multiple_of(2)
    }
}

/// Says what can be traded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("bars are traded 1 to {LONGEST_TRADE} at a time, as in 4")]
pub struct NoTrade;

/// Reads `4`.
impl FromStr for Trade {
    type Err = NoTrade;

    fn from_str(text: &str) -> Result<Self, NoTrade> {
        text.parse().ok().and_then(Self::of).ok_or(NoTrade)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_blues_in_fours_turns_the_order_round_with_every_chorus() {
        let fours = Trade::of(4).expect("a trade");
        let chorus = |chorus| {
            let yours = |index| fours.is_yours(BarsBefore::of(chorus, index, 12));
            (0..12).map(|index| if yours(index) { 'y' } else { 'd' }).collect::<String>()
        };
        assert_eq!([1, 2, 3].map(chorus), ["yyyyddddyyyy", "ddddyyyydddd", "yyyyddddyyyy"]);
    }

    #[test]
    fn one_to_thirty_two_bars_are_traded() {
        assert_eq!("4".parse::<Trade>().map(Trade::bars), Ok(4));
        for text in ["0", "33", "-1", "256", "four", ""] {
            assert_eq!(text.parse::<Trade>(), Err(NoTrade), "{text}");
        }
    }
}
