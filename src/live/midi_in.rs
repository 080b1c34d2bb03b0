//! MIDI in by midir: the only file that knows it.
//!
//! Its callbacks run on the driver's thread: they stamp, hand over and return. The session's end maps the driver's
//! stamps to the take.

use midir::{Ignore, MidiInput, MidiInputConnection};

use super::arrivals::Arrivals;
use super::clock::{HostClock, TakeClock};
use super::devices::{NO_NOTES, NotesIn};
use super::wires::{DriverEnd, DriverMessage, MessagesEnd, ShortMessage, Stamp, StampedMessage};
use crate::time::Nanos;

/// The name that other programs see.
const CLIENT: &str = "barwise";

/// Says why no MIDI input could be opened.
#[derive(Debug, thiserror::Error)]
pub enum MidiError {
    /// The system has no MIDI, or it does not answer.
    #[error("{0}: the system has no MIDI sequencer, or it does not answer")]
    NoSystem(#[from] midir::InitError),
}

/// Connections to MIDI inputs.
pub struct MidiIn {
    arrivals: Arrivals,
    /// Held open.
    connections: Vec<Connection>,
    refused: Vec<String>,
}

struct Connection {
    name: String,
    _open: MidiInputConnection<()>,
}

impl MidiIn {
    /// Connects to every input whose name holds `wanted` (case apart), or to all but the system's through ports.
    pub fn open(
        wanted: Option<&str>,
        (session, driver): (MessagesEnd, DriverEnd),
        clock: HostClock,
    ) -> Result<Self, MidiError> {
        let mut ports =
            Self { arrivals: Arrivals::new(session), connections: Vec::new(), refused: Vec::new() };
        let listing = MidiInput::new(CLIENT)?;
        for port in listing.ports() {
            let Ok(name) = listing.port_name(&port) else {
                continue;
            };
            if is_wanted(&name, wanted) {
                ports.connect(&port, &name, &driver, clock)?;
            }
        }
        Ok(ports)
    }

    fn connect(
        &mut self,
        port: &midir::MidiInputPort,
        name: &str,
        driver: &DriverEnd,
        clock: HostClock,
    ) -> Result<(), MidiError> {
        let mut input = MidiInput::new(CLIENT)?;
        // Clocks and active sensing come many times a second and say nothing here; system exclusive is too long.
        input.ignore(Ignore::All);
        let driver = driver.clone();
        let port_index = self.connections.len();
        let hand_over = move |stamp_us: u64, bytes: &[u8], (): &mut ()| {
            let arrived = clock.now();
            if let Some(message) = ShortMessage::new(bytes) {
                let at = Nanos(i64::try_from(stamp_us.saturating_mul(1000)).unwrap_or(i64::MAX));
                let stamp = Stamp::Driver { at, arrived };
                driver.give(DriverMessage { port: port_index, stamp, message });
            }
        };
        match input.connect(port, "in", hand_over, ()) {
            Ok(open) => {
                let name = plain_name(name).to_owned();
                self.connections.push(Connection { name, _open: open });
            }
            Err(error) => self.refused.push(format!("{} does not open ({error}).", plain_name(name))),
        }
        Ok(())
    }

    /// What has to be said: inputs that refuse, or that there is none.
    pub fn said(&self) -> Vec<String> {
        let none = self.connections.is_empty().then(|| NO_NOTES.to_owned());
        self.refused.iter().cloned().chain(none).collect()
    }

    /// The names of the inputs that are open.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.connections.iter().map(|connection| connection.name.as_str())
    }
}

/// The names of the inputs there are; none where the system has no MIDI.
pub fn names() -> Vec<String> {
    let Ok(listing) = MidiInput::new(CLIENT) else { return Vec::new() };
    let names = listing.ports().into_iter().filter_map(|port| listing.port_name(&port).ok());
    names.map(|name| plain_name(&name).to_owned()).collect()
}

/// Whether to connect to a port. Through ports carry what other programs send, so they are taken by name only.
fn is_wanted(name: &str, wanted: Option<&str>) -> bool {
    let name = name.to_lowercase();
    match wanted {
        Some(wanted) => name.contains(&wanted.to_lowercase()),
        None => !name.contains("midi through"),
    }
}

/// A port's name without the `NN:N` that ALSA puts behind it and changes when the device is plugged in again.
fn plain_name(name: &str) -> &str {
    let is_address = |last: &str| {
        last.split_once(':').is_some_and(|(client, port)| {
            [client, port].iter().all(|n| !n.is_empty() && n.chars().all(|c| c.is_ascii_digit()))
        })
    };
    match name.rsplit_once(' ') {
        Some((plain, last)) if is_address(last) => plain,
        _ => name,
    }
}

impl NotesIn for MidiIn {
    fn next(&mut self, clock: &TakeClock, now: Nanos) -> Option<StampedMessage> {
        self.arrivals.next(clock, now)
    }

    fn dropped(&self) -> u64 {
        self.arrivals.dropped()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_lose_the_address_that_changes_on_replug() {
        assert_eq!(plain_name("Guitar:Guitar MIDI 1 24:0"), "Guitar:Guitar MIDI 1");
        assert_eq!(plain_name("Keys 2"), "Keys 2");
        assert_eq!(plain_name("Keys a:0"), "Keys a:0");
        assert_eq!(plain_name(""), "");
    }

    #[test]
    fn through_ports_are_never_taken_unasked() {
        assert!(!is_wanted("Midi Through:Midi Through Port-0 14:0", None));
        assert!(is_wanted("Midi Through:Midi Through Port-0 14:0", Some("through")));
        assert!(is_wanted("Guitar 24:0", None));
        assert!(!is_wanted("Guitar 24:0", Some("keys")));
    }
}
