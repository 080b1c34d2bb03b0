//! The line from the host's time to a device's frames, fitted through what the device tells again and again.

use crate::time::{FrameRate, Frames, Nanos};

/// How much of a surprise moves the line at once; the rest is taken for jitter.
const FOLLOW: f64 = 0.05;
/// How much of a surprise changes the pace of the line.
const FOLLOW_PACE: f64 = 0.002;
/// How far a device's clock may run from its nominal rate (0.1 percent; crystals keep within a tenth of it).
const GREATEST_DRIFT: f64 = 1e-3;
/// A surprise as great as this, in nanoseconds, is no jitter: the line starts again there.
const LEAP_NANOS: f64 = 50e6;
/// A surprise of this size (a millisecond) that stays for [`STEADY`] news is a skipped callback, not jitter.
const STEP_NANOS: f64 = 1e6;
/// How many surprises to one side make a step.
const STEADY: i32 = 8;

/// How a playhead fits the line through those before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fit {
    /// It lies on the line, but for jitter.
    Close,
    /// It lies more than a millisecond off it: a slip, or the first of a step.
    Doubtful,
    /// So did all of late: the line starts anew there.
    Step,
}

/// A slowly fitted line from the host's time to the frame heard then.
///
/// Skipped callbacks leave the count of rendered frames behind the clock, so the line is anchored again and again at
/// what callbacks say, and starts anew where they leap. What lay before its last step is still told by the line before.
#[derive(Clone, Debug)]
pub struct ClockLine {
    now: Stretch,
    /// The stretch before the last step, and when it ended.
    before: Option<(Stretch, f64)>,
    nominal: f64,
    /// News in a row that came a step early (negative) or late, and when the first of them was expected.
    steady: i32,
    doubted_at: f64,
    /// News in a row that came early or late, whichever.
    doubtful: i32,
}

/// A line without a step: a frame, when it is heard in nanoseconds, and how long a frame lasts.
#[derive(Clone, Copy, Debug)]
struct Stretch {
    frame: Frames,
    at: f64,
    nanos_per_frame: f64,
}

impl Stretch {
    fn heard_at(&self, frame: Frames) -> f64 {
        self.at + (frame - self.frame).0 as f64 * self.nanos_per_frame
    }

    fn frame_at(&self, host: f64) -> f64 {
        self.frame.0 as f64 + (host - self.at) / self.nanos_per_frame
    }
}

impl ClockLine {
    /// A line through one playhead, at the nominal rate.
    pub fn new(rate: FrameRate, frame: Frames, heard_at: Nanos) -> Self {
        let nominal = 1e9 / f64::from(rate.hertz());
        let now = Stretch { frame, at: heard_at.0 as f64, nanos_per_frame: nominal };
        Self { now, before: None, nominal, steady: 0, doubted_at: 0.0, doubtful: 0 }
    }

    /// Takes a playhead in: `frame` is heard at `heard_at`.
    pub fn observe(&mut self, frame: Frames, heard_at: Nanos) -> Fit {
        let frames = (frame - self.now.frame).0 as f64;
        if frames <= 0.0 {
            return Fit::Close;
        }
        let old = self.now;
        let expected = old.heard_at(frame);
        let surprise = heard_at.0 as f64 - expected;
        self.now.frame = frame;
        let fit = self.fit(surprise, expected);
        match fit {
            Fit::Step => {
                self.before = Some((old, self.doubted_at));
                self.now.at = heard_at.0 as f64;
                (self.steady, self.doubtful) = (0, 0);
            }
            // Too far for jitter, too short for a step so far: wait and see.
            Fit::Doubtful => self.now.at = expected,
            Fit::Close => {
                self.now.at = expected + FOLLOW * surprise;
                let pace = old.nanos_per_frame + FOLLOW_PACE * surprise / frames;
                let drift = self.nominal * GREATEST_DRIFT;
                self.now.nanos_per_frame = pace.clamp(self.nominal - drift, self.nominal + drift);
            }
        }
        fit
    }

    fn fit(&mut self, surprise: f64, expected: f64) -> Fit {
        let steady = match surprise {
            late if late > STEP_NANOS => self.steady.max(0) + 1,
            early if early < -STEP_NANOS => self.steady.min(0) - 1,
            _ => 0,
        };
        if steady.abs() <= 1 {
            self.doubted_at = expected;
        }
        self.steady = steady;
        self.doubtful = if steady == 0 { 0 } else { self.doubtful.saturating_add(1) };
        match () {
            () if surprise.abs() > LEAP_NANOS || steady.abs() >= STEADY => Fit::Step,
            () if steady == 0 => Fit::Close,
            () => Fit::Doubtful,
        }
    }

    /// Whether it may turn out, with the next few news, that the line has stepped already. A device that is never sure
    /// is taken at its word.
    pub const fn is_in_doubt(&self) -> bool {
        self.doubtful > 0 && self.doubtful < STEADY
    }

    /// The frame heard at `host`, with its fraction. In a step to a later time it stays where it is until the line has
    /// come so far.
    pub fn frame_at(&self, host: Nanos) -> f64 {
        let host = host.0 as f64;
        let now = self.now.frame_at(host);
        match &self.before {
            Some((before, until)) if host < *until => before.frame_at(host),
            Some((before, until)) => now.max(before.frame_at(*until)),
            None => now,
        }
    }

    /// When `frame` is heard, if the line goes on as it does now.
    pub fn heard_at(&self, frame: Frames) -> Nanos {
        Nanos(self.now.heard_at(frame).round() as i64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: u32 = 48_000;
    const BLOCK: i64 = 256;

    fn rate() -> FrameRate {
        FrameRate::new(RATE).expect("a rate")
    }

    /// Where block `i` is truly heard on a device whose crystal runs `ppm` slow.
    fn truth(i: i64, ppm: f64) -> f64 {
        (i * BLOCK) as f64 * 1e9 / f64::from(RATE) * (1.0 + ppm * 1e-6)
    }

    #[test]
    fn the_line_sees_through_jitter_and_drift() {
        let mut line = ClockLine::new(rate(), Frames::ZERO, Nanos::ZERO);
        let jitter = |i: i64| ((i * 7919) % 13 - 6) as f64 * 100_000.0; // within 0.6 ms, mean near 0
        for i in 1..5_000 {
            line.observe(Frames(i * BLOCK), Nanos((truth(i, 80.0) + jitter(i)) as i64));
        }
        let error = line.heard_at(Frames(5_000 * BLOCK)).0 as f64 - truth(5_000, 80.0);
        assert!(error.abs() < 150_000.0, "{error} ns");
        let back = line.frame_at(line.heard_at(Frames(123_456)));
        assert!((back - 123_456.0).abs() < 0.01);
    }

    #[test]
    fn a_skipped_callback_moves_the_line_within_a_few_news() {
        let mut line = ClockLine::new(rate(), Frames::ZERO, Nanos::ZERO);
        let skipped = 1e9 * BLOCK as f64 / f64::from(RATE);
        for i in 1..100 {
            line.observe(Frames(i * BLOCK), Nanos(truth(i, 0.0) as i64));
        }
        for i in 100..100 + i64::from(STEADY) {
            line.observe(Frames(i * BLOCK), Nanos((truth(i, 0.0) + skipped) as i64));
        }
        let error = line.heard_at(Frames(200 * BLOCK)).0 as f64 - (truth(200, 0.0) + skipped);
        assert!(error.abs() < 100_000.0, "{error} ns");
    }

    #[test]
    fn what_was_heard_before_a_step_is_told_by_the_line_before_it() {
        let mut line = ClockLine::new(rate(), Frames::ZERO, Nanos::ZERO);
        (1..100).for_each(|i| _ = line.observe(Frames(i * BLOCK), Nanos(truth(i, 0.0) as i64)));
        let late = 20e6;
        for i in 100..100 + i64::from(STEADY) {
            let is_last = i == 99 + i64::from(STEADY);
            let fit = line.observe(Frames(i * BLOCK), Nanos((truth(i, 0.0) + late) as i64));
            assert_eq!(fit, if is_last { Fit::Step } else { Fit::Doubtful });
            assert_eq!(line.is_in_doubt(), !is_last);
        }
        let check = |at: f64, block: f64| {
            let found = line.frame_at(Nanos(at as i64)) / BLOCK as f64;
            assert!((found - block).abs() < 0.05, "{found} instead of {block}");
        };
        check(truth(98, 0.0), 98.0);
        check(truth(100, 0.0) + late / 2.0, 100.0);
        check(truth(101, 0.0) + late, 101.0);
    }

    #[test]
    fn a_device_that_is_never_sure_is_taken_at_its_word() {
        let mut line = ClockLine::new(rate(), Frames::ZERO, Nanos::ZERO);
        let doubts = (1..40).filter(|&i| {
            let jump = if i % 2 == 0 { 5e6 } else { -5e6 };
            line.observe(Frames(i * BLOCK), Nanos((truth(i, 0.0) + jump) as i64));
            line.is_in_doubt()
        });
        assert_eq!(doubts.count() as i32, STEADY - 1);
    }

    #[test]
    fn a_leap_starts_the_line_again_at_once() {
        let mut line = ClockLine::new(rate(), Frames::ZERO, Nanos::ZERO);
        line.observe(Frames(BLOCK), Nanos(9_000_000_000));
        assert_eq!(line.heard_at(Frames(BLOCK)), Nanos(9_000_000_000));
    }
}
