//! `takes contest` and `takes withdraw`: a note that the player hears otherwise, written into the journal, and taken back.

use std::str::FromStr;

use clap::Args;
use jiff::Timestamp;

use super::super::assign::journal;
use super::super::exit_status::{Ending, Failure};
use super::super::load;
use super::super::output::Output;
use super::super::startup::Startup;
use super::super::values::{NotePlace, TakeChoice};
use crate::judge::{Answer, Question, judge};
use crate::practice::contests::{heard_as_words, read_heard_as};
use crate::report::review::notes::nth_note;
use crate::report::review::{Detail, NoteRecord};
use crate::store::journal::entry::{Contest, Entry, EntryId, HeardAs, NoteName};
use crate::store::takes::{FOLDER_VARIABLE, KeptTake, TakeFolder};
use crate::take::{Imprint, MidiFile};

/// The longest reason, in characters.
const LONGEST_REASON: usize = 200;

/// A note of a take.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Args)]
pub struct NoteArgs {
    /// The take: its number, or last
    #[arg(value_name = "TAKE")]
    pub take: TakeChoice,
    /// The note, as review --notes lists it: 9.4 is the fourth that counts in bar 9
    #[arg(value_name = "BAR.NOTE")]
    pub note: NotePlace,
    /// In which chorus, where several have such a note
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=999))]
    pub chorus: Option<u32>,
}

/// What `takes contest` takes.
#[derive(Clone, Debug, PartialEq, Eq, Args)]
pub struct ContestArgs {
    /// Which note
    #[command(flatten)]
    pub note: NoteArgs,
    /// What you hear it as: chord, scale, resolved, open, not-played, over=CHORD, in=SCALE
    #[arg(long = "as", value_name = "WHAT")]
    pub heard_as: Heard,
    /// Why, in your words
    #[arg(long, value_name = "TEXT", default_value = "")]
    pub reason: String,
}

/// What a note is heard as, on the command line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Heard(HeardAs);

/// Reads `chord`, `over=Bb7`.
impl FromStr for Heard {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let read = read_heard_as(text).map(Self);
        read.ok_or_else(|| {
            "a note is heard as chord, scale, resolved, open, not-played, over=CHORD (as in over=Bb7alt) or in=SCALE"
                .to_owned()
        })
    }
}

/// Contests a note.
pub fn contest(args: &ContestArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let length = args.reason.chars().count();
    if length > LONGEST_REASON {
        return Err(Failure::bad_input(format!(
            "--reason has {length} characters, {LONGEST_REASON} are the most"
        )));
    }
    let Found { take, note, answer } = found(args.note, startup, out)?;
    let (journal, _) = journal(out)?;
    let contest = Contest {
        take: take.number,
        note: NoteName::Index(note.index),
        heard_as: args.heard_as.0.clone(),
        reason: args.reason.clone(),
    };
    let kept = journal.append(Entry::Contest(contest), Timestamp::now());
    kept.map_err(|error| Failure::store(error.to_string()))?;
    let heard = heard_as_words(&args.heard_as.0);
    let NoteRecord { name, chord, why, .. } = &note;
    out.remark(&format!(
        "take {}, bar {}: {name} over {chord} stands as heard as {heard}. It was judged: {why}",
        take.number,
        args.note.note.bar.get()
    ));
    out.remark(&format!(
        "assign check and assign hand-in tell the verdict both ways; the figures of the take ({} notes) stay as they are.",
        answer.review.totals.counted
    ));
    Ok(Ending::Fine)
}

/// Takes every contest of a note back.
pub fn withdraw(args: NoteArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let Found { take, note, .. } = found(args, startup, out)?;
    let (journal, state) = journal(out)?;
    let is_meant =
        |contest: &Contest| contest.take == take.number && contest.note == NoteName::Index(note.index);
    let meant: Vec<EntryId> =
        state.contests.iter().filter(|(_, dated)| is_meant(&dated.what)).map(|(id, _)| id.clone()).collect();
    if meant.is_empty() {
        let place = args.note;
        return Err(Failure::bad_input(format!(
            "take {}: note {}.{} is not contested",
            take.number,
            place.bar.get(),
            place.note
        )));
    }
    for contest in meant {
        let withdrawn = journal.append(Entry::Withdrawn { contest }, Timestamp::now());
        withdrawn.map_err(|error| Failure::store(error.to_string()))?;
    }
    out.remark(&format!("take {}: the contest is withdrawn", take.number));
    Ok(Ending::Fine)
}

/// A note that was found.
struct Found {
    take: KeptTake,
    note: NoteRecord,
    answer: Answer,
}

fn found(args: NoteArgs, startup: &Startup, out: &mut Output) -> Result<Found, Failure> {
    let folder = TakeFolder::of_user(std::env::var_os(FOLDER_VARIABLE))?;
    let take = match args.take {
        TakeChoice::Last => folder.last()?,
        TakeChoice::Number(number) => folder.find(number)?,
    };
    let answer = judged(&take, startup, out)?;
    let (bar, number) = (args.note.bar.get(), args.note.note);
    let notes = nth_note(&answer.review, bar, number, args.chorus);
    let shown = format!("take {}: note {bar}.{number}", take.number);
    match notes.as_slice() {
        [note] => Ok(Found { take, note: (*note).clone(), answer }),
        [] => Err(Failure::bad_input(format!(
            "{shown}: there is none. barwise review {} --notes lists them",
            take.number
        ))),
        several => {
            let choruses: Vec<String> = several
                .iter()
                .filter_map(|note| note.chord_chorus)
                .map(|chorus| chorus.to_string())
                .collect();
            Err(Failure::bad_input(format!(
                "{shown} is in choruses {}: write --chorus N",
                choruses.join(", ")
            )))
        }
    }
}

/// The take judged by the settings of its day, as its review shows it.
fn judged(take: &KeptTake, startup: &Startup, out: &mut Output) -> Result<Answer, Failure> {
    let bytes = load::midi_bytes(&take.path).map_err(|error| Failure::store(error.to_string()))?;
    let stored = MidiFile::parse(&bytes).ok().and_then(|midi| Imprint::of(&midi));
    let stored = stored.map(|imprint| imprint.settings).unwrap_or_default();
    let choices = startup.choices(&startup.sources.resolve_for_take(&stored)?, out);
    let question =
        Question { choices: &choices, chart: None, track: None, detail: Detail::Notes, bands: None };
    judge(&bytes, None, question).map_err(|error| Failure::store(format!("{}: {error}", take.path.display())))
}
