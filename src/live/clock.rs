//! Clocks: the host's monotonic one, and the lines that map a device's clock to it and back.
//!
//! The frames handed to the sound device are the musical clock. A line through the playheads of many callbacks says
//! when each frame is heard; one reading alone would carry the jitter of its callback.

mod line;

use std::time::{Duration, Instant};

use super::playheads::Playheads;
use super::wires::FromAudio;
use crate::time::{FrameRate, Frames, NanoSpan, Nanos};

pub use line::{ClockLine, Fit};

/// A source of time for a session, and a way to let some pass. Tests bring one that only counts.
pub trait Pace {
    /// Now, on a monotonic clock.
    fn now(&self) -> Nanos;
    /// Lets about this much time pass.
    fn rest(&mut self, span: NanoSpan);
}

/// The host's monotonic clock, from a start of its own.
#[derive(Clone, Copy, Debug)]
pub struct HostClock {
    start: Instant,
}

impl HostClock {
    /// A clock that starts now.
    pub fn start() -> Self {
        Self { start: Instant::now() }
    }

    /// Nanoseconds since it started.
    pub fn now(self) -> Nanos {
        Nanos(self.start.elapsed().as_nanos() as i64)
    }
}

impl Pace for HostClock {
    fn now(&self) -> Nanos {
        HostClock::now(*self)
    }

    fn rest(&mut self, span: NanoSpan) {
        std::thread::sleep(Duration::from_nanos(span.0.max(0) as u64));
    }
}

/// How finely the monotonic clock tells time, and how late it wakes those who rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fineness {
    /// The smallest step seen between two readings that differ.
    pub step: NanoSpan,
    /// The longest that a rest of a millisecond took.
    pub longest_rest: NanoSpan,
}

impl Fineness {
    /// Measures it, in a few hundredths of a second.
    pub fn measure() -> Self {
        let clock = HostClock::start();
        let steps = (0..2_000).filter_map(|_| {
            let before = clock.now();
            (0..1_000_000).map(|_| clock.now() - before).find(|&step| step > NanoSpan::ZERO)
        });
        let step = steps.min().unwrap_or(NanoSpan::millis(1_000));
        let rests = (0..20).map(|_| {
            let before = clock.now();
            std::thread::sleep(Duration::from_millis(1));
            clock.now() - before
        });
        Self { step, longest_rest: rests.max().unwrap_or(NanoSpan::ZERO) }
    }
}

/// The clock of a take: nothing at its first click, then as long as the frames since then last.
#[derive(Clone, Debug)]
pub struct TakeClock {
    /// The line of the device that sounds.
    pub line: ClockLine,
    /// The frame of the first click.
    pub start: Frames,
    /// What the device told of late.
    pub heads: Playheads,
    rate: FrameRate,
    /// The line as it was some news ago, and a while before that.
    earlier: [(Nanos, ClockLine); 2],
}

/// News of a device that is dying may be wild; this much of it, or up to twice as much, can be forgotten.
const FORGOTTEN: NanoSpan = NanoSpan::millis(250);

impl TakeClock {
    /// A take whose first click is at frame `start`.
    pub fn new(line: ClockLine, start: Frames, rate: FrameRate) -> Self {
        let at = line.heard_at(start);
        let earlier = [(at, line.clone()), (at, line.clone())];
        Self { line, start, heads: Playheads::default(), rate, earlier }
    }

    /// Takes in what the sound device tells.
    pub fn observe(&mut self, news: FromAudio) {
        if news.heard_at - self.earlier[1].0 >= FORGOTTEN {
            self.earlier.swap(0, 1);
            self.earlier[1] = (news.heard_at, self.line.clone());
        }
        self.line.observe(news.frame, news.heard_at);
        self.heads.note(news.frame, news.told_at);
    }

    /// Takes back what the device told last, for it is gone.
    pub fn forget_last_news(&mut self) {
        self.line = self.earlier[0].1.clone();
    }

    /// The time of the take when `frame` is heard: negative before the first click.
    pub fn time_of(&self, frame: Frames) -> Nanos {
        Nanos::ZERO + self.rate.nanos(frame - self.start)
    }

    /// The time of the take at `host`: negative before the first click.
    pub fn take_time(&self, host: Nanos) -> Nanos {
        let frames = self.line.frame_at(host) - self.start.0 as f64;
        Nanos((frames * 1e9 / f64::from(self.rate.hertz())).round() as i64)
    }

    /// The frame at which `at` of the take sounds.
    pub fn frame(&self, at: Nanos) -> Frames {
        self.start + self.rate.frames(at - Nanos::ZERO)
    }
}

/// How long the smallest gap between stamp and arrival is trusted, so that a slow drift can move it.
const TRUSTED: NanoSpan = NanoSpan(20_000_000_000);

/// Maps a MIDI driver's stamps to the host's clock.
///
/// Drivers count from a start of their own. A message never arrives before its stamp, so the smallest gap seen is the
/// distance of the two clocks; how late the callback ran each time does not enter.
#[derive(Clone, Debug, Default)]
pub struct StampOffset {
    best: Option<NanoSpan>,
    /// The smallest gap of the window that runs, and when it began.
    window: Option<(Nanos, NanoSpan)>,
}

impl StampOffset {
    /// The host's time for a stamp that arrived at `arrived`.
    pub fn host_time(&mut self, stamp: Nanos, arrived: Nanos) -> Nanos {
        let gap = arrived - stamp;
        let (since, smallest) = self.window.unwrap_or((arrived, gap));
        let smallest = smallest.min(gap);
        if arrived - since > TRUSTED {
            self.best = Some(smallest);
            self.window = Some((arrived, gap));
        } else {
            self.best = Some(self.best.map_or(smallest, |best| best.min(smallest)));
            self.window = Some((since, smallest));
        }
        stamp + self.best.unwrap_or(gap)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::FrameSpan;
    use proptest::prelude::*;

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
    fn what_a_dying_device_told_last_can_be_forgotten() {
        let line = ClockLine::new(rate(), Frames::ZERO, Nanos::ZERO);
        let mut clock = TakeClock::new(line, Frames::ZERO, rate());
        let news = |i: i64, late: f64| {
            let (frame, heard_at) = (Frames(i * BLOCK), Nanos((truth(i, 0.0) + late) as i64));
            FromAudio { frame, frames: FrameSpan(BLOCK), heard_at, told_at: heard_at, late: 0, lost: 0 }
        };
        (1..400).for_each(|i| clock.observe(news(i, 0.0)));
        (400..430).for_each(|i| clock.observe(news(i, 61e6)));
        let now = Nanos(truth(440, 0.0) as i64);
        let wild = (clock.take_time(now) - now).0;
        assert!(wild < -60_000_000, "a skipped callback moves the clock: {wild}");
        clock.forget_last_news();
        let apart = (clock.take_time(now) - now).0;
        assert!(apart.abs() < 100_000, "{apart}");
    }

    #[test]
    fn stamps_keep_their_spacing_however_late_the_callbacks_run() {
        let mut offset = StampOffset::default();
        let far = 1_000_000_000_000;
        let lateness = [300_000, 20_000, 5_000_000, 90_000, 400_000];
        let mut host = Vec::new();
        for (i, late) in lateness.into_iter().enumerate() {
            let stamp = Nanos(i as i64 * 10_000_000);
            host.push(offset.host_time(stamp, Nanos(stamp.0 + far + late)));
        }
        let spacing: Vec<i64> = host[1..].windows(2).map(|pair| (pair[1] - pair[0]).0).collect();
        assert_eq!(spacing, [10_000_000; 3]);
    }

    proptest! {
        #[test]
        fn a_take_without_jitter_is_timed_to_the_microsecond(start in 0i64..1_000_000, at in 0i64..600_000_000_000) {
            let line = ClockLine::new(rate(), Frames::ZERO, Nanos(5_000));
            let clock = TakeClock::new(line, Frames(start), rate());
            let frame = clock.frame(Nanos(at));
            let heard = clock.line.heard_at(frame);
            // One frame is 20.8 microseconds, and frames are whole.
            prop_assert!((clock.take_time(heard) - Nanos(at)).0.abs() <= 21_000);
        }
    }
}
