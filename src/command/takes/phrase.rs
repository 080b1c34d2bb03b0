//! `takes phrase`: bars of a take that are kept, to hear and to drill: kept, listed, taken out, written as MIDI.

use std::path::PathBuf;

use clap::Args;
use jiff::Timestamp;

use super::super::assign::journal;
use super::super::exit_status::{Ending, Failure};
use super::super::load;
use super::super::output::Output;
use super::super::output_file::may_write;
use super::super::startup::Startup;
use super::super::values::{BarRange, TakeChoice};
use super::entered_of;
use crate::judge::replay::{HeardAgain, Wanted};
use crate::report::takes::{BarsRecord, PhraseRecord};
use crate::store::error_words::in_words;
use crate::store::journal::entry::{Entry, Phrase};
use crate::store::replace::replace_bytes;
use crate::store::takes::{KeptTake, TakeFolder};
use crate::take::{Imprint, MidiFile};

/// What `takes phrase` takes.
#[derive(Clone, Debug, PartialEq, Eq, Args)]
pub(super) struct PhraseArgs {
    /// The take: its number, or last
    #[arg(value_name = "TAKE")]
    take: TakeChoice,
    /// The bars to keep: 12-13; without them the phrases of the take are listed
    #[arg(long, value_name = "FIRST-LAST")]
    bars: Option<BarRange>,
    /// In which chorus, where the take has several
    #[arg(long, value_name = "N", requires = "bars", value_parser = clap::value_parser!(u32).range(1..=999))]
    chorus: Option<u32>,
    /// Take them out again
    #[arg(long, requires = "bars")]
    out: bool,
    /// Write them as MIDI, with the chart in it: to hear, to replay, to review
    #[arg(short, long = "output", value_name = "F.mid", requires = "bars", conflicts_with = "out")]
    output: Option<PathBuf>,
}

/// Carries the command out.
pub(super) fn phrase(
    args: &PhraseArgs,
    folder: &TakeFolder,
    startup: &Startup,
    out: &mut Output,
) -> Result<Ending, Failure> {
    let take = super::kept_take(args.take, folder)?;
    match args.bars {
        None => list(take.number, out),
        Some(bars) => about(args, (bars.first().get(), bars.last().get()), &take, startup, out),
    }
}

fn list(take: u32, out: &mut Output) -> Result<Ending, Failure> {
    let (_, state) = journal(out)?;
    let phrases = entered_of(&state, take).phrases;
    if phrases.is_empty() {
        out.remark(&format!(
            "take {take}: no phrase is kept. To keep one: barwise takes phrase {take} --bars 12-13"
        ));
    }
    for phrase in phrases {
        out.text(&format!("take {take}: {phrase}\n"))?;
    }
    Ok(Ending::Fine)
}

fn about(
    args: &PhraseArgs,
    bars: (usize, usize),
    take: &KeptTake,
    startup: &Startup,
    out: &mut Output,
) -> Result<Ending, Failure> {
    let number = take.number;
    let bytes = load::midi_bytes(&take.path).map_err(|error| Failure::store(error.to_string()))?;
    let imprint = MidiFile::parse(&bytes).ok().and_then(|midi| Imprint::of(&midi));
    let choruses = imprint.as_ref().map_or(1, |imprint| imprint.choruses);
    let chorus = match (args.chorus, choruses) {
        (Some(chorus), _) => chorus,
        (None, 1) => 1,
        (None, several) => {
            return Err(Failure::bad_input(format!(
                "take {number} has choruses 1 to {several}: write --chorus N"
            )));
        }
    };
    let of_day = imprint.map(|imprint| imprint.settings).unwrap_or_default();
    let choices = startup.choices(&startup.sources.resolve_for_take(&of_day)?, out);
    let wanted = Wanted { bars: Some(bars), chorus: Some(chorus) };
    let refused = |why: String| Failure::bad_input(format!("take {number}: {why}"));
    let again = HeardAgain::of(&bytes, wanted, &choices).map_err(|error| refused(error.to_string()))?;
    if let Some(path) = &args.output {
        may_write(path, &["mid", "midi"], "-o")?;
        let file = again.file(&choices).ok_or_else(|| refused("its chart does not read".to_owned()))?;
        let failed =
            |error: std::io::Error| Failure::store(format!("{}: {}", path.display(), in_words(&error)));
        replace_bytes(path, &file).map_err(failed)?;
        out.remark(&format!("wrote {}", path.display()));
        return Ok(Ending::Fine);
    }
    if again.notes.is_empty() && !args.out {
        return Err(refused(format!("no note was played in {}", words(chorus, bars))));
    }
    let phrase = Phrase { take: number, chorus, first_bar: bars.0, last_bar: bars.1 };
    enter(phrase, args.out, out)
}

/// Keeps a phrase or takes it out.
fn enter(phrase: Phrase, is_out: bool, out: &mut Output) -> Result<Ending, Failure> {
    let (journal, state) = journal(out)?;
    let words = words(phrase.chorus, (phrase.first_bar, phrase.last_bar));
    let (take, is_kept) = (phrase.take, state.phrases.iter().any(|kept| kept.what == phrase));
    let (entry, done) = match (is_out, is_kept) {
        (true, false) => return Err(Failure::bad_input(format!("take {take}: {words}: not kept"))),
        (true, true) => (Entry::PhraseOut(phrase), "no longer kept"),
        (false, _) => (Entry::Phrase(phrase), "kept as a phrase"),
    };
    journal.append(entry, Timestamp::now()).map_err(|error| Failure::store(error.to_string()))?;
    out.remark(&format!("take {take}: {words}: {done}"));
    Ok(Ending::Fine)
}

fn words(chorus: u32, (first, last): (usize, usize)) -> String {
    PhraseRecord { chorus, bars: BarsRecord { first, last } }.to_string()
}
