//! How many frames a sound device is asked for at a time: few at first, more where it runs dry.

use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};

use super::devices::SoundState;
use crate::time::{NanoSpan, Nanos};

/// Frames asked for at first: a power of two, as some sound servers crackle at others.
const FIRST: u32 = 512;
/// The most that is asked for: 85 ms at 48,000 frames a second. More would be felt as a lag.
const LARGEST: u32 = 4096;

/// The frames to ask for, shared by the streams that a session opens one after the other.
#[derive(Debug)]
pub struct Buffer(AtomicU32);

impl Default for Buffer {
    fn default() -> Self {
        Self(AtomicU32::new(FIRST))
    }
}

impl Buffer {
    /// The frames to ask for.
    pub fn frames(&self) -> u32 {
        self.0.load(Ordering::Relaxed)
    }

    /// Asks for twice as many from now on, where a device takes `most` of them; `None` where that is too many.
    pub fn grow(&self, most: u32) -> Option<u32> {
        let more = self.frames() * 2;
        let grown = more <= most.min(LARGEST);
        grown.then(|| {
            self.0.store(more, Ordering::Relaxed);
            more
        })
    }
}

/// So many times in a [`WINDOW`] a device may run dry before a larger buffer is asked for: our own bound.
const FEW: u64 = 4;
/// The stretch of time in which they are counted.
const WINDOW: NanoSpan = NanoSpan::millis(10_000);

/// Watches whether a device runs dry again and again.
#[derive(Clone, Copy, Debug, Default)]
pub struct Stutter {
    /// When the window began, and how often it had run dry by then.
    window: Option<(Nanos, u64)>,
}

impl Stutter {
    /// Whether it ran dry too often of late; `underruns` are all so far.
    pub fn is_heard(&mut self, now: Nanos, underruns: u64) -> bool {
        let (since, before) = *self.window.get_or_insert((now, underruns));
        if now - since > WINDOW {
            self.window = Some((now, underruns));
        }
        underruns - before > FEW
    }
}

/// Watches a stream whose buffer can be chosen.
#[derive(Clone, Debug)]
pub struct BufferWatch {
    stutter: Stutter,
    buffer: Arc<Buffer>,
    /// The most frames that the device takes at a time.
    most: u32,
}

impl BufferWatch {
    /// A watch over a device that was opened with `buffer` and takes `most` frames at a time.
    pub fn new(buffer: Arc<Buffer>, most: u32) -> Self {
        Self { stutter: Stutter::default(), buffer, most }
    }

    /// Whether the device is better opened anew with a larger buffer; `underruns` are all so far.
    pub fn state(&mut self, now: Nanos, underruns: u64) -> SoundState {
        if !self.stutter.is_heard(now, underruns) {
            return SoundState::Runs;
        }
        self.buffer.grow(self.most).map_or(SoundState::Runs, SoundState::Stutters)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_buffer_grows_to_the_limit_of_the_device_and_to_ours() {
        let buffer = Buffer::default();
        assert_eq!(buffer.grow(1023), None, "the device takes no more");
        let grown: Vec<u32> = std::iter::from_fn(|| buffer.grow(u32::MAX)).collect();
        assert_eq!((grown, buffer.frames()), (vec![1024, 2048, 4096], LARGEST));
    }

    #[test]
    fn a_hiccup_now_and_then_is_no_stutter_and_many_at_once_are() {
        let second = |s: i64| Nanos(s * 1_000_000_000);
        let mut rarely = Stutter::default();
        assert!((0..100).all(|s| !rarely.is_heard(second(s), s as u64 / 4)), "two or three in ten seconds");
        let mut often = Stutter::default();
        let heard = (0..100).find(|&s| often.is_heard(second(s), s as u64 * 2));
        assert_eq!(heard, Some(3), "five or more since it began");
    }
}
