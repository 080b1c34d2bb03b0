//! Ride, hi-hat, kick and click: patterns that repeat with the bar.
//!
//! Keys are those of the General MIDI percussion map (General MIDI Level 1, from memory).

use super::chance::Chance;
use crate::chart::Feel;

use super::feel::{lasts, pulse};
use super::{BandNote, Call, ClickOn, Part};
use crate::chart::FormBar;
use crate::theory::Pitch;
use crate::time::{TickSpan, Ticks};

const KICK: u8 = 36;
const CLOSED_HAT: u8 = 42;
const PEDAL_HAT: u8 = 44;
const RIDE: u8 = 51;
const CLICK_STRONG: u8 = 76;
const CLICK: u8 = 77;
/// How far velocities stray.
const SPREAD: u8 = 3;

fn stroke(part: Part, key: u8, at: Ticks, velocity: u8) -> Option<BandNote> {
    let length = TickSpan(crate::time::TICKS_PER_QUARTER / 4);
    Pitch::new(key).map(|key| BandNote { part, at, length, key, velocity })
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
    match stress {
        Stress::Strong => stroke(Part::Click, CLICK_STRONG, at, 100),
        Stress::Weak => stroke(Part::Click, CLICK, at, 80),
    }
}

/// The cymbal and kick under the closing tonic.
pub(super) fn closing(at: Ticks, length: TickSpan) -> impl Iterator<Item = BandNote> {
    let ride = stroke(Part::Ride, RIDE, at, 70).map(|note| BandNote { length, ..note });
    [ride, stroke(Part::Kick, KICK, at, 45)].into_iter().flatten()
}

/// The strokes of every bar of every chorus.
pub(super) fn pattern(call: &Call, bar_one: Ticks, chance: &mut Chance) -> Vec<BandNote> {
    let chorus = call.form.length();
    let mut notes = Vec::new();
    for time in 0..i64::from(call.choruses) {
        for bar in &call.form.bars {
            let start = bar.start + (bar_one - Ticks::ZERO) + chorus * time;
            notes.extend(bar_strokes(call, bar, start, chance));
        }
    }
    notes
}

fn bar_strokes(call: &Call, bar: &FormBar, start: Ticks, chance: &mut Chance) -> Vec<BandNote> {
    let pulse = pulse(bar.meter);
    let pulses = bar.meter.bar().0 / pulse.0;
    let off_beat = call.feel.off_beat(pulse, lasts(pulse, call.quarter), call.swing_percent);
    let mut strokes = Vec::new();
    for i in 0..pulses {
        let at = start + pulse * i;
        for &(part, key, place, velocity) in on_pulse(call.feel, i, pulses) {
            let at = if place == Place::OffBeat { at + off_beat } else { at };
            strokes.extend(stroke(part, key, at, chance.velocity(velocity, SPREAD)));
        }
        if clicks(call.click, i) {
            strokes.extend(click(at, if i == 0 { Stress::Strong } else { Stress::Weak }));
        }
    }
    strokes
}

fn clicks(on: &ClickOn, pulse: i64) -> bool {
    match on {
        ClickOn::CountInOnly => false,
        ClickOn::EveryPulse => true,
        ClickOn::Pulses(pulses) => pulses.iter().any(|&p| i64::from(p) == pulse + 1),
    }
}

/// Where in a pulse a stroke falls.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Place {
    OnBeat,
    OffBeat,
}

type Stroke = (Part, u8, Place, u8);

/// What is struck on pulse `i` (from 0) of a bar.
///
/// Swing: ride on every pulse and on the off-beat of 2 and 4, which are a little stronger; hat on 2 and 4; a kick so
/// soft that it is felt. Bossa: hat on every eighth, kick on 1, 2&, 3 and 4&. Straight and ballad: ride and hat without
/// the off-beats. In bars of three pulses the hat is on 2 and 3. All common practice.
fn on_pulse(feel: Feel, i: i64, pulses: i64) -> &'static [Stroke] {
    use Place::{OffBeat, OnBeat};
    let back_beat = if pulses == 3 { i > 0 } else { i % 2 == 1 };
    match (feel, back_beat) {
        (Feel::Swing, true) => &[
            (Part::Ride, RIDE, OnBeat, 66),
            (Part::Ride, RIDE, OffBeat, 54),
            (Part::Hat, PEDAL_HAT, OnBeat, 60),
            (Part::Kick, KICK, OnBeat, 26),
        ],
        (Feel::Bossa, false) => &[
            (Part::Hat, CLOSED_HAT, OnBeat, 48),
            (Part::Hat, CLOSED_HAT, OffBeat, 42),
            (Part::Kick, KICK, OnBeat, 48),
        ],
        (Feel::Bossa, true) => &[
            (Part::Hat, CLOSED_HAT, OnBeat, 52),
            (Part::Hat, CLOSED_HAT, OffBeat, 42),
            (Part::Kick, KICK, OffBeat, 42),
        ],
        (Feel::Straight | Feel::Ballad, true) => {
            &[(Part::Ride, RIDE, OnBeat, 58), (Part::Hat, PEDAL_HAT, OnBeat, 56)]
        }
        (Feel::Swing, false) => &[(Part::Ride, RIDE, OnBeat, 58), (Part::Kick, KICK, OnBeat, 26)],
        (Feel::Straight | Feel::Ballad, false) => &[(Part::Ride, RIDE, OnBeat, 54)],
    }
}
