//! The digests of the takes that are kept, each judged by the settings of its day.

use crate::store::index::Filter;
use crate::store::takes::{FOLDER_VARIABLE, TakeFolder};

use super::super::ask_index::ask;
use super::super::exit_status::{Ending, Failure};
use super::super::output::Output;
use super::super::play::keeping::tell;
use super::super::startup::Startup;
use super::{Looked, today};

/// Every take that is kept. One that cannot be read costs only itself, and is said.
pub(super) fn takes(startup: &Startup, out: &mut Output) -> Result<Looked, Failure> {
    let folder = TakeFolder::of_user(std::env::var_os(FOLDER_VARIABLE))?;
    tell(&folder.recover(startup.resolved.settings.bare), out);
    let (digests, unlisted) = ask(startup, out, |index, judging| {
        let digests = index.digests(&Filter::default(), judging)?;
        Ok((digests, index.unlisted()?))
    })?;
    for (number, why) in &unlisted {
        out.remark(&format!("take {number} is left aside: {why}"));
    }
    let ending = if unlisted.is_empty() { Ending::Fine } else { Ending::Store };
    Ok(Looked { digests, today: today(), ending })
}
