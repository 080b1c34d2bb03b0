//! The hi-hat: closed by foot, or struck while it is closed.

use super::envelope::Times;
use super::noise::Burst;
use super::partials::{Partial, Partials};

/// It falls to 1/e in this time when the foot closes it; struck with a stick it is a little longer.
pub(super) const FOOT_TAU_SECONDS: f32 = 0.028;
pub(super) const STICK_TAU_SECONDS: f32 = 0.04;

pub(super) const TIMES: Times = Times { swell_seconds: 0.000_8, let_go_seconds: None };

/// What makes it sound.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Played {
    Foot,
    Stick,
}

#[derive(Clone, Debug)]
pub(super) struct Hat {
    hiss: Burst,
    plates: Partials<1>,
}

impl Hat {
    pub fn struck(played: Played, stroke: u32, rate: f32) -> Self {
        let (tau_seconds, lowest) = match played {
            Played::Foot => (FOOT_TAU_SECONDS, 3_500.0),
            Played::Stick => (STICK_TAU_SECONDS, 6_000.0),
        };
        // Two plates that meet: four modes near each other, no pitch.
        let plate = |i: usize| {
            let hertz = [3_180.0, 4_270.0, 5_390.0, 7_130.0][i];
            Partial { hertz, level: 0.1, tau_seconds: tau_seconds * 0.7 }
        };
        Self {
            hiss: Burst::struck(stroke, rate, (lowest, 14_000.0), 0.9, tau_seconds),
            plates: Partials::struck(rate, plate),
        }
    }

    pub fn next(&mut self) -> f32 {
        self.hiss.next() + self.plates.next()
    }
}
