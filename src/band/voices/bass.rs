//! The bass: a gut string plucked by a finger, over a wooden body.

use super::envelope::Times;
use super::noise::Burst;
use super::partials::{Partial, Partials};
use super::string::{Kind, pluck};

/// A long, thick string plucked far from the bridge: a strong first partial, the third and fourth still heard on small
/// speakers, 20 dB down after about a second. Our own choice, within what is measured on the instrument.
const STRING: Kind = Kind {
    plucked_at: 0.2,
    tau_seconds: 0.6,
    at_hertz: 60.0,
    damping: 0.35,
    bright_hertz: 600.0,
    stiffness: 1.5e-4,
};

/// A finger begins a note softly; the hand on the string ends it.
pub(super) const TIMES: Times = Times { swell_seconds: 0.001_5, let_go_seconds: Some(0.035) };

#[derive(Clone, Debug)]
pub(super) struct Bass {
    string: Partials<3>,
    body: Partials<1>,
    finger: Burst,
}

impl Bass {
    pub fn struck(hertz: f32, velocity: f32, stroke: u32, rate: f32) -> Self {
        // Two resonances of the body, which the pluck knocks on whatever the note.
        let body = |i: usize| match i {
            0 => Partial { hertz: 103.0, level: 0.12, tau_seconds: 0.05 },
            1 => Partial { hertz: 188.0, level: 0.07, tau_seconds: 0.03 },
            _ => Partial::default(),
        };
        Self {
            string: pluck(STRING, hertz, velocity, rate),
            body: Partials::struck(rate, body),
            finger: Burst::struck(stroke, rate, (700.0, 2_200.0), 0.16, 0.005),
        }
    }

    pub fn next(&mut self) -> f32 {
        self.string.next() + self.body.next() + self.finger.next()
    }

    /// In which time it dies away to 1/e.
    pub fn tau_seconds(hertz: f32) -> f32 {
        STRING.tau_seconds * (STRING.at_hertz / hertz).sqrt().clamp(0.3, 1.5)
    }
}
