//! Devices that are not there: a sound output that only keeps time, and an input nobody plays.
//!
//! They ship, so that the whole program runs, and is tested, without hardware.

use super::clock::TakeClock;
use super::devices::{NotesIn, SoundOut, SoundState};
use super::wires::{FromAudio, StampedMessage, ToAudio};
use crate::time::{FrameRate, FrameSpan, Frames, Nanos};

/// Frames a second of the clock that stands in.
const RATE: u32 = 48_000;

/// A sound output without a device: the monotonic clock stands in for the playhead.
#[derive(Clone, Debug)]
pub struct SilentSound {
    rate: FrameRate,
    from: (Frames, Nanos),
    told: Frames,
}

impl SilentSound {
    /// Silence whose first frame is at `now`.
    pub fn new(now: Nanos) -> Self {
        Self::going_on(const { FrameRate::new(RATE).expect("48,000 is above 0") }, Frames::ZERO, now)
    }

    /// Silence in place of a device that is gone: `frame` is due at `now`, at the device's rate.
    pub fn going_on(rate: FrameRate, frame: Frames, now: Nanos) -> Self {
        Self { rate, from: (frame, now), told: frame + FrameSpan(-1) }
    }
}

impl SoundOut for SilentSound {
    fn rate(&self) -> FrameRate {
        self.rate
    }

    fn send(&mut self, _: ToAudio) -> Result<(), ToAudio> {
        Ok(())
    }

    fn news(&mut self, now: Nanos) -> Option<FromAudio> {
        let frame = self.from.0 + self.rate.frames(now - self.from.1);
        if frame <= self.told {
            return None;
        }
        self.told = frame;
        // The frame is rounded down: it was due a little before now.
        let heard_at = self.from.1 + self.rate.nanos(frame - self.from.0);
        Some(FromAudio { frame, frames: FrameSpan::ZERO, heard_at, told_at: heard_at, late: 0, lost: 0 })
    }

    fn state(&mut self) -> SoundState {
        SoundState::Runs
    }

    fn underruns(&self) -> Option<u64> {
        None
    }
}

/// An input nobody plays.
#[derive(Clone, Copy, Debug, Default)]
pub struct NobodyPlays;

impl NotesIn for NobodyPlays {
    fn next(&mut self, _: &TakeClock, _: Nanos) -> Option<StampedMessage> {
        None
    }

    fn dropped(&self) -> u64 {
        0
    }
}
