//! Tempo maps: from musical time to physical time and back.

use super::near::partition_point_near;
use super::units::{NanoSpan, Nanos, TICKS_PER_QUARTER, TickSpan, Ticks};

/// Nanoseconds a quarter note lasts at 120 a minute, the tempo where none is given (Standard MIDI File 1.0).
const DEFAULT_QUARTER: NanoSpan = NanoSpan(500_000_000);

/// A tempo in quarter notes a minute, 20 to 400.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Bpm(f64);

impl Bpm {
    /// The slowest tempo.
    pub const SLOWEST: Self = Self(20.0);
    /// The fastest tempo.
    pub const FASTEST: Self = Self(400.0);
    /// The tempo where none is given.
    pub const DEFAULT: Self = Self(120.0);

    /// The tempo of so many quarter notes a minute; `None` outside 20 to 400.
    pub fn new(quarters_a_minute: f64) -> Option<Self> {
        let range = Self::SLOWEST.0..=Self::FASTEST.0;
        range.contains(&quarters_a_minute).then_some(Self(quarters_a_minute))
    }

    /// Quarter notes a minute.
    pub const fn get(self) -> f64 {
        self.0
    }
}

impl std::fmt::Display for Bpm {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.fmt(f)
    }
}

/// How long a quarter note lasts, from instant to instant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TempoMap {
    segments: Vec<Segment>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Segment {
    from: Ticks,
    /// Nanoseconds at `from`, times [`TICKS_PER_QUARTER`]: kept unrounded.
    at_scaled: i128,
    /// The same in nanoseconds, rounded up: the first instant that lies in the segment.
    at: Nanos,
    quarter: NanoSpan,
}

impl TempoMap {
    /// One tempo throughout; `quarter` is how long a quarter note lasts (at least 1 ns).
    pub fn constant(quarter: NanoSpan) -> Self {
        let quarter = NanoSpan(quarter.0.max(1));
        Self { segments: vec![Segment { from: Ticks::ZERO, at_scaled: 0, at: Nanos::ZERO, quarter }] }
    }

    /// One tempo throughout, in quarter notes a minute.
    pub fn at_bpm(bpm: f64) -> Self {
        Self::constant(NanoSpan((60e9 / bpm).round() as i64))
    }

    /// Tempo changes in any order: from each instant on, a quarter lasts so long. 120 a minute before the first.
    /// Of several at one instant the last counts.
    pub fn from_changes(changes: impl IntoIterator<Item = (Ticks, NanoSpan)>) -> Self {
        let mut changes: Vec<_> = changes.into_iter().collect();
        changes.sort_by_key(|&(at, _)| at);
        let mut map = Self::constant(DEFAULT_QUARTER);
        for (at, quarter) in changes {
            map.push(at.max(Ticks::ZERO), NanoSpan(quarter.0.max(1)));
        }
        map
    }

    fn push(&mut self, from: Ticks, quarter: NanoSpan) {
        let at_scaled = self.scaled_at(from);
        let same_instant = self.segments.last().is_some_and(|last| last.from == from);
        if same_instant {
            self.segments.pop();
        }
        let at = Nanos(-(-at_scaled).div_euclid(i128::from(TICKS_PER_QUARTER)) as i64);
        self.segments.push(Segment { from, at_scaled, at, quarter });
    }

    fn segment(&self, at: Ticks) -> &Segment {
        let after = self.segments.partition_point(|s| s.from <= at);
        &self.segments[after.saturating_sub(1)]
    }

    fn scaled_at(&self, at: Ticks) -> i128 {
        let segment = self.segment(at);
        segment.at_scaled + i128::from((at - segment.from).0) * i128::from(segment.quarter.0)
    }

    /// The instant of `at` in nanoseconds after tick 0, rounded down.
    pub fn nanos(&self, at: Ticks) -> Nanos {
        let scaled = self.scaled_at(at);
        Nanos(match i64::try_from(scaled) {
            Ok(scaled) => scaled.div_euclid(TICKS_PER_QUARTER),
            Err(_) => scaled.div_euclid(i128::from(TICKS_PER_QUARTER)) as i64,
        })
    }

    /// The tick at or just before `at`.
    pub fn ticks(&self, at: Nanos) -> Ticks {
        self.ticks_and_quarter(at, &mut 0).0
    }

    /// The tick at or just before `at`, and how long a quarter note lasts there. `hint` is kept from one call to the next
    /// by who asks in order of time; it changes no answer.
    pub fn ticks_and_quarter(&self, at: Nanos, hint: &mut usize) -> (Ticks, NanoSpan) {
        let after = partition_point_near(&self.segments, hint, |s| s.at <= at);
        let segment = &self.segments[after.saturating_sub(1)];
        let scaled = i128::from(at.0) * i128::from(TICKS_PER_QUARTER) - segment.at_scaled;
        let ticks = match i64::try_from(scaled) {
            Ok(scaled) => scaled.div_euclid(segment.quarter.0),
            Err(_) => scaled.div_euclid(i128::from(segment.quarter.0)) as i64,
        };
        (segment.from + TickSpan(ticks), segment.quarter)
    }

    /// How long a quarter note lasts at `at`.
    pub fn quarter(&self, at: Ticks) -> NanoSpan {
        self.segment(at).quarter
    }

    /// Each instant from which a tempo holds, with the length of a quarter note.
    pub fn changes(&self) -> impl Iterator<Item = (Ticks, NanoSpan)> {
        self.segments.iter().map(|s| (s.from, s.quarter))
    }
}

impl Default for TempoMap {
    fn default() -> Self {
        Self::constant(DEFAULT_QUARTER)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_change_of_tempo_moves_what_follows() {
        let bar = Ticks::ZERO + TickSpan::quarters(4);
        let map = TempoMap::from_changes([(bar, NanoSpan(250_000_000))]);
        assert_eq!(map.nanos(bar), Nanos(2_000_000_000));
        assert_eq!(map.nanos(bar + TickSpan::quarters(2)), Nanos(2_500_000_000));
        assert_eq!(map.ticks(Nanos(2_500_000_000)), bar + TickSpan::quarters(2));
    }

    proptest! {
        #[test]
        fn there_and_back_is_at_most_a_tick_away(quarters in 0i64..4000, part in 0..TICKS_PER_QUARTER, bpm in 30.0..320.0f64) {
            let map = TempoMap::at_bpm(bpm);
            let at = Ticks::ZERO + TickSpan::quarters(quarters) + TickSpan(part);
            let back = map.ticks(map.nanos(at));
            prop_assert!((at - back).0.abs() <= 1);
        }
    }
}
