//! The folder of a class: every file in it read by itself, within bounds, on every core. No link is followed, no folder
//! entered, nothing written.

use std::fs::{self, DirEntry};
use std::path::{Path, PathBuf};

use rayon::prelude::*;

use super::super::assign::choices;
use super::super::exit_status::Failure;
use super::super::load;
use super::super::long_work;
use crate::judge::assigned::{Assigned, Heard};
use crate::practice::HandIn;
use crate::practice::class::{Pupil, bars_of, mix_of};
use crate::practice::hand_in::{LARGEST, tame};
use crate::practice::standing::Standing;
use crate::report::class::FileRecord;
use crate::store::error_words::in_words;
use crate::store::journal::entry::Contest;
use crate::tally::Tally;
use crate::tally::verdict::NoVerdict;

/// The longest name of a file that is shown, in characters.
const LONGEST_SHOWN: usize = 60;

/// The most files of a folder.
const MOST_FILES: usize = 100_000;

/// Files judged before the progress moves on.
const FILES_AT_ONCE: usize = 64;

/// What a folder holds.
pub(super) struct Gathered {
    /// A hand-in each, in the order of the names of their files.
    pub pupils: Vec<Pupil>,
    /// Everything else.
    pub files: Vec<FileRecord>,
}

/// Reads a folder. `own` are files in it that are the teacher's own.
pub(super) fn gather(folder: &Path, assigned: &Assigned, own: &[PathBuf]) -> Result<Gathered, Failure> {
    let said = |why: String| Failure::bad_input(format!("{}: {why}", folder.display()));
    let unreadable = |error: std::io::Error| said(in_words(&error));
    let entries: Vec<DirEntry> = fs::read_dir(folder)
        .map_err(unreadable)?
        .take(MOST_FILES + 1)
        .collect::<Result<_, _>>()
        .map_err(unreadable)?;
    if entries.len() > MOST_FILES {
        return Err(said(format!("has more than {MOST_FILES} files, the most that is read")));
    }
    let is_own = |path: &Path| path.canonicalize().is_ok_and(|path| own.contains(&path));
    let mut paths: Vec<PathBuf> = entries.iter().map(DirEntry::path).filter(|path| !is_own(path)).collect();
    paths.sort();
    let progress = long_work::bar(paths.len());
    let mut gathered = Gathered { pupils: Vec::new(), files: Vec::new() };
    for paths in paths.chunks(FILES_AT_ONCE) {
        let read: Vec<_> = paths.par_iter().map(|path| read(path, assigned)).collect();
        for (path, read) in paths.iter().zip(read) {
            match read {
                Ok(pupil) => gathered.pupils.push(pupil),
                Err(message) => {
                    gathered.files.push(FileRecord { file: shown(path), kind: "refused", message });
                }
            }
            progress.inc(1);
        }
    }
    progress.finish_and_clear();
    Ok(gathered)
}

/// The name of a file as it is shown.
fn shown(path: &Path) -> String {
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    tame(&name, LONGEST_SHOWN)
}

/// The hand-in in a file, judged; else why there is none.
fn read(path: &Path, assigned: &Assigned) -> Result<Pupil, String> {
    let data = fs::symlink_metadata(path).map_err(|error| in_words(&error))?;
    if data.is_symlink() {
        return Err("is a link; links are not followed".to_owned());
    }
    if data.is_dir() {
        return Err("is a folder; folders are not looked into".to_owned());
    }
    if !data.is_file() {
        return Err("is no file".to_owned());
    }
    if data.len() > LARGEST as u64 {
        return Err(format!("has {} bytes, {LARGEST} are the most that is read", data.len()));
    }
    let text = load::hand_in_text(path).map_err(|error| {
        let said = error.to_string();
        let said = said.strip_prefix(&format!("{}: ", path.display())).unwrap_or(&said).to_owned();
        tame(&said, 200)
    })?;
    let hand_in = HandIn::parse(&text).map_err(|error| error.to_string())?;
    if hand_in.assignment.rule_sha256 != assigned.rule_sha256 {
        return Err(other_assignment(&hand_in, assigned));
    }
    pupil(path, hand_in, assigned)
}

fn other_assignment(hand_in: &HandIn, assigned: &Assigned) -> String {
    let name = &hand_in.assignment;
    let words = &assigned.assignment.words;
    if name.title == words.title && name.number == words.number {
        return "is for another version of this assignment: what is asked has changed since".to_owned();
    }
    let title = name.title.clone().unwrap_or_else(|| "without a title".to_owned());
    format!("is for another assignment ({title})")
}

fn pupil(path: &Path, hand_in: HandIn, assigned: &Assigned) -> Result<Pupil, String> {
    let notes_sha256 = hand_in.notes_sha256();
    let mut heard: Vec<Heard> = Vec::with_capacity(hand_in.take.len());
    for (index, take) in hand_in.take.iter().enumerate() {
        let contests: Vec<Contest> =
            hand_in.contest.iter().filter(|contest| Some(contest.take) == take.take).cloned().collect();
        let one = assigned.hear(take, &choices(assigned, take), &contests);
        heard.push(one.map_err(|error| format!("take {}: {}", index + 1, tame(&error.to_string(), 200)))?);
    }
    let found = assigned.found(&heard);
    let granted = assigned.found_as_contested(&heard).map(|found| found.verdict);
    let form = &assigned.chords().form;
    let first = form.bars.first().map_or(1, |bar| bar.number);
    let tally = |heard: &'_ Heard| heard.answer.as_ref().map(|answer| answer.tally.clone());
    let looked: Vec<Tally> = if found.used.is_empty() {
        heard.iter().filter_map(tally).collect()
    } else {
        found.used.iter().filter_map(|&index| tally(&heard[index])).collect()
    };
    let looked: Vec<&Tally> = looked.iter().collect();
    let stem = shown(path);
    let stem = stem.trim_end_matches(".toml").trim_end_matches(".hand-in").to_owned();
    let used = found.used.iter().filter_map(|&index| hand_in.take[index].take);
    Ok(Pupil {
        name: hand_in.name.clone().unwrap_or(stem),
        file: shown(path),
        day: hand_in.day.as_deref().and_then(|day| day.parse().ok()),
        last_played: hand_in.take.iter().filter_map(crate::practice::SentTake::played_on).max(),
        takes: hand_in.take.len(),
        used: used.collect(),
        gear: gear(&hand_in, &heard),
        mix: mix_of(&looked),
        bars: bars_of(&looked, first, form.bars.len()),
        found,
        granted,
        contests: hand_in.contest,
        note: hand_in.note,
        notes_sha256,
    })
}

/// What an instrument or its set-up did to takes, each thing once.
fn gear(hand_in: &HandIn, heard: &[Heard]) -> Vec<String> {
    let aside = |reason: fn(&NoVerdict) -> bool| {
        heard.iter().any(|heard| matches!(&heard.standing, Standing::SetAside(why) if reason(why)))
    };
    let ghosts = aside(|why| matches!(why, NoVerdict::Ghosts { .. }));
    let spread = aside(|why| matches!(why, NoVerdict::Spread { .. }));
    let gaps = hand_in.take.iter().any(|take| !take.gaps.is_empty());
    let words = [(ghosts, "ghosts"), (spread, "lateness"), (gaps, "input gone")];
    words.into_iter().filter(|(is, _)| *is).map(|(_, word)| word.to_owned()).collect()
}
