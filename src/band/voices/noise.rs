//! Noise: the breath of cymbals and brushes, the touch of a finger or a stick.

use super::filter::{HighPass, LowPass};

/// White noise from -1 to 1, by a xorshift (Marsaglia, *Xorshift RNGs*, 2003).
#[derive(Clone, Debug)]
pub(super) struct Noise(u32);

impl Noise {
    /// Noise that is another for every stroke, and the same for the same stroke of another run.
    pub const fn of_stroke(stroke: u32) -> Self {
        // Never 0, from which the generator would not come away.
        Self(stroke.wrapping_mul(0x9e37_79b9) | 1)
    }

    pub fn next(&mut self) -> f32 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 17;
        self.0 ^= self.0 << 5;
        self.0 as i32 as f32 / i32::MAX as f32
    }
}

/// A burst of noise between two frequencies that dies away.
#[derive(Clone, Debug)]
pub(super) struct Burst {
    noise: Noise,
    low_cut: HighPass,
    high_cut: LowPass,
    level: f32,
    fall: f32,
}

impl Burst {
    /// A burst at `level` between `hertz.0` and `hertz.1` that falls to 1/e in `tau_seconds`.
    pub fn struck(stroke: u32, rate: f32, hertz: (f32, f32), level: f32, tau_seconds: f32) -> Self {
        Self {
            noise: Noise::of_stroke(stroke),
            low_cut: HighPass::at(hertz.0, rate),
            high_cut: LowPass::at(hertz.1, rate),
            level,
            fall: super::envelope::fall(tau_seconds, rate),
        }
    }

    pub fn next(&mut self) -> f32 {
        // The filters are before the level: what goes through them never gets too small for a whole float.
        let filtered = self.high_cut.next(self.low_cut.next(self.noise.next()));
        let sample = filtered * self.level;
        self.level *= self.fall;
        if self.level < 1e-9 {
            self.level = 0.0;
        }
        sample
    }
}
