//! The session's end of every MIDI driver: messages as they arrive, their stamps turned into the take's time.

use super::clock::{StampOffset, TakeClock};
use super::wires::{MessagesEnd, Stamp, StampedMessage};

/// Messages from a driver's thread.
pub(super) struct Arrivals {
    wires: MessagesEnd,
    /// For each connection the distance of its stamps to the host's clock.
    offsets: Vec<StampOffset>,
}

impl Arrivals {
    pub fn new(wires: MessagesEnd) -> Self {
        Self { wires, offsets: Vec::new() }
    }

    /// The next message, whatever its connection.
    pub fn next(&mut self, clock: &TakeClock) -> Option<StampedMessage> {
        let given = self.wires.messages.try_recv().ok()?;
        let host = match given.stamp {
            Stamp::Host(at) => at,
            Stamp::Driver { at, arrived } => self.offset(given.port).host_time(at, arrived),
        };
        Some(StampedMessage { at: clock.take_time(host), message: given.message })
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
    use crate::live::wires::{DriverMessage, ShortMessage, wires};
    use crate::time::{FrameRate, Frames, Nanos};

    #[test]
    fn each_connection_has_a_clock_of_its_own() {
        let (session, driver) = wires().midi;
        let mut arrivals = Arrivals::new(session);
        let rate = FrameRate::new(48_000).expect("a rate");
        let clock = TakeClock::new(ClockLine::new(rate, Frames::ZERO, Nanos::ZERO), Frames::ZERO, rate);
        let message = ShortMessage::new(&[0x90, 60, 90]).expect("a message");
        let mut give = |port, stamp| {
            driver.give(DriverMessage { port, stamp, message });
            arrivals.next(&clock).expect("it arrived").at.0
        };
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
    }
}
