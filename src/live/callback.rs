//! The audio thread's work: take orders, sound the band, say where the playhead is.
//!
//! Here the real-time law holds: no allocation, no lock, no log, no system call, nothing freed, and work bounded by
//! the fixed sizes below. It knows no device: an adapter hands it frames to fill, and so do tests.

use super::wires::{AudioEnd, FromAudio, ToAudio};
use crate::band::voices::sound_font::Players;
use crate::band::voices::{Strike, Voices};
use crate::time::{FrameRate, FrameSpan, Frames, Nanos};

/// Notes that wait for their frame. When it is full, orders wait in the ring.
const WAITING: usize = 512;

/// The audio thread's end of a session.
pub struct Callback {
    wires: AudioEnd,
    voices: Voices,
    /// Notes by rising frame; its capacity is never outgrown.
    waiting: std::collections::VecDeque<(Frames, Strike)>,
    /// The next frame to fill.
    frame: Frames,
    late: u32,
    lost: u32,
}

impl Callback {
    /// Everything the callback will ever need, allocated here.
    pub fn new(wires: AudioEnd, rate: FrameRate) -> Self {
        let waiting = std::collections::VecDeque::with_capacity(WAITING);
        Self { wires, voices: Voices::new(rate), waiting, frame: Frames::ZERO, late: 0, lost: 0 }
    }

    /// Fills a block that the device asked for, of one channel.
    pub fn fill(&mut self, out: &mut [f32]) {
        self.take_orders();
        let mut rest = out;
        while !rest.is_empty() {
            self.strike_due();
            let until = self.waiting.front().map_or(i64::MAX, |(at, _)| (*at - self.frame).0);
            let frames = rest.len().min(usize::try_from(until).unwrap_or(usize::MAX));
            let (block, after) = rest.split_at_mut(frames);
            self.voices.render(block);
            self.frame += FrameSpan(frames as i64);
            rest = after;
        }
    }

    /// Says that the next frame to fill is heard at `heard_at`; call it before the blocks of a callback, once.
    pub fn tell(&mut self, frames: FrameSpan, heard_at: Nanos) {
        let (frame, late, lost) = (self.frame, self.late, self.lost);
        let news = FromAudio { frame, frames, heard_at, told_at: heard_at, late, lost };
        match self.wires.news.push(news) {
            Ok(()) => (self.late, self.lost) = (0, 0),
            Err(_) => self.lost = self.lost.saturating_add(1),
        }
    }

    fn take_orders(&mut self) {
        while self.waiting.len() < WAITING && self.may_take() {
            let Ok(order) = self.wires.orders.pop() else {
                return;
            };
            match order {
                ToAudio::Strike { at, strike } => self.waiting.push_back((at, strike)),
                ToAudio::DropFrom(frame) => self.waiting.retain(|(at, _)| *at < frame),
                ToAudio::Hear(part, hearing) => self.voices.hear(part, hearing),
                ToAudio::Set(levels) => self.voices.set_levels(&levels),
                ToAudio::PlayBy(players) => self.play_by(players),
                ToAudio::Release => {
                    self.waiting.clear();
                    self.voices.release();
                }
            }
        }
    }

    /// Whether there is room for what the next order would leave behind.
    fn may_take(&self) -> bool {
        self.wires.garbage.slots() > 0 || !matches!(self.wires.orders.peek(), Ok(ToAudio::PlayBy(_)))
    }

    fn play_by(&mut self, players: Box<Players>) {
        let before = self.voices.play_by(players);
        if let Some(Err(rtrb::PushError::Full(before))) = before.map(|before| self.wires.garbage.push(before))
        {
            // There was room a moment ago, and nobody else fills it. Better kept for ever than freed here.
            std::mem::forget(before);
        }
    }

    fn strike_due(&mut self) {
        while let Some(&(at, strike)) = self.waiting.front() {
            if at > self.frame {
                return;
            }
            self.late += u32::from(at < self.frame);
            self.voices.strike(strike);
            self.waiting.pop_front();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::Part;
    use crate::band::voices::Hearing;
    use crate::live::wires::{ToAudioEnd, wires};

    fn callback() -> (ToAudioEnd, Callback) {
        let (session, audio) = wires().audio;
        (session, Callback::new(audio, FrameRate::new(48_000).expect("a rate")))
    }

    fn click_at(frame: i64) -> ToAudio {
        let strike = Strike { part: Part::Click, key: 76, velocity: 127, length: FrameSpan(1000) };
        ToAudio::Strike { at: Frames(frame), strike }
    }

    fn first_sound(out: &[f32]) -> Option<usize> {
        out.iter().position(|sample| *sample != 0.0)
    }

    fn run(callback: &mut Callback, blocks: &[usize]) -> Vec<f32> {
        let mut out = Vec::new();
        for &frames in blocks {
            let mut block = vec![1.0; frames];
            callback.fill(&mut block);
            out.extend(block);
        }
        out
    }

    #[test]
    fn a_note_starts_on_its_frame_whatever_the_blocks() {
        for blocks in [[64; 40].as_slice(), &[97; 20], &[2000], &[1, 999, 1000]] {
            let (mut session, mut callback) = callback();
            session.orders.push(click_at(1000)).expect("room");
            // The first sample of a swelling sine is 0: the note is heard from the frame after its own.
            assert_eq!(first_sound(&run(&mut callback, blocks)), Some(1001), "{blocks:?}");
        }
    }

    #[test]
    fn a_late_note_is_struck_at_once_and_counted() {
        let (mut session, mut callback) = callback();
        run(&mut callback, &[500]);
        session.orders.push(click_at(100)).expect("room");
        assert_eq!(first_sound(&run(&mut callback, &[64])), Some(1));
        callback.tell(FrameSpan(64), Nanos(7));
        let news = session.news.pop().expect("news");
        assert_eq!((news.frame, news.late, news.heard_at), (Frames(564), 1, Nanos(7)));
    }

    #[test]
    fn dropped_and_muted_notes_are_silent() {
        let (mut session, mut callback) = callback();
        session.orders.push(click_at(100)).expect("room");
        session.orders.push(click_at(900)).expect("room");
        session.orders.push(ToAudio::DropFrom(Frames(500))).expect("room");
        let out = run(&mut callback, &[256; 40]);
        assert_eq!(first_sound(&out), Some(101));
        assert_eq!(first_sound(&out[8000..]), None, "the first click has died, the second never came");

        session.orders.push(ToAudio::Hear(Part::Click, Hearing::Muted)).expect("room");
        session.orders.push(click_at(0)).expect("room");
        assert_eq!(first_sound(&run(&mut callback, &[512])), None);
    }

    #[test]
    fn nobody_listening_stops_nothing() {
        let (mut session, mut callback) = callback();
        for i in 0..crate::live::wires::NEWS as i64 + 5 {
            callback.tell(FrameSpan(1), Nanos(i));
            callback.fill(&mut [0.0]);
        }
        while session.news.pop().is_ok() {}
        callback.tell(FrameSpan(1), Nanos::ZERO);
        assert_eq!(session.news.pop().expect("news").lost, 5);
    }

    #[test]
    fn more_notes_than_can_wait_stay_in_the_ring_and_none_is_lost() {
        let (mut session, mut callback) = callback();
        let sent = (0..1000).filter(|i| session.orders.push(click_at(48_000 + i)).is_ok()).count();
        run(&mut callback, &[64]);
        assert_eq!(callback.waiting.len(), WAITING);
        assert_eq!(callback.wires.orders.slots(), sent - WAITING);
    }
}
