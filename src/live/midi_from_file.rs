//! A prepared list of messages, played into a session as if a player played it.
//!
//! Each message arrives in real time but is stamped exactly as the list says, not with the instant it was handed over:
//! so a take played from a file is the file, and tallies to the same numbers.

use super::clock::TakeClock;
use super::devices::NotesIn;
use super::wires::{ShortMessage, StampedMessage};
use crate::time::{NanoSpan, Nanos};

/// Messages that wait for their time in the take.
#[derive(Clone, Debug)]
pub struct MidiFromFile {
    waiting: std::vec::IntoIter<StampedMessage>,
}

impl MidiFromFile {
    /// The messages, each moved by `shift` from its own time to the take's. Those at one instant keep their order.
    pub fn new(messages: &[(Nanos, ShortMessage)], shift: NanoSpan) -> Self {
        let stamped = |&(at, message): &(Nanos, ShortMessage)| StampedMessage { at: at + shift, message };
        let mut waiting: Vec<_> = messages.iter().map(stamped).collect();
        waiting.sort_by_key(|message| message.at);
        Self { waiting: waiting.into_iter() }
    }
}

impl NotesIn for MidiFromFile {
    fn next(&mut self, clock: &TakeClock, now: Nanos) -> Option<StampedMessage> {
        let due = self.waiting.as_slice().first()?.at <= clock.take_time(now);
        if due { self.waiting.next() } else { None }
    }

    fn dropped(&self) -> u64 {
        0
    }

    fn is_over(&self) -> bool {
        self.waiting.as_slice().is_empty()
    }
}
