//! Damped partials: sine waves that die away, each at its own pace. What strings, tines, wood and metal are made of here.
//!
//! Each partial is a point that turns about the origin and draws nearer to it: four multiplications a frame, exact in
//! pitch at every rate. They are kept in groups of four so that the compiler can take four at a time.

use std::f32::consts::TAU;

/// Partials taken at a time.
const GROUP: usize = 4;
/// Frames between two looks at which partials have died away.
const SWEEP: u16 = 256;
/// Nothing this small is heard. It is put out long before it is too small for a whole float, which would be slow.
const DEAD: f32 = 1e-12;
/// Above this share of the rate a partial is left out: it would fold back.
const HIGHEST: f32 = 0.45;

/// One partial as it is struck.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Partial {
    pub hertz: f32,
    /// Its height at the start.
    pub level: f32,
    /// It falls to 1/e in this time.
    pub tau_seconds: f32,
}

/// `GROUPS` times four partials that sound together.
#[derive(Clone, Debug)]
pub(super) struct Partials<const GROUPS: usize> {
    across: [[f32; GROUP]; GROUPS],
    up: [[f32; GROUP]; GROUPS],
    cos: [[f32; GROUP]; GROUPS],
    sin: [[f32; GROUP]; GROUPS],
    until_sweep: u16,
}

impl<const GROUPS: usize> Partials<GROUPS> {
    /// The partials that `of` gives for 0, 1, 2, ... at `rate` frames a second, all at the start of their first period.
    pub fn struck(rate: f32, of: impl Fn(usize) -> Partial) -> Self {
        let none = [[0.0; GROUP]; GROUPS];
        let mut partials = Self { across: none, up: none, cos: none, sin: none, until_sweep: SWEEP };
        for i in 0..GROUPS * GROUP {
            let partial = of(i);
            if partial.hertz < rate * HIGHEST {
                let (group, lane) = (i / GROUP, i % GROUP);
                let angle = f64::from(TAU) * f64::from(partial.hertz) / f64::from(rate);
                let shrink = (-1.0 / (f64::from(partial.tau_seconds) * f64::from(rate))).exp();
                partials.across[group][lane] = partial.level;
                partials.cos[group][lane] = (shrink * angle.cos()) as f32;
                partials.sin[group][lane] = (shrink * angle.sin()) as f32;
            }
        }
        partials
    }

    /// The next frame: their sum.
    pub fn next(&mut self) -> f32 {
        let mut sums = [0.0; GROUP];
        for group in 0..GROUPS {
            let (cos, sin) = (&self.cos[group], &self.sin[group]);
            let (across, up) = (&mut self.across[group], &mut self.up[group]);
            for lane in 0..GROUP {
                sums[lane] += up[lane];
                let turned = across[lane] * cos[lane] - up[lane] * sin[lane];
                up[lane] = across[lane] * sin[lane] + up[lane] * cos[lane];
                across[lane] = turned;
            }
        }
        self.until_sweep -= 1;
        if self.until_sweep == 0 {
            self.sweep();
        }
        (sums[0] + sums[1]) + (sums[2] + sums[3])
    }

    /// Puts out what has died away.
    fn sweep(&mut self) {
        self.until_sweep = SWEEP;
        for (across, up) in self.across.iter_mut().flatten().zip(self.up.iter_mut().flatten()) {
            if across.abs() + up.abs() < DEAD {
                (*across, *up) = (0.0, 0.0);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(rate: f32, hertz: f32, tau_seconds: f32) -> Partials<1> {
        Partials::struck(rate, |i| {
            if i == 0 { Partial { hertz, level: 1.0, tau_seconds } } else { Partial::default() }
        })
    }

    #[test]
    fn a_partial_keeps_its_pitch_and_its_pace_at_every_rate() {
        for rate in [8_000.0_f32, 44_100.0, 192_000.0] {
            let mut partial = one(rate, 41.2, 0.5);
            let frames: Vec<f32> = (0..rate as usize).map(|_| partial.next()).collect();
            let rises = frames.windows(2).filter(|pair| pair[0] < 0.0 && pair[1] >= 0.0).count();
            assert_eq!(rises, 41, "at {rate}");
            let loudest = |part: &[f32]| part.iter().fold(0.0_f32, |loudest, s| loudest.max(s.abs()));
            let first = loudest(&frames[..frames.len() / 10]);
            let later = loudest(&frames[frames.len() / 2..frames.len() * 6 / 10]);
            assert!((later / first - (-1.0_f32).exp()).abs() < 0.02, "{later} of {first} at {rate}");
        }
    }

    #[test]
    fn what_cannot_be_heard_is_put_out() {
        let mut partial = one(48_000.0, 900.0, 0.002);
        let frames: Vec<f32> = (0..48_000).map(|_| partial.next()).collect();
        assert!(frames.iter().all(|sample| *sample == 0.0 || sample.is_normal()));
        assert!(frames[47_999] == 0.0);
    }

    #[test]
    fn what_would_fold_back_is_left_out() {
        let mut partial = one(8_000.0, 3_900.0, 1.0);
        assert!((0..1000).all(|_| partial.next() == 0.0));
    }
}
