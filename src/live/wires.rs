//! Everything that crosses from one thread to another, and the one function that builds both ends of it all.
//!
//! | from → to | carrier | full means |
//! |---|---|---|
//! | session → audio | ring of [`ToAudio`] | the session keeps the order and tries again at its next tick |
//! | audio → session | ring of [`FromAudio`] | the news is dropped and counted in the next that fits |
//! | audio → session | ring of [`Players`] | the order that brings others waits in its own ring |
//! | MIDI driver → session | channel of [`DriverMessage`] | the message is dropped and counted |
//! | session → view | the latest [`Moment`](super::Moment), swapped | the view skips one |
//! | view → session | channel of [`Cue`] | the cue is dropped: 64 presses wait already |
//! | input watch → session | channel of [`InputNews`](super::devices::InputNews) | the news is dropped: 64 wait already |
//! | reopening → session | channel of one [`Pair`](super::reopen::Pair) | never: one thread opens one pair |
//!
//! Orders to the audio thread are plain values but for the players of a SoundFont: those that were replaced come back by a
//! ring of their own, so that nothing is ever freed there.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use crossbeam_channel::{Receiver, Sender, bounded};

use super::moment::Latest;
use super::playheads::Cycle;
use crate::band::voices::sound_font::Players;
use crate::band::voices::{Hearing, Strike};
use crate::band::{Levels, Part};
use crate::time::{FrameSpan, Frames, Nanos};

/// Orders that wait for the audio thread: several seconds of a busy band.
pub const ORDERS: usize = 1024;
/// News that waits for the session: five seconds of callbacks at 64 frames.
pub const NEWS: usize = 4096;
/// Messages that wait for the session: a second of a full MIDI wire is about 1,000.
pub const DRIVER_MESSAGES: usize = 4096;
/// Players of a SoundFont that wait to be freed: a session sends one to each device it opens.
pub const GARBAGE: usize = 4;
/// Presses that wait for the session.
pub const CUES: usize = 64;

/// What the session tells the audio thread. Frames are counted from the stream's first.
#[derive(Debug)]
pub enum ToAudio {
    /// Strike a note at a frame; orders come by rising frame.
    Strike {
        /// When.
        at: Frames,
        /// What.
        strike: Strike,
    },
    /// Forget notes that wait for this frame or a later one.
    DropFrom(Frames),
    /// Mute a part, or let it sound.
    Hear(Part, Hearing),
    /// Set how loud each part is.
    Set(Levels),
    /// Let a SoundFont play the parts that it has, from the next note on.
    PlayBy(Box<Players>),
    /// Forget all waiting notes and let the sounding ones go.
    Release,
}

/// What the audio thread tells the session, once a callback.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FromAudio {
    /// The first frame of the block.
    pub frame: Frames,
    /// How long the block is.
    pub frames: FrameSpan,
    /// When its first frame is heard, on the clock named by whoever hands this on.
    pub heard_at: Nanos,
    /// The same on the device's own clock.
    pub told_at: Nanos,
    /// Notes that came too late for their frame since the last news, struck at once.
    pub late: u32,
    /// News dropped since the last.
    pub lost: u32,
}

/// A MIDI message of at most three bytes: channel voice messages and short system messages. Longer ones are cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct ShortMessage {
    bytes: [u8; 3],
    length: u8,
}

impl ShortMessage {
    /// The first three bytes of `bytes`, which begin with a status byte; `None` where they do not.
    pub fn new(bytes: &[u8]) -> Option<Self> {
        let length = bytes.len().min(3);
        let mut kept = [0; 3];
        kept[..length].copy_from_slice(&bytes[..length]);
        (kept[0] >= 0x80).then_some(Self { bytes: kept, length: length as u8 })
    }

    /// The bytes, status first.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes[..usize::from(self.length)]
    }

    /// Whether this starts a note: a note-on whose velocity is not 0 (MIDI 1.0).
    pub fn starts_note(&self) -> bool {
        self.length == 3 && self.bytes[0] & 0xf0 == 0x90 && self.bytes[2] > 0
    }
}

/// A message with its time in the take.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StampedMessage {
    /// When it was played, from the first click of the count-in.
    pub at: Nanos,
    /// What came over the wire.
    pub message: ShortMessage,
}

/// A message as the MIDI driver hands it over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DriverMessage {
    /// Which connection it came by.
    pub port: usize,
    /// When it was played.
    pub stamp: Stamp,
    /// What came.
    pub message: ShortMessage,
}

/// When a message was played, as far as its driver knows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stamp {
    /// On the host's monotonic clock: the driver's clock was paired with it.
    Host(Nanos),
    /// On a clock of the driver's own.
    Driver {
        /// From a start that only the driver knows.
        at: Nanos,
        /// When the callback ran, on the host's monotonic clock.
        arrived: Nanos,
    },
    /// In a cycle of the server that the sound goes to.
    Cycle {
        /// Which cycle.
        cycle: Cycle,
        /// How far after the frame that is rendered in it: less than nothing, as what is rendered now is heard later.
        into: FrameSpan,
        /// When it was played, on the host's monotonic clock: less exact, for a cycle the sound device never tells of.
        played: Nanos,
        /// When the callback ran, on the same clock.
        arrived: Nanos,
    },
}

/// What the player asks of a running session.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cue {
    /// Stop at the end of this chorus; given again (or in the count-in), stop now.
    Stop,
    /// Stop now.
    StopNow,
    /// Mute this part of the band, or let it sound.
    Hear(Part, Hearing),
}

/// The session's ends.
pub struct SessionEnd {
    /// What the player asks.
    pub cues: Receiver<Cue>,
    /// Where the view looks.
    pub latest: Arc<Latest>,
}

/// The view's ends.
pub struct ViewEnd {
    cues: Sender<Cue>,
    latest: Arc<Latest>,
}

impl ViewEnd {
    /// Hands a cue to the session. It is dropped when too many wait already.
    pub fn give(&self, cue: Cue) {
        // A dropped press is the documented meaning of a full channel; a closed one means that the take is over.
        let _ = self.cues.try_send(cue);
    }

    /// Where the session shows its moments.
    pub fn latest(&self) -> &Latest {
        &self.latest
    }
}

/// The MIDI driver's end: one for each connection.
#[derive(Clone)]
pub struct DriverEnd {
    messages: Sender<DriverMessage>,
    dropped: Arc<AtomicU64>,
}

impl DriverEnd {
    /// Hands a message over without ever waiting; counts it where there is no room.
    pub fn give(&self, message: DriverMessage) {
        if self.messages.try_send(message).is_err() {
            self.dropped.fetch_add(1, Ordering::Relaxed);
        }
    }
}

/// The session's end of the MIDI driver.
pub struct MessagesEnd {
    /// What was played.
    pub messages: Receiver<DriverMessage>,
    dropped: Arc<AtomicU64>,
}

impl MessagesEnd {
    /// Messages dropped so far for want of room.
    pub fn dropped(&self) -> u64 {
        self.dropped.load(Ordering::Relaxed)
    }
}

/// The session's ends of the audio thread.
pub struct ToAudioEnd {
    /// Orders out.
    pub orders: rtrb::Producer<ToAudio>,
    /// News in.
    pub news: rtrb::Consumer<FromAudio>,
    /// What the audio thread is done with.
    garbage: rtrb::Consumer<Box<Players>>,
}

impl ToAudioEnd {
    /// Frees what the audio thread is done with; says how much that was.
    pub fn free_garbage(&mut self) -> usize {
        std::iter::from_fn(|| self.garbage.pop().ok()).count()
    }
}

/// The audio thread's ends.
pub struct AudioEnd {
    /// Orders in.
    pub orders: rtrb::Consumer<ToAudio>,
    /// News out.
    pub news: rtrb::Producer<FromAudio>,
    /// What is not to be freed here.
    pub garbage: rtrb::Producer<Box<Players>>,
}

/// Both ends of every wire.
pub struct Wires {
    /// For the session thread.
    pub session: SessionEnd,
    /// For the view.
    pub view: ViewEnd,
    /// For the adapter that opens the sound device, and for its callback.
    pub audio: (ToAudioEnd, AudioEnd),
    /// For the adapter that opens MIDI ports, and for its callbacks.
    pub midi: (MessagesEnd, DriverEnd),
}

/// Builds both ends of every wire.
pub fn wires() -> Wires {
    let (cues, cues_end) = bounded(CUES);
    let latest = Arc::new(Latest::default());
    Wires {
        session: SessionEnd { cues: cues_end, latest: Arc::clone(&latest) },
        view: ViewEnd { cues, latest },
        audio: audio_wires(),
        midi: midi_wires(),
    }
}

/// Both ends of the wires to a sound device; a device that is opened again in mid-take gets new ones.
pub fn audio_wires() -> (ToAudioEnd, AudioEnd) {
    let (orders, orders_end) = rtrb::RingBuffer::new(ORDERS);
    let (news, news_end) = rtrb::RingBuffer::new(NEWS);
    let (garbage, garbage_end) = rtrb::RingBuffer::new(GARBAGE);
    let session = ToAudioEnd { orders, news: news_end, garbage: garbage_end };
    (session, AudioEnd { orders: orders_end, news, garbage })
}

/// Both ends of the wires from MIDI inputs; inputs that are opened again in mid-take get new ones.
pub fn midi_wires() -> (MessagesEnd, DriverEnd) {
    let (messages, messages_end) = bounded(DRIVER_MESSAGES);
    let dropped = Arc::new(AtomicU64::new(0));
    let session = MessagesEnd { messages: messages_end, dropped: Arc::clone(&dropped) };
    (session, DriverEnd { messages, dropped })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_full_driver_channel_counts_what_it_drops() {
        let (session, driver) = wires().midi;
        let message = ShortMessage::new(&[0x90, 60, 100]).expect("a message");
        let given = DriverMessage { port: 0, stamp: Stamp::Host(Nanos::ZERO), message };
        (0..DRIVER_MESSAGES + 3).for_each(|_| driver.give(given));
        assert_eq!(session.dropped(), 3);
        assert_eq!(session.messages.try_iter().count(), DRIVER_MESSAGES);
    }

    #[test]
    fn short_messages_keep_their_bytes_and_cut_long_ones() {
        assert_eq!(ShortMessage::new(&[0xc0, 5]).expect("a message").bytes(), [0xc0, 5]);
        assert_eq!(ShortMessage::new(&[0xf0, 1, 2, 3, 0xf7]).expect("a message").bytes(), [0xf0, 1, 2]);
        assert_eq!(ShortMessage::new(&[60, 100]), None);
        assert_eq!(ShortMessage::new(&[]), None);
    }

    #[test]
    fn a_note_on_without_velocity_starts_no_note() {
        let starts = |bytes: &[u8]| ShortMessage::new(bytes).expect("a message").starts_note();
        assert!(starts(&[0x95, 60, 1]));
        assert!(!starts(&[0x95, 60, 0]));
        assert!(!starts(&[0x85, 60, 64]));
    }
}
