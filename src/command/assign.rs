//! `assign`: writes an assignment, shows it, says where takes stand by it, writes the file to hand in, and lets the model
//! take in it be heard and compared.

pub mod check;
pub mod hand_in;
pub mod looked;
pub mod model;
pub mod new;
pub mod show;

use std::path::Path;

use clap::{Args, Subcommand};
use jiff::Timestamp;

use super::exit_status::{Ending, Failure};
use super::load;
use super::output::Output;
use super::startup::Startup;
use crate::judge::Choices;
use crate::judge::assigned::Assigned;
use crate::practice::{Assignment, SentTake};
use crate::store::journal::entry::{AssignmentEntry, AssignmentRole, Entry};
use crate::store::journal::{Journal, State};
use crate::store::settings::{Settings, table};
use crate::store::takes::{FOLDER_VARIABLE, data_folder};

/// What `assign` takes.
#[derive(Debug, Args)]
pub struct AssignArgs {
    #[command(subcommand)]
    command: AssignCommand,
}

#[derive(Debug, Subcommand)]
enum AssignCommand {
    /// Write an assignment: one text file to mail; the student sees exactly what is in it
    New(Box<new::NewArgs>),
    /// Show an assignment, with the comparisons beside its bands and how often luck alone decides
    Show(show::ShowArgs),
    /// Say where takes stand by an assignment: exit 0 met, 1 clearly not met, 5 no verdict
    Check(check::CheckArgs),
    /// Write one file to hand in; what it holds is shown first
    HandIn(hand_in::HandInArgs),
    /// Show the teacher's take in an assignment bar by bar, beside one of yours; or write it as MIDI, to hear
    Model(model::ModelArgs),
}

/// Carries the command out.
pub fn run(args: &AssignArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    match &args.command {
        AssignCommand::New(args) => new::run(args, startup, out),
        AssignCommand::Show(args) => show::run(args, out),
        AssignCommand::Check(args) => check::run(args, startup, out),
        AssignCommand::HandIn(args) => hand_in::run(args, startup, out),
        AssignCommand::Model(args) => model::run(args, startup, out),
    }
}

/// An assignment with its chart read.
pub fn assigned(path: &Path) -> Result<Assigned, Failure> {
    assigned_of(load::assignment(path)?, &path.display().to_string())
}

/// An assignment from the file of this name, with its chart read.
pub fn assigned_of(assignment: Assignment, file: &str) -> Result<Assigned, Failure> {
    let refused = |why: String| Failure::bad_input(format!("{file}: settings: {why}"));
    for (name, value) in &assignment.settings {
        let setting = table::find(name).map_err(|error| refused(error.to_string()))?;
        let text = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
        let text = match text.as_str() {
            "true" => "on",
            "false" => "off",
            other => other,
        };
        setting.set(&mut Settings::default(), text).map_err(|error| refused(error.to_string()))?;
    }
    let bare = Settings::for_assignment(&assignment.counts_by(), &serde_json::Map::new()).bare;
    Assigned::new(assignment, bare).map_err(|error| Failure::bad_input(format!("{file}: {error}")))
}

/// By which choices a take is judged for an assignment.
pub fn choices(assigned: &Assigned, take: &SentTake) -> Choices {
    Settings::for_assignment(&assigned.assignment.counts_by(), &take.settings).choices()
}

/// The journal of this user, and what holds by it; what was odd about it is said.
pub fn journal(out: &mut Output) -> Result<(Journal, State), Failure> {
    let journal = Journal::in_folder(&data_folder(std::env::var_os(FOLDER_VARIABLE))?);
    let read = journal.read().map_err(|error| Failure::store(error.to_string()))?;
    for oddity in &read.oddities {
        out.remark(&oddity.to_string());
    }
    let state = State::replay(read.records.iter().map(|(_, record)| record));
    Ok((journal, state))
}

/// Writes an assignment into the journal, unless the same text stands there already. Where the journal cannot be written
/// that is said, and what was asked for goes on.
pub fn keep(path: &Path, assigned: &Assigned, role: AssignmentRole, text: String, out: &mut Output) {
    let stem = || path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
    let name = assigned.assignment.words.title.clone().unwrap_or_else(stem);
    let kept = journal(out).and_then(|(journal, state)| {
        if state.assignments.get(&name).is_some_and(|kept| kept.what.text == text) {
            return Ok(());
        }
        let entry = Entry::Assignment(AssignmentEntry { name, role, text });
        journal.append(entry, Timestamp::now()).map(|_| ()).map_err(|error| Failure::store(error.to_string()))
    });
    if let Err(failure) = kept {
        out.remark(failure.message());
    }
}
