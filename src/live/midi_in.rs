//! MIDI in by midir: the only file that knows it.
//!
//! Its callbacks run on the driver's thread: they stamp, hand over and return. The session's end maps the driver's
//! stamps to the take. The connections are held by the watch over inputs, which makes
//! them again after a replug.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use midir::{Ignore, MidiInput, MidiInputConnection, MidiInputPort};

use super::arrivals::Arrivals;
use super::clock::{HostClock, TakeClock};
use super::devices::{InputNews, NO_NOTES, NotesIn};
use super::input_watch::{InputWatch, Inputs, told_apart};
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
    /// Nobody can watch the inputs.
    #[error("cannot start a thread that watches MIDI inputs: {0}")]
    NoWatch(#[from] std::io::Error),
}

/// MIDI inputs, watched.
pub struct MidiIn {
    arrivals: Arrivals,
    /// Those that were there from the start.
    first: VecDeque<String>,
    refused: Vec<String>,
    watch: InputWatch,
    made: Names,
}

/// The names of all connections made so far, by their numbers. The session and the watch share them, no driver does.
type Names = Arc<Mutex<Vec<String>>>;

/// The inputs of this system that are wanted, and the connections to them.
struct SystemInputs {
    listing: MidiInput,
    wanted: Option<String>,
    driver: DriverEnd,
    clock: HostClock,
    open: Vec<(String, MidiInputConnection<()>)>,
    /// Each connection has a number, and a clock, of its own.
    made: Names,
}

impl MidiIn {
    /// Connects to every input whose name holds `wanted` (case apart), or to all but the system's through ports; to those
    /// that come later, too.
    pub fn open(
        wanted: Option<&str>,
        (session, driver): (MessagesEnd, DriverEnd),
        clock: HostClock,
    ) -> Result<Self, MidiError> {
        let listing = MidiInput::new(CLIENT)?;
        let wanted = wanted.map(str::to_owned);
        let made = Names::default();
        let mut inputs =
            SystemInputs { listing, wanted, driver, clock, open: Vec::new(), made: Arc::clone(&made) };
        let mut refused = Vec::new();
        for (name, port) in inputs.ports() {
            if let Err(why) = inputs.join(&name, &port) {
                refused.push(format!("{name} does not open ({why})."));
            }
        }
        let first: VecDeque<String> = inputs.open.iter().map(|(name, _)| name.clone()).collect();
        let watch = InputWatch::over(inputs, first.iter().cloned().collect())?;
        Ok(Self { arrivals: Arrivals::new(session), first, refused, watch, made })
    }

    /// What has to be said: inputs that refuse, or that there is none.
    pub fn said(&self) -> Vec<String> {
        let none = self.first.is_empty().then(|| NO_NOTES.to_owned());
        self.refused.iter().cloned().chain(none).collect()
    }
}

fn made_so_far(made: &Names) -> MutexGuard<'_, Vec<String>> {
    // Names are added whole: what a thread that panicked left is still good to read.
    made.lock().unwrap_or_else(PoisonError::into_inner)
}

impl SystemInputs {
    /// The wanted inputs, each by the name that stays over a replug.
    fn ports(&self) -> Vec<(String, MidiInputPort)> {
        let ports = self.listing.ports().into_iter();
        let named = ports.filter_map(|port| Some((self.listing.port_name(&port).ok()?, port)));
        let wanted = named.filter(|(name, _)| is_wanted(name, self.wanted.as_deref()));
        let (names, ports): (Vec<String>, Vec<MidiInputPort>) =
            wanted.map(|(name, port)| (plain_name(&name).to_owned(), port)).unzip();
        told_apart(names).into_iter().zip(ports).collect()
    }

    fn join(&mut self, name: &str, port: &MidiInputPort) -> Result<(), String> {
        let mut input = MidiInput::new(CLIENT).map_err(|error| error.to_string())?;
        // Clocks and active sensing come many times a second and say nothing here; system exclusive is too long.
        input.ignore(Ignore::All);
        let (driver, clock, port_index) = (self.driver.clone(), self.clock, made_so_far(&self.made).len());
        let hand_over = move |stamp_us: u64, bytes: &[u8], (): &mut ()| {
            let arrived = clock.now();
            if let Some(message) = ShortMessage::new(bytes) {
                let at = Nanos(i64::try_from(stamp_us.saturating_mul(1000)).unwrap_or(i64::MAX));
                let stamp = Stamp::Driver { at, arrived };
                driver.give(DriverMessage { port: port_index, stamp, message });
            }
        };
        let open = input.connect(port, "in", hand_over, ()).map_err(|error| error.to_string())?;
        self.open.push((name.to_owned(), open));
        made_so_far(&self.made).push(name.to_owned());
        Ok(())
    }
}

impl Inputs for SystemInputs {
    fn there(&mut self) -> Option<Vec<String>> {
        Some(self.ports().into_iter().map(|(name, _)| name).collect())
    }

    fn connect(&mut self, name: &str) -> bool {
        let port = self.ports().into_iter().find(|(there, _)| there == name);
        port.is_some_and(|(name, port)| self.join(&name, &port).is_ok())
    }

    fn release(&mut self, name: &str) {
        self.open.retain(|(open, _)| open != name);
    }
}

/// The names of the inputs there are; none where the system has no MIDI.
pub fn names() -> Vec<String> {
    listed().unwrap_or_default()
}

/// The names of the inputs there are, or why nobody can tell.
pub fn listed() -> Result<Vec<String>, MidiError> {
    let listing = MidiInput::new(CLIENT)?;
    let names = listing.ports().into_iter().filter_map(|port| listing.port_name(&port).ok());
    Ok(told_apart(names.map(|name| plain_name(&name).to_owned()).collect()))
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

    fn input_news(&mut self) -> Option<InputNews> {
        self.first.pop_front().map(InputNews::Come).or_else(|| self.watch.news())
    }

    fn heard_last(&self) -> Option<String> {
        made_so_far(&self.made).get(self.arrivals.heard_last()?).cloned()
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
