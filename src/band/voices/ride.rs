//! The ride cymbal: the stick, the ping of the plate, and the wash behind it.

use super::envelope::Times;
use super::noise::{Burst, Noise};
use super::partials::{Partial, Partials};
use super::{envelope::fall, filter::HighPass};

/// The ping falls to 1/e in this time, and the wash in the next.
pub(super) const TAU_SECONDS: f32 = 0.4;
const WASH_TAU_SECONDS: f32 = 0.34;
/// The wash comes a little behind the stick: the plate has to begin to move.
const WASH_SWELL_SECONDS: f32 = 0.02;

pub(super) const TIMES: Times = Times { swell_seconds: 0.000_3, let_go_seconds: None };

/// Modes of a plate, in no relation to each other: our own choice, denser above as on a cymbal.
const MODES_HERTZ: [f32; 12] =
    [347.0, 523.0, 771.0, 1_009.0, 1_433.0, 1_871.0, 2_389.0, 3_067.0, 3_761.0, 4_603.0, 5_417.0, 6_661.0];

#[derive(Clone, Debug)]
pub(super) struct Ride {
    stick: Burst,
    ping: Partials<3>,
    wash: Wash,
}

/// High noise that swells and dies.
#[derive(Clone, Debug)]
struct Wash {
    noise: Noise,
    low_cut: [HighPass; 2],
    level: f32,
    fall: f32,
    swelling: f32,
    swell_fall: f32,
}

impl Ride {
    pub fn struck(velocity: f32, stroke: u32, rate: f32) -> Self {
        let mode = |i: usize| {
            let hertz = MODES_HERTZ[i];
            // The lower modes are faint and long, the upper ones shorter.
            let level = 0.07 * (hertz / 3_000.0).min(1.0).powf(0.7);
            Partial { hertz, level, tau_seconds: TAU_SECONDS * (1_000.0 / hertz).powf(0.3).min(1.0) }
        };
        // A soft stroke is more ping than wash.
        let wash = 0.2 * (0.6 + 0.8 * velocity);
        Self {
            stick: Burst::struck(stroke, rate, (2_500.0, 9_000.0), 1.5, 0.002_5),
            ping: Partials::struck(rate, mode),
            wash: Wash {
                noise: Noise::of_stroke(stroke ^ 0x5bd1_e995),
                low_cut: [HighPass::at(4_500.0, rate), HighPass::at(4_500.0, rate)],
                level: wash,
                fall: fall(WASH_TAU_SECONDS, rate),
                swelling: 1.0,
                swell_fall: fall(WASH_SWELL_SECONDS, rate),
            },
        }
    }

    pub fn next(&mut self) -> f32 {
        self.stick.next() + self.ping.next() + self.wash.next()
    }
}

impl Wash {
    fn next(&mut self) -> f32 {
        let high = self.low_cut.iter_mut().fold(self.noise.next(), |sample, cut| cut.next(sample));
        let sample = high * self.level * (1.0 - self.swelling);
        self.level *= self.fall;
        self.swelling *= self.swell_fall;
        if self.swelling < 1e-9 {
            self.swelling = 0.0;
        }
        sample
    }
}
