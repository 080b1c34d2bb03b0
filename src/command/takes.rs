//! `takes`: lists what was played and kept; moves a take to the bin.

mod contest;

use clap::{Args, Subcommand};
use jiff::civil::Date;

use crate::judge::{Choices, Question, judge};
use crate::report::review::Detail;
use crate::report::takes::{BarsRecord, Kept, TakeRecord, TakesDocument};
use crate::store::takes::{FOLDER_VARIABLE, KeptTake, TakeFolder};
use crate::take::{Imprint, MidiFile};

use super::exit_status::{Ending, Failure};
use super::load;
use super::output::Output;
use super::play::keeping::tell;
use super::startup::Startup;
use super::values::{Day, TakeChoice};

/// What `takes` takes.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub struct TakesArgs {
    #[command(subcommand)]
    command: Option<TakesCommand>,
    /// Only takes of charts whose title holds this
    #[arg(long, value_name = "TITLE")]
    chart: Option<String>,
    /// Only takes kept on this day or later: 2026-11-25
    #[arg(long, value_name = "DATE")]
    since: Option<Day>,
}

#[derive(Debug, Subcommand)]
enum TakesCommand {
    /// Move a take to the bin, a folder beside the others
    Drop {
        /// Its number, or last
        #[arg(value_name = "TAKE")]
        take: TakeChoice,
    },
    /// Say that you hear a note otherwise; the verdict is then told both ways, and your teacher sees it
    Contest(contest::ContestArgs),
    /// Take back what you said of a note
    Withdraw(contest::NoteArgs),
}

/// Carries the command out.
pub fn run(args: &TakesArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let folder = TakeFolder::of_user(std::env::var_os(FOLDER_VARIABLE))?;
    tell(&folder.recover(startup.resolved.settings.bare), out);
    match &args.command {
        Some(TakesCommand::Contest(args)) => return contest::contest(args, startup, out),
        Some(TakesCommand::Withdraw(args)) => return contest::withdraw(*args, startup, out),
        Some(TakesCommand::Drop { .. }) | None => {}
    }
    if let Some(TakesCommand::Drop { take }) = args.command {
        let number = match take {
            TakeChoice::Number(number) => number,
            TakeChoice::Last => folder.last()?.number,
        };
        let path = folder.drop_take(number)?;
        out.remark(&format!("take {number} is in the bin: {}", path.display()));
        return Ok(Ending::Fine);
    }
    list(args, &folder, &startup.resolved.settings.choices(), out)
}

/// Lists the takes that are wanted. One whose file does not read costs only its row, and is said.
fn list(
    args: &TakesArgs,
    folder: &TakeFolder,
    choices: &Choices,
    out: &mut Output,
) -> Result<Ending, Failure> {
    let mut ending = Ending::Fine;
    let mut records = Vec::new();
    for take in folder.list()? {
        match record(&take, choices) {
            Ok(record) if is_wanted(args, &record) => records.push(record),
            Ok(_) => {}
            Err(failure) => {
                out.remark(&format!("take {} is not listed: {}", take.number, failure.message()));
                ending = Ending::Store;
            }
        }
    }
    let document = TakesDocument::new(records);
    out.result(&document.table(out.form()), &document)?;
    Ok(ending)
}

fn record(take: &KeptTake, choices: &Choices) -> Result<TakeRecord, Failure> {
    let bytes = load::midi_bytes(&take.path)?;
    let question = Question { choices, chart: None, track: None, detail: Detail::Notes, bands: None };
    let file = take.path.display().to_string();
    let answer =
        judge(&bytes, None, question).map_err(|error| Failure::bad_input(format!("{file}: {error}")))?;
    let kept = Kept { take: take.number, file, at: kept_at(take), bars: bars_played(&bytes) };
    Ok(TakeRecord::new(kept, &answer.review))
}

/// The bars that a take says were played; none where it was the whole form, or where it says nothing of itself.
fn bars_played(bytes: &[u8]) -> Option<BarsRecord> {
    let midi = MidiFile::parse(bytes).ok()?;
    let (first, last) = Imprint::of(&midi)?.bars?;
    Some(BarsRecord { first, last })
}

/// When a take was last written, in the local zone, to the second.
fn kept_at(take: &KeptTake) -> Option<String> {
    Some(take.written_at()?.strftime("%Y-%m-%dT%H:%M:%S%:z").to_string())
}

fn is_wanted(args: &TakesArgs, record: &TakeRecord) -> bool {
    let titled =
        args.chart.as_ref().is_none_or(|part| record.chart.to_lowercase().contains(&part.to_lowercase()));
    let day = record.kept_at.as_deref().and_then(|at| at.get(..10)).and_then(|day| day.parse::<Date>().ok());
    titled && args.since.is_none_or(|since| day.is_none_or(|day| day >= since.date()))
}
