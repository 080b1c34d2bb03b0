//! The count-in: the clicks before bar 1.

use std::str::FromStr;

use super::BandNote;
use super::click::{Stress, click};
use super::feel::{lasts, pulse};
use crate::chart::Form;
use crate::time::{Meter, NanoSpan, TickSpan, Ticks};

/// The clicks before bar 1. They start at tick 0 of the take and end exactly where bar 1 starts.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct CountIn {
    /// How long it lasts: one or two bars.
    pub length: TickSpan,
    /// When each click sounds, from the first.
    pub clicks: Vec<Ticks>,
}

/// How many bars are counted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum CountInBars {
    /// Two, or one at a slow tempo.
    #[default]
    ByTempo,
    /// One, of every pulse.
    One,
    /// Two, of which the first has the half notes.
    Two,
}

/// Says how long a count-in can be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a count-in is 1 or 2 bars long, as in 1")]
pub struct NoCountIn;

/// Reads `1` and `2`.
impl FromStr for CountInBars {
    type Err = NoCountIn;

    fn from_str(text: &str) -> Result<Self, NoCountIn> {
        match text {
            "1" => Ok(Self::One),
            "2" => Ok(Self::Two),
            _ => Err(NoCountIn),
        }
    }
}

/// Below this many pulses a minute one bar is long enough.
const SLOW_PULSES_A_MINUTE: i64 = 90;

impl CountIn {
    /// The count-in to the first bar of `form`, none for an empty form.
    ///
    /// If the tempo is to decide, from 90 pulses a minute two bars, "1 - 2 - / 1 2 3 4", below it one bar of every pulse
    /// (common practice). In a bar that has no middle pulse the first of two has its downbeat alone: "1 - - / 1 2 3".
    pub fn of(form: &Form, quarter: NanoSpan, bars: CountInBars) -> Self {
        form.bars.first().map_or_else(Self::default, |bar| Self::to(bar.meter, quarter, bars))
    }

    fn to(meter: Meter, quarter: NanoSpan, bars: CountInBars) -> Self {
        let pulse = pulse(meter);
        let pulses = meter.bar().0 / pulse.0;
        let slow = lasts(pulse, quarter).0 * SLOW_PULSES_A_MINUTE > 60_000_000_000;
        let bar_of = |first_bar: i64, every: i64| {
            (0..pulses)
                .filter(move |p| p % every == 0)
                .map(move |p| Ticks(first_bar * meter.bar().0 + p * pulse.0))
        };
        let one = match bars {
            CountInBars::ByTempo => slow,
            CountInBars::One => true,
            CountInBars::Two => false,
        };
        if one {
            return Self { length: meter.bar(), clicks: bar_of(0, 1).collect() };
        }
        let half = if pulses % 2 == 0 && pulses >= 4 { pulses / 2 } else { pulses };
        Self { length: meter.bar() * 2, clicks: bar_of(0, half).chain(bar_of(1, 1)).collect() }
    }

    /// The clicks as notes, the first of each bar higher.
    pub(super) fn notes(&self) -> Vec<BandNote> {
        let stress = |at: Ticks| match at.0 {
            0 => Stress::Strong,
            at if at * 2 == self.length.0 => Stress::Strong,
            _ => Stress::Weak,
        };
        self.clicks.iter().filter_map(|&at| click(at, stress(at))).collect()
    }

    /// The click sounding at `at`, from 1, and how many there are; `None` before the first.
    pub fn count_at(&self, at: Ticks) -> Option<(usize, usize)> {
        let counted = self.clicks.partition_point(|&click| click <= at);
        (counted > 0).then_some((counted, self.clicks.len()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn clicks(meter: &str, bpm: i64) -> (f64, Vec<f64>) {
        clicks_of(CountInBars::ByTempo, meter, bpm)
    }

    fn clicks_of(bars: CountInBars, meter: &str, bpm: i64) -> (f64, Vec<f64>) {
        let count_in = CountIn::to(meter.parse().expect("a meter"), NanoSpan(60_000_000_000 / bpm), bars);
        let quarters = |at: &Ticks| (*at - Ticks::ZERO).in_quarters();
        (count_in.length.in_quarters(), count_in.clicks.iter().map(quarters).collect())
    }

    #[test]
    fn two_bars_lead_in_from_90_on_and_one_below() {
        assert_eq!(clicks("4/4", 132), (8.0, vec![0.0, 2.0, 4.0, 5.0, 6.0, 7.0]));
        assert_eq!(clicks("4/4", 90), (8.0, vec![0.0, 2.0, 4.0, 5.0, 6.0, 7.0]));
        assert_eq!(clicks("4/4", 89), (4.0, vec![0.0, 1.0, 2.0, 3.0]));
    }

    #[test]
    fn meters_without_a_middle_click_their_downbeat_first() {
        assert_eq!(clicks("3/4", 120), (6.0, vec![0.0, 3.0, 4.0, 5.0]));
        assert_eq!(clicks("6/8", 180), (6.0, vec![0.0, 3.0, 4.5]));
    }

    #[test]
    fn one_bar_or_two_whatever_the_tempo() {
        assert_eq!(clicks_of(CountInBars::One, "4/4", 200), (4.0, vec![0.0, 1.0, 2.0, 3.0]));
        assert_eq!(clicks_of(CountInBars::Two, "4/4", 60), (8.0, vec![0.0, 2.0, 4.0, 5.0, 6.0, 7.0]));
        assert_eq!(clicks_of(CountInBars::One, "3/4", 200), (3.0, vec![0.0, 1.0, 2.0]));
        assert_eq!(clicks_of(CountInBars::Two, "3/4", 60), (6.0, vec![0.0, 3.0, 4.0, 5.0]));
    }

    #[test]
    fn a_count_in_is_written_as_one_or_two() {
        assert_eq!(["1", "2"].map(str::parse), [Ok(CountInBars::One), Ok(CountInBars::Two)]);
        for text in ["", "0", "3", "one", "1.0"] {
            assert_eq!(text.parse::<CountInBars>(), Err(NoCountIn), "{text}");
        }
    }
}
