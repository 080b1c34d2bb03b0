//! Feels: how a pulse divides, and which patterns the band plays.

use crate::chart::Feel;
use crate::time::{Meter, NanoSpan, TICKS_PER_QUARTER, TickSpan};

/// How much of the measured swing the band takes by itself, in percent (common practice: all of it sounds stiff from a
/// machine).
pub const USUAL_SWING_PERCENT: u8 = 70;
/// The most the band swings, in hundredths: 2.6 to 1.
const GREATEST_RATIO: i64 = 260;

impl Feel {
    /// Where the off-beat of a pulse falls, from its start.
    ///
    /// In swing the long part is to the short one as [`measured_ratio`] says, of which `swing_percent` is taken, at most
    /// 2.6. A dotted quarter is divided in three, whatever the feel: its off-beat is the last eighth (common practice).
    pub fn off_beat(self, pulse: TickSpan, pulse_lasts: NanoSpan, swing_percent: u8) -> TickSpan {
        if is_dotted(pulse) {
            return TickSpan(pulse.0 * 2 / 3);
        }
        if self != Self::Swing {
            return TickSpan(pulse.0 / 2);
        }
        let measured = measured_ratio(pulse_lasts);
        let used = (100 + (measured - 100) * i64::from(swing_percent) / 100).min(GREATEST_RATIO);
        TickSpan(pulse.0 * used / (100 + used))
    }
}

/// The swing ratio measured on ride cymbals at a pulse of this length, in hundredths: the short note lasts about 100 ms,
/// from 3.5 to 1 when slow to even when fast (Friberg & Sundström, *Music Perception* 19(3), 2002).
pub fn measured_ratio(pulse_lasts: NanoSpan) -> i64 {
    let millis = pulse_lasts.0 / 1_000_000;
    (millis - 100).clamp(100, 350)
}

/// The pulse players count in a meter: the quarter, in 6/8, 9/8 and 12/8 the dotted quarter, in other eighths the beat.
pub fn pulse(meter: Meter) -> TickSpan {
    match (meter.unit(), meter.beats()) {
        (1 | 2 | 4, _) => TickSpan(TICKS_PER_QUARTER),
        (8, beats) if beats.is_multiple_of(3) => DOTTED_QUARTER,
        _ => meter.beat(),
    }
}

const DOTTED_QUARTER: TickSpan = TickSpan(TICKS_PER_QUARTER * 3 / 2);

/// Whether a pulse is a dotted quarter, that divides in three.
pub(super) fn is_dotted(pulse: TickSpan) -> bool {
    pulse == DOTTED_QUARTER
}

/// How long `span` lasts when a quarter note lasts `quarter`.
pub fn lasts(span: TickSpan, quarter: NanoSpan) -> NanoSpan {
    quarter.scaled(span.0, TICKS_PER_QUARTER)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn quarter_at(bpm: i64) -> NanoSpan {
        NanoSpan(60_000_000_000 / bpm)
    }

    #[test]
    fn swing_evens_out_as_the_tempo_rises() {
        // r = (beat in ms - 100) / 100 between 1 and 3.5, after the tempo dependence published by Friberg & Sundström.
        let check = |bpm, ratio: f64| {
            let measured = measured_ratio(quarter_at(bpm)) as f64 / 100.0;
            assert!((measured - ratio).abs() < 0.011, "{bpm}: {measured}");
        };
        for (bpm, ratio) in
            [(120, 3.5), (140, 3.29), (160, 2.75), (180, 2.33), (200, 2.0), (240, 1.5), (300, 1.0)]
        {
            check(bpm, ratio);
        }
    }

    #[test]
    fn the_off_beat_is_even_without_swing_and_never_past_two_point_six() {
        let pulse = TickSpan(TICKS_PER_QUARTER);
        assert_eq!(
            Feel::Bossa.off_beat(pulse, quarter_at(120), USUAL_SWING_PERCENT),
            TickSpan(TICKS_PER_QUARTER / 2)
        );
        let slow = Feel::Swing.off_beat(pulse, quarter_at(60), USUAL_SWING_PERCENT);
        assert_eq!(slow, TickSpan(TICKS_PER_QUARTER * 260 / 360));
        assert_eq!(
            Feel::Swing.off_beat(pulse, quarter_at(320), USUAL_SWING_PERCENT),
            TickSpan(TICKS_PER_QUARTER / 2)
        );
    }

    #[test]
    fn a_dotted_quarter_divides_in_three() {
        let eighth = TickSpan(TICKS_PER_QUARTER / 2);
        for feel in Feel::ALL {
            assert_eq!(feel.off_beat(eighth * 3, quarter_at(120), USUAL_SWING_PERCENT), eighth * 2);
        }
    }

    #[test]
    fn compound_meters_are_counted_in_dotted_quarters() {
        let pulse_of = |text: &str| pulse(text.parse().expect("a meter")).0 * 2 / TICKS_PER_QUARTER;
        assert_eq!(["4/4", "3/4", "6/8", "7/8", "2/2"].map(pulse_of), [2, 2, 3, 1, 2], "in eighths");
    }
}
