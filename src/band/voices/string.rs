//! A plucked string: its partials, by where it is plucked, how bright it is and how fast it is damped.
//!
//! What a string plucked at a share `p` of its length gives each partial is sin(nπp)/n of its velocity (Fletcher &
//! Rossing, *The Physics of Musical Instruments*, 1998, chapter 2, from memory); stiffness makes the upper ones a little sharp.

use std::f32::consts::PI;

use super::partials::{Partial, Partials};

/// What one string differs from another by.
#[derive(Clone, Copy, Debug)]
pub(super) struct Kind {
    /// Where it is plucked, as a share of its length from the bridge.
    pub plucked_at: f32,
    /// The first partial falls to 1/e in this time at [`Kind::at_hertz`]; higher notes die sooner.
    pub tau_seconds: f32,
    /// Where that is so.
    pub at_hertz: f32,
    /// How much faster each further partial dies.
    pub damping: f32,
    /// Above this frequency the body gives less and less.
    pub bright_hertz: f32,
    /// Stiffness: partial n is sharp by the root of 1 + this times n squared.
    pub stiffness: f32,
}

/// The string at the pitch `hertz`, of height 1 altogether. A harder pluck, of `velocity` 0 to 1, is brighter.
pub(super) fn pluck<const GROUPS: usize>(
    kind: Kind,
    hertz: f32,
    velocity: f32,
    rate: f32,
) -> Partials<GROUPS> {
    let bright = kind.bright_hertz * (0.6 + 0.8 * velocity);
    let tau = kind.tau_seconds * (kind.at_hertz / hertz).sqrt().clamp(0.3, 1.5);
    let partial = |i: usize| {
        let n = i as f32 + 1.0;
        let at = hertz * n * ((1.0 + kind.stiffness * n * n) / (1.0 + kind.stiffness)).sqrt();
        let body = 1.0 / (1.0 + (at / bright).powi(2));
        let level = (n * PI * kind.plucked_at).sin() / n * body;
        Partial { hertz: at, level, tau_seconds: tau / (1.0 + kind.damping * i as f32) }
    };
    let height: f32 = (0..GROUPS * 4).map(|i| partial(i).level.abs()).sum();
    Partials::struck(rate, |i| Partial { level: partial(i).level / height, ..partial(i) })
}
