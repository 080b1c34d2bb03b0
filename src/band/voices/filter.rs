//! Filters of one pole: 6 dB an octave, no ringing.

use std::f32::consts::TAU;

/// The highest cut, as a share of the rate.
const HIGHEST: f32 = 0.45;

/// Lets pass what is below its frequency.
#[derive(Clone, Debug)]
pub(super) struct LowPass {
    /// How far it follows a frame.
    follow: f32,
    at: f32,
}

impl LowPass {
    pub fn at(hertz: f32, rate: f32) -> Self {
        Self { follow: 1.0 - (-TAU * (hertz / rate).min(HIGHEST)).exp(), at: 0.0 }
    }

    pub fn next(&mut self, sample: f32) -> f32 {
        self.at += self.follow * (sample - self.at);
        self.at
    }
}

/// Lets pass what is above its frequency.
#[derive(Clone, Debug)]
pub(super) struct HighPass(LowPass);

impl HighPass {
    pub fn at(hertz: f32, rate: f32) -> Self {
        Self(LowPass::at(hertz, rate))
    }

    pub fn next(&mut self, sample: f32) -> f32 {
        sample - self.0.next(sample)
    }
}
