//! The frames of a sound server, tied to ours.
//!
//! A server calls every one of its programs once a cycle and counts the frames of its cycles. An input that hears notes
//! by the server's frames meets the sound it was played to exactly, whatever a clock says: also on a server that runs
//! faster than real time, where clocks mean nothing. Used on the session's thread only.

use std::collections::VecDeque;

use super::wires::NEWS;
use crate::time::{FrameSpan, Frames, NanoSpan, Nanos};

/// The latest playheads of the sound device, each as it told it on its own clock.
#[derive(Clone, Debug, Default)]
pub struct Playheads {
    /// By rising frame.
    told: VecDeque<(Frames, Nanos)>,
}

impl Playheads {
    /// Takes in that the block from `frame` on was told to be heard at `told_at`.
    pub fn note(&mut self, frame: Frames, told_at: Nanos) {
        if self.told.len() == NEWS {
            self.told.pop_front();
        }
        self.told.push_back((frame, told_at));
    }

    /// Whether a block was told to be heard between two instants.
    pub fn told_between(&self, from: Nanos, until: Nanos) -> bool {
        let apart = |one, other| one < other && !is_same(one, other);
        self.told.iter().rev().any(|&(_, told_at)| apart(from, told_at) && apart(told_at, until))
    }

    fn newest(&self) -> Option<Frames> {
        self.told.back().map(|&(frame, _)| frame)
    }

    fn told_of(&self, frame: Frames) -> Option<Nanos> {
        let at = self.told.binary_search_by_key(&frame, |&(frame, _)| frame).ok()?;
        Some(self.told[at].1)
    }

    /// The one frame that was told for `instant`; `None` where there is none, or several.
    fn frame_told(&self, instant: Nanos) -> Option<Frames> {
        let mut told = self.told.iter().rev().filter(|&&(_, told_at)| is_same(told_at, instant));
        let newest = told.next()?.0;
        told.next().is_none().then_some(newest)
    }
}

/// One cycle of a sound server, as a program in it sees it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cycle {
    /// The server's count of frames at its start; it wraps around.
    pub count: u32,
    /// When the first frame rendered in it is heard, as the sound device tells it on its own clock.
    pub told_at: Nanos,
    /// Whether the program saw the cycle before it, too.
    pub follows: bool,
}

/// Finds the frame of ours that was rendered in a server's cycle. Ask for every cycle, not for those alone that bring
/// something: what is known of one helps with the next.
#[derive(Clone, Copy, Debug, Default)]
pub struct ServerFrames {
    /// Our count of frames less the server's, as it was in the last cycle that was found. It changes only where a
    /// callback was skipped.
    distance: Option<u32>,
    /// A cycle that seems to have another distance, and that.
    doubt: Option<(u32, u32)>,
}

impl ServerFrames {
    /// The first frame rendered in `cycle`. `None` until the device has told of it and, where a callback was skipped, of
    /// the next; for ever if that was lost.
    pub fn rendered(&mut self, cycle: Cycle, heads: &Playheads) -> Option<Frames> {
        let as_before = self.as_before(cycle, heads);
        // Instants alone would not do: while a hurrying server leads its clock around, one is told again and again.
        let confirmed = as_before
            .filter(|&frame| heads.told_of(frame).is_some_and(|told_at| is_same(told_at, cycle.told_at)));
        if confirmed.is_some() {
            self.doubt = None;
            return confirmed;
        }
        let found = heads.frame_told(cycle.told_at)?;
        let distance = (found.0 as u32).wrapping_sub(cycle.count);
        // One cycle may be mistaken for its neighbour, in the moment in which the server changes its latency.
        match self.doubt {
            Some((count, the_same)) if count != cycle.count && the_same == distance => {
                (self.distance, self.doubt) = (Some(distance), None);
                Some(found)
            }
            _ => {
                self.doubt = Some((cycle.count, distance));
                None
            }
        }
    }

    /// The first frame rendered in `cycle` if no callback was skipped since the last one that was found.
    pub fn as_before(&self, cycle: Cycle, heads: &Playheads) -> Option<Frames> {
        let newest = heads.newest()?;
        let wrapped = cycle.count.wrapping_add(self.distance?);
        let since_newest = wrapped.wrapping_sub(newest.0 as u32) as i32;
        Some(newest + FrameSpan(i64::from(since_newest)))
    }
}

/// Whether two instants are one but for rounding: a server's clock counts microseconds, and cycles are further apart.
fn is_same(one: Nanos, other: Nanos) -> bool {
    const ROUNDING: NanoSpan = NanoSpan(1_000);
    one - other <= ROUNDING && other - one <= ROUNDING
}

#[cfg(test)]
mod tests {
    use super::*;

    const PERIOD: i64 = 128;

    /// Playheads of blocks told at these instants, in microseconds.
    fn heads(instants: &[i64]) -> Playheads {
        let mut heads = Playheads::default();
        for (block, micros) in instants.iter().enumerate() {
            heads.note(Frames(block as i64 * PERIOD), Nanos(micros * 1_000));
        }
        heads
    }

    fn cycle(count: u32, micros: i64) -> Cycle {
        Cycle { count, told_at: Nanos(micros * 1_000), follows: true }
    }

    #[test]
    fn a_cycle_is_found_by_its_instant() {
        let heads = heads(&[5_000, 7_667, 10_333]);
        let mut server = ServerFrames::default();
        assert_eq!(server.rendered(cycle(9_000, 5_000), &heads), None, "one alone may be mistaken");
        assert_eq!(server.rendered(cycle(9_128, 7_667), &heads), Some(Frames(PERIOD)));
        assert_eq!(server.rendered(cycle(9_384, 13_000), &heads), None, "not told of yet");
        assert_eq!(server.as_before(cycle(9_384, 13_000), &heads), Some(Frames(3 * PERIOD)));
    }

    #[test]
    fn an_instant_told_twice_is_read_by_the_count() {
        let heads = heads(&[5_000, 7_667, 6_000, 6_000, 6_000]);
        assert_eq!(ServerFrames::default().rendered(cycle(9, 6_000), &heads), None, "nothing to count from");
        let mut server = ServerFrames::default();
        let first = u32::MAX - 200;
        let mut at = |block: u32, micros| {
            server.rendered(cycle(first.wrapping_add(block * PERIOD as u32), micros), &heads)
        };
        assert_eq!((at(0, 5_000), at(1, 7_667)), (None, Some(Frames(PERIOD))));
        assert_eq!(at(2, 6_000), Some(Frames(2 * PERIOD)));
        assert_eq!(at(3, 6_000), Some(Frames(3 * PERIOD)), "the server's count has wrapped");
    }

    #[test]
    fn after_a_skipped_callback_the_instant_finds_the_new_distance() {
        let heads = heads(&[5_000, 7_667, 13_000, 15_667]);
        let mut server = ServerFrames::default();
        let mut at = |count, micros| server.rendered(cycle(count, micros), &heads);
        assert_eq!((at(1_000, 5_000), at(1_128, 7_667)), (None, Some(Frames(PERIOD))));
        assert_eq!((at(1_384, 13_000), at(1_384, 13_000)), (None, None), "a cycle is no witness for itself");
        assert_eq!(
            (at(1_512, 15_667), at(1_384, 13_000)),
            (Some(Frames(3 * PERIOD)), Some(Frames(2 * PERIOD)))
        );
    }

    #[test]
    fn only_so_many_are_kept_as_news_may_wait() {
        let heads = heads(&(0..NEWS as i64 + 3).collect::<Vec<_>>());
        assert_eq!(heads.told.len(), NEWS);
    }
}
