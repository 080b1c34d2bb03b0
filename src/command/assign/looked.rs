//! The takes that are looked at for an assignment: those named, else the kept ones over its chart, from the last one back.

use std::path::{Path, PathBuf};

use super::super::exit_status::Failure;
use super::super::load;
use super::super::output::Output;
use super::super::play::keeping::tell;
use super::super::startup::Startup;
use super::super::values::TakeChoice;
use super::choices;
use crate::judge::assigned::{Assigned, Heard};
use crate::judge::kept::gaps;
use crate::practice::SentTake;
use crate::practice::standing::Standing;
use crate::store::journal::State;
use crate::store::journal::entry::Contest;
use crate::store::takes::{FOLDER_VARIABLE, KeptTake, TakeFolder};
use crate::take::{Imprint, MidiFile};

/// The most takes over the chart that are looked at, from the last one back.
const MOST_LOOKED_AT: usize = 50;

/// A take that was looked at, with what was found.
pub struct Looked {
    /// Its notes.
    pub take: SentTake,
    /// What became of it.
    pub heard: Heard,
}

/// Looks at takes for an assignment, oldest first.
pub fn looked(
    named: &[PathBuf],
    assigned: &Assigned,
    state: &State,
    startup: &Startup,
    out: &mut Output,
) -> Result<Vec<Looked>, Failure> {
    if named.iter().any(|name| choice(name).is_some()) || named.is_empty() {
        let folder = TakeFolder::of_user(std::env::var_os(FOLDER_VARIABLE))?;
        tell(&folder.recover(startup.resolved.settings.bare), out);
    }
    let contests: Vec<Contest> = state.contests.iter().map(|(_, contest)| contest.what.clone()).collect();
    if named.is_empty() {
        return of_folder(assigned, &contests, out);
    }
    let each = named.iter().map(|name| hear(sent(name, assigned)?, assigned, &contests));
    each.collect()
}

/// The kept takes over the chart: as many as count, and those passed over on the way.
fn of_folder(assigned: &Assigned, contests: &[Contest], out: &mut Output) -> Result<Vec<Looked>, Failure> {
    let folder = TakeFolder::of_user(std::env::var_os(FOLDER_VARIABLE))?;
    let wanted = assigned.assignment.takes.of_last().unwrap_or(MOST_LOOKED_AT);
    let mut looked = Vec::new();
    let mut counting = 0;
    for kept in folder.list()?.into_iter().rev() {
        if counting == wanted || looked.len() == MOST_LOOKED_AT {
            break;
        }
        match of_kept(&kept, assigned) {
            Ok(Some(take)) => {
                let heard = hear(take, assigned, contests)?;
                counting += usize::from(heard.heard.standing == Standing::Counts);
                looked.push(heard);
            }
            Ok(None) => {}
            Err(failure) => {
                out.remark(&format!("take {} is passed over: {}", kept.number, failure.message()));
            }
        }
    }
    looked.reverse();
    Ok(looked)
}

fn hear(take: SentTake, assigned: &Assigned, contests: &[Contest]) -> Result<Looked, Failure> {
    let of_take: Vec<Contest> =
        contests.iter().filter(|contest| Some(contest.take) == take.take).cloned().collect();
    let heard = assigned.hear(&take, &choices(assigned, &take), &of_take);
    let heard = heard.map_err(|error| Failure::bad_input(format!("take {}: {error}", number(&take))))?;
    Ok(Looked { take, heard })
}

fn number(take: &SentTake) -> String {
    take.take.map_or_else(|| "?".to_owned(), |number| number.to_string())
}

/// A kept take as it is sent; `None` where it is over another chart.
fn of_kept(kept: &KeptTake, assigned: &Assigned) -> Result<Option<SentTake>, Failure> {
    let bytes = load::midi_bytes(&kept.path)?;
    let take = of_bytes(&bytes, assigned).map_err(|why| match why {
        NotTaken::OtherChart => None,
        NotTaken::Failed(why) => Some(Failure::bad_input(format!("{}: {why}", kept.path.display()))),
    });
    match take {
        Ok(take) => {
            let day = kept.written_at().map(|at| at.date().to_string());
            Ok(Some(SentTake { take: Some(kept.number), day, ..take }))
        }
        Err(None) => Ok(None),
        Err(Some(failure)) => Err(failure),
    }
}

/// A take that is named: kept under a number, or in a file.
pub fn sent(name: &Path, assigned: &Assigned) -> Result<SentTake, Failure> {
    let folder = || TakeFolder::of_user(std::env::var_os(FOLDER_VARIABLE));
    let kept = match choice(name) {
        Some(TakeChoice::Last) => Some(folder()?.last()?),
        Some(TakeChoice::Number(number)) => Some(folder()?.find(number)?),
        None => folder().ok().and_then(|folder| folder.holding(name)),
    };
    let shown = name.display();
    let other = || {
        Failure::bad_input(format!("{shown}: is over another chart, or other bars, than the assignment's"))
    };
    if let Some(kept) = kept {
        return of_kept(&kept, assigned)?.ok_or_else(other);
    }
    let bytes = load::midi_bytes(name)?;
    of_bytes(&bytes, assigned).map_err(|why| match why {
        NotTaken::OtherChart => other(),
        NotTaken::Failed(why) => Failure::bad_input(format!("{shown}: {why}")),
    })
}

/// Why a file is no take for an assignment.
enum NotTaken {
    OtherChart,
    Failed(String),
}

fn of_bytes(bytes: &[u8], assigned: &Assigned) -> Result<SentTake, NotTaken> {
    let failed = |why: String| NotTaken::Failed(why);
    let midi = MidiFile::parse(bytes).map_err(|error| failed(error.to_string()))?;
    let imprint = Imprint::of(&midi)
        .ok_or_else(|| failed(crate::practice::sent_take::NotSent::NoImprint.to_string()))?;
    let key = assigned.key_of(&imprint).ok_or(NotTaken::OtherChart)?;
    let take = SentTake::of(&midi, &imprint, &gaps(&midi)).map_err(|error| failed(error.to_string()))?;
    Ok(SentTake { key, ..take })
}

fn choice(name: &Path) -> Option<TakeChoice> {
    name.to_str()?.parse().ok()
}
