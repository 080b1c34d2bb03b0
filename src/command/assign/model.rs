//! `assign model`: the teacher's take in an assignment, bar by bar, beside one of the student's; or as a file to hear.

use std::path::PathBuf;

use clap::Args;

use super::super::exit_status::{Ending, Failure};
use super::super::output::Output;
use super::super::startup::Startup;
use super::looked::sent;
use super::{assigned, choices};
use crate::command::output_file::may_write;
use crate::judge::Answer;
use crate::judge::assigned::Assigned;
use crate::practice::SentTake;
use crate::report::model::ModelDocument;
use crate::store::error_words::in_words;
use crate::store::replace::replace_bytes;

/// What `assign model` takes.
#[derive(Clone, Debug, PartialEq, Eq, Args)]
pub struct ModelArgs {
    /// The assignment
    #[arg(value_name = "F")]
    pub file: PathBuf,
    /// A take of yours to show beside it: a number, last, or a file
    #[arg(value_name = "TAKE")]
    pub take: Option<PathBuf>,
    /// Write the model as MIDI, with the chart in it: to hear, to replay, to review
    #[arg(short, long = "output", value_name = "F.mid", conflicts_with = "take")]
    pub output: Option<PathBuf>,
}

/// Carries the command out.
pub fn run(args: &ModelArgs, _startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let assigned = assigned(&args.file)?;
    let file = args.file.display();
    let model = assigned.assignment.model.clone();
    let model = model.ok_or_else(|| Failure::bad_input(format!("{file}: no model take is in it")))?;
    if let Some(path) = &args.output {
        let refused = |why: String| Failure::bad_input(format!("{file}: the model in it {why}"));
        let bytes = assigned.file_of(&model).map_err(|error| refused(format!("does not read: {error}")))?;
        let bytes = bytes.ok_or_else(|| refused("is in none of its keys".to_owned()))?;
        let failed =
            |error: std::io::Error| Failure::store(format!("{}: {}", path.display(), in_words(&error)));
        may_write(path, &["mid", "midi"], "-o")?;
        replace_bytes(path, &bytes).map_err(failed)?;
        out.remark(&format!("wrote {}", path.display()));
        return Ok(Ending::Fine);
    }
    let of_model = judged(&assigned, &model)?;
    let yours = args.take.as_deref().map(|take| sent(take, &assigned)).transpose()?;
    let yours = yours.map(|take| judged(&assigned, &take)).transpose()?;
    let document = ModelDocument::new(&assigned, &of_model, yours.as_ref());
    out.result(&document.table(), &document)?;
    Ok(Ending::Fine)
}

/// A take judged over the chart, whatever its tempo and however many choruses it has.
fn judged(assigned: &Assigned, take: &SentTake) -> Result<Answer, Failure> {
    let any = assigned.asking_nothing_of_takes();
    let heard = any.hear(take, &choices(assigned, take), &[]);
    let heard = heard.map_err(|error| Failure::bad_input(error.to_string()))?;
    heard.answer.ok_or_else(|| Failure::bad_input("the take is in none of the keys of the assignment"))
}
