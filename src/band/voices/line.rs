//! The line that is played back over the band: a guitar with a warm tone.

use super::envelope::Times;
use super::noise::Burst;
use super::partials::Partials;
use super::string::{Kind, pluck};

/// A thinner string, plucked nearer to the bridge, its tone turned down.
const STRING: Kind = Kind {
    plucked_at: 0.18,
    tau_seconds: 0.75,
    at_hertz: 260.0,
    damping: 0.3,
    bright_hertz: 1_500.0,
    stiffness: 0.4e-4,
};

pub(super) const TIMES: Times = Times { swell_seconds: 0.001_5, let_go_seconds: Some(0.03) };

#[derive(Clone, Debug)]
pub(super) struct Guitar {
    string: Partials<3>,
    pick: Burst,
}

impl Guitar {
    pub fn struck(hertz: f32, velocity: f32, stroke: u32, rate: f32) -> Self {
        Self {
            string: pluck(STRING, hertz, velocity, rate),
            pick: Burst::struck(stroke, rate, (1_500.0, 4_000.0), 0.08, 0.003),
        }
    }

    pub fn next(&mut self) -> f32 {
        self.string.next() + self.pick.next()
    }

    /// In which time it dies away to 1/e.
    pub fn tau_seconds(hertz: f32) -> f32 {
        STRING.tau_seconds * (STRING.at_hertz / hertz).sqrt().clamp(0.3, 1.5)
    }
}
