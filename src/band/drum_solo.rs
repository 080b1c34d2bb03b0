//! The drums alone: what they play in their bars when bars are traded.
//!
//! A plain solo in time. The hi-hat keeps its beats throughout, so that nobody is lost; ride and kick vary from pulse to
//! pulse; the last bar before the player's turn is plain time on the ride, into which one comes in (common practice).

use super::accompaniment::Playing;
use super::bars::Bar;
use super::chance::Chance;
use super::cymbals::{KICK, PEDAL_HAT, RIDE, is_back_beat, stroke};
use super::{BandNote, Part};

/// How far velocities stray.
const SPREAD: u8 = 5;

/// What is struck on a pulse and on its off-beat.
type Figure = (&'static [Drum], &'static [Drum]);

/// A part, its key and how hard it is struck.
type Drum = (Part, u8, u8);

const RIDE_STRUCK: Drum = (Part::Ride, RIDE, 72);
const KICK_STRUCK: Drum = (Part::Kick, KICK, 70);

/// The figures of a pulse: ride and kick, on it, behind it, both or neither. Each is as likely as the others.
const FIGURES: [Figure; 6] = [
    (&[RIDE_STRUCK], &[]),
    (&[RIDE_STRUCK], &[RIDE_STRUCK]),
    (&[KICK_STRUCK], &[RIDE_STRUCK]),
    (&[RIDE_STRUCK], &[KICK_STRUCK]),
    (&[], &[KICK_STRUCK]),
    (&[], &[]),
];

/// The strokes in the bars in which the drums are alone.
pub(super) fn solo(bars: &[Bar], chance: &mut Chance) -> Vec<BandNote> {
    let mut strokes = Vec::new();
    let mut last = None;
    for (i, bar) in bars.iter().enumerate().filter(|(_, bar)| bar.playing == Playing::DrumsAlone) {
        let leads_in = bars.get(i + 1).is_none_or(|next| next.playing != Playing::DrumsAlone);
        for pulse in 0..bar.pulses() {
            let figure = if leads_in { 0 } else { another(last, chance) };
            last = Some(figure);
            let (on, off) = FIGURES[figure];
            let on = on.iter().map(|&drum| (bar.on_pulse(pulse), drum));
            let off = off.iter().map(|&drum| (bar.off_pulse(pulse), drum));
            let hat = is_back_beat(bar, pulse).then_some((bar.on_pulse(pulse), (Part::Hat, PEDAL_HAT, 62)));
            for (at, (part, key, velocity)) in on.chain(off).chain(hat) {
                strokes.extend(stroke(part, key, at, chance.velocity(velocity, SPREAD)));
            }
        }
    }
    strokes
}

/// A figure other than the last one.
fn another(last: Option<usize>, chance: &mut Chance) -> usize {
    let drawn = chance.below(FIGURES.len() as u32 - 1) as usize;
    if last.is_some_and(|last| drawn >= last) { drawn + 1 } else { drawn }
}
