//! Many takes at once: every core at work, one line a file in the order given, memory flat however many there are.

use std::io::{IsTerminal, stderr};
use std::path::Path;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rayon::prelude::*;
use serde::Serialize;

use crate::judge::Answer;
use crate::report::number::percent;
use crate::report::review::{Review, ShareRecord};
use crate::report::table::{Column, Row, Table};

use super::super::exit_status::{Ending, Failure};
use super::super::output::Output;
use super::super::startup::Startup;
use super::{Asked, ReviewArgs};

/// Files judged before their lines are printed: enough to keep the cores busy, few enough to hold in memory.
const FILES_AT_ONCE: usize = 256;

/// The line of a file that could not be judged.
#[derive(Serialize)]
struct Refused {
    error: String,
    file: String,
}

/// Judges all files; a bad one costs only its line, and the run then ends as the last of them did.
pub(super) fn run(
    args: &ReviewArgs,
    asked: &Asked,
    startup: &Startup,
    out: &mut Output,
) -> Result<Ending, Failure> {
    let progress = progress(args.files.len());
    let mut ending = Ending::Fine;
    let mut rows = table();
    for files in args.files.chunks(FILES_AT_ONCE) {
        let judged: Vec<Result<Answer, Failure>> =
            files.par_iter().map(|file| asked.judge_named(file, args.track.as_deref(), startup)).collect();
        for (file, result) in files.iter().zip(judged) {
            if let Err(failure) = &result {
                ending = failure.ending();
            }
            if args.json_lines {
                out.text(&format!("{}\n", line(file, result)?))?;
            } else {
                match result {
                    Ok(answer) => rows.push(row(file, &answer.review)),
                    Err(failure) => progress.suspend(|| out.remark(failure.message())),
                }
            }
            progress.inc(1);
        }
    }
    progress.finish_and_clear();
    if !args.json_lines {
        let text = rows.text(out.form()).unwrap_or_default();
        out.text(&text)?;
    }
    Ok(ending)
}

fn line(file: &Path, result: Result<Answer, Failure>) -> Result<String, Failure> {
    let json = match result {
        Ok(answer) => serde_json::to_string(&answer.review),
        Err(failure) => {
            let refused = Refused { error: failure.message().to_owned(), file: file.display().to_string() };
            serde_json::to_string(&refused)
        }
    };
    json.map_err(|error| Failure::from(std::io::Error::from(error)))
}

/// Progress on a terminal; none in a pipe.
pub(in crate::command) fn progress(files: usize) -> ProgressBar {
    let target =
        if stderr().is_terminal() { ProgressDrawTarget::stderr() } else { ProgressDrawTarget::hidden() };
    let style = ProgressStyle::with_template("{pos} of {len} files  {wide_bar}  {eta} left");
    let bar = ProgressBar::with_draw_target(Some(files as u64), target);
    match style {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
}

fn table() -> Table {
    let numbers = ["notes", "chord", "scale", "outside", "open", "landed", "changes"].map(Column::numbers);
    Table::new([Column::words("file")].into_iter().chain(numbers))
}

fn row(file: &Path, review: &Review) -> Row {
    let totals = &review.totals;
    let share =
        |share: &ShareRecord| share.share.map_or_else(String::new, |share| format!("{} %", percent(share)));
    let cells = [
        file.display().to_string(),
        totals.counted.to_string(),
        share(&totals.chord),
        share(&totals.scale),
        share(&totals.outside),
        share(&totals.open),
        totals.landings.n.to_string(),
        totals.landings.of.to_string(),
    ];
    Row::new(cells.map(Into::into))
}
