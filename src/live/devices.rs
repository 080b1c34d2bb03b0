//! The doors by which devices come in: one trait for sound out, one for the player's notes.
//!
//! Both are used on the session's thread only; what an adapter shares with a driver's thread it gets from
//! [`super::wires`].

use std::sync::Arc;

use super::buffer::Buffer;
use super::clock::{HostClock, TakeClock};
use super::midi_from_file::MidiFromFile;
use super::plan::{FileStart, NotesChoice, SoundChoice, SoundNames};
use super::reopen::{Lost, Open, OpenAgain, Opening, Pair, Reopening};
use super::silent::{NobodyPlays, SilentSound};
use super::wires::{
    AudioEnd, DriverEnd, FromAudio, MessagesEnd, StampedMessage, ToAudio, ToAudioEnd, audio_wires, midi_wires,
};
use crate::time::{FrameRate, NanoSpan, Nanos};

/// A sound output. It may be let go of on another thread than the session's: a dead server takes its time.
pub trait SoundOut: Send {
    /// Frames a second.
    fn rate(&self) -> FrameRate;
    /// Frames a second of the device itself, where the take counts others.
    fn device_rate(&self) -> FrameRate {
        self.rate()
    }
    /// Sends an order to the audio thread, or gives it back where there is no room yet.
    fn send(&mut self, order: ToAudio) -> Result<(), ToAudio>;
    /// The oldest news not yet taken, its `heard_at` on the host's clock.
    fn news(&mut self, now: Nanos) -> Option<FromAudio>;
    /// Whether the device still runs.
    fn state(&mut self) -> SoundState;
    /// How often the device ran out of sound so far; `None` where no device tells.
    fn underruns(&self) -> Option<u64>;
}

/// Whether a sound device still runs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SoundState {
    /// It does.
    Runs,
    /// It is gone, and why.
    Lost(String),
    /// It ran dry again and again, and is better opened anew with this many frames a buffer.
    Stutters(u32),
    /// It takes sound much faster than anybody could hear it: no true device, and not worth opening again.
    Outruns,
}

/// Says that an input came or went, by its name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum InputNews {
    /// It is connected; also said, once, of those that were there from the start.
    Come(String),
    /// It is gone.
    Gone(String),
}

/// A source of the player's notes.
pub trait NotesIn: Send {
    /// The next message that has arrived by `now`, stamped with the take's time.
    fn next(&mut self, clock: &TakeClock, now: Nanos) -> Option<StampedMessage>;
    /// Messages dropped so far.
    fn dropped(&self) -> u64;
    /// How often so far its server passed it over: what was played in those moments is lost.
    fn passed_over(&self) -> u64 {
        0
    }
    /// The oldest news of inputs that came or went, where somebody watches them.
    fn input_news(&mut self) -> Option<InputNews> {
        None
    }
    /// The name of the input that the last note came by; `None` where that cannot be told.
    fn heard_last(&self) -> Option<String> {
        None
    }
    /// Whether no more notes can come, ever.
    fn is_over(&self) -> bool {
        false
    }
    /// Whether it hears by the server that the sound goes to, and falls silent with it.
    fn goes_with_sound(&self) -> bool {
        false
    }
}

/// The open devices of a session, and what had to be said while they were opened.
pub struct Devices {
    /// Sound out.
    pub sound: Box<dyn SoundOut>,
    /// The player's notes.
    pub notes: Box<dyn NotesIn>,
    /// One sentence for each thing that is not as asked.
    pub said: Vec<String>,
    /// Opens what is lost in mid-take again.
    pub open_again: OpenAgain,
}

/// What a session says when nothing sounds.
pub const NO_SOUND: &str = "No sound device: playing on with the visible beat.";
/// What a session says when no MIDI input is found.
pub const NO_NOTES: &str = "No MIDI input: nothing you play is heard until one is connected.";

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
    let buffer = Arc::new(Buffer::default());
    let sound: Box<dyn SoundOut> = match open_sound(sound_choice, audio, clock, &buffer) {
        Ok(sound) => sound,
        Err(why) => {
            said.push(format!("{NO_SOUND} ({why})"));
            Box::new(SilentSound::new(clock.now()))
        }
    };
    let wanted = if let NotesChoice::PortsNamed(name) = notes { Some(name.clone()) } else { None };
    let notes = open_notes(sound_choice, notes, count_in, midi, clock, &mut said);
    Devices { sound, notes, said, open_again: open_again(sound_choice.clone(), wanted, clock, buffer) }
}

/// Opens where the player's notes come from; `said` takes what is not as asked.
fn open_notes(
    sound: &SoundChoice,
    notes: &NotesChoice,
    count_in: NanoSpan,
    wires: (MessagesEnd, DriverEnd),
    clock: HostClock,
    said: &mut Vec<String>,
) -> Box<dyn NotesIn> {
    match notes {
        NotesChoice::Nobody => Box::new(NobodyPlays),
        NotesChoice::File { from, messages } => {
            let shift = match from {
                FileStart::CountIn => NanoSpan::ZERO,
                FileStart::BarOne => count_in,
            };
            Box::new(MidiFromFile::new(messages, shift))
        }
        NotesChoice::Ports => open_ports(sound, None, wires, clock, said),
        NotesChoice::PortsNamed(name) => open_ports(sound, Some(name), wires, clock, said),
    }
}

/// Opens where notes come from outside of a take, and says what is not as asked.
pub fn open_notes_alone(
    sound: &SoundChoice,
    notes: &NotesChoice,
    clock: HostClock,
) -> (Box<dyn NotesIn>, Vec<String>) {
    #[cfg(all(unix, feature = "live"))]
    let _hushed = super::stderr_guard::StderrGuard::lead_to(None);
    let mut said = Vec::new();
    let notes = open_notes(sound, notes, NanoSpan::ZERO, midi_wires(), clock, &mut said);
    (notes, said)
}

/// How what is lost is opened again: as it was opened first, with wires of its own.
fn open_again(
    sound: SoundChoice,
    wanted: Option<String>,
    clock: HostClock,
    buffer: Arc<Buffer>,
) -> OpenAgain {
    let open: Open = Arc::new(move |lost| {
        #[cfg(all(unix, feature = "live"))]
        let _hushed = super::stderr_guard::StderrGuard::lead_to(None);
        // Why it is not there yet is no news: that it is gone was said.
        let opened = open_sound(&sound, audio_wires(), clock, &buffer).ok()?;
        let notes = (lost == Lost::SoundAndNotes)
            .then(|| open_ports(&sound, wanted.as_deref(), midi_wires(), clock, &mut Vec::new()));
        Some(Pair { sound: opened, notes })
    });
    Box::new(move |dead| Ok(Box::new(Reopening::begin(dead, Arc::clone(&open))?) as Box<dyn Opening>))
}

#[cfg(feature = "live")]
fn open_sound(
    choice: &SoundChoice,
    wires: (ToAudioEnd, AudioEnd),
    clock: HostClock,
    buffer: &Arc<Buffer>,
) -> Result<Box<dyn SoundOut>, String> {
    let SoundChoice::Device(names) = choice else { return Ok(Box::new(SilentSound::new(clock.now()))) };
    match super::audio::CpalSound::open(names, wires, clock, Arc::clone(buffer)) {
        Ok(sound) => Ok(Box::new(sound)),
        Err(error) => Err(error.to_string()),
    }
}

#[cfg(not(feature = "live"))]
fn open_sound(
    choice: &SoundChoice,
    _: (ToAudioEnd, AudioEnd),
    clock: HostClock,
    _: &Arc<Buffer>,
) -> Result<Box<dyn SoundOut>, String> {
    match choice {
        SoundChoice::Silent => Ok(Box::new(SilentSound::new(clock.now()))),
        SoundChoice::Device(_) => Err(NO_SOUND_BUILT.to_owned()),
    }
}

/// Says of a build without devices that it has no sound.
#[cfg(not(feature = "live"))]
const NO_SOUND_BUILT: &str = "this build has no sound";

/// Whether the sound device asked for by these names is there and tells its format; else what is there instead.
#[cfg(feature = "live")]
pub fn sound_is_there(names: &SoundNames) -> Result<(), String> {
    #[cfg(unix)]
    let _hushed = super::stderr_guard::StderrGuard::lead_to(None);
    super::audio::find(names)
        .and_then(|found| found.format())
        .map(drop)
        .map_err(|error| error.with_what_is_there())
}

/// Whether the sound device asked for by these names is there: this build has none.
#[cfg(not(feature = "live"))]
pub fn sound_is_there(_: &SoundNames) -> Result<(), String> {
    Err(NO_SOUND_BUILT.to_owned())
}

/// The names of the MIDI inputs there are. JACK's own input is one that any program may be connected to.
#[cfg(feature = "live")]
pub fn notes_in_names(host: Option<&str>) -> Vec<String> {
    #[cfg(unix)]
    let _hushed = super::stderr_guard::StderrGuard::lead_to(None);
    match host {
        #[cfg(feature = "jack")]
        Some(super::audio::JACK) => super::midi_in_jack::names(),
        _ => super::midi_in::names(),
    }
}

/// The names of the MIDI inputs there are: this build has none.
#[cfg(not(feature = "live"))]
pub fn notes_in_names(_: Option<&str>) -> Vec<String> {
    Vec::new()
}

/// Opens MIDI inputs: where the sound goes to JACK, JACK's own, stamped on the clock of the sound; else the system's.
#[cfg(feature = "live")]
fn open_ports(
    sound: &SoundChoice,
    name: Option<&str>,
    wires: (MessagesEnd, DriverEnd),
    clock: HostClock,
    said: &mut Vec<String>,
) -> Box<dyn NotesIn> {
    let opened = match sound {
        #[cfg(feature = "jack")]
        SoundChoice::Device(SoundNames { host: Some(host), .. }) if host == super::audio::JACK => {
            open_jack_port(name, wires, clock)
        }
        _ => open_system_ports(name, wires, clock),
    };
    let (notes, to_say) =
        opened.unwrap_or_else(|why| (Box::new(NobodyPlays), vec![format!("{NO_NOTES} ({why})")]));
    said.extend(to_say);
    notes
}

/// Open inputs and what has to be said of them, or why there are none.
#[cfg(feature = "live")]
type Opened = Result<(Box<dyn NotesIn>, Vec<String>), String>;

#[cfg(feature = "live")]
fn open_system_ports(name: Option<&str>, wires: (MessagesEnd, DriverEnd), clock: HostClock) -> Opened {
    let ports = super::midi_in::MidiIn::open(name, wires, clock).map_err(|error| error.to_string())?;
    let said = ports.said();
    Ok((Box::new(ports), said))
}

#[cfg(feature = "jack")]
fn open_jack_port(name: Option<&str>, wires: (MessagesEnd, DriverEnd), clock: HostClock) -> Opened {
    let port =
        super::midi_in_jack::JackMidiIn::open(name, wires, clock).map_err(|error| error.to_string())?;
    let said = port.said().into_iter().collect();
    Ok((Box::new(port), said))
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
