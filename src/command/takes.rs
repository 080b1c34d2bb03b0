//! `takes`: lists what was played and kept; drops takes, brings them back, copies and deletes everything.

mod contest;
mod dropping;
mod exporting;
mod note;
mod phrase;
mod rebuilding;

use clap::{Args, Subcommand};
use jiff::tz::TimeZone;

use crate::chart::header::key_text;
use crate::report::number::Count;
use crate::report::review::{ShareRecord, written_for};
use crate::report::takes::{BarsRecord, EnteredRecord, PhraseRecord, TakeRecord, TakesDocument};
use crate::store::index::{About, Filter, Index, IndexError, ListedTake};
use crate::store::journal::State;
use crate::store::journal::entry::Phrase;
use crate::store::takes::{FOLDER_VARIABLE, KeptTake, TakeFolder};
use crate::tally::Share;
use crate::theory::Written;

use super::ask_index::ask;
use super::exit_status::{Ending, Failure};
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
    /// Move a take to the bin, a folder beside the others, or delete it for good
    Drop(dropping::DropArgs),
    /// Bring a take back from the bin
    Restore {
        /// Its number
        #[arg(value_name = "NUMBER")]
        number: u32,
    },
    /// Say that you hear a note otherwise; the verdict is then told both ways, and your teacher sees it
    Contest(contest::ContestArgs),
    /// Take back what you said of a note
    Withdraw(contest::NoteArgs),
    /// Keep bars of a take as a phrase, to hear and to drill; list them, take them out, write them as MIDI
    Phrase(phrase::PhraseArgs),
    /// Write a note to self on a take
    Note(note::NoteToSelfArgs),
    /// Make the index of the takes again from their files
    Rebuild,
    /// Copy all takes, all that was entered, and the settings into a folder
    Export(exporting::ExportArgs),
}

/// Carries the command out.
pub fn run(args: &TakesArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let folder = TakeFolder::of_user(std::env::var_os(FOLDER_VARIABLE))?;
    tell(&folder.recover(startup.resolved.settings.bare), out);
    match &args.command {
        None => list(args, startup, out),
        Some(TakesCommand::Drop(args)) => dropping::drop(args, &folder, startup, out),
        Some(TakesCommand::Restore { number }) => dropping::restore(*number, &folder, out),
        Some(TakesCommand::Rebuild) => rebuilding::rebuild(startup, out),
        Some(TakesCommand::Export(args)) => exporting::export(args, startup, out),
        Some(TakesCommand::Phrase(args)) => phrase::phrase(args, &folder, startup, out),
        Some(TakesCommand::Note(args)) => note::note(args, &folder, out),
        Some(TakesCommand::Contest(args)) => contest::contest(args, startup, out),
        Some(TakesCommand::Withdraw(args)) => contest::withdraw(*args, startup, out),
    }
}

/// So many takes, in words.
fn counted(takes: usize) -> String {
    format!("{takes} {}", if takes == 1 { "take" } else { "takes" })
}

/// The take that is chosen.
fn kept_take(choice: TakeChoice, folder: &TakeFolder) -> Result<KeptTake, Failure> {
    Ok(match choice {
        TakeChoice::Last => folder.last()?,
        TakeChoice::Number(number) => folder.find(number)?,
    })
}

/// What was entered about a take.
pub(super) fn entered_of(state: &State, take: u32) -> EnteredRecord {
    let (notes, phrases) = state.of_take(take);
    let phrase = |phrase: &Phrase| PhraseRecord {
        chorus: phrase.chorus,
        bars: BarsRecord { first: phrase.first_bar, last: phrase.last_bar },
    };
    EnteredRecord {
        notes_to_self: notes.into_iter().map(|note| note.text.clone()).collect(),
        phrases: phrases.into_iter().map(phrase).collect(),
    }
}

/// The number of the take that is chosen.
fn number(choice: TakeChoice, folder: &TakeFolder) -> Result<u32, Failure> {
    match choice {
        TakeChoice::Number(number) => Ok(number),
        TakeChoice::Last => Ok(folder.last()?.number),
    }
}

/// Lists the takes that are wanted. One whose file does not read costs only its row, and is said.
fn list(args: &TakesArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let filter = Filter { title: args.chart.clone(), since: args.since.map(Day::date), ..Filter::default() };
    let (takes, unlisted, odd, entered) = ask(startup, out, |index, judging| {
        let takes = index.takes(&filter, judging)?;
        let odd = oddities(index)?;
        Ok((takes, index.unlisted()?, odd, entered(index)?))
    })?;
    for (number, why) in &unlisted {
        out.remark(&format!("take {number} is not listed: {why}"));
    }
    for said in &odd {
        out.remark(said);
    }
    let written = startup.written(out);
    let record = |take| read_in(written, record(take, &entered));
    let document = TakesDocument::new(takes.into_iter().map(record).collect());
    let mut table = document.table(out.form());
    if let Some(words) = written_for(written) {
        table.note(words);
    }
    out.result(&table, &document)?;
    Ok(if unlisted.is_empty() { Ending::Fine } else { Ending::Store })
}

/// What was entered about takes; nothing where the journal cannot be read, which is said elsewhere.
fn entered(index: &mut Index) -> Result<State, IndexError> {
    let mut records = Vec::new();
    for kind in ["note", "phrase", "phrase-out"] {
        match index.records(About::Kind(kind)) {
            Ok(of_kind) => records.extend(of_kind),
            Err(IndexError::Journal(_)) => {}
            Err(error) => return Err(error),
        }
    }
    // A phrase may be kept, taken out and kept again.
    records.sort_by_key(|record| record.at);
    Ok(State::replay(&records))
}

/// What is odd about the journal, in words; a journal that cannot be read at all keeps no take from the list.
fn oddities(index: &mut Index) -> Result<Vec<String>, IndexError> {
    match index.oddities() {
        Ok(oddities) => Ok(oddities.iter().map(ToString::to_string).collect()),
        Err(IndexError::Journal(error)) => Ok(vec![error.to_string()]),
        Err(error) => Err(error),
    }
}

/// A take with its keys as the player reads them.
fn read_in(written: Written, take: TakeRecord) -> TakeRecord {
    let read = |key: String| key.parse().map_or(key, |key| key_text(written.key(key)));
    let keys = take.keys.map(|keys| keys.into_iter().map(read).collect());
    TakeRecord { key: take.key.map(read), keys, ..take }
}

fn record(take: ListedTake, entered: &State) -> TakeRecord {
    let entered = entered_of(entered, take.number);
    let kept_at = take.kept_at.to_zoned_datetime(TimeZone::system());
    let chord = Share { n: take.chord, of: take.counted, design_effect: take.chord_effect };
    TakeRecord {
        take: take.number,
        file: take.path.display().to_string(),
        kept_at: Some(kept_at.strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()),
        chart: take.title,
        key: take.key,
        keys: take.keys,
        tempo: take.tempo,
        bars: take.bars.map(|(first, last)| BarsRecord { first, last }),
        band: take.band,
        choruses: take.choruses,
        counted: Count(take.counted),
        chord: ShareRecord::of(chord),
        played_s: take.line_s,
        entered,
    }
}
