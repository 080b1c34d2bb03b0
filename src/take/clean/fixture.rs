//! Messages and takes to clean, written briefly.

use super::*;
use crate::take::message::ChannelMessage;
use crate::time::NanoSpan;

/// Messages at 120 a minute, in milliseconds, in the order they are added.
#[derive(Default)]
pub(super) struct Played(Vec<TimedMessage>);

impl Played {
    pub(super) fn wire(mut self, millis: i64, bytes: &[u8]) -> Self {
        let at = Nanos::ZERO + NanoSpan::millis(millis);
        self.0.push(TimedMessage {
            at,
            ticks: TempoMap::default().ticks(at),
            message: ChannelMessage::from_wire(bytes).expect("a channel message"),
        });
        self
    }

    pub(super) fn on(self, channel: u8, key: u8, velocity: u8, millis: i64) -> Self {
        self.wire(millis, &[0x90 | channel, key, velocity])
    }

    pub(super) fn off(self, channel: u8, key: u8, millis: i64) -> Self {
        self.wire(millis, &[0x80 | channel, key, 64])
    }

    pub(super) fn control(self, channel: u8, controller: u8, value: u8, millis: i64) -> Self {
        self.wire(millis, &[0xB0 | channel, controller, value])
    }

    pub(super) fn bend(self, channel: u8, value: u16, millis: i64) -> Self {
        self.wire(millis, &[0xE0 | channel, (value & 0x7F) as u8, (value >> 7) as u8])
    }

    /// A whole note of velocity 80: (channel, key, on, off in milliseconds) each; put in order of time at the end.
    pub(super) fn notes(mut self, notes: &[(u8, u8, i64, i64)]) -> Self {
        for &(channel, key, on, off) in notes {
            self = self.on(channel, key, 80, on).off(channel, key, off);
        }
        self.0.sort_by_key(|timed| {
            (timed.at, matches!(timed.message.meaning(), crate::take::Meaning::NoteOn { .. }))
        });
        self
    }

    pub(super) fn clean_with(&self, settings: &CleanSettings) -> Cleaned {
        let tempo = TempoMap::default();
        let end = self.0.last().map_or(Nanos::ZERO, |last| last.at) + NanoSpan::millis(20_000);
        clean(&self.0, Timeline { tempo: &tempo, meters: &[], end }, settings)
    }

    pub(super) fn clean(&self) -> Cleaned {
        self.clean_with(&CleanSettings::default())
    }
}

/// Key, onset and end in milliseconds, and why left out, of each note.
pub(super) fn shown(cleaned: &Cleaned) -> Vec<(u8, i64, i64, Option<&'static str>)> {
    let show = |note: &Note| {
        let left_out = note.left_out.map(crate::take::LeftOut::word);
        (note.pitch.key(), note.on.0 / 1_000_000, note.off.0 / 1_000_000, left_out)
    };
    cleaned.notes.iter().map(show).collect()
}
