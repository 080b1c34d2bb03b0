//! `soundcheck --learn-low-note`: which note, struck twice, begins a take. Off until it is learnt; `--forget-low-note` puts it
//! off again.

use crate::command::exit_status::{Ending, Failure};
use crate::command::output::Output;
use crate::live::begin_cues::StruckTwice;
use crate::live::listening::Heard;
use crate::store::device_facts::{DeviceFacts, LowNoteFact};
use crate::store::takes::FOLDER_VARIABLE;
use crate::theory::spelling::Accidental;
use crate::theory::{NoteName, Pitch};
use crate::time::{NanoSpan, Nanos};

use super::SoundcheckArgs;
use super::listen::{begin_with, device_of};

/// How long the note is waited for.
const PATIENCE: NanoSpan = NanoSpan::millis(20_000);
/// From here on (middle C) a note is no low one: it would be struck twice by chance.
const TOO_HIGH: u8 = 60;

/// Learns the note and remembers it for the device.
pub fn learn_low_note(args: &SoundcheckArgs, out: &mut Output) -> Result<Ending, Failure> {
    let mut facts = DeviceFacts::of_user(std::env::var_os(FOLDER_VARIABLE))?;
    let device = device_of(args, &facts)?;
    let mut listening = begin_with(&device, args, out)?;
    out.remark(
        "Play the lowest note twice within a second: a guitar its open low string, keys their lowest key.",
    );
    let mut struck = StruckTwice::default();
    let pitch = loop {
        match listening.hear() {
            Heard::Message(message) => {
                if let Some(pitch) = struck.hear(&message) {
                    break pitch;
                }
            }
            Heard::Over => return Err(nothing_heard()),
            _ if listening.now() > Nanos::ZERO + PATIENCE => return Err(nothing_heard()),
            _ => {}
        }
    };
    let name = name(pitch);
    if pitch.key() >= TOO_HIGH {
        out.remark(&format!(
            "{name} is no low note: in play it would be struck twice by chance. Nothing is kept."
        ));
        return Ok(Ending::NoVerdict);
    }
    facts.learn(&device, |fact| fact.low_note = Some(LowNoteFact { key: pitch.key() }))?;
    out.remark(&format!(
        "Learnt for {device}: {name}, struck twice within a second, begins a take of play --wait. While the clock runs it is music."
    ));
    Ok(Ending::Fine)
}

fn nothing_heard() -> Failure {
    Failure::device("no note was struck twice within a second. barwise soundcheck --listen shows what comes")
}

/// Puts the cue off again.
pub fn forget_low_note(args: &SoundcheckArgs, out: &mut Output) -> Result<Ending, Failure> {
    let mut facts = DeviceFacts::of_user(std::env::var_os(FOLDER_VARIABLE))?;
    let wanted = args.midi_from.as_deref().unwrap_or_default().to_lowercase();
    let knows_one = |name: &&str| facts.of(name).is_some_and(|fact| fact.low_note.is_some());
    let known = facts.names().filter(|name| name.to_lowercase().contains(&wanted)).filter(knows_one);
    let known: Vec<String> = known.map(str::to_owned).collect();
    for device in &known {
        facts.learn(device, |fact| fact.low_note = None)?;
    }
    out.remark(&match known.as_slice() {
        [] => "No low note was learnt: nothing is changed.".to_owned(),
        known => format!("No low note begins a take any more on {}.", known.join(", ")),
    });
    Ok(Ending::Fine)
}

fn name(pitch: Pitch) -> String {
    pitch.written(NoteName::plain(pitch.pitch_class(), Accidental::Flat)).to_string()
}
