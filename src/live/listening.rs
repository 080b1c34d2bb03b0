//! Listening outside of a take: what instruments send, as it comes, until somebody has heard enough.
//!
//! It runs on the caller's thread. Times count from its beginning, on the host's clock.

use std::thread;
use std::time::Duration;

use super::clock::{ClockLine, HostClock, TakeClock};
use super::devices::{InputNews, NotesIn, open_notes_alone};
use super::plan::{LiveError, NotesChoice, SoundChoice};
use super::stop_signal::StopSignal;
use super::wires::StampedMessage;
use crate::time::{FrameRate, Frames, Nanos};

/// How long it rests where nothing has come.
const REST: Duration = Duration::from_millis(10);
/// A clock without a device needs some rate; the usual one.
const RATE: FrameRate = FrameRate::new(48_000).expect("48,000 is above 0");
/// Later than any note of a file: its notes come at once, not in their time.
const AT_ONCE: Nanos = Nanos(1 << 60);

/// An ear that is open.
pub struct Listening {
    notes: Box<dyn NotesIn>,
    from_file: bool,
    clock: HostClock,
    times: TakeClock,
    stop: StopSignal,
}

/// What is heard next.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Heard {
    /// A message.
    Message(StampedMessage),
    /// An input came or went.
    Input(InputNews),
    /// Nothing for now.
    Nothing,
    /// Nothing any more: the file is at its end, or a signal came.
    Over,
}

impl Listening {
    /// Begins to listen, to the inputs of the server that `sound` would go to; says what is not as asked.
    pub fn begin(sound: &SoundChoice, notes: &NotesChoice) -> Result<(Self, Vec<String>), LiveError> {
        let stop = StopSignal::listen().map_err(LiveError::Signals)?;
        let clock = HostClock::start();
        let from_file = matches!(notes, NotesChoice::File { .. });
        let (notes, said) = open_notes_alone(sound, notes, clock);
        let times = TakeClock::new(ClockLine::new(RATE, Frames::ZERO, Nanos::ZERO), Frames::ZERO, RATE);
        Ok((Self { notes, from_file, clock, times, stop }, said))
    }

    /// What comes next; rests a moment where that is nothing.
    pub fn hear(&mut self) -> Heard {
        let now = if self.from_file { AT_ONCE } else { self.clock.now() };
        if let Some(news) = self.notes.input_news() {
            return Heard::Input(news);
        }
        if let Some(message) = self.notes.next(&self.times, now) {
            return Heard::Message(message);
        }
        if self.stop.is_asked() || self.notes.is_over() {
            return Heard::Over;
        }
        thread::sleep(REST);
        Heard::Nothing
    }

    /// How long it has listened.
    pub fn now(&self) -> Nanos {
        self.clock.now()
    }
}
