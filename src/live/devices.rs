//! The doors by which devices come in: one trait for sound out, one for the player's notes.
//!
//! Both are used on the session's thread only; what an adapter shares with a driver's thread it gets from
//! [`super::wires`].

use super::clock::{HostClock, TakeClock};
use super::midi_from_file::MidiFromFile;
use super::plan::{FileStart, NotesChoice, SoundChoice};
use super::silent::{NobodyPlays, SilentSound};
use super::wires::{AudioEnd, DriverEnd, FromAudio, MessagesEnd, StampedMessage, ToAudio, ToAudioEnd};
use crate::time::{FrameRate, NanoSpan, Nanos};

/// A sound output.
pub trait SoundOut {
    /// Frames a second.
    fn rate(&self) -> FrameRate;
    /// Sends an order to the audio thread, or gives it back where there is no room yet.
    fn send(&mut self, order: ToAudio) -> Result<(), ToAudio>;
    /// The oldest news not yet taken, its `heard_at` on the host's clock.
    fn news(&mut self, now: Nanos) -> Option<FromAudio>;
    /// Whether the device still runs.
    fn state(&mut self) -> SoundState;
}

/// Whether a sound device still runs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SoundState {
    /// It does.
    Runs,
    /// It is gone, and why.
    Lost(String),
}

/// A source of the player's notes.
pub trait NotesIn {
    /// The next message that has arrived by `now`, stamped with the take's time.
    fn next(&mut self, clock: &TakeClock, now: Nanos) -> Option<StampedMessage>;
    /// Messages dropped so far.
    fn dropped(&self) -> u64;
}

/// The open devices of a session, and what had to be said while they were opened.
pub struct Devices {
    /// Sound out.
    pub sound: Box<dyn SoundOut>,
    /// The player's notes.
    pub notes: Box<dyn NotesIn>,
    /// One sentence for each thing that is not as asked.
    pub said: Vec<String>,
}

/// What a session says when nothing sounds.
pub const NO_SOUND: &str = "No sound device: playing on with the visible beat.";
/// What a session says when no MIDI input is found.
pub const NO_NOTES: &str = "No MIDI input: nothing you play is heard. Connect it and start again.";

/// Opens what is asked for. What cannot be opened is replaced by its silent form, and said.
pub fn open(
    sound_choice: &SoundChoice,
    notes: &NotesChoice,
    count_in: NanoSpan,
    (audio, midi): ((ToAudioEnd, AudioEnd), (MessagesEnd, DriverEnd)),
    clock: HostClock,
) -> Devices {
    let mut said = Vec::new();
    // Sound libraries tell of every device that is not there; what matters of it is said by us.
    #[cfg(all(unix, feature = "live"))]
    let _hushed = super::stderr_guard::StderrGuard::lead_to(None);
    let sound: Box<dyn SoundOut> = match open_sound(sound_choice, audio, clock) {
        Ok(sound) => sound,
        Err(why) => {
            said.push(format!("{NO_SOUND} ({why})"));
            Box::new(SilentSound::new(clock.now()))
        }
    };
    let notes: Box<dyn NotesIn> = match notes {
        NotesChoice::Nobody => Box::new(NobodyPlays),
        NotesChoice::File { from, messages } => {
            let shift = match from {
                FileStart::CountIn => NanoSpan::ZERO,
                FileStart::BarOne => count_in,
            };
            Box::new(MidiFromFile::new(messages, shift))
        }
        NotesChoice::Ports => open_ports(sound_choice, None, midi, clock, &mut said),
        NotesChoice::PortsNamed(name) => open_ports(sound_choice, Some(name), midi, clock, &mut said),
    };
    Devices { sound, notes, said }
}

#[cfg(feature = "live")]
fn open_sound(
    choice: &SoundChoice,
    wires: (ToAudioEnd, AudioEnd),
    clock: HostClock,
) -> Result<Box<dyn SoundOut>, String> {
    let host = match choice {
        SoundChoice::Silent => return Ok(Box::new(SilentSound::new(clock.now()))),
        SoundChoice::Default => None,
        SoundChoice::Host(name) => Some(name.as_str()),
    };
    match super::audio::CpalSound::open(host, wires, clock) {
        Ok(sound) => Ok(Box::new(sound)),
        Err(error) => Err(error.to_string()),
    }
}

#[cfg(not(feature = "live"))]
fn open_sound(
    choice: &SoundChoice,
    _: (ToAudioEnd, AudioEnd),
    clock: HostClock,
) -> Result<Box<dyn SoundOut>, String> {
    match choice {
        SoundChoice::Silent => Ok(Box::new(SilentSound::new(clock.now()))),
        SoundChoice::Default | SoundChoice::Host(_) => Err("this build has no sound".to_owned()),
    }
}

#[cfg(feature = "live")]
fn open_ports(
    sound: &SoundChoice,
    name: Option<&str>,
    wires: (MessagesEnd, DriverEnd),
    clock: HostClock,
    said: &mut Vec<String>,
) -> Box<dyn NotesIn> {
    // Who asks for JACK has the instrument there too, stamped on the clock of the sound.
    #[cfg(feature = "jack")]
    if *sound == SoundChoice::Host(super::audio::JACK.to_owned()) {
        return open_jack_port(name, wires, clock, said);
    }
    let _ = sound;
    match super::midi_in::MidiIn::open(name, wires, clock) {
        Ok(ports) => {
            said.extend(ports.said());
            Box::new(ports)
        }
        Err(error) => {
            said.push(format!("{NO_NOTES} ({error})"));
            Box::new(NobodyPlays)
        }
    }
}

#[cfg(not(feature = "live"))]
fn open_ports(
    _: &SoundChoice,
    _: Option<&str>,
    _: (MessagesEnd, DriverEnd),
    _: HostClock,
    said: &mut Vec<String>,
) -> Box<dyn NotesIn> {
    said.push(format!("{NO_NOTES} (this build has no MIDI input)"));
    Box::new(NobodyPlays)
}

#[cfg(feature = "jack")]
fn open_jack_port(
    name: Option<&str>,
    wires: (MessagesEnd, DriverEnd),
    clock: HostClock,
    said: &mut Vec<String>,
) -> Box<dyn NotesIn> {
    match super::midi_in_jack::JackMidiIn::open(name, wires, clock) {
        Ok(port) => {
            said.extend(port.said());
            Box::new(port)
        }
        Err(error) => {
            said.push(format!("{NO_NOTES} ({error})"));
            Box::new(NobodyPlays)
        }
    }
}
