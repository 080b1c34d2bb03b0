//! MIDI in from a JACK server: the only file that knows that library.
//!
//! Each event carries the server's frame at which it was played. Our sound is rendered in the same cycles, so a note
//! meets it to the frame ([`super::playheads`]). The callback runs on the server's real-time thread and keeps the law of
//! [`super::callback`].

use std::collections::VecDeque;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use jack::{
    AsyncClient, Client, ClientOptions, ClientStatus, Control, LatencyType, MidiIn, Port, PortFlags,
    ProcessHandler, ProcessScope, Unowned,
};

use super::arrivals::Arrivals;
use super::clock::{HostClock, TakeClock};
use super::devices::{InputNews, NO_NOTES, NotesIn};
use super::input_watch::{InputWatch, Inputs};
use super::playheads::Cycle;
use super::wires::{DriverEnd, DriverMessage, MessagesEnd, NEWS, ShortMessage, Stamp, StampedMessage};
use crate::time::{FrameRate, FrameSpan, NanoSpan, Nanos};

/// The name that other programs see.
const CLIENT: &str = "barwise-midi";
/// What JACK calls the type of a MIDI port.
const MIDI_TYPE: &str = "8 bit raw midi";

/// Says why the server's MIDI cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum JackError {
    /// Nobody is there.
    #[error("no JACK server answers")]
    NoServer,
    /// Nobody can watch the inputs.
    #[error("cannot start a thread that watches MIDI inputs: {0}")]
    NoWatch(#[from] std::io::Error),
    /// The server refuses.
    #[error("cannot {operation}: {error}")]
    Refused {
        /// What was tried.
        operation: &'static str,
        /// What the library says.
        error: jack::Error,
    },
}

fn refused(operation: &'static str) -> impl FnOnce(jack::Error) -> JackError {
    move |error| JackError::Refused { operation, error }
}

fn unreached(error: jack::Error) -> JackError {
    match error {
        jack::Error::ClientError(status) if status.contains(ClientStatus::SERVER_FAILED) => {
            JackError::NoServer
        }
        error => refused("reach the server")(error),
    }
}

/// A MIDI port of our own in a JACK server.
pub struct JackMidiIn {
    arrivals: Arrivals,
    cycles: rtrb::Consumer<Cycle>,
    /// Those that were there from the start.
    first: VecDeque<String>,
    watch: InputWatch,
}

/// The outputs of the server's programs that are wanted.
struct ServerOutputs {
    client: AsyncClient<(), Driver>,
    /// The name of our own port.
    own: String,
    /// In small letters.
    wanted: String,
    /// Cycles of the server so far, and as many as the last look saw: a dead server has none.
    beats: Arc<AtomicU64>,
    seen: u64,
}

impl JackMidiIn {
    /// Opens the port and connects every MIDI output to it whose name holds `wanted` (case apart), or all of them.
    pub fn open(
        wanted: Option<&str>,
        (session, driver): (MessagesEnd, DriverEnd),
        clock: HostClock,
    ) -> Result<Self, JackError> {
        let (client, _) = Client::new(CLIENT, ClientOptions::NO_START_SERVER).map_err(unreached)?;
        let port = client.register_port("in", MidiIn::default()).map_err(refused("make a port"))?;
        let own = port.name().map_err(refused("name the port"))?;
        let (passed, cycles) = rtrb::RingBuffer::new(NEWS);
        let sound = SoundPorts::of(&client);
        let beats = Arc::new(AtomicU64::new(0));
        let driver = Driver { port, session: driver, clock, sound, passed, beats: Arc::clone(&beats) };
        let client = client.activate_async((), driver).map_err(refused("start the client"))?;
        let wanted = wanted.unwrap_or_default().to_lowercase();
        let mut outputs = ServerOutputs { client, own, wanted, beats, seen: 0 };
        let first: VecDeque<String> =
            outputs.wanted().into_iter().filter(|name| outputs.connect(name)).collect();
        let watch = InputWatch::over(outputs, first.iter().cloned().collect())?;
        Ok(Self { arrivals: Arrivals::new(session), cycles, first, watch })
    }

    /// What has to be said: that nothing is connected yet.
    pub fn said(&self) -> Option<String> {
        self.first.is_empty().then(|| NO_NOTES.to_owned())
    }
}

impl ServerOutputs {
    fn wanted(&self) -> Vec<String> {
        let names = outputs(self.client.as_client());
        names.into_iter().filter(|name| name.to_lowercase().contains(&self.wanted)).collect()
    }
}

impl Inputs for ServerOutputs {
    fn there(&mut self) -> Option<Vec<String>> {
        let beats = self.beats.load(Ordering::Relaxed);
        // A server that is gone is the sound's news; asking it for its ports would only wait.
        let alive = beats != std::mem::replace(&mut self.seen, beats);
        alive.then(|| self.wanted())
    }

    fn connect(&mut self, name: &str) -> bool {
        self.client.as_client().connect_ports_by_name(name, &self.own).is_ok()
    }

    fn release(&mut self, _: &str) {
        // The server took the connection away with the port.
    }
}

/// The names of the outputs that can be heard; none where no server answers.
pub fn names() -> Vec<String> {
    let client = Client::new(CLIENT, ClientOptions::NO_START_SERVER);
    client.map_or_else(|_| Vec::new(), |(client, _)| outputs(&client))
}

fn outputs(client: &Client) -> Vec<String> {
    client.ports(None, Some(MIDI_TYPE), PortFlags::IS_OUTPUT)
}

impl NotesIn for JackMidiIn {
    fn next(&mut self, clock: &TakeClock, now: Nanos) -> Option<StampedMessage> {
        while let Ok(cycle) = self.cycles.pop() {
            self.arrivals.pass(cycle, clock);
        }
        self.arrivals.next(clock, now)
    }

    fn dropped(&self) -> u64 {
        self.arrivals.dropped()
    }

    fn input_news(&mut self) -> Option<InputNews> {
        // What an input played before it went comes before the news that it has gone.
        if self.arrivals.is_waiting() {
            return None;
        }
        self.first.pop_front().map(InputNews::Come).or_else(|| self.watch.news())
    }

    fn goes_with_sound(&self) -> bool {
        true
    }
}

/// The ports by which our own sound leaves.
struct SoundPorts {
    ports: Vec<Port<Unowned>>,
    rate: Option<FrameRate>,
    /// When the last cycle was told to be heard: the sound library never tells an instant before that.
    told_at: Nanos,
}

impl SoundPorts {
    /// Finds them by the name that the sound library gives them.
    fn of(client: &Client) -> Self {
        let names = format!("^cpal_client_{}_out:", std::process::id());
        let names = client.ports(Some(&names), None, PortFlags::IS_OUTPUT);
        let ports = names.iter().filter_map(|name| client.port_by_name(name)).collect();
        Self { ports, rate: FrameRate::new(client.sample_rate()), told_at: Nanos::ZERO }
    }

    /// The cycle that runs, and how many frames after its start its sound is heard: both as the sound library tells the
    /// audio callback, which is called in the same cycle. `None` where no sound of ours goes to the server.
    fn cycle(&mut self, scope: &ProcessScope) -> Option<(Cycle, FrameSpan)> {
        let times = scope.cycle_times().ok()?;
        let latency = self.ports.iter().map(|port| port.get_latency_range(LatencyType::Playback).1).max()?;
        let instant = |micros: u64| Nanos((micros * 1000) as i64);
        // Without a known latency the end of the cycle stands for it.
        let (told_at, frames) = match latency {
            0 => (instant(times.next_usecs), scope.n_frames()),
            frames => {
                let latency = self.rate?.nanos(FrameSpan(i64::from(frames)));
                (instant(times.current_usecs) + latency, frames)
            }
        };
        self.told_at = self.told_at.max(told_at);
        let told_at = self.told_at;
        Some((Cycle { count: scope.last_frame_time(), told_at }, FrameSpan(i64::from(frames))))
    }
}

/// The server's end: runs on its thread.
struct Driver {
    port: Port<MidiIn>,
    session: DriverEnd,
    clock: HostClock,
    sound: SoundPorts,
    passed: rtrb::Producer<Cycle>,
    beats: Arc<AtomicU64>,
}

impl ProcessHandler for Driver {
    fn process(&mut self, client: &Client, scope: &ProcessScope) -> Control {
        self.beats.fetch_add(1, Ordering::Relaxed);
        let cycle = self.sound.cycle(scope);
        if let Some((cycle, _)) = cycle {
            // Where there is no room the session has enough of them to go by.
            let _ = self.passed.push(cycle);
        }
        let mut clocks = None;
        for event in self.port.iter(scope) {
            // The two clocks are read one after the other, once for each cycle that brings something.
            let (server, arrived) = *clocks.get_or_insert_with(|| (client.time(), self.clock.now()));
            let played = client.frames_to_time(scope.last_frame_time().wrapping_add(event.time));
            let played = arrived + NanoSpan((played as i64 - server as i64) * 1000);
            let stamp = cycle.map_or(Stamp::Host(played), |(cycle, latency)| {
                let into = FrameSpan(i64::from(event.time)) - latency;
                Stamp::Cycle { cycle, into, played, arrived }
            });
            if let Some(message) = ShortMessage::new(event.bytes) {
                self.session.give(DriverMessage { port: 0, stamp, message });
            }
        }
        Control::Continue
    }
}
