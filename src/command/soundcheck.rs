//! `soundcheck`: looks at notes in, sound out, the terminal, the store, settings and the clock, and says what to do.

pub mod checks;
pub mod heard;
pub mod learn_low_note;
pub mod learn_strings;
pub mod listen;

use std::io::IsTerminal;
use std::path::PathBuf;

use clap::Args;

use crate::live::SoundNames;
use crate::live::clock::Fineness;
use crate::live::look::{self, TestClick};
use crate::report::cautions::HEARING;
use crate::report::soundcheck::{Check, Grade, SoundcheckDocument};
use crate::report::theme::Depth;
use crate::report::{Ink, OutputForm, Signs};
use crate::store::device_facts::DeviceFacts;
use crate::store::probe;
use crate::store::takes::{FOLDER_VARIABLE, TakeFolder};

use super::exit_status::{Ending, Failure};
use super::output::Output;
use super::sound_args::SoundArgs;
use super::startup::Startup;
use checks::{Asked, TerminalFacts};

/// What `soundcheck` takes.
#[expect(clippy::struct_excessive_bools, reason = "each is a flag of its own")]
#[derive(Clone, Debug, PartialEq, Eq, Args)]
pub struct SoundcheckArgs {
    /// Hear the MIDI input with this name, or a part of it; it must be there
    #[arg(long, value_name = "PORT")]
    pub midi_from: Option<String>,
    /// Open the sound device and sound no click
    #[arg(long)]
    pub silent: bool,
    /// Show notes as they come: string, pitch, velocity, bend, and what would be left out
    #[arg(long, conflicts_with = "learn_foot")]
    pub listen: bool,
    /// Learn which foot switch stops a take: press it once
    #[arg(long)]
    pub learn_foot: bool,
    /// Learn which channel is which string: pluck the open strings, the lowest first
    #[arg(long, conflicts_with_all = ["listen", "learn_foot"])]
    pub learn_strings: bool,
    /// Learn which note, struck twice within a second, begins a take of play --wait; nothing does until this is asked for
    #[arg(long, conflicts_with_all = ["listen", "learn_foot", "learn_strings"])]
    pub learn_low_note: bool,
    /// Let no low note begin a take any more
    #[arg(long, conflicts_with_all = ["listen", "learn_foot", "learn_strings", "learn_low_note", "midi_file"])]
    pub forget_low_note: bool,
    /// With --listen or what learns: hear this MIDI file
    #[arg(long, value_name = "F")]
    pub midi_file: Option<PathBuf>,
    /// Where sound goes
    #[command(flatten)]
    pub sound: SoundArgs,
}

/// Carries the command out.
pub fn run(args: &SoundcheckArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let settings = &startup.resolved.settings;
    match () {
        () if args.listen => return listen::listen(args, settings, out),
        () if args.learn_foot => return listen::learn_foot(args, out),
        () if args.learn_strings => return learn_strings::learn_strings(args, settings, out),
        () if args.learn_low_note => return learn_low_note::learn_low_note(args, out),
        () if args.forget_low_note => return learn_low_note::forget_low_note(args, out),
        () if args.midi_file.is_some() => {
            let goes_with =
                "--midi-file goes with --listen, --learn-foot, --learn-low-note or --learn-strings";
            return Err(Failure::bad_input(goes_with));
        }
        () => {}
    }
    let (document, ending) = looked(args, startup, out);
    out.result(&document.table(), &document)?;
    Ok(ending)
}

/// Looks at everything, and says how a run ends that found it so.
pub fn looked(args: &SoundcheckArgs, startup: &Startup, out: &mut Output) -> (SoundcheckDocument, Ending) {
    let names = args.sound.names();
    let inputs = look::inputs(names.host.as_deref());
    // A file of facts that does not read is told by whoever needs what is in it.
    let facts = DeviceFacts::of_user(std::env::var_os(FOLDER_VARIABLE)).ok();
    let last = facts.as_ref().and_then(DeviceFacts::last_input);
    let notes_in = checks::notes_in(inputs, args.midi_from.as_deref(), last);
    let sound_out = sound_out(args, &names, out);
    let store = store();
    let ending =
        ending(&[(&store, Ending::Store), (&notes_in, Ending::Device), (&sound_out, Ending::Device)]);
    let file = startup.sources.file.as_ref();
    let settings = checks::settings(&startup.path, file.is_some(), file.map_or(0, |file| file.slips().len()));
    let clock = checks::clock(Fineness::measure());
    let system = format!("{} {}", std::env::consts::OS, std::env::consts::ARCH);
    let checks = vec![notes_in, sound_out, terminal(out.form(), startup), store, settings, clock];
    (SoundcheckDocument::new(system, checks), ending)
}

/// How the run ends: as the first check says that failed.
fn ending(checks: &[(&Check, Ending)]) -> Ending {
    let failed = checks.iter().find(|(check, _)| check.result == Grade::Fail);
    failed.map_or(Ending::Fine, |&(_, ending)| ending)
}

/// Opens the sound output for a moment. What sounds comes after the caution about hearing.
fn sound_out(args: &SoundcheckArgs, names: &SoundNames, out: &mut Output) -> Check {
    if args.sound.no_audio {
        return checks::sound_left_out();
    }
    let click = if args.silent { TestClick::None } else { TestClick::Soft };
    if click == TestClick::Soft {
        out.remark(HEARING);
    }
    let asked = if names.any() { Asked::ByName } else { Asked::Any };
    checks::sound_out(look::sound(names, click), asked)
}

fn terminal(form: OutputForm, startup: &Startup) -> Check {
    let is_terminal = std::io::stdout().is_terminal();
    let size = is_terminal.then(|| ratatui::crossterm::terminal::size().ok()).flatten();
    let colours = match form.ink() {
        Ink::Plain => "no colour",
        Ink::Weight => "bold and dim",
        Ink::Colour { depth: Depth::Indexed, .. } => "256 colours",
        Ink::Colour { depth: Depth::True, .. } => "true colour",
    };
    let ascii = startup.resolved.settings.ascii || form.signs() == Signs::Ascii;
    checks::terminal(TerminalFacts { size, colours, utf8: says_utf8(), ascii })
}

/// Whether the locale says UTF-8; the first of its three variables that is set decides (POSIX). Windows knows none of
/// them: its terminals take UTF-8.
fn says_utf8() -> bool {
    let filled = |name: &&str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    let deciding = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().find(filled);
    let value = deciding.and_then(std::env::var_os).unwrap_or_default().to_string_lossy().to_lowercase();
    cfg!(windows) || value.contains("utf-8") || value.contains("utf8")
}

fn store() -> Check {
    match TakeFolder::of_user(std::env::var_os(FOLDER_VARIABLE)) {
        Ok(takes) => {
            let folder = takes.path();
            checks::store(folder, probe::writable(folder), probe::free_bytes(folder))
        }
        Err(error) => checks::no_store(&error.to_string()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::values::tests::{parsed, refused};

    #[test]
    fn the_first_check_that_failed_decides() {
        let (ok, fail) = (Check::ok("a", ""), Check::fail("b", "", ""));
        assert_eq!(ending(&[(&ok, Ending::Store), (&ok, Ending::Device)]), Ending::Fine);
        assert_eq!(ending(&[(&fail, Ending::Store), (&fail, Ending::Device)]), Ending::Store);
        assert_eq!(ending(&[(&ok, Ending::Store), (&fail, Ending::Device)]), Ending::Device);
    }

    #[test]
    fn a_device_by_name_and_none_at_all_are_not_asked_for_together() {
        assert!(parsed::<SoundcheckArgs>(&["--no-audio"]).sound.no_audio);
        assert!(
            refused::<SoundcheckArgs>(&["--no-audio", "--audio-device", "x"]).contains("cannot be used with")
        );
    }
}
