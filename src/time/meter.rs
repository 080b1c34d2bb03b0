//! Meters, and the grid of bars they lay over musical time.

use std::fmt;
use std::str::FromStr;

use super::units::{TICKS_PER_QUARTER, TickSpan, Ticks};

/// A meter such as 4/4: how many beats a bar has and which note a beat is (6/8 has six eighths).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Meter {
    beats: u8,
    unit: u8,
}

impl Meter {
    /// Common time.
    pub const FOUR_FOUR: Self = Self { beats: 4, unit: 4 };

    /// The meter `beats`/`unit`: 1 to 32 beats of a half, quarter, eighth or sixteenth (or whole) note; `None` otherwise.
    pub const fn new(beats: u8, unit: u8) -> Option<Self> {
        let unit_ok = matches!(unit, 1 | 2 | 4 | 8 | 16 | 32);
        if beats >= 1 && beats <= 32 && unit_ok { Some(Self { beats, unit }) } else { None }
    }

    /// Beats in a bar.
    pub const fn beats(self) -> u8 {
        self.beats
    }

    /// The note that is a beat: 4 for a quarter.
    pub const fn unit(self) -> u8 {
        self.unit
    }

    /// Length of a beat.
    pub const fn beat(self) -> TickSpan {
        TickSpan(TICKS_PER_QUARTER * 4 / self.unit as i64)
    }

    /// Length of a bar.
    pub const fn bar(self) -> TickSpan {
        TickSpan(self.beat().0 * self.beats as i64)
    }
}

impl fmt::Display for Meter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.beats, self.unit)
    }
}

/// Says why a text is no meter.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("\"{0}\" is no meter: write beats (1 to 32), a slash and the note of a beat (3/4, 6/8)")]
pub struct NoMeter(String);

impl FromStr for Meter {
    type Err = NoMeter;

    fn from_str(text: &str) -> Result<Self, NoMeter> {
        let parts = text.trim().split_once('/');
        let numbers = parts.and_then(|(beats, unit)| Some((beats.parse().ok()?, unit.parse().ok()?)));
        numbers.and_then(|(beats, unit)| Self::new(beats, unit)).ok_or_else(|| NoMeter(text.to_owned()))
    }
}

/// Bars one after the other: the start and meter of each, from which any instant has a bar and a beat.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct BarGrid {
    bars: Vec<(Ticks, Meter)>,
}

/// A place in a [`BarGrid`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BarBeat {
    /// Index of the bar, from 0.
    pub bar: usize,
    /// The beat, from 1.0 at the barline, in beats of the bar's meter.
    pub beat: f64,
}

impl BarGrid {
    /// Bars of the given meters, the first at 0.
    pub fn new(meters: impl IntoIterator<Item = Meter>) -> Self {
        let mut at = Ticks::ZERO;
        let bars = meters.into_iter().map(|meter| {
            let start = at;
            at += meter.bar();
            (start, meter)
        });
        Self { bars: bars.collect() }
    }

    /// Start and meter of each bar.
    pub fn bars(&self) -> &[(Ticks, Meter)] {
        &self.bars
    }

    /// How long all bars last together.
    pub fn length(&self) -> TickSpan {
        self.bars.last().map_or(TickSpan::ZERO, |&(start, meter)| start + meter.bar() - Ticks::ZERO)
    }

    /// Bar and beat of an instant. Before the first bar and after the last, beats count on in that bar. `None` without bars.
    pub fn place(&self, at: Ticks) -> Option<BarBeat> {
        let bar = self.bars.partition_point(|&(start, _)| start <= at).saturating_sub(1);
        let &(start, meter) = self.bars.get(bar)?;
        let beat = 1.0 + (at - start).0 as f64 / meter.beat().0 as f64;
        Some(BarBeat { bar, beat })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn meters_read_and_measure() {
        let six_eight: Meter = "6/8".parse().expect("a meter");
        assert_eq!(six_eight.bar(), TickSpan::quarters(3));
        assert_eq!(six_eight.to_string(), "6/8");
        for text in ["0/4", "4/3", "4", "x/4", "33/4"] {
            assert!(text.parse::<Meter>().is_err(), "{text}");
        }
    }

    #[test]
    fn a_grid_finds_bar_and_beat_across_a_change_of_meter() {
        let three_four = Meter::new(3, 4).expect("a meter");
        let grid = BarGrid::new([Meter::FOUR_FOUR, three_four, three_four]);
        let place = |quarters: i64, extra: i64| {
            let at = Ticks::ZERO + TickSpan::quarters(quarters) + TickSpan(extra);
            grid.place(at).map(|p| (p.bar, p.beat))
        };
        assert_eq!(place(0, 0), Some((0, 1.0)));
        assert_eq!(place(4, TICKS_PER_QUARTER / 2), Some((1, 1.5)));
        assert_eq!(place(9, 0), Some((2, 3.0)));
        assert_eq!(grid.length(), TickSpan::quarters(10));
    }
}
