//! `review --beside`: two takes of one chart, bar for bar.

use std::path::{Path, PathBuf};

use super::super::exit_status::{Ending, Failure};
use super::super::output::Output;
use super::super::startup::Startup;
use super::{Asked, ReviewArgs, recover, tell_warnings};
use crate::judge::Answer;
use crate::report::OutputForm;
use crate::report::beside::BesideDocument;

/// Shows the first take that is named with `other` beside it.
pub(super) fn show(
    args: &ReviewArgs,
    other: &PathBuf,
    asked: &Asked,
    startup: &Startup,
    out: &mut Output,
) -> Result<Ending, Failure> {
    recover(std::slice::from_ref(other), startup, out)?;
    let mut judged = |named: &Path| -> Result<Answer, Failure> {
        let answer = asked.judge_named(named, args.track.as_deref(), startup)?;
        tell_warnings(&answer.review, &named.display().to_string(), out);
        Ok(answer)
    };
    let (first, second) = (judged(&args.files[0])?, judged(other)?);
    let document = BesideDocument::new(&first, &second)
        .map_err(|differ| Failure::bad_input(format!("--beside {}: {differ}", other.display())))?;
    if args.plain && out.form() != OutputForm::Json {
        out.text(&(document.plain_lines().join("\n") + "\n"))?;
    } else {
        out.result(&document.table(), &document)?;
    }
    Ok(Ending::Fine)
}
