//! Turns: which choruses are the tune, and whose bars are whose when a player trades with the drums.
//!
//! The tune stands at both ends, and bars are traded through the form from bar 1: common practice.

use std::num::NonZeroU8;
use std::str::FromStr;

/// The most bars that are traded at a time.
pub const LONGEST_TRADE: u8 = 32;
/// The fewest choruses that leave one between the tune and the tune.
pub const FEWEST_WITH_HEAD: u32 = 3;

/// Whose bars are whose in a take.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Turns {
    /// The tune at both ends, if it is played.
    pub head: Option<Head>,
    /// The bars that are traded, if any are.
    pub trade: Option<Trade>,
}

/// The tune, in the first chorus and in the last of those planned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Head {
    last: u32,
}

/// A number of bars for the player, then as many for the drums.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Trade {
    bars: NonZeroU8,
}

/// Whose a bar is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turn {
    /// The player's, to improvise in.
    Yours,
    /// The tune's: played, and not counted.
    Tune,
    /// The drums' alone.
    Drums,
}

impl Turns {
    /// Whose a bar is: the bar `index` (from 0) of a form of `bars` bars, in `chorus` (from 1).
    pub fn whose(&self, chorus: u32, index: usize, bars: usize) -> Turn {
        if self.head.is_some_and(|head| head.is_tune(chorus)) {
            return Turn::Tune;
        }
        let before = chorus - 1 - u32::from(self.head.is_some());
        let bar = u64::from(before) * bars as u64 + index as u64;
        match self.trade {
            Some(trade) if (bar / u64::from(trade.bars.get())) % 2 == 1 => Turn::Drums,
            _ => Turn::Yours,
        }
    }
}

impl Head {
    /// The tune at both ends of so many choruses; `None` where that leaves none to improvise in.
    pub fn around(choruses: u32) -> Option<Self> {
        (choruses >= FEWEST_WITH_HEAD).then_some(Self { last: choruses })
    }

    /// The last chorus of those planned.
    pub const fn last(self) -> u32 {
        self.last
    }

    const fn is_tune(self, chorus: u32) -> bool {
        chorus <= 1 || chorus >= self.last
    }
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
}

/// Says what can be traded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("bars are traded 1 to {LONGEST_TRADE} at a time, as in 4")]
pub struct NoTrade;

impl FromStr for Trade {
    type Err = NoTrade;

    fn from_str(text: &str) -> Result<Self, NoTrade> {
        text.parse().ok().and_then(Self::of).ok_or(NoTrade)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Each bar of each chorus as a letter: yours, tune, drums.
    fn turns(turns: Turns, choruses: u32, bars: usize) -> Vec<String> {
        let letter = |turn| match turn {
            Turn::Yours => 'y',
            Turn::Tune => 't',
            Turn::Drums => 'd',
        };
        let chorus = |chorus| (0..bars).map(|index| letter(turns.whose(chorus, index, bars))).collect();
        (1..=choruses).map(chorus).collect()
    }

    fn trade(bars: u8) -> Option<Trade> {
        Trade::of(bars)
    }

    #[test]
    fn all_bars_are_yours_unless_you_share_them() {
        assert_eq!(turns(Turns::default(), 1, 4), ["yyyy"]);
    }

    #[test]
    fn bars_are_traded_on_through_the_form() {
        let fours = Turns { head: None, trade: trade(4) };
        assert_eq!(turns(fours, 2, 12), ["yyyyddddyyyy", "ddddyyyydddd"], "a blues turns the order round");
        let twos = Turns { head: None, trade: trade(2) };
        assert_eq!(turns(twos, 1, 8), ["yyddyydd"]);
    }

    #[test]
    fn the_tune_stands_at_both_ends_and_trading_begins_behind_it() {
        let turns_of = Turns { head: Head::around(4), trade: trade(2) };
        assert_eq!(turns(turns_of, 4, 4), ["tttt", "yydd", "yydd", "tttt"]);
        assert_eq!(Head::around(2), None, "nothing would be left between");
    }

    #[test]
    fn a_trade_is_one_to_thirty_two_bars() {
        assert_eq!("4".parse::<Trade>().map(Trade::bars), Ok(4));
        for text in ["0", "33", "-1", "four", ""] {
            assert_eq!(text.parse::<Trade>(), Err(NoTrade), "{text}");
        }
    }
}
