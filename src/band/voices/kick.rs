//! The bass drum: a felt beater on a large head, more felt than heard.

use std::f32::consts::TAU;

use super::envelope::{Times, fall};
use super::noise::Burst;

/// It falls to 1/e in this time.
pub(super) const TAU_SECONDS: f32 = 0.11;

pub(super) const TIMES: Times = Times { swell_seconds: 0.002, let_go_seconds: None };

/// Where the head comes to rest, and how much higher it is while it is stretched by the beater.
const HERTZ: f32 = 56.0;
const STRETCHED_HERTZ: f32 = 44.0;
const STRETCH_SECONDS: f32 = 0.018;

#[derive(Clone, Debug)]
pub(super) struct Kick {
    /// In periods, 0 to 1.
    phase: f32,
    /// Periods a frame, at rest and above it.
    step: f32,
    stretch_step: f32,
    stretch_fall: f32,
    level: f32,
    fall: f32,
    felt: Burst,
}

impl Kick {
    pub fn struck(stroke: u32, rate: f32) -> Self {
        Self {
            phase: 0.0,
            step: HERTZ / rate,
            stretch_step: STRETCHED_HERTZ / rate,
            stretch_fall: fall(STRETCH_SECONDS, rate),
            level: 1.0,
            fall: fall(TAU_SECONDS, rate),
            felt: Burst::struck(stroke, rate, (250.0, 900.0), 0.5, 0.008),
        }
    }

    pub fn next(&mut self) -> f32 {
        let head = (TAU * self.phase).sin() * self.level;
        self.phase = (self.phase + self.step + self.stretch_step).fract();
        self.stretch_step *= self.stretch_fall;
        if self.stretch_step < 1e-9 {
            self.stretch_step = 0.0;
        }
        self.level *= self.fall;
        head + self.felt.next()
    }
}
