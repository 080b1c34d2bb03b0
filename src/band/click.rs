//! The click: over the band on every pulse, or alone on a few beats.

use std::fmt;
use std::num::NonZeroU8;
use std::str::FromStr;

use super::accompaniment::{BarsBefore, Playing};
use super::bars::Bar;
use super::{BandNote, Part};
use crate::chart::Form;
use crate::theory::Pitch;
use crate::time::{TICKS_PER_QUARTER, TickSpan, Ticks};

/// High and low wood block, the usual keys of a click (General MIDI Level 1 percussion map, from memory).
const STRONG: (u8, u8) = (76, 100);
const WEAK: (u8, u8) = (77, 80);
/// The most beats a bar can have: see [`crate::time::Meter::new`].
const MOST_BEATS: u8 = 32;
/// The most bars for one with a click.
const LONGEST_CYCLE: u8 = 16;

/// Where the click sounds once the count-in is over.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum ClickOn {
    /// Nowhere: the band keeps time.
    #[default]
    CountInOnly,
    /// On every pulse in which somebody plays, over the band.
    EveryPulse,
    /// On these beats, and nothing else sounds, the closing tonic included.
    Alone(LoneClick),
}

/// A click on certain beats of every bar, or of one bar in so many.
///
/// Beats are those of the meter, as charts count them: six in 6/8. Of so many bars the first has the click, counted from
/// bar 1 on through all choruses, so that the count-in leads into it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LoneClick {
    /// Bit `b - 1` is set for beat `b`.
    beats: u32,
    one_bar_in: NonZeroU8,
}

impl LoneClick {
    /// Whether a beat (from 1) of a bar has a click.
    pub const fn sounds_on(self, beat: u8, bar: BarsBefore) -> bool {
        let has_click = bar.0.is_multiple_of(self.one_bar_in.get() as u64);
        has_click && 1 <= beat && beat <= MOST_BEATS && self.beats >> (beat - 1) & 1 == 1
    }

    /// Whether every beat asked for is in some bar of `form`.
    pub fn fits(self, form: &Form) -> Result<(), NoSuchBeat> {
        let last = (u32::BITS - self.beats.leading_zeros()) as u8;
        let there = form.bars.iter().map(|bar| bar.meter.beats()).max().unwrap_or(MOST_BEATS);
        if last <= there { Ok(()) } else { Err(NoSuchBeat { beat: last, last: there }) }
    }
}

/// A click was asked for on a beat that no bar has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("no bar has a beat {beat}: write beats from 1 to {last}, as in {last}")]
pub struct NoSuchBeat {
    /// The beat.
    pub beat: u8,
    /// The last beat of the longest bar.
    pub last: u8,
}

/// Says how beats for a click are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "write the beats that click (1 to {MOST_BEATS}), as in 2,4; for one bar in two put /2 behind them, as in 2,4/2 (up to /{LONGEST_CYCLE})"
)]
pub struct NoClick;

/// Prints `2,4` and `2,4/2`.
impl fmt::Display for LoneClick {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let beats = (1..=MOST_BEATS).filter(|beat| self.beats >> (beat - 1) & 1 == 1);
        f.write_str(&beats.map(|beat| beat.to_string()).collect::<Vec<_>>().join(","))?;
        match self.one_bar_in.get() {
            1 => Ok(()),
            bars => write!(f, "/{bars}"),
        }
    }
}

/// Reads `2,4` and `2,4/2`.
impl FromStr for LoneClick {
    type Err = NoClick;

    fn from_str(text: &str) -> Result<Self, NoClick> {
        let (beats, one_bar_in) = text.split_once('/').unwrap_or((text, "1"));
        let one_bar_in: NonZeroU8 = one_bar_in.parse().map_err(|_| NoClick)?;
        let bit = |beat: &str| {
            let beat: u8 = beat.parse().map_err(|_| NoClick)?;
            if (1..=MOST_BEATS).contains(&beat) { Ok(1 << (beat - 1)) } else { Err(NoClick) }
        };
        let beats = beats.split(',').try_fold(0, |beats, beat| Ok(beats | bit(beat)?))?;
        if one_bar_in.get() > LONGEST_CYCLE {
            return Err(NoClick);
        }
        Ok(Self { beats, one_bar_in })
    }
}

/// How strong a click is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Stress {
    /// The first of a bar.
    Strong,
    /// Any other.
    Weak,
}

/// A click, higher and harder where it is strong.
pub(super) fn click(at: Ticks, stress: Stress) -> Option<BandNote> {
    let (key, velocity) = match stress {
        Stress::Strong => STRONG,
        Stress::Weak => WEAK,
    };
    let length = TickSpan(TICKS_PER_QUARTER / 4);
    Pitch::new(key).map(|key| BandNote { part: Part::Click, at, length, key, velocity })
}

/// The clicks of the bars.
pub(super) fn clicks(on: ClickOn, bars: &[Bar]) -> Vec<BandNote> {
    let of_bar = |bar: &Bar| -> Vec<Ticks> {
        match on {
            ClickOn::CountInOnly => Vec::new(),
            ClickOn::EveryPulse if bar.playing == Playing::Nobody => Vec::new(),
            ClickOn::EveryPulse => (0..bar.pulses()).map(|i| bar.on_pulse(i)).collect(),
            ClickOn::Alone(alone) => {
                let beats = (1..=bar.meter.beats()).filter(|&beat| alone.sounds_on(beat, bar.before));
                beats.map(|beat| bar.at + bar.meter.beat() * i64::from(beat - 1)).collect()
            }
        }
    };
    let stress = |bar: &Bar, at| if at == bar.at { Stress::Strong } else { Stress::Weak };
    bars.iter().flat_map(|bar| of_bar(bar).into_iter().filter_map(|at| click(at, stress(bar, at)))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::tests::form_in;

    /// A letter a beat, bars apart: `x` where it clicks.
    fn written(text: &str, bars: u64) -> Vec<String> {
        let click: LoneClick = text.parse().expect("beats");
        let beats =
            |bar| (1..=4).map(move |beat| if click.sounds_on(beat, BarsBefore(bar)) { 'x' } else { '.' });
        (0..bars).map(|bar| beats(bar).collect()).collect()
    }

    #[test]
    fn it_clicks_on_the_beats_that_are_written() {
        assert_eq!(written("2,4", 2), [".x.x", ".x.x"]);
        assert_eq!(written("4", 1), ["...x"]);
        assert_eq!(written("2,4/2", 4), [".x.x", "....", ".x.x", "...."]);
        assert_eq!(written("1/4", 5), ["x...", "....", "....", "....", "x..."]);
    }

    #[test]
    fn beats_are_printed_as_they_are_written() {
        for text in ["2,4", "4", "2,4/2", "1,2,32/16"] {
            assert_eq!(text.parse().map(|click: LoneClick| click.to_string()), Ok(text.to_owned()));
        }
    }

    #[test]
    fn what_is_no_beat_is_refused() {
        for text in ["", "0", "33", "2,", ",4", "2;4", "2,4/", "2,4/0", "2,4/17", "2/4/2", "-1", "a"] {
            assert_eq!(text.parse::<LoneClick>(), Err(NoClick), "{text}");
        }
    }

    #[test]
    fn a_beat_must_be_in_some_bar() {
        let three = form_in("3/4".parse().expect("a meter"), "Dm7 | G7");
        let fits = |text: &str| text.parse::<LoneClick>().expect("beats").fits(&three);
        assert_eq!(fits("1,3"), Ok(()));
        assert_eq!(fits("4"), Err(NoSuchBeat { beat: 4, last: 3 }));
        assert_eq!(
            fits("2,4").map_err(|no| no.to_string()).expect_err("no beat 4"),
            "no bar has a beat 4: write beats from 1 to 3, as in 3"
        );
    }
}
