//! MIDI in from a JACK server: the only file that knows that library.
//!
//! Each event carries the server's frame at which it was played. Our sound is rendered in the same cycles, so a note
//! meets it to the frame ([`super::playheads`]). The callback runs on the server's real-time thread and keeps the law of
//! [`super::callback`].

use std::collections::{HashSet, VecDeque};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use crossbeam_channel::{Receiver, Sender, bounded};
use jack::{
    AsyncClient, Client, ClientOptions, ClientStatus, Control, LatencyType, MidiIn, NotificationHandler,
    Port, PortFlags, ProcessHandler, ProcessScope, Unowned,
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

/// How often a client is opened that the server does not call.
const TRIES: usize = 5;
/// How long its first cycle is waited for, or four cycles where they are longer.
const FIRST_CYCLE: Duration = Duration::from_millis(150);
/// The longest rest between two looks for it.
const LOOK: Duration = Duration::from_millis(5);

/// Says why the server's MIDI cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum JackError {
    /// Nobody is there.
    #[error("no JACK server answers")]
    NoServer,
    /// Nobody can watch the inputs.
    #[error("cannot start a thread that watches MIDI inputs: {0}")]
    NoWatch(#[from] std::io::Error),
    /// The port is there, and no cycle of the server ever comes by.
    #[error("the server leaves our input out of its cycles")]
    LeftOut,
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
    client: AsyncClient<Leavers, Driver>,
    /// The name of our own port.
    own: String,
    /// In small letters.
    wanted: String,
    /// Programs that left the server since the last look.
    left: Receiver<String>,
    /// Outputs of those that may have come back since.
    blinked: HashSet<String>,
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
        let called =
            (0..TRIES).find_map(|_| Called::open(&driver, clock).transpose()).ok_or(JackError::LeftOut)?;
        let Called { client, own, left, beats, cycles } = called?;
        let wanted = wanted.unwrap_or_default().to_lowercase();
        let mut outputs =
            ServerOutputs { client, own, wanted, left, blinked: HashSet::new(), beats, seen: 0 };
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

/// A client whose callback the server calls.
struct Called {
    client: AsyncClient<Leavers, Driver>,
    /// The name of its port.
    own: String,
    left: Receiver<String>,
    beats: Arc<AtomicU64>,
    cycles: rtrb::Consumer<Cycle>,
}

impl Called {
    /// Opens a client and waits for its first cycle. `None` where none comes, and the client is closed again: libjack
    /// (1.9.21) keeps one table of wake-up calls for all clients of a process, by number, and where another program left
    /// the server in this very moment our new client may sleep by that program's call, for ever.
    fn open(session: &DriverEnd, clock: HostClock) -> Result<Option<Self>, JackError> {
        let (client, _) = Client::new(CLIENT, ClientOptions::NO_START_SERVER).map_err(unreached)?;
        let port = client.register_port("in", MidiIn::default()).map_err(refused("make a port"))?;
        let own = port.name().map_err(refused("name the port"))?;
        let (passed, cycles) = rtrb::RingBuffer::new(NEWS);
        let sound = SoundPorts::of(&client);
        let beats = Arc::new(AtomicU64::new(0));
        let cycle =
            Duration::from_secs_f64(f64::from(client.buffer_size()) / f64::from(client.sample_rate()));
        let driver =
            Driver { port, session: session.clone(), clock, sound, passed, beats: Arc::clone(&beats) };
        let (leavers, left) = bounded(NEWS);
        let client = client.activate_async(Leavers(leavers), driver).map_err(refused("start the client"))?;
        let until = Instant::now() + FIRST_CYCLE.max(4 * cycle);
        while beats.load(Ordering::Relaxed) == 0 {
            if Instant::now() > until {
                return Ok(None);
            }
            thread::sleep(cycle.min(LOOK));
        }
        Ok(Some(Self { client, own, left, beats, cycles }))
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
        let there = alive.then(|| self.wanted())?;
        for program in self.left.try_iter() {
            let outputs = there.iter().filter(|name| is_of(&program, name)).cloned();
            self.blinked.extend(outputs);
        }
        Some(there)
    }

    fn connect(&mut self, name: &str) -> bool {
        self.client.as_client().connect_ports_by_name(name, &self.own).is_ok()
    }

    fn release(&mut self, _: &str) {
        // The server took the connection away with the port.
    }

    fn blinked(&mut self, name: &str) -> bool {
        let port = || self.client.as_client().port_by_name(name);
        // Its program came back before the news that it had left, or somebody else has joined it again.
        self.blinked.remove(name)
            && !port().is_some_and(|port| port.is_connected_to(&self.own).unwrap_or(false))
    }
}

/// Whether a port is one of a program's: its name is the program's, a colon and its own.
fn is_of(program: &str, port: &str) -> bool {
    port.strip_prefix(program).is_some_and(|rest| rest.starts_with(':'))
}

/// Tells which programs leave the server.
struct Leavers(Sender<String>);

impl NotificationHandler for Leavers {
    fn client_registration(&mut self, _: &Client, name: &str, is_registered: bool) {
        if !is_registered {
            // More than fit have left between two looks: then the looks alone tell.
            let _ = self.0.try_send(name.to_owned());
        }
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

    fn passed_over(&self) -> u64 {
        self.arrivals.passed_over()
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
    /// The count at which the next cycle begins.
    next: Option<u32>,
}

impl SoundPorts {
    /// Finds them by the name that the sound library gives them.
    fn of(client: &Client) -> Self {
        let names = format!("^cpal_client_{}_out:", std::process::id());
        let names = client.ports(Some(&names), None, PortFlags::IS_OUTPUT);
        let ports = names.iter().filter_map(|name| client.port_by_name(name)).collect();
        Self { ports, rate: FrameRate::new(client.sample_rate()), told_at: Nanos::ZERO, next: None }
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
        let count = scope.last_frame_time();
        let follows = self.next.replace(count.wrapping_add(scope.n_frames())) == Some(count);
        Some((Cycle { count, told_at, follows }, FrameSpan(i64::from(frames))))
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
