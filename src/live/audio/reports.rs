//! What a running stream reports: losses, empty buffers, how long its sound takes, how fast it takes it.
//!
//! The two callbacks of the sound library write, the session reads; all of it is atomics, so that the real-time law of
//! [`crate::live::callback`] holds.

use std::sync::OnceLock;
use std::sync::atomic::{AtomicI64, AtomicU64, Ordering};

use cpal::ErrorKind;

use crate::time::{FrameRate, FrameSpan, NanoSpan, Nanos};

/// A latency from here on is a device's slip or a server's ignorance, not its sound's way.
const IMPLAUSIBLE: NanoSpan = NanoSpan::millis(500);

/// What the callbacks leave for the session. The one for errors may be called hundreds of thousands of times a second,
/// so it keeps the first loss only.
#[derive(Debug, Default)]
pub(super) struct Reports {
    lost: OnceLock<ErrorKind>,
    underruns: AtomicU64,
    /// In nanoseconds; 0 while it cannot be known.
    latency: AtomicI64,
}

impl Reports {
    /// Takes in what the error callback is called with.
    pub fn note(&self, kind: ErrorKind) {
        match kind {
            ErrorKind::Xrun => {
                self.underruns.fetch_add(1, Ordering::Relaxed);
            }
            // The stream plays on, elsewhere or with less priority.
            ErrorKind::RealtimeDenied | ErrorKind::DeviceChanged => {}
            lost => {
                // Only the first counts: a second is refused.
                let _ = self.lost.set(lost);
            }
        }
    }

    /// When a block is heard whose callback ran at `called` and that the device says is heard at `told`: as told where
    /// that can be, else as long after the callback as the block lasts.
    pub fn heard_at(&self, called: Nanos, told: Nanos, block: NanoSpan) -> Nanos {
        let latency = plausible(told - called);
        self.latency.store(latency.unwrap_or(NanoSpan::ZERO).0, Ordering::Relaxed);
        called + latency.unwrap_or(block)
    }

    /// The kind of the first loss, if there was one.
    pub fn lost(&self) -> Option<ErrorKind> {
        self.lost.get().copied()
    }

    /// How often the device ran dry.
    pub fn underruns(&self) -> u64 {
        self.underruns.load(Ordering::Relaxed)
    }

    /// How long sound takes from the callback on, as the device last told; `None` where it does not, or cannot be believed.
    pub fn latency(&self) -> Option<NanoSpan> {
        plausible(NanoSpan(self.latency.load(Ordering::Relaxed)))
    }
}

fn plausible(latency: NanoSpan) -> Option<NanoSpan> {
    (latency > NanoSpan::ZERO && latency < IMPLAUSIBLE).then_some(latency)
}

/// How much faster than its rate, beyond a first fill, a device may take sound before it is no true device.
const TIMES: f64 = 4.0;
/// The longest first fill that is believed, in seconds: a sound server took two.
const FIRST_FILL: f64 = 4.0;

/// Watches whether a stream takes sound faster than it can be heard.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Pace {
    since: Option<Nanos>,
    taken: FrameSpan,
}

impl Pace {
    /// Takes in that a block was taken by `now`.
    pub fn took(&mut self, frames: FrameSpan, now: Nanos) {
        self.since.get_or_insert(now);
        self.taken += frames;
    }

    /// Whether more was taken by `now` than any true device would have.
    pub fn outruns(&self, now: Nanos, rate: FrameRate) -> bool {
        let seconds = self.since.map_or(0.0, |since| (now - since).0 as f64 / 1e9);
        self.taken.0 as f64 > f64::from(rate.hertz()) * (FIRST_FILL + TIMES * seconds)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_loss_is_kept_and_hiccups_are_none() {
        let reports = Reports::default();
        reports.note(ErrorKind::Xrun);
        assert_eq!((reports.lost(), reports.underruns()), (None, 1));
        reports.note(ErrorKind::DeviceNotAvailable);
        reports.note(ErrorKind::BackendError);
        assert_eq!(reports.lost(), Some(ErrorKind::DeviceNotAvailable));
    }

    #[test]
    fn a_latency_is_believed_between_nothing_and_half_a_second() {
        let check = |millis: i64, heard: i64, known: Option<i64>| {
            let reports = Reports::default();
            let called = Nanos(7_000_000_000);
            let at = reports.heard_at(called, called + NanoSpan::millis(millis), NanoSpan::millis(10));
            assert_eq!(at - called, NanoSpan::millis(heard), "{millis}");
            assert_eq!(reports.latency(), known.map(NanoSpan::millis), "{millis}");
        };
        check(21, 21, Some(21));
        check(499, 499, Some(499));
        check(0, 10, None);
        check(-3, 10, None);
        check(1957, 10, None);
    }

    #[test]
    fn a_device_that_takes_sound_at_its_rate_never_outruns_it_and_one_without_a_pace_does_at_once() {
        let rate = FrameRate::new(48_000).expect("a rate");
        let outruns = |blocks_a_millisecond: i64| {
            let mut pace = Pace::default();
            (0..20_000).find(|&ms| {
                let now = Nanos(ms * 1_000_000);
                pace.took(FrameSpan(48 * blocks_a_millisecond), now);
                pace.outruns(now, rate)
            })
        };
        assert_eq!(outruns(1), None);
        assert!(outruns(700).is_some_and(|ms| ms < 10));
        let mut filled = Pace::default();
        filled.took(FrameSpan(2 * 48_000), Nanos::ZERO);
        assert!(!filled.outruns(Nanos::ZERO, rate), "a server that fills two seconds at first");
    }
}
