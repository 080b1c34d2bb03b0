//! `play --wait`: takes one after the other, each begun by a cue, so that both hands stay on the instrument.
//!
//! It waits before each take, while no clock runs: a note struck then may be a cue, and none in a take is.

use std::io::IsTerminal;
use std::time::Duration;

use ratatui::crossterm::event::KeyCode;

use crate::command::exit_status::{Ending, Failure};
use crate::command::output::Output;
use crate::live::begin_cues::BeginCues;
use crate::live::listening::{Heard, Listening};
use crate::live::{NotesChoice, SoundChoice};
use crate::report::OutputForm;
use crate::screen::input::Keys;

use super::{PlayArgs, learnt, notes};

/// What the player asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Asked {
    Take,
    NoMore,
}

/// Plays a take at each cue until the player has had enough; the last one decides how that ends.
pub(super) fn takes(
    args: &PlayArgs,
    out: &mut Output,
    mut take: impl FnMut(&mut Output) -> Result<Ending, Failure>,
) -> Result<Ending, Failure> {
    if out.form() == OutputForm::Json {
        return Err(Failure::bad_input(
            "--wait plays several takes, and --json prints one document: leave one out",
        ));
    }
    // A name that was misspelt is said at once; an instrument that is switched off between two takes is waited for.
    notes(args, None)?;
    let mut ending = Ending::Fine;
    while ending != Ending::Interrupted && for_cue(args, out)? == Asked::Take {
        ending = take(out)?;
    }
    Ok(ending)
}

/// Waits for a cue. A file that is heard as if it were played gives none: there the keys alone do.
fn for_cue(args: &PlayArgs, out: &mut Output) -> Result<Asked, Failure> {
    let heard = match (&args.midi_file, &args.midi_from) {
        (Some(_), _) => NotesChoice::Nobody,
        (None, Some(name)) => NotesChoice::PortsNamed(name.clone()),
        (None, None) => NotesChoice::Ports,
    };
    let mut cues = learnt::cues(&heard, args.sound.audio_host.as_deref());
    let keys = if std::io::stdin().is_terminal() { Keys::listen().ok() } else { None };
    out.remark(&invitation(&cues, keys.is_some())?);
    let (mut listening, _) = Listening::begin(&SoundChoice::Device(args.sound.names()), &heard)?;
    loop {
        match listening.hear() {
            Heard::Message(message) if cues.hear(&message) => return Ok(Asked::Take),
            Heard::Over => return Ok(Asked::NoMore),
            Heard::Message(_) | Heard::Input(_) | Heard::Nothing => {}
        }
        match keys.as_ref().and_then(|keys| keys.next(Duration::ZERO)).map(|key| key.code) {
            Some(KeyCode::Enter | KeyCode::Char(' ')) => return Ok(Asked::Take),
            Some(KeyCode::Char('q')) => return Ok(Asked::NoMore),
            _ => {}
        }
    }
}

/// What begins a take and what ends the waiting, in words.
fn invitation(cues: &BeginCues, has_keys: bool) -> Result<String, Failure> {
    const LEARN: &str =
        "barwise soundcheck --learn-foot or --learn-low-note teaches it a cue for the instrument";
    let cues = cues.words();
    let only_enter = cues.is_empty();
    let mut all = if has_keys { vec!["Enter".to_owned()] } else { Vec::new() };
    all.extend(cues);
    let Some((last, others)) = all.split_last() else {
        let nothing = "--wait: nothing could begin a take: there is no terminal, and no cue was learnt";
        return Err(Failure::bad_input(format!("{nothing}. {LEARN}")));
    };
    let begins = if others.is_empty() { last.clone() } else { format!("{} or {last}", others.join(", ")) };
    let ends = if has_keys { "q and Enter ends" } else { "Ctrl-C ends" };
    let more = if only_enter { format!(" {LEARN}.") } else { String::new() };
    Ok(format!("{begins} begins a take; {ends}.{more}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::theory::Pitch;

    fn check(low_note: Option<u8>, has_keys: bool, expect: Result<&str, &str>) {
        let cues = BeginCues::new(None, low_note.and_then(Pitch::new).into_iter().collect());
        match (invitation(&cues, has_keys), expect) {
            (Ok(words), Ok(begin)) => assert!(words.starts_with(begin), "{words}"),
            (Err(failure), Err(words)) => assert!(failure.message().contains(words), "{}", failure.message()),
            (found, _) => {
                panic!("{:?}, not {expect:?}", found.map_err(|failure| failure.message().to_owned()))
            }
        }
    }

    #[test]
    fn it_is_said_what_begins_a_take() {
        check(Some(40), true, Ok("Enter or E2 twice begins a take; q and Enter ends."));
        check(None, true, Ok("Enter begins a take"));
        check(Some(28), false, Ok("E1 twice begins a take; Ctrl-C ends."));
        check(None, false, Err("no cue was learnt"));
    }
}
