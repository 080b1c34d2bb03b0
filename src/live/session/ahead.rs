//! The band's notes, sent to the audio thread ahead of their time.

use std::collections::VecDeque;

use super::sound::Sound;
use crate::band::voices::sound_font::Players;
use crate::band::voices::{Hearing, Strike};
use crate::band::{BandNote, Levels, Part, last_of_bass};
use crate::live::clock::TakeClock;
use crate::live::wires::ToAudio;
use crate::theory::Pitch;
use crate::time::{FrameSpan, Frames, TempoMap, Ticks};

/// What is still to be sent: orders that cannot wait, then the notes by their time.
#[derive(Debug)]
pub(super) struct Ahead {
    notes: Vec<BandNote>,
    /// The first note not yet sent.
    next: usize,
    orders: VecDeque<ToAudio>,
    tempo: TempoMap,
}

impl Ahead {
    pub fn new(notes: Vec<BandNote>, tempo: TempoMap) -> Self {
        Self { notes, next: 0, orders: VecDeque::new(), tempo }
    }

    /// Sends what is due before `until`. What finds no room is kept for the next tick.
    pub fn send(&mut self, sound: &mut Sound, clock: &TakeClock, until: Frames) {
        while let Some(order) = self.orders.pop_front() {
            if let Err(order) = sound.send(order) {
                self.orders.push_front(order);
                return;
            }
        }
        while let Some(order) = self.notes.get(self.next).map(|note| self.strike(note, clock)) {
            let due = matches!(order, ToAudio::Strike { at, .. } if at < until);
            if !due || sound.send(order).is_err() {
                return;
            }
            self.next += 1;
        }
    }

    fn strike(&self, note: &BandNote, clock: &TakeClock) -> ToAudio {
        let frame = |at: Ticks| clock.frame(self.tempo.nanos(at));
        let at = frame(note.at);
        let length: FrameSpan = frame(note.at + note.length) - at;
        let strike = Strike { part: note.part, key: note.key.key(), velocity: note.velocity, length };
        ToAudio::Strike { at, strike }
    }

    /// The note of the bass that is struck last before `end`.
    pub fn last_of_bass_before(&self, end: Ticks) -> Option<Pitch> {
        last_of_bass(&self.notes[..self.notes.partition_point(|note| note.at < end)])
    }

    /// Replaces everything from `end` on by `closing`, notes already sent included.
    pub fn end_at(&mut self, end: Ticks, closing: Vec<BandNote>, clock: &TakeClock) {
        let kept = self.notes.partition_point(|note| note.at < end);
        self.notes.truncate(kept);
        self.notes.extend(closing);
        self.next = self.next.min(kept);
        self.orders.push_back(ToAudio::DropFrom(clock.frame(self.tempo.nanos(end))));
    }

    /// Begins anew with a device that knows nothing yet: what it has not taken sound for, and what is muted.
    pub fn start_again(&mut self, from: Frames, muted: &[Part], clock: &TakeClock) {
        self.orders.clear();
        for &part in muted {
            self.hear(part, Hearing::Muted);
        }
        self.next = self.notes.partition_point(|note| clock.frame(self.tempo.nanos(note.at)) < from);
    }

    /// Says with what a device that knows nothing yet is to play, and how loud each part.
    pub fn set_up(&mut self, levels: Levels, players: Option<Box<Players>>) {
        self.orders.push_back(ToAudio::Set(levels));
        self.orders.extend(players.map(ToAudio::PlayBy));
    }

    /// Mutes a part or lets it sound.
    pub fn hear(&mut self, part: Part, hearing: Hearing) {
        self.orders.push_back(ToAudio::Hear(part, hearing));
    }

    /// Ends all sound.
    pub fn release(&mut self) {
        self.notes.clear();
        self.next = 0;
        self.orders.push_back(ToAudio::Release);
    }
}
