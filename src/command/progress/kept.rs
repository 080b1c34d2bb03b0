//! The digests of the takes that are kept, each judged by the settings of its day.

use rayon::prelude::*;

use crate::judge::{Dated, digest};
use crate::practice::Digest;
use crate::store::takes::{FOLDER_VARIABLE, KeptTake, TakeFolder};
use crate::take::{Imprint, MidiFile};

use super::super::exit_status::{Ending, Failure};
use super::super::load;
use super::super::output::Output;
use super::super::play::keeping::tell;
use super::super::startup::Startup;
use super::{Looked, today};

/// Every take that is kept. One that cannot be read costs only itself, and is said.
pub(super) fn takes(startup: &Startup, out: &mut Output) -> Result<Looked, Failure> {
    let folder = TakeFolder::of_user(std::env::var_os(FOLDER_VARIABLE))?;
    tell(&folder.recover(startup.resolved.settings.bare), out);
    let kept = folder.list()?;
    let judged: Vec<Result<Digest, Failure>> = kept.par_iter().map(|take| judged(take, startup)).collect();
    let mut looked = Looked { digests: Vec::new(), today: today(), ending: Ending::Fine };
    for (take, result) in kept.iter().zip(judged) {
        match result {
            Ok(digest) => looked.digests.push(digest),
            Err(failure) => {
                out.remark(&format!("take {} is left aside: {}", take.number, failure.message()));
                looked.ending = Ending::Store;
            }
        }
    }
    Ok(looked)
}

fn judged(take: &KeptTake, startup: &Startup) -> Result<Digest, Failure> {
    let bytes = load::midi_bytes(&take.path)?;
    let file = || take.path.display();
    let day = take.written_at().ok_or_else(|| Failure::store(format!("{}: its day is not known", file())))?;
    let stored = MidiFile::parse(&bytes).ok().and_then(|midi| Imprint::of(&midi));
    let stored = stored.map(|imprint| imprint.settings).unwrap_or_default();
    let choices = startup.sources.resolve_for_take(&stored)?.choices();
    let dated = Dated { take: take.number, day: day.date() };
    digest(&bytes, dated, &choices).map_err(|error| Failure::store(format!("{}: {error}", file())))
}
