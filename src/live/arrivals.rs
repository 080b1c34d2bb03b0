//! The session's end of every MIDI driver: messages as they arrive, their stamps turned into the take's time.

use super::clock::{StampOffset, TakeClock};
use super::playheads::ServerFrames;
use super::wires::{DriverMessage, MessagesEnd, Stamp, StampedMessage};
use crate::time::{NanoSpan, Nanos};

/// Messages from a driver's thread.
pub(super) struct Arrivals {
    wires: MessagesEnd,
    /// For each connection the distance of its stamps to the host's clock.
    offsets: Vec<StampOffset>,
    server: ServerFrames,
    /// The latest cycle of the server.
    #[cfg(any(test, feature = "jack"))]
    latest: Option<super::playheads::Cycle>,
    /// Cycles in which the server called our sound and not our input.
    #[cfg(any(test, feature = "jack"))]
    passed_over: u64,
    /// A message that waits for the sound device to tell of its cycle.
    held: Option<DriverMessage>,
    /// The connection that the last note came by.
    heard_last: Option<usize>,
}

/// How long a message waits for its cycle. The device tells of it within a cycle; longer, and it never will.
const PATIENCE: NanoSpan = NanoSpan::millis(100);

impl Arrivals {
    pub fn new(wires: MessagesEnd) -> Self {
        Self {
            wires,
            offsets: Vec::new(),
            server: ServerFrames::default(),
            #[cfg(any(test, feature = "jack"))]
            latest: None,
            #[cfg(any(test, feature = "jack"))]
            passed_over: 0,
            held: None,
            heard_last: None,
        }
    }

    /// Takes in that a cycle of the server came, whether it brought something or not.
    #[cfg(any(test, feature = "jack"))]
    pub fn pass(&mut self, cycle: super::playheads::Cycle, clock: &TakeClock) {
        self.server.rendered(cycle, &clock.heads);
        let before = self.latest.replace(cycle);
        // Where the whole server stood still nobody was called, and nothing was lost.
        let sounded =
            |before: super::playheads::Cycle| clock.heads.told_between(before.told_at, cycle.told_at);
        if !cycle.follows && before.is_some_and(sounded) {
            self.passed_over += 1;
        }
    }

    /// How often the server passed the input over; what was played in those moments never reached us.
    #[cfg(any(test, feature = "jack"))]
    pub const fn passed_over(&self) -> u64 {
        self.passed_over
    }

    /// The next message, whatever its connection.
    pub fn next(&mut self, clock: &TakeClock, now: Nanos) -> Option<StampedMessage> {
        let given = self.held.take().or_else(|| self.wires.messages.try_recv().ok())?;
        let at = match given.stamp {
            Stamp::Host(at) => clock.take_time(at),
            Stamp::Driver { at, arrived } => clock.take_time(self.offset(given.port).host_time(at, arrived)),
            Stamp::Cycle { cycle, into, played, arrived } => {
                match self.server.rendered(cycle, &clock.heads) {
                    Some(frame) => clock.time_of(frame + into),
                    None if now - arrived > PATIENCE => {
                        let frame = self.server.as_before(cycle, &clock.heads);
                        frame.map_or_else(|| clock.take_time(played), |frame| clock.time_of(frame + into))
                    }
                    None => {
                        self.held = Some(given);
                        return None;
                    }
                }
            }
        };
        if given.message.starts_note() {
            self.heard_last = Some(given.port);
        }
        Some(StampedMessage { at, message: given.message })
    }

    /// Whether a message, and all behind it, waits for the sound device.
    #[cfg(any(test, feature = "jack"))]
    pub const fn is_waiting(&self) -> bool {
        self.held.is_some()
    }

    /// The number of the connection that the last note came by.
    pub const fn heard_last(&self) -> Option<usize> {
        self.heard_last
    }

    fn offset(&mut self, port: usize) -> &mut StampOffset {
        if self.offsets.len() <= port {
            self.offsets.resize_with(port + 1, StampOffset::default);
        }
        &mut self.offsets[port]
    }

    pub fn dropped(&self) -> u64 {
        self.wires.dropped()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::live::clock::ClockLine;
    use crate::live::playheads::Cycle;
    use crate::live::wires::{FromAudio, ShortMessage, wires};
    use crate::time::{FrameRate, FrameSpan, Frames};

    const RATE: FrameRate = FrameRate::new(48_000).expect("a rate");

    fn clock() -> TakeClock {
        TakeClock::new(ClockLine::new(RATE, Frames::ZERO, Nanos::ZERO), Frames::ZERO, RATE)
    }

    #[test]
    fn each_connection_has_a_clock_of_its_own() {
        let (session, driver) = wires().midi;
        let mut arrivals = Arrivals::new(session);
        let clock = clock();
        let message = ShortMessage::new(&[0x90, 60, 90]).expect("a message");
        let give = |arrivals: &mut Arrivals, port, stamp| {
            driver.give(DriverMessage { port, stamp, message });
            arrivals.next(&clock, Nanos::ZERO).expect("it arrived").at.0
        };
        let mut give = |port, stamp| give(&mut arrivals, port, stamp);
        let millisecond = 1_000_000;
        let late = |at: i64, arrived: i64| Stamp::Driver { at: Nanos(at), arrived: Nanos(arrived) };
        assert_eq!(give(0, late(7, 7 + 90 * millisecond)), 7 + 90 * millisecond);
        assert_eq!(give(2, late(50, 50 + millisecond)), 50 + millisecond);
        assert_eq!(
            give(0, late(10, 10 + 99 * millisecond)),
            10 + 90 * millisecond,
            "later by its callback alone"
        );
        assert_eq!(give(1, Stamp::Host(Nanos(123))), 123);
        assert_eq!(arrivals.heard_last(), Some(1));
    }

    #[test]
    fn a_message_of_the_sound_server_waits_for_its_cycle_and_is_timed_to_the_frame() {
        let (session, driver) = wires().midi;
        let mut arrivals = Arrivals::new(session);
        let mut clock = clock();
        let message = ShortMessage::new(&[0x90, 60, 90]).expect("a message");
        let before = Cycle { count: 6_872, told_at: Nanos(497_333_000), follows: true };
        let cycle = Cycle { count: 7_000, told_at: Nanos(500_000_000), follows: true };
        let (played, arrived) = (Nanos(9_000_000), Nanos(8_000_000));
        let stamp = Stamp::Cycle { cycle, into: FrameSpan(-208), played, arrived };
        let give = || driver.give(DriverMessage { port: 0, stamp, message });

        give();
        let soon = arrived + PATIENCE;
        assert_eq!(arrivals.next(&clock, soon), None, "the device has not told of the cycle");
        assert!(arrivals.is_waiting());
        let too_late = soon + NanoSpan(1);
        assert_eq!(arrivals.next(&clock, too_late).map(|m| m.at), Some(clock.take_time(played)));
        assert!(!arrivals.is_waiting());

        give();
        let (frames, heard_at) = (FrameSpan(128), soon);
        for (frame, Cycle { told_at, .. }) in [(Frames(48_080), before), (Frames(48_208), cycle)] {
            clock.observe(FromAudio { frame, frames, heard_at, told_at, late: 0, lost: 0 });
        }
        arrivals.pass(before, &clock);
        assert_eq!(arrivals.next(&clock, soon).map(|m| m.at), Some(Nanos(1_000_000_000)));
    }

    #[test]
    fn a_cycle_that_our_sound_saw_and_our_input_did_not_is_one_passed_over() {
        let mut clock = clock();
        let millis = |ms: i64| Nanos(ms * 1_000_000);
        for (block, ms) in [10, 20, 30, 90, 100].into_iter().enumerate() {
            clock.heads.note(Frames(480 * block as i64), millis(ms));
        }
        let passed_over = |cycles: &[(i64, bool)]| {
            let mut arrivals = Arrivals::new(wires().midi.0);
            for &(ms, follows) in cycles {
                arrivals.pass(Cycle { count: 48 * ms as u32, told_at: millis(ms), follows }, &clock);
            }
            arrivals.passed_over()
        };
        assert_eq!(passed_over(&[(10, false), (20, true), (30, true)]), 0);
        assert_eq!(
            passed_over(&[(10, true), (30, false), (90, false), (100, true)]),
            1,
            "30 to 90: all stood still"
        );
    }
}
