//! `takes rebuild`: makes the index again from the files, and says what it found there.

use crate::store::index::Refreshed;

use super::super::ask_index::ask;
use super::super::exit_status::{Ending, Failure};
use super::super::output::Output;
use super::super::startup::Startup;

/// Carries the command out. The run ends as store trouble where a take or a line of the journal does not read.
pub(super) fn rebuild(startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let (done, unlisted, oddities, path) = ask(startup, out, |index, judging| {
        let done = index.rebuild(judging)?;
        Ok((done, index.unlisted()?, index.oddities()?, index.path().to_owned()))
    })?;
    for (number, why) in &unlisted {
        out.remark(&format!("take {number}: {why}"));
    }
    for oddity in &oddities {
        out.remark(&oddity.to_string());
    }
    out.remark(&format!("{}: {}", path.display(), counts(done)));
    Ok(if unlisted.is_empty() && oddities.is_empty() { Ending::Fine } else { Ending::Store })
}

fn counts(done: Refreshed) -> String {
    let lines = if done.entries == 1 { "line" } else { "lines" };
    let (takes, seconds) = (super::counted(done.judged), done.took.as_secs_f64());
    format!("made again from {takes} and {} {lines} of the journal in {seconds:.1} s", done.entries)
}
