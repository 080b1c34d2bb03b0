//! The command line: one file a command, and the three things all of them share.
//!
//! [`startup`] finds the settings, [`output`] decides the form of what is printed, [`exit_status`] maps every way a run can
//! end to an exit code and a hint. A command reads its arguments, calls the rooms and hands rows to the output; it
//! decides nothing about music. Everything here runs on the main thread.

pub mod ask_index;
pub mod assign;
pub mod backing_args;
pub mod band_args;
pub mod calibrate;
pub mod chord_args;
pub mod class;
pub mod completions;
pub mod demo;
pub mod exit_status;
pub mod home;
pub mod keys;
pub mod load;
pub mod long_work;
pub mod man;
pub mod neck;
pub mod one_input;
pub mod output;
pub mod output_file;
pub mod pages;
pub mod play;
pub mod progress;
pub mod read;
pub mod render;
pub mod replay;
pub mod review;
pub mod settings;
pub mod sound_args;
pub mod soundcheck;
pub mod startup;
mod tempo_step;
pub mod takes;
pub mod values;
pub mod visits;
pub mod voice_args;

use std::ffi::OsString;
use std::io::{IsTerminal, Write};
use std::path::PathBuf;
use std::process::ExitCode;

use clap::builder::PossibleValuesParser;
use clap::{Args, CommandFactory, Parser, Subcommand};

use crate::store::settings::choice::Choice;
use crate::store::settings::{ColorUse, Flag};

use exit_status::{Ending, Failure};
use output::Output;
use startup::{FileUse, Startup};

/// Practise improvising over chord changes: barwise reads a chart, hears your line, and reports bar by bar.
#[derive(Debug, Parser)]
#[command(name = "barwise", version, after_help = WHERE_TO_START, after_long_help = exit_status::explained())]
pub struct Cli {
    /// Flags that every command takes.
    #[command(flatten)]
    pub global: Global,
    /// Where sound goes when barwise is opened by itself.
    #[command(flatten)]
    pub sound: sound_args::SoundArgs,
    /// The command.
    #[command(subcommand)]
    pub command: Option<Command>,
}

const WHERE_TO_START: &str = "To start: `barwise demo` shows it all with no instrument and no sound device.";

const EVERYWHERE: &str = "With every command";

/// Flags that every command takes.
#[derive(Clone, Debug, Default, Args)]
pub struct Global {
    /// When to print in colour
    #[arg(long, global = true, help_heading = EVERYWHERE, value_name = "WHEN", value_parser = PossibleValuesParser::new(ColorUse::Auto.words()))]
    pub color: Option<String>,
    /// Print ASCII signs only
    #[arg(long, global = true, help_heading = EVERYWHERE)]
    pub ascii: bool,
    /// Read settings from this file instead of the usual one
    #[arg(long, global = true, help_heading = EVERYWHERE, value_name = "F")]
    pub config: Option<PathBuf>,
    /// Print one JSON document instead of rows
    #[arg(long, global = true, help_heading = EVERYWHERE)]
    pub json: bool,
}

impl Global {
    /// The settings these flags give.
    fn settings(&self) -> Vec<Flag> {
        let color = self.color.iter().map(|when| Flag { flag: "--color", key: "color", text: when.clone() });
        let ascii = self.ascii.then(|| Flag { flag: "--ascii", key: "ascii", text: "on".to_owned() });
        color.chain(ascii).collect()
    }
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Say which key each stretch of a chart is in and which scale fits each chord, and why
    Read(read::ReadArgs),
    /// Show where a chord lies inside its scale on the strings
    Neck(neck::NeckArgs),
    /// Show where a chord lies inside its scale on a keyboard
    Keys(chord_args::ChordArgs),
    /// Report bar by bar on takes that were played: MIDI files
    Review(review::ReviewArgs),
    /// Count in, play a backing, hear your line, keep the take and report on it
    Play(play::PlayArgs),
    /// Hear a take again, over its backing as it was played
    Replay(replay::ReplayArgs),
    /// Write the backing as a file, sound or MIDI
    Render(render::RenderArgs),
    /// List the takes that are kept; drop them, bring them back, copy or delete everything
    Takes(takes::TakesArgs),
    /// Say what became of the takes over weeks, for one chart or for all
    Progress(progress::ProgressArgs),
    /// Write an assignment, see where takes stand by it, write the file to hand in
    Assign(assign::AssignArgs),
    /// Show what a folder of hand-ins says together: who needs a talk, which bar most stumbled over
    Class(class::ClassArgs),
    /// Judge an invented line over a chart that ships: no device, no set-up
    Demo(demo::DemoArgs),
    /// Look at instruments, sound, terminal, files and clock, and say what to do where something is amiss
    Soundcheck(soundcheck::SoundcheckArgs),
    /// Measure how late an instrument's notes arrive, by playing along with clicks, and remember it
    Calibrate(calibrate::CalibrateArgs),
    /// Show every setting with its value and where that comes from, or set one
    Settings(settings::SettingsArgs),
    /// Print completions for a shell
    Completions(completions::CompletionsArgs),
    /// Print the manual in man's own form (barwise man | man -l -)
    Man,
}

/// Runs the program on `arguments` (the program's name first) and says how it ended.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    let ending = match Cli::try_parse_from(arguments) {
        Ok(Cli { command: None, global, sound }) if visits::Visits::are_possible() => {
            go_home(&global, &sound)
        }
        Ok(Cli { command: None, .. }) => short_help(),
        Ok(Cli { global, command: Some(command), sound }) => {
            refuse_misplaced(&sound).and_then(|()| carry_out(&global, command))
        }
        Err(shown) => usage(&shown),
    };
    let ending = ending.unwrap_or_else(|failure| {
        failure.explain(&mut std::io::stderr().lock());
        failure.ending()
    });
    ExitCode::from(ending.code())
}

/// Opens the home screen.
fn go_home(global: &Global, sound: &sound_args::SoundArgs) -> Result<Ending, Failure> {
    let startup = Startup::new(global, global.settings(), FileUse::Follow)?;
    let out = &mut Output::of_this_process(&startup.resolved.settings, global.json);
    startup.tell_slips(startup.sources.file.as_ref(), out);
    home::run(sound, &startup, out)
}

/// Refuses where sound is to go before a command: there it would be passed over.
fn refuse_misplaced(sound: &sound_args::SoundArgs) -> Result<(), Failure> {
    if *sound == sound_args::SoundArgs::default() {
        return Ok(());
    }
    Err(Failure::bad_input("where sound goes stands behind the command: barwise play CHART --no-audio"))
}

/// Calls the command: the table of contents of the program.
fn carry_out(global: &Global, command: Command) -> Result<Ending, Failure> {
    let file_use = match &command {
        Command::Settings(settings) if settings.changes_the_file() => FileUse::Change,
        Command::Soundcheck(_) => FileUse::Change,
        _ => FileUse::Follow,
    };
    let mut flags = global.settings();
    match &command {
        Command::Review(review) => flags.extend(review.settings()),
        Command::Play(play) => flags.extend(play.band.settings().chain(play.voices.settings())),
        Command::Render(render) => flags.extend(render.band.settings().chain(render.voices.settings())),
        Command::Replay(replay) => flags.extend(replay.voices.settings()),
        Command::Demo(demo) => flags.extend(demo.voices.settings()),
        Command::Progress(progress) => flags.extend(progress.settings()),
        _ => {}
    }
    let startup = Startup::new(global, flags, file_use)?;
    let out = &mut Output::of_this_process(&startup.resolved.settings, global.json);
    if file_use == FileUse::Follow {
        startup.tell_slips(startup.sources.file.as_ref(), out);
    }
    match command {
        Command::Read(args) => read::run(&args, &startup, out),
        Command::Neck(args) => neck::run(&args, &startup, out),
        Command::Keys(args) => keys::run(&args, &startup, out),
        Command::Review(args) => review::run(&args, &startup, out),
        Command::Play(args) => play::run(&args, &startup, out),
        Command::Replay(args) => replay::run(&args, &startup, out),
        Command::Render(args) => render::run(&args, &startup, out),
        Command::Takes(args) => takes::run(&args, &startup, out),
        Command::Progress(args) => progress::run(&args, &startup, out),
        Command::Assign(args) => assign::run(&args, &startup, out),
        Command::Class(args) => {
            startup.tell_concert(out);
            class::run(&args, out)
        }
        Command::Demo(args) => demo::run(&args, &startup, out),
        Command::Soundcheck(args) => soundcheck::run(&args, &startup, out),
        Command::Calibrate(args) => calibrate::run(&args, out),
        Command::Settings(args) => settings::run(&args, &startup, out),
        Command::Completions(args) => completions::run(&args, out),
        Command::Man => man::run(out),
    }
}

/// What is shown when no command is given: help on a terminal, a usage error elsewhere.
fn short_help() -> Result<Ending, Failure> {
    let help = Cli::command().render_help();
    if std::io::stdout().is_terminal() {
        anstream::stdout().write_all(help.ansi().to_string().as_bytes())?;
        Ok(Ending::Fine)
    } else {
        anstream::stderr().write_all(help.ansi().to_string().as_bytes())?;
        Ok(Ending::BadInput)
    }
}

/// Prints what clap has to show: help and version on stdout, usage errors on stderr.
fn usage(shown: &clap::Error) -> Result<Ending, Failure> {
    shown.print()?;
    Ok(if shown.use_stderr() { Ending::BadInput } else { Ending::Fine })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_command_line_is_well_formed() {
        Cli::command().debug_assert();
    }

    #[test]
    fn global_flags_stand_before_or_behind_the_command() {
        for line in [["barwise", "--ascii", "settings"], ["barwise", "settings", "--ascii"]] {
            assert!(Cli::try_parse_from(line).expect("a command line").global.ascii);
        }
    }

    #[test]
    fn global_flags_are_settings() {
        let global = Global { color: Some("never".to_owned()), ascii: true, ..Global::default() };
        let given: Vec<_> = global.settings().into_iter().map(|flag| (flag.key, flag.text)).collect();
        assert_eq!(given, [("color", "never".to_owned()), ("ascii", "on".to_owned())]);
    }
}
