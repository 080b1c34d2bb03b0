//! How a note begins and ends: it swells in, is held, and falls once it is let go.

/// The factor a frame by which a level falls to 1/e in `seconds`.
pub(super) fn fall(seconds: f32, rate: f32) -> f32 {
    (-1.0 / (seconds * rate)).exp()
}

/// The outer shape of a note, which what sounds is multiplied by.
#[derive(Clone, Debug)]
pub(super) struct Envelope {
    /// From 0 at the first frame to 1.
    swell: f32,
    swell_step: f32,
    /// What is left once it is let go, from 1 down.
    left: f32,
    /// How fast `left` falls when it is let go: 1 for what rings on.
    let_go_fall: f32,
    /// How fast it falls now.
    fall: f32,
    /// Frames until it is let go.
    held_frames: i64,
}

/// The times of an envelope.
#[derive(Clone, Copy, Debug)]
pub(super) struct Times {
    /// How long it swells in, so that nothing clicks that is no click.
    pub swell_seconds: f32,
    /// It falls to 1/e in this time once it is let go; without one it rings on.
    pub let_go_seconds: Option<f32>,
}

impl Envelope {
    /// An envelope of a note held for `held_frames`.
    pub fn new(times: Times, held_frames: i64, rate: f32) -> Self {
        Self {
            swell: 0.0,
            swell_step: 1.0 / (times.swell_seconds * rate).max(1.0),
            left: 1.0,
            let_go_fall: times.let_go_seconds.map_or(1.0, |seconds| fall(seconds, rate)),
            fall: 1.0,
            held_frames,
        }
    }

    pub fn next(&mut self) -> f32 {
        let now = self.swell * self.left;
        self.swell = (self.swell + self.swell_step).min(1.0);
        if self.held_frames > 0 {
            self.held_frames -= 1;
            if self.held_frames == 0 {
                self.fall = self.fall.min(self.let_go_fall);
            }
        }
        self.left *= self.fall;
        now
    }

    /// Lets it fall to 1/e in `seconds`, whatever it is: a hand on the cymbal.
    pub fn damp(&mut self, seconds: f32, rate: f32) {
        self.fall = self.fall.min(fall(seconds, rate));
    }

    /// How much is left, 1 until it is let go.
    pub const fn left(&self) -> f32 {
        self.left
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_swells_in_is_held_and_falls() {
        let times = Times { swell_seconds: 0.01, let_go_seconds: Some(0.02) };
        let mut envelope = Envelope::new(times, 500, 1000.0);
        let frames: Vec<f32> = (0..600).map(|_| envelope.next()).collect();
        assert!(frames[0] == 0.0 && frames[5] > 0.45 && frames[5] < 0.55);
        assert!((frames[20] - 1.0).abs() < 1e-5 && (frames[499] - 1.0).abs() < 1e-5);
        assert!((frames[520] - (-1.0_f32).exp()).abs() < 0.05, "{}", frames[520]);
    }

    #[test]
    fn what_rings_on_is_damped_all_the_same() {
        let times = Times { swell_seconds: 0.01, let_go_seconds: None };
        let mut envelope = Envelope::new(times, 5, 1000.0);
        (0..100).for_each(|_| _ = envelope.next());
        assert!((envelope.left() - 1.0).abs() < 1e-6);
        envelope.damp(0.02, 1000.0);
        (0..100).for_each(|_| _ = envelope.next());
        assert!(envelope.left() < 0.01);
    }
}
