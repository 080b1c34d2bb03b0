//! Channel messages as they come over the wire, and what they mean for a line of notes.
//!
//! It is no parser of streams: running status and system messages are the driver's and the file reader's.

use midly::MidiMessage;
use midly::num::u4;

use crate::time::{Nanos, Ticks};

/// A channel message of MIDI 1.0: a status byte and its one or two values (the unused one is 0).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct ChannelMessage([u8; 3]);

/// A channel message and when it came, in physical and in musical time from the start of the take.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TimedMessage {
    /// The instant, from the tempo map, rounded down to the nanosecond.
    pub at: Nanos,
    /// The same instant in ticks.
    pub ticks: Ticks,
    /// What came.
    pub message: ChannelMessage,
}

/// What a channel message means here; a note-on of velocity 0 is a note-off (MIDI 1.0).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meaning {
    /// A key is let go.
    NoteOff {
        /// The key, 0 to 127.
        key: u8,
    },
    /// A key is struck.
    NoteOn {
        /// The key, 0 to 127.
        key: u8,
        /// How hard, 1 to 127.
        velocity: u8,
    },
    /// A controller moves.
    Control {
        /// Its number, 0 to 127; from 120 on, channel mode messages.
        controller: u8,
        /// Its value, 0 to 127.
        value: u8,
    },
    /// The pitch wheel moves: 0 to 16383, at rest 8192.
    Bend(u16),
    /// Pressure, programs: nothing that changes which notes were played.
    Other,
}

impl ChannelMessage {
    /// The message of these bytes as they come over the wire; `None` unless it is exactly one complete channel message.
    pub fn from_wire(bytes: &[u8]) -> Option<Self> {
        let (&status, values) = bytes.split_first()?;
        let complete = match status {
            0x80..=0xBF | 0xE0..=0xEF => values.len() == 2,
            0xC0..=0xDF => values.len() == 1,
            _ => false,
        };
        let in_range = values.iter().all(|&value| value < 0x80);
        (complete && in_range).then(|| Self([status, values[0], values.get(1).copied().unwrap_or(0)]))
    }

    /// The message that a file's reader found.
    pub(crate) fn from_file(channel: u4, message: MidiMessage) -> Self {
        let channel = channel.as_int();
        let bytes = match message {
            MidiMessage::NoteOff { key, vel } => [0x80, key.as_int(), vel.as_int()],
            MidiMessage::NoteOn { key, vel } => [0x90, key.as_int(), vel.as_int()],
            MidiMessage::Aftertouch { key, vel } => [0xA0, key.as_int(), vel.as_int()],
            MidiMessage::Controller { controller, value } => [0xB0, controller.as_int(), value.as_int()],
            MidiMessage::ProgramChange { program } => [0xC0, program.as_int(), 0],
            MidiMessage::ChannelAftertouch { vel } => [0xD0, vel.as_int(), 0],
            MidiMessage::PitchBend { bend } => {
                let value = bend.0.as_int();
                [0xE0, (value & 0x7F) as u8, (value >> 7) as u8]
            }
        };
        Self([bytes[0] | channel, bytes[1], bytes[2]])
    }

    /// The bytes that go over the wire, status first.
    pub fn wire(&self) -> &[u8] {
        match self.0[0] {
            0xC0..=0xDF => &self.0[..2],
            _ => &self.0,
        }
    }

    /// The channel, 0 to 15.
    pub const fn channel(self) -> u8 {
        self.0[0] & 0x0F
    }

    /// What it means.
    pub const fn meaning(self) -> Meaning {
        let [status, first, second] = self.0;
        match status & 0xF0 {
            0x90 if second > 0 => Meaning::NoteOn { key: first, velocity: second },
            0x80 | 0x90 => Meaning::NoteOff { key: first },
            0xB0 => Meaning::Control { controller: first, value: second },
            0xE0 => Meaning::Bend((second as u16) << 7 | first as u16),
            _ => Meaning::Other,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_whole_channel_messages_are_messages() {
        for wire in [&[0x90, 60, 80][..], &[0xC1, 5], &[0xEF, 0, 64]] {
            let message = ChannelMessage::from_wire(wire).expect("a message");
            assert_eq!(message.wire(), wire);
        }
        for wire in [&[][..], &[0x90, 60], &[0x90, 60, 128], &[0xC0, 1, 2], &[0xF8], &[60, 80, 1]] {
            assert_eq!(ChannelMessage::from_wire(wire), None, "{wire:?}");
        }
    }

    #[test]
    fn a_note_on_without_velocity_is_a_note_off() {
        let meaning = |wire: &[u8]| ChannelMessage::from_wire(wire).expect("a message").meaning();
        assert_eq!(meaning(&[0x93, 60, 0]), Meaning::NoteOff { key: 60 });
        assert_eq!(meaning(&[0x93, 60, 1]), Meaning::NoteOn { key: 60, velocity: 1 });
        assert_eq!(meaning(&[0xE0, 0, 96]), Meaning::Bend(12288));
    }
}
