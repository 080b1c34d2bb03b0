//! Wood: the side stick on the rim, and the wood blocks of the click.

use super::envelope::Times;
use super::noise::Burst;
use super::partials::{Partial, Partials};

/// The side stick falls to 1/e in this time; a block of the click sooner.
pub(super) const SIDE_STICK_TAU_SECONDS: f32 = 0.022;
pub(super) const CLICK_TAU_SECONDS: f32 = 0.014;

pub(super) const TIMES: Times = Times { swell_seconds: 0.000_5, let_go_seconds: None };

/// The higher and the lower block, in hertz: apart enough that the first beat is known, low enough not to pierce.
const HIGH_BLOCK_HERTZ: f32 = 1_600.0;
const LOW_BLOCK_HERTZ: f32 = 1_100.0;
/// The higher of the two keys of the click comes first in the percussion map.
const HIGH_BLOCK_KEY: u8 = 76;

#[derive(Clone, Debug)]
pub(super) struct Wood {
    modes: Partials<1>,
    touch: Burst,
}

impl Wood {
    /// A stick laid over the drum and struck on the rim: a knock with three modes of its own.
    pub fn side_stick(stroke: u32, rate: f32) -> Self {
        let tau_seconds = SIDE_STICK_TAU_SECONDS;
        let modes = [(512.0, 0.35, 1.0), (843.0, 0.6, 0.8), (1_710.0, 0.35, 0.5), (2_690.0, 0.2, 0.3)];
        let mode = |i: usize| {
            let (hertz, level, pace) = modes[i];
            Partial { hertz, level, tau_seconds: tau_seconds * pace }
        };
        let touch = Burst::struck(stroke, rate, (1_500.0, 6_000.0), 0.35, 0.002);
        Self { modes: Partials::struck(rate, mode), touch }
    }

    /// A wood block: its pitch, and a second mode as of a short bar (about 2.76 times as high; Fletcher & Rossing,
    /// chapter 2).
    pub fn block(key: u8, stroke: u32, rate: f32) -> Self {
        let hertz = if key == HIGH_BLOCK_KEY { HIGH_BLOCK_HERTZ } else { LOW_BLOCK_HERTZ };
        let mode = |i: usize| match i {
            0 => Partial { hertz, level: 0.85, tau_seconds: CLICK_TAU_SECONDS },
            1 => Partial { hertz: hertz * 2.76, level: 0.2, tau_seconds: CLICK_TAU_SECONDS * 0.4 },
            _ => Partial::default(),
        };
        let touch = Burst::struck(stroke, rate, (2_000.0, 6_000.0), 0.1, 0.001_5);
        Self { modes: Partials::struck(rate, mode), touch }
    }

    pub fn next(&mut self) -> f32 {
        self.modes.next() + self.touch.next()
    }
}
