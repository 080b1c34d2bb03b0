//! MIDI in from a JACK server: the only file that knows that library.
//!
//! Each event carries the frame at which it was played, on the clock that times the sound, so its stamp holds no
//! jitter of ours. The callback runs on the server's real-time thread and keeps the law of [`super::callback`].

use jack::{
    AsyncClient, Client, ClientOptions, Control, MidiIn, Port, PortFlags, ProcessHandler, ProcessScope,
};

use super::arrivals::Arrivals;
use super::clock::{HostClock, TakeClock};
use super::devices::{NO_NOTES, NotesIn};
use super::wires::{DriverEnd, DriverMessage, MessagesEnd, ShortMessage, Stamp, StampedMessage};
use crate::time::{NanoSpan, Nanos};

/// The name that other programs see.
const CLIENT: &str = "barwise-midi";
/// What JACK calls the type of a MIDI port.
const MIDI_TYPE: &str = "8 bit raw midi";

/// Says why the server's MIDI cannot be used.
#[derive(Debug, thiserror::Error)]
#[error("cannot {operation}: {error}")]
pub struct JackError {
    operation: &'static str,
    error: jack::Error,
}

fn refused(operation: &'static str) -> impl FnOnce(jack::Error) -> JackError {
    move |error| JackError { operation, error }
}

/// A MIDI port of our own in a JACK server.
pub struct JackMidiIn {
    arrivals: Arrivals,
    connected: usize,
    _client: AsyncClient<(), Driver>,
}

impl JackMidiIn {
    /// Opens the port and connects every MIDI output to it whose name holds `wanted` (case apart), or all of them.
    pub fn open(
        wanted: Option<&str>,
        (session, driver): (MessagesEnd, DriverEnd),
        clock: HostClock,
    ) -> Result<Self, JackError> {
        let (client, _) =
            Client::new(CLIENT, ClientOptions::NO_START_SERVER).map_err(refused("reach the server"))?;
        let port = client.register_port("in", MidiIn::default()).map_err(refused("make a port"))?;
        let own = port.name().map_err(refused("name the port"))?;
        let client = client
            .activate_async((), Driver { port, session: driver, clock })
            .map_err(refused("start the client"))?;
        let connected = connect(client.as_client(), wanted, &own);
        Ok(Self { arrivals: Arrivals::new(session), connected, _client: client })
    }

    /// What has to be said: that nothing is connected yet.
    pub fn said(&self) -> Option<String> {
        (self.connected == 0).then(|| NO_NOTES.to_owned())
    }
}

/// Connects what is wanted; says how many outputs were.
fn connect(client: &Client, wanted: Option<&str>, own: &str) -> usize {
    let wanted = wanted.unwrap_or_default().to_lowercase();
    client
        .ports(None, Some(MIDI_TYPE), PortFlags::IS_OUTPUT)
        .iter()
        .filter(|name| name.to_lowercase().contains(&wanted))
        .filter(|name| client.connect_ports_by_name(name, own).is_ok())
        .count()
}

impl NotesIn for JackMidiIn {
    fn next(&mut self, clock: &TakeClock, _: Nanos) -> Option<StampedMessage> {
        self.arrivals.next(clock)
    }

    fn dropped(&self) -> u64 {
        self.arrivals.dropped()
    }
}

/// The server's end: runs on its thread.
struct Driver {
    port: Port<MidiIn>,
    session: DriverEnd,
    clock: HostClock,
}

impl ProcessHandler for Driver {
    fn process(&mut self, client: &Client, scope: &ProcessScope) -> Control {
        let mut paired = None;
        for event in self.port.iter(scope) {
            // The server's clock and the host's, read one after the other anew for each period that brings something.
            let (server, host) = *paired.get_or_insert_with(|| (client.time(), self.clock.now()));
            let played = client.frames_to_time(scope.last_frame_time().wrapping_add(event.time));
            let micros = played as i64 - server as i64;
            if let Some(message) = ShortMessage::new(event.bytes) {
                let stamp = Stamp::Host(host + NanoSpan(micros * 1000));
                self.session.give(DriverMessage { port: 0, stamp, message });
            }
        }
        Control::Continue
    }
}
