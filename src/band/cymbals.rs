//! Ride, hi-hat and kick with the band: patterns that repeat with the bar.
//!
//! Keys are those of the General MIDI percussion map (General MIDI Level 1, from memory).

use super::accompaniment::Playing;
use super::bars::Bar;
use super::chance::Chance;
use super::stretch::Stretch;
use super::{BandNote, Part};
use crate::chart::Feel;
use crate::theory::Pitch;
use crate::time::{TICKS_PER_QUARTER, TickSpan, Ticks};

pub(super) const KICK: u8 = 36;
const SIDE_STICK: u8 = 37;
const CLOSED_HAT: u8 = 42;
pub(super) const PEDAL_HAT: u8 = 44;
pub(super) const RIDE: u8 = 51;
/// How far velocities stray.
const SPREAD: u8 = 3;
/// How hard the hi-hat is closed in a break.
const FOOT_ALONE: u8 = 50;

pub(super) fn stroke(part: Part, key: u8, at: Ticks, velocity: u8) -> Option<BandNote> {
    let length = TickSpan(TICKS_PER_QUARTER / 4);
    Pitch::new(key).map(|key| BandNote { part, at, length, key, velocity })
}

/// The cymbal and kick under the closing tonic.
pub(super) fn closing(at: Ticks, length: TickSpan) -> impl Iterator<Item = BandNote> {
    let ride = stroke(Part::Ride, RIDE, at, 70).map(|note| BandNote { length, ..note });
    [ride, stroke(Part::Kick, KICK, at, 45)].into_iter().flatten()
}

/// The strokes of the bars in which the band plays.
///
/// Where the chart says N.C. the band breaks off, ride and kick too; the hi-hat alone goes on by foot on its beats, so
/// that the time is found however long it lasts (common practice).
pub(super) fn pattern(feel: Feel, bars: &[Bar], stretches: &[Stretch], chance: &mut Chance) -> Vec<BandNote> {
    let breaks = Breaks(stretches);
    let mut notes = Vec::new();
    for bar in bars {
        // Bars of others are drawn too: what the band plays does not hang on where it lays out.
        let strokes = bar_strokes(feel, bar, &breaks, chance);
        if bar.playing == Playing::Band {
            notes.extend(strokes);
        }
    }
    notes
}

fn bar_strokes(feel: Feel, bar: &Bar, breaks: &Breaks, chance: &mut Chance) -> Vec<BandNote> {
    let mut strokes = Vec::new();
    for i in 0..bar.pulses() {
        let rim = if feel == Feel::Bossa { rim(bar, i) } else { None };
        for &(part, key, place, velocity) in on_pulse(feel, is_back_beat(bar, i)).iter().chain(rim) {
            let at = if place == Place::OffBeat { bar.off_pulse(i) } else { bar.on_pulse(i) };
            let velocity = chance.velocity(velocity, SPREAD);
            if !breaks.at(at) {
                strokes.extend(stroke(part, key, at, velocity));
            }
        }
        if is_back_beat(bar, i) && breaks.at(bar.on_pulse(i)) {
            strokes.extend(stroke(Part::Hat, PEDAL_HAT, bar.on_pulse(i), FOOT_ALONE));
        }
    }
    strokes
}

/// Where the chart says N.C.
struct Breaks<'s>(&'s [Stretch]);

impl Breaks<'_> {
    fn at(&self, at: Ticks) -> bool {
        let begun = self.0.partition_point(|stretch| stretch.at <= at);
        begun.checked_sub(1).is_some_and(|i| self.0[i].chord.is_none())
    }
}

/// Whether pulse `i` (from 0) of a bar is one of the hi-hat's: 2 and 4, of three pulses 2 and 3 (common practice).
pub(super) fn is_back_beat(bar: &Bar, i: i64) -> bool {
    if bar.pulses() == 3 { i > 0 } else { i % 2 == 1 }
}

/// The rim in a bossa, on pulse `i` of a bar of four: 1, 2& and 4 in one bar, 2 and 3& in the next (common practice).
/// It goes with the ride's part, which has nothing else to do there.
fn rim(bar: &Bar, i: i64) -> Option<&'static Stroke> {
    const ON: Stroke = (Part::Ride, SIDE_STICK, Place::OnBeat, 50);
    const OFF: Stroke = (Part::Ride, SIDE_STICK, Place::OffBeat, 50);
    if bar.pulses() != 4 {
        return None;
    }
    match (bar.before.0 % 2, i) {
        (0, 0 | 3) | (1, 1) => Some(&ON),
        (0, 1) | (1, 2) => Some(&OFF),
        _ => None,
    }
}

/// Where in a pulse a stroke falls.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Place {
    OnBeat,
    OffBeat,
}

type Stroke = (Part, u8, Place, u8);

/// What is struck on a pulse, which may be one of the hi-hat's.
///
/// Swing: ride on every pulse and on the off-beat of 2 and 4, which are a little stronger; hat on 2 and 4; a kick so
/// soft that it is felt. Bossa: hat on every eighth, kick on 1, 2&, 3 and 4&. Straight and ballad: ride and hat without
/// the off-beats. All common practice.
fn on_pulse(feel: Feel, back_beat: bool) -> &'static [Stroke] {
    use Place::{OffBeat, OnBeat};
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
