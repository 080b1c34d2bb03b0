//! `assign check`: where takes stand by an assignment.

use std::path::PathBuf;

use clap::Args;

use super::super::exit_status::{Ending, Failure};
use super::super::load;
use super::super::output::Output;
use super::super::review::ending;
use super::super::startup::Startup;
use super::looked::{Looked, looked};
use super::{assigned, journal, keep};
use crate::judge::assigned::{Assigned, Heard};
use crate::practice::standing::{Found, Standing};
use crate::report::OutputForm;
use crate::report::assignment::AssignmentName;
use crate::report::number::Count;
use crate::report::review::Source;
use crate::report::verdict::text;
use crate::report::verdict::{
    BandRecord, ContestRecord, ContestedRecord, TakeStanding, VerdictDocument, aside_sentence, sentence,
};
use crate::store::journal::State;
use crate::store::journal::entry::AssignmentRole;

/// What `assign check` takes.
#[derive(Clone, Debug, PartialEq, Eq, Args)]
pub struct CheckArgs {
    /// The assignment
    #[arg(value_name = "F")]
    pub file: PathBuf,
    /// The takes: numbers, last, or files; else the last ones over its chart
    #[arg(value_name = "TAKES")]
    pub takes: Vec<PathBuf>,
}

/// Carries the command out.
pub fn run(args: &CheckArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let assigned = assigned(&args.file)?;
    keep(&args.file, &assigned, AssignmentRole::Kept, load::assignment_text(&args.file)?, out);
    let (_, state) = journal(out)?;
    let looked = looked(&args.takes, &assigned, &state, startup, out)?;
    let (document, found) = document(&assigned, &looked, &state);
    match out.form() {
        OutputForm::Json => out.document(&document)?,
        form => {
            startup.tell_concert(out);
            out.text(&text::page(&document, form))?;
        }
    }
    Ok(ending(found.verdict.finding))
}

/// The verdict over the takes looked at, oldest first.
pub fn document(assigned: &Assigned, looked: &[Looked], state: &State) -> (VerdictDocument, Found) {
    let heard: Vec<Heard> = looked.iter().map(|looked| looked.heard.clone()).collect();
    let found = assigned.found(&heard);
    let source = Source { take: None, file: None, track: None, sha256: None };
    let standings =
        looked.iter().enumerate().map(|(index, looked)| standing(looked, found.used.contains(&index)));
    let contests: Vec<ContestRecord> = contests_of(looked, state).collect();
    let contested = assigned.found_as_contested(&heard).map(|granted| ContestedRecord {
        notes: heard.iter().map(|heard| heard.contested).sum(),
        verdict: granted.verdict.finding.words(),
        sentence: sentence(&granted.verdict),
        contests,
    });
    let document = VerdictDocument {
        assignment: Some(AssignmentName::of(assigned)),
        takes: standings.collect(),
        contested,
        ..VerdictDocument::new(source, &found.verdict)
    };
    (document, found)
}

fn contests_of<'a>(looked: &'a [Looked], state: &'a State) -> impl Iterator<Item = ContestRecord> + 'a {
    let of_takes = |take: u32| looked.iter().any(|looked| looked.take.take == Some(take));
    let contests = state.contests.iter().map(|(_, contest)| &contest.what);
    contests.filter(move |contest| of_takes(contest.take)).map(ContestRecord::of)
}

/// What became of one take.
fn standing(looked: &Looked, used: bool) -> TakeStanding {
    let answer = looked.heard.answer.as_ref();
    let (standing, why) = match &looked.heard.standing {
        Standing::Counts => ("counts", None),
        Standing::SetAside(reason) => ("set aside", Some(aside_sentence(*reason))),
        Standing::NotForIt(why) => ("not for this assignment", Some(why.clone())),
    };
    let bands = answer.and_then(|answer| answer.verdict.as_ref()).map(|verdict| &verdict.bands);
    TakeStanding {
        take: looked.take.take,
        day: looked.take.day.clone(),
        tempo: looked.take.bpm(),
        counted: answer.map_or(Count(0.0), |answer| answer.review.totals.counted),
        standing,
        why,
        used,
        bands: bands.into_iter().flatten().map(BandRecord::of).collect(),
    }
}
