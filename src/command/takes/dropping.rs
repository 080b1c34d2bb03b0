//! `takes drop` and `takes restore`: into the bin and back, and for good.

use std::io::{self, BufRead, IsTerminal};
use std::path::Path;

use clap::Args;
use jiff::Timestamp;

use crate::chart::Chart;
use crate::store::everything::{self, Inventory, Kind};
use crate::store::journal::Journal;
use crate::store::journal::entry::{DroppedTo, Entry};
use crate::store::takes::{FOLDER_VARIABLE, KeptTake, NotKept, TakeFolder, bin, data_folder};
use crate::take::{Imprint, MidiFile};
use crate::theory::chord::BareSymbols;

use super::super::exit_status::{Ending, Failure};
use super::super::load;
use super::super::output::Output;
use super::super::startup::Startup;
use super::super::values::TakeChoice;

/// What `takes drop` takes.
#[derive(Debug, Args)]
pub(super) struct DropArgs {
    /// Its number, or last
    #[arg(value_name = "TAKE", required_unless_present = "all", conflicts_with = "all")]
    take: Option<TakeChoice>,
    /// Every take; with --for-good everything that is kept in the data folder
    #[arg(long)]
    all: bool,
    /// Delete it, from the bin too: it cannot be brought back
    #[arg(long)]
    for_good: bool,
    /// Delete everything without asking
    #[arg(long, requires = "all", requires = "for_good")]
    yes: bool,
}

/// Carries `takes drop` out.
pub(super) fn drop(
    args: &DropArgs,
    folder: &TakeFolder,
    startup: &Startup,
    out: &mut Output,
) -> Result<Ending, Failure> {
    match (args.take, args.for_good) {
        (Some(choice), false) => {
            let number = super::number(choice, folder)?;
            let path = folder.drop_take(number)?;
            note(vec![Entry::Dropped { take: number, to: DroppedTo::Bin }], out)?;
            out.remark(&format!("take {number} is in the bin: {}", path.display()));
        }
        (Some(choice), true) => {
            let number = super::number(choice, folder)?;
            let take = folder.find_anywhere(number)?;
            out.remark(&format!("take {number}, {}: deleted for good", description(&take)));
            folder.delete(&take)?;
            note(vec![Entry::Dropped { take: number, to: DroppedTo::ForGood }], out)?;
        }
        (None, false) => drop_all(folder, out)?,
        (None, true) => return delete_everything(args.yes, startup, out),
    }
    Ok(Ending::Fine)
}

fn drop_all(folder: &TakeFolder, out: &mut Output) -> Result<(), Failure> {
    let (mut dropped, mut broke_off) = (Vec::new(), Ok(()));
    for take in folder.list()? {
        match folder.drop_take(take.number) {
            Ok(_) => dropped.push(Entry::Dropped { take: take.number, to: DroppedTo::Bin }),
            Err(error) => {
                broke_off = Err(error.into());
                break;
            }
        }
    }
    let moved = super::counted(dropped.len());
    note(dropped, out)?;
    out.remark(&format!("{moved} moved to the bin: {}", folder.path().join(bin::FOLDER).display()));
    broke_off
}

/// Carries `takes restore` out.
pub(super) fn restore(number: u32, folder: &TakeFolder, out: &mut Output) -> Result<Ending, Failure> {
    let take = folder.restore(number)?;
    note(vec![Entry::Restored { take: number }], out)?;
    out.remark(&format!("take {number} is back: {}", take.path.display()));
    Ok(Ending::Fine)
}

/// Notes in the journal what became of takes. Where that cannot be done (a full disk, from which a take is deleted) it is
/// said; where the take is now is told by its file.
fn note(entries: Vec<Entry>, out: &mut Output) -> Result<(), NotKept> {
    let journal = Journal::in_folder(&data_folder(std::env::var_os(FOLDER_VARIABLE))?);
    if let Err(error) = journal.append_all(entries, Timestamp::now()) {
        out.remark(&error.to_string());
    }
    Ok(())
}

/// What a take is, as far as its file tells: `Bus Shelter, Rain, kept 2026-11-25 18:04`.
fn description(take: &KeptTake) -> String {
    let title = title(&take.path).filter(|title| !title.is_empty());
    let kept = take.written_at().map(|at| format!("kept {}", at.strftime("%Y-%m-%d %H:%M")));
    let parts: Vec<String> = title.into_iter().chain(kept).chain([take.path.display().to_string()]).collect();
    parts.join(", ")
}

fn title(path: &Path) -> Option<String> {
    let imprint = Imprint::of(&MidiFile::parse(&load::midi_bytes(path).ok()?).ok()?)?;
    let (chart, _) = Chart::parse(&imprint.chart_name, &imprint.chart, BareSymbols::default()).ok()?;
    Some(chart.title().to_owned())
}

/// Deletes everything but the settings, after it has been said what that is, and been agreed to.
fn delete_everything(agreed: bool, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let data = data_folder(std::env::var_os(FOLDER_VARIABLE))?;
    let unreadable = |source| NotKept::Unreadable { path: data.clone(), source };
    let inventory = Inventory::of(&data).map_err(unreadable)?;
    if inventory.ours.is_empty() {
        out.remark(&format!("{}: nothing is kept there", data.display()));
        return Ok(Ending::Fine);
    }
    out.remark(&what_goes(&inventory, &data));
    out.remark(&format!("The settings stay: {}", startup.path.display()));
    if !(agreed || asked(out)?) {
        out.remark("Nothing was deleted.");
        return Ok(Ending::Fine);
    }
    let gone = everything::delete(&data)?;
    let files = if gone.ours.len() == 1 { "file" } else { "files" };
    out.remark(&format!("Deleted: {} {files}.", gone.ours.len()));
    for other in &gone.others {
        out.remark(&format!("{}: not ours, left where it is", other.display()));
    }
    Ok(Ending::Fine)
}

fn what_goes(inventory: &Inventory, data: &Path) -> String {
    let kept = |kind: Kind, words: &str| (inventory.count(kind) > 0).then(|| words.to_owned());
    let counts = [
        Some(super::counted(inventory.count(Kind::Take))),
        Some(format!("{} in the bin", inventory.count(Kind::Binned))),
        kept(Kind::Log, "takes that were cut off"),
        kept(Kind::Journal, "the journal: assignments, scales, contests, notes, drill answers"),
        kept(Kind::Devices, "what was learnt about devices"),
        kept(Kind::Index, "the index"),
    ];
    let counts: Vec<String> = counts.into_iter().flatten().collect();
    format!("To be deleted for good from {}: {}.", data.display(), counts.join("; "))
}

/// Asks on a terminal; elsewhere nobody can answer, and a flag must say it.
fn asked(out: &mut Output) -> Result<bool, Failure> {
    if !(io::stdin().is_terminal() && io::stderr().is_terminal()) {
        return Err(Failure::bad_input(
            "nobody can be asked here: nothing was deleted. --yes deletes without asking",
        ));
    }
    out.remark("Delete all this? Type yes and Enter; anything else keeps it.");
    let mut answer = String::new();
    io::stdin().lock().read_line(&mut answer)?;
    Ok(answer.trim() == "yes")
}

#[cfg(test)]
mod tests {
    use super::super::super::values::tests::{parsed, refused};
    use super::*;

    #[test]
    fn one_take_or_all_of_them_are_named() {
        assert_eq!(parsed::<DropArgs>(&["14"]).take, Some(TakeChoice::Number(14)));
        assert!(parsed::<DropArgs>(&["--all", "--for-good", "--yes"]).yes);
        assert!(refused::<DropArgs>(&[]).contains("required arguments were not provided:\n  <TAKE>"));
        assert!(refused::<DropArgs>(&["14", "--all"]).contains("cannot be used with"));
        assert!(refused::<DropArgs>(&["14", "--yes"]).contains("required"));
    }
}
