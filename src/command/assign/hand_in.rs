//! `assign hand-in`: one file to send. What it holds is shown before it is written.

use std::io::{IsTerminal, stdin};
use std::path::{Path, PathBuf};

use clap::Args;
use jiff::ZonedDateTime;

use super::super::exit_status::{Ending, Failure};
use super::super::load;
use super::super::output::Output;
use super::super::startup::Startup;
use super::check::document;
use super::looked::looked;
use super::{assigned, journal, keep};
use crate::practice::HandIn;
use crate::practice::hand_in::{ForAssignment, LARGEST, LONGEST_NAME, LONGEST_NOTE, Told, holds};
use crate::practice::standing::Standing;
use crate::report::review::TOOL;
use crate::store::error_words::in_words;
use crate::store::journal::entry::AssignmentRole;
use crate::store::replace::replace;

/// What `assign hand-in` takes.
#[derive(Clone, Debug, PartialEq, Eq, Args)]
pub struct HandInArgs {
    /// The assignment
    #[arg(value_name = "F")]
    pub file: PathBuf,
    /// The takes: numbers, last, or files; else the last ones over its chart
    #[arg(value_name = "TAKES")]
    pub takes: Vec<PathBuf>,
    /// The file to write; else the assignment's name with .hand-in.toml
    #[arg(short, long = "output", value_name = "G")]
    pub output: Option<PathBuf>,
    /// A line to your teacher
    #[arg(long, value_name = "TEXT")]
    pub note: Option<String>,
    /// Your name, if it is to stand in the file; else the file has none
    #[arg(long, value_name = "NAME")]
    pub name: Option<String>,
    /// Write it without asking
    #[arg(short, long)]
    pub yes: bool,
}

/// Carries the command out.
pub fn run(args: &HandInArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    refuse_what_is_too_long("--name", args.name.as_deref(), LONGEST_NAME)?;
    refuse_what_is_too_long("--note", args.note.as_deref(), LONGEST_NOTE)?;
    let path = output_path(args);
    refuse_what_is_there(&path)?;
    let assigned = assigned(&args.file)?;
    keep(&args.file, &assigned, AssignmentRole::Kept, load::assignment_text(&args.file)?, out);
    let (_, state) = journal(out)?;
    let looked = looked(&args.takes, &assigned, &state, startup, out)?;
    let (verdict, found) = document(&assigned, &looked, &state);
    let fits = |standing: &Standing| !matches!(standing, Standing::NotForIt(_));
    let used = found.used.iter().filter_map(|&index| looked[index].take.take).collect();
    let takes: Vec<_> = looked.into_iter().filter(|looked| fits(&looked.heard.standing)).collect();
    if takes.is_empty() {
        return Err(Failure::bad_input(
            "no take is for this assignment yet: there is nothing to hand in. barwise assign check says what each take lacks",
        ));
    }
    let words = &assigned.assignment.words;
    let numbers: Vec<Option<u32>> = takes.iter().map(|looked| looked.take.take).collect();
    let contests = state.contests.iter().map(|(_, contest)| &contest.what);
    let hand_in = HandIn {
        name: args.name.clone(),
        day: Some(ZonedDateTime::now().date().to_string()),
        note: args.note.clone(),
        assignment: ForAssignment {
            title: words.title.clone(),
            number: words.number,
            rule_sha256: assigned.rule_sha256.clone(),
        },
        verdict: Told {
            verdict: verdict.verdict.to_owned(),
            sentence: verdict.sentence.clone(),
            takes: used,
        },
        contest: contests.filter(|contest| numbers.contains(&Some(contest.take))).cloned().collect(),
        take: takes.into_iter().map(|looked| looked.take).collect(),
    };
    write(args, &path, &hand_in, out)
}

/// Shows what is in it, asks, and writes.
fn write(args: &HandInArgs, path: &Path, hand_in: &HandIn, out: &mut Output) -> Result<Ending, Failure> {
    let text = hand_in.to_text(TOOL);
    if text.len() > LARGEST {
        return Err(Failure::bad_input(format!(
            "the hand-in would have {} bytes, {LARGEST} are the most: name fewer takes",
            text.len()
        )));
    }
    HandIn::parse(&text)
        .map_err(|error| Failure::bad_input(format!("the hand-in would not read: {error}")))?;
    for line in contents(hand_in) {
        out.remark(&line);
    }
    if !args.yes && !confirmed(path, out)? {
        out.remark("Nothing was written.");
        return Ok(Ending::Fine);
    }
    let failed = |error: std::io::Error| Failure::store(format!("{}: {}", path.display(), in_words(&error)));
    replace(path, &text).map_err(failed)?;
    out.remark(&format!("wrote {}", path.display()));
    Ok(Ending::Fine)
}

/// What the file holds, a line each.
fn contents(hand_in: &HandIn) -> Vec<String> {
    let take = |take: &crate::practice::SentTake| {
        let number = take.take.map_or_else(|| "a file".to_owned(), |number| format!("take {number}"));
        take.day.as_ref().map_or_else(|| number.clone(), |day| format!("{number} of {day}"))
    };
    let takes: Vec<String> = hand_in.take.iter().map(take).collect();
    let contests = (!hand_in.contest.is_empty()).then(|| format!("contests: {}", hand_in.contest.len()));
    let note = hand_in.note.as_ref().map(|note| format!("your line: {note}"));
    let name = hand_in.name.as_ref().map(|name| format!("your name: {name}"));
    [format!("the notes of {}", takes.join(", ")), hand_in.verdict.sentence.clone()]
        .into_iter()
        .chain(contests)
        .chain(note)
        .chain(name)
        .chain(holds(hand_in.name.is_some()).lines().map(str::to_owned))
        .collect()
}

/// Asks on the terminal. Elsewhere nobody can answer, so `--yes` has to say it.
fn confirmed(path: &Path, out: &mut Output) -> Result<bool, Failure> {
    if !stdin().is_terminal() {
        return Err(Failure::bad_input(
            "nothing was written: write --yes to say that this is what you want to send",
        ));
    }
    out.remark(&format!("Write it to {}? y or n, then enter", path.display()));
    let mut answer = String::new();
    stdin().read_line(&mut answer).map_err(|error| Failure::bad_input(in_words(&error)))?;
    Ok(matches!(answer.trim(), "y" | "Y" | "yes"))
}

fn output_path(args: &HandInArgs) -> PathBuf {
    args.output.clone().unwrap_or_else(|| args.file.with_extension("hand-in.toml"))
}

/// An earlier hand-in may be replaced; nothing else is.
fn refuse_what_is_there(path: &Path) -> Result<(), Failure> {
    if path.symlink_metadata().is_err() {
        return Ok(());
    }
    let is_hand_in = load::hand_in_text(path).is_ok_and(|text| HandIn::parse(&text).is_ok());
    if is_hand_in {
        return Ok(());
    }
    let path = path.display();
    Err(Failure::bad_input(format!("{path}: there is another file of this name. Choose a name with -o")))
}

fn refuse_what_is_too_long(flag: &str, text: Option<&str>, most: usize) -> Result<(), Failure> {
    match text.map(|text| text.chars().count()).filter(|&length| length > most) {
        Some(length) => {
            Err(Failure::bad_input(format!("{flag} has {length} characters, {most} are the most")))
        }
        None => Ok(()),
    }
}
