//! The chords: a soft electric piano, tines before a pick-up.

use super::envelope::Times;
use super::partials::{Partial, Partials};

/// The first partial falls to 1/e in this time.
pub(super) const TAU_SECONDS: f32 = 0.9;

/// A felt hammer and a damper.
pub(super) const TIMES: Times = Times { swell_seconds: 0.004, let_go_seconds: Some(0.07) };

/// Multiples of the pitch, heights, and how fast each dies beside the first. The second, the bell, is strong at first
/// and dies twice as fast; the last two are the tine, out of tune with the rest and gone at once. Our own choice.
const PARTIALS: [(f32, f32, f32); 8] = [
    (1.0, 1.0, 1.0),
    (2.0, 0.42, 0.45),
    (3.0, 0.14, 0.3),
    (4.0, 0.07, 0.22),
    (5.0, 0.03, 0.16),
    (6.0, 0.015, 0.12),
    (7.08, 0.03, 0.06),
    (11.3, 0.012, 0.03),
];

#[derive(Clone, Debug)]
pub(super) struct ElectricPiano(Partials<2>);

impl ElectricPiano {
    /// A harder stroke, of `velocity` 0 to 1, has more of the upper partials.
    pub fn struck(hertz: f32, velocity: f32, rate: f32) -> Self {
        let bright = 0.5 + velocity;
        let heights = |i: usize| if i == 0 { 1.0 } else { PARTIALS[i].1 * bright };
        let height: f32 = (0..PARTIALS.len()).map(heights).sum();
        Self(Partials::struck(rate, |i| {
            let (times, _, pace) = PARTIALS[i];
            Partial { hertz: hertz * times, level: heights(i) / height, tau_seconds: TAU_SECONDS * pace }
        }))
    }

    pub fn next(&mut self) -> f32 {
        self.0.next()
    }
}
