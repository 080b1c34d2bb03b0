//! `calibrate`: measures how late an instrument's notes arrive, by notes played along with clicks, and remembers it.

mod by_ear;
mod clicks;

use std::io::{self, IsTerminal};
use std::path::{Path, PathBuf};
use std::time::Duration;

use clap::Args;

use crate::live::calibration::{CLICKS, Measured, Model, Struck, measure};
use crate::live::keep::KeeperEnd;
use crate::live::moment::Place;
use crate::live::{self, NotesChoice, Stopped, ViewEnd};
use crate::report::OutputForm;
use crate::report::calibration::CalibrationDocument;
use crate::report::cautions::HEARING;
use crate::store::device_facts::{DeviceFacts, FactsError};
use crate::store::takes::FOLDER_VARIABLE;
use crate::take::{ChannelMessage, Imprint, Meaning, MidiFile};
use crate::theory::Pitch;
use crate::time::{NanoSpan, Nanos, TICKS_PER_QUARTER, Ticks};

use super::exit_status::{Ending, Failure};
use super::load;
use super::one_input::one_input;
use super::output::Output;
use super::sound_args::SoundArgs;
use super::values::Milliseconds;
use clicks::{Round, rounds, to_play_to};

/// What `calibrate` takes.
#[derive(Clone, Debug, PartialEq, Args)]
pub struct CalibrateArgs {
    /// Two rounds, on the lowest open string and on the highest: for a guitar whose strings are turned into MIDI
    #[arg(long)]
    pub guitar: bool,
    /// Move the offset that is kept by so many milliseconds, and measure nothing
    #[arg(long, value_name = "N", allow_hyphen_values = true, conflicts_with_all = ["guitar", "midi_file"])]
    pub nudge_ms: Option<Milliseconds>,
    /// Keep what was measured without hearing it first
    #[arg(long, conflicts_with = "nudge_ms")]
    pub yes: bool,
    /// The MIDI input with this name, or a part of it
    #[arg(long, value_name = "PORT")]
    pub midi_from: Option<String>,
    /// Measure from this MIDI file: played to the clicks, the first of them at the file's start
    #[arg(long, value_name = "F")]
    pub midi_file: Option<PathBuf>,
    /// Where sound goes
    #[command(flatten)]
    pub sound: SoundArgs,
}

/// How often it is looked whether the player has to be told something.
const LOOK: Duration = Duration::from_millis(20);

/// Carries the command out.
pub fn run(args: &CalibrateArgs, out: &mut Output) -> Result<Ending, Failure> {
    let mut facts = DeviceFacts::of_user(std::env::var_os(FOLDER_VARIABLE))?;
    if let Some(by) = args.nudge_ms {
        return nudge(args, by.get(), &mut facts, out);
    }
    let model = if args.guitar { Model::PitchTracker } else { Model::Constant };
    let (device, notes) = if let Some(path) = &args.midi_file {
        (args.midi_from.clone(), notes_of_file(path)?)
    } else {
        let device = device(args, &facts)?;
        let Some(notes) = notes_played(args, &device, model, out)? else { return Ok(Ending::Interrupted) };
        (Some(device), notes)
    };
    let rounds = rounds(&notes, model);
    match measure(&rounds, model) {
        Ok(measured) => {
            if let Some(measured) = heard(args, device.as_deref(), measured, &rounds, out)? {
                return keep(device.as_deref(), &measured, &mut facts, out);
            }
            out.remark("Nothing is kept.");
            Ok(Ending::NoVerdict)
        }
        Err(why) => {
            out.remark(&format!("{why}. Nothing is kept."));
            Ok(Ending::NoVerdict)
        }
    }
}

/// Lets the player hear what was measured, and move it; `None` where it is not to be kept. Where nobody can be asked it is
/// kept unheard, and that is said.
fn heard(
    args: &CalibrateArgs,
    device: Option<&str>,
    measured: Measured,
    rounds: &[Round],
    out: &mut Output,
) -> Result<Option<Measured>, Failure> {
    let asks = io::stdin().is_terminal() && out.form() != OutputForm::Json && !args.sound.no_audio;
    if device.is_none() || args.yes {
        return Ok(Some(measured));
    }
    if !asks {
        out.remark("Kept unheard. To confirm it by ear, calibrate on a terminal with sound; --nudge-ms N moves it by N ms.");
        return Ok(Some(measured));
    }
    let sound = args.sound.choice()?;
    let play = |latency, out: &mut Output| by_ear::play(rounds, latency, &sound, out);
    let latency = by_ear::confirmed(measured.latency, &mut io::stdin().lock(), play, out)?;
    Ok(latency.map(|latency| Measured { latency, ..measured }))
}

/// Writes down what was measured, where it belongs to a device, and reports it.
fn keep(
    device: Option<&str>,
    measured: &Measured,
    facts: &mut DeviceFacts,
    out: &mut Output,
) -> Result<Ending, Failure> {
    // A hundredth of a millisecond is finer than any of this can be.
    let rounded = |span: NanoSpan| (span.in_millis() * 100.0).round() / 100.0;
    let (offset, spread) = (rounded(measured.latency.constant), rounded(measured.spread));
    let mut document = CalibrationDocument {
        spread_ms: Some(spread),
        notes: Some(measured.notes),
        of: Some(measured.of),
        ..CalibrationDocument::new(device.map(str::to_owned), offset, measured.latency.periods)
    };
    if let Some(device) = device {
        facts.learn(device, |fact| {
            fact.offset_ms = Some(offset);
            fact.offset_periods = Some(measured.latency.periods);
            fact.spread_ms = Some(spread);
        })?;
        document.stored = Some(facts.path().display().to_string());
    }
    out.result(&document.table(), &document)?;
    Ok(Ending::Fine)
}

/// Moves the offset that is kept for a device.
fn nudge(
    args: &CalibrateArgs,
    by: f64,
    facts: &mut DeviceFacts,
    out: &mut Output,
) -> Result<Ending, Failure> {
    let wanted = args.midi_from.as_deref().unwrap_or_default().to_lowercase();
    let with_offset = |name: &&str| facts.of(name).is_some_and(|fact| fact.offset_ms.is_some());
    let known: Vec<String> = facts.names().filter(with_offset).map(str::to_owned).collect();
    let mut meant = known.iter().filter(|name| name.to_lowercase().contains(&wanted));
    let (Some(device), None) = (meant.next(), meant.next()) else {
        return Err(Failure::bad_input(match known.as_slice() {
            [] => "--nudge-ms: no offset is kept yet. Measure one with barwise calibrate".to_owned(),
            known => format!("--nudge-ms: name one device with --midi-from; known: {}", known.join(", ")),
        }));
    };
    let fact = facts.of(device).cloned().unwrap_or_default();
    let offset = (fact.offset_ms.unwrap_or_default() + by).clamp(-500.0, 500.0);
    facts.learn(device, |fact| fact.offset_ms = Some(offset))?;
    let document = CalibrationDocument {
        stored: Some(facts.path().display().to_string()),
        ..CalibrationDocument::new(Some(device.clone()), offset, fact.offset_periods.unwrap_or_default())
    };
    out.result(&document.table(), &document)?;
    Ok(Ending::Fine)
}

impl From<FactsError> for Failure {
    fn from(error: FactsError) -> Self {
        Self::store(error.to_string())
    }
}

/// The one device that is measured.
fn device(args: &CalibrateArgs, facts: &DeviceFacts) -> Result<String, Failure> {
    if args.sound.no_audio {
        return Err(Failure::bad_input(
            "--no-audio: the clicks must be heard. --midi-file F measures from a file that was played to clicks",
        ));
    }
    one_input(args.midi_from.as_deref(), args.sound.audio_host.as_deref(), facts)
}

/// The notes of a file, from its bar 1 where it is a take of ours, else from its start.
fn notes_of_file(path: &Path) -> Result<Vec<Struck>, Failure> {
    let bytes = load::midi_bytes(path)?;
    let failed = |why: String| Failure::bad_input(format!("{}: {why}", path.display()));
    let midi = MidiFile::parse(&bytes).map_err(|error| failed(error.to_string()))?;
    let track = midi.solo_track(None).map_err(|error| failed(error.to_string()))?;
    let start = midi.tempo.nanos(Imprint::of(&midi).as_ref().map_or(Ticks::ZERO, Imprint::start));
    let timed = midi.tracks[track].messages.iter();
    Ok(timed.filter_map(|timed| struck(Nanos::ZERO + (timed.at - start), timed.message)).collect())
}

fn struck(at: Nanos, message: ChannelMessage) -> Option<Struck> {
    match message.meaning() {
        Meaning::NoteOn { key, .. } => Some(Struck { at, pitch: Pitch::new(key)? }),
        _ => None,
    }
}

/// Sounds the clicks and hears the notes; `None` where it was stopped before the end.
fn notes_played(
    args: &CalibrateArgs,
    device: &str,
    model: Model,
    out: &mut Output,
) -> Result<Option<Vec<Struck>>, Failure> {
    let plan = to_play_to(model, args.sound.choice()?, NotesChoice::PortsNamed(device.to_owned()))?;
    out.remark(HEARING);
    let played = live::play(&plan, KeeperEnd::nobody(), |end| guide(model, end, out))?;
    for sentence in &played.said {
        out.remark(sentence);
    }
    if played.stopped != Stopped::AtTheEnd {
        return Ok(None);
    }
    let first = played.tempo.nanos(Ticks::ZERO + played.count_in);
    let notes = played.messages.iter().filter_map(|stamped| {
        let message = ChannelMessage::from_wire(stamped.message.bytes())?;
        struck(Nanos::ZERO + (stamped.at - first), message)
    });
    Ok(Some(notes.collect()))
}

/// Tells the player what to play, each thing when it is time.
fn guide(model: Model, end: &ViewEnd, out: &mut Output) -> io::Result<()> {
    let second = Ticks((CLICKS as i64) * TICKS_PER_QUARTER);
    let (first_words, second_words) = match model {
        Model::Constant => {
            ("After the count-in, play one and the same note on each of 20 clicks, short and even.", "")
        }
        Model::PitchTracker => (
            "After the count-in, play the open low string on each of 20 clicks, short and even.",
            "Now the open high string: a bar of four, then 20 clicks again.",
        ),
    };
    out.remark(first_words);
    let mut told = second_words.is_empty();
    loop {
        match end.latest().get().place {
            Place::Over => return Ok(()),
            Place::Playing { at, .. } if !told && at >= second => {
                told = true;
                out.remark(second_words);
            }
            _ => std::thread::sleep(LOOK),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::values::tests::{parsed, refused};

    #[test]
    fn a_nudge_measures_nothing() {
        assert_eq!(
            parsed::<CalibrateArgs>(&["--nudge-ms", "-5"]).nudge_ms.map(Milliseconds::get),
            Some(-5.0)
        );
        assert!(refused::<CalibrateArgs>(&["--nudge-ms", "5", "--guitar"]).contains("cannot be used with"));
    }

    #[test]
    fn clicks_that_nobody_hears_measure_nothing() {
        let args = parsed::<CalibrateArgs>(&["--no-audio"]);
        let folder = tempfile::tempdir().expect("a folder");
        let facts = DeviceFacts::of_user(Some(folder.path().into())).expect("nothing known yet");
        assert!(device(&args, &facts).expect_err("no clicks").message().contains("must be heard"));
    }
}
