//! Everything that is kept for a player: which files these are, copied whole or deleted whole.
//!
//! Only files of our own are touched, known by their names; whatever else stands in the data folder is left alone and
//! named.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use super::{device_facts, error_words, index, journal, takes};

/// What a file of ours is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// A take.
    Take,
    /// A take in the bin.
    Binned,
    /// The log of a take under way, or of one that was cut off.
    Log,
    /// What players and teachers entered.
    Journal,
    /// What was learnt about devices.
    Devices,
    /// The index, its copies and damaged ones: they can be made again.
    Index,
    /// The rest: half-written files, files that keep a number.
    Trace,
}

/// What a data folder holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Inventory {
    /// Files of ours, by kind and name.
    pub ours: Vec<(Kind, PathBuf)>,
    /// What is not ours.
    pub others: Vec<PathBuf>,
}

impl Inventory {
    /// Looks through the data folder `data`; one that is not there holds nothing.
    pub fn of(data: &Path) -> io::Result<Self> {
        let mut found = Self::default();
        let takes = data.join(takes::FOLDER);
        let bin = takes.join(takes::bin::FOLDER);
        for (folder, kind_of) in
            [(data, kind_in_data as fn(&str) -> _), (&takes, kind_in_takes), (&bin, kind_in_bin)]
        {
            for path in paths_in(folder)?.into_iter().filter(|path| ![&takes, &bin].contains(&path)) {
                let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
                match kind_of(&name).filter(|_| !path.is_dir()) {
                    Some(kind) => found.ours.push((kind, path)),
                    None => found.others.push(path),
                }
            }
        }
        found.ours.sort();
        found.others.sort();
        Ok(found)
    }

    /// How many files of a kind there are.
    pub fn count(&self, kind: Kind) -> usize {
        self.ours.iter().filter(|(ours, _)| *ours == kind).count()
    }
}

fn paths_in(folder: &Path) -> io::Result<Vec<PathBuf>> {
    match fs::read_dir(folder) {
        Ok(entries) => entries.map(|entry| Ok(entry?.path())).collect(),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(Vec::new()),
        Err(error) => Err(error),
    }
}

fn kind_in_data(name: &str) -> Option<Kind> {
    match name {
        journal::FILE => Some(Kind::Journal),
        device_facts::FILE => Some(Kind::Devices),
        _ if name.starts_with(index::FILE) || (name.starts_with("index-") && name.contains(".sqlite")) => {
            Some(Kind::Index)
        }
        _ => None,
    }
}

fn kind_in_takes(name: &str) -> Option<Kind> {
    match name.strip_prefix("take-")?.split_once('.')?.1 {
        "mid" => Some(Kind::Take),
        "playing" => Some(Kind::Log),
        "new" => Some(Kind::Trace),
        _ => None,
    }
}

fn kind_in_bin(name: &str) -> Option<Kind> {
    match name.strip_prefix("take-")?.split_once('.')?.1 {
        "mid" => Some(Kind::Binned),
        "gone" => Some(Kind::Trace),
        _ => None,
    }
}

/// Why everything could not be copied or deleted.
#[derive(Debug, thiserror::Error)]
pub enum NotWhole {
    /// The place for the copy is taken.
    #[error("{}: this is there already; name a folder that is not there yet", .0.display())]
    Taken(PathBuf),
    /// A file or folder could not be read, written or deleted.
    #[error("{}: {}", path.display(), error_words::in_words(source))]
    File {
        /// The file or folder.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
}

fn at(path: &Path) -> impl FnOnce(io::Error) -> NotWhole + use<> {
    let path = path.to_owned();
    move |source| NotWhole::File { path, source }
}

/// Copies everything that cannot be made again from the data folder `data`, and the file of settings if there is one, into
/// the folder `to`, which must not be there yet. The copy is laid out as the data folder is. It is whole when `to` is there.
pub fn copy(data: &Path, settings: &Path, to: &Path) -> Result<Inventory, NotWhole> {
    if to.exists() {
        return Err(NotWhole::Taken(to.to_owned()));
    }
    let inventory = Inventory::of(data).map_err(at(data))?;
    let name = to.file_name().unwrap_or_default().to_string_lossy();
    let beside = to.with_file_name(format!(".{name}.{}.new", std::process::id()));
    let copied =
        copy_into(&inventory, data, settings, &beside).and_then(|()| fs::rename(&beside, to).map_err(at(to)));
    if copied.is_err() {
        // The first error is the one to report; what is left of the copy harms nothing.
        let _ = fs::remove_dir_all(&beside);
    }
    copied.map(|()| inventory)
}

fn copy_into(inventory: &Inventory, data: &Path, settings: &Path, to: &Path) -> Result<(), NotWhole> {
    fs::create_dir(to).map_err(at(to))?;
    for (kind, from) in &inventory.ours {
        let inside = from.strip_prefix(data).unwrap_or(from);
        if !matches!(kind, Kind::Index | Kind::Log) {
            copy_file(from, &to.join(inside))?;
        }
    }
    if settings.is_file() {
        copy_file(settings, &to.join(settings.file_name().unwrap_or_default()))?;
    }
    Ok(())
}

/// Copies a file with the time it was written, for a take's day hangs on it.
fn copy_file(from: &Path, to: &Path) -> Result<(), NotWhole> {
    if let Some(folder) = to.parent() {
        fs::create_dir_all(folder).map_err(at(folder))?;
    }
    fs::copy(from, to).map_err(at(from))?;
    let written = fs::metadata(from).and_then(|data| data.modified()).map_err(at(from))?;
    let copy = File::options().write(true).open(to).map_err(at(to))?;
    copy.set_modified(written).and_then(|()| copy.sync_all()).map_err(at(to))
}

/// Deletes everything of ours from the data folder but the logs of takes under way; a folder that is empty then goes too.
pub fn delete(data: &Path) -> Result<Inventory, NotWhole> {
    let inventory = Inventory::of(data).map_err(at(data))?;
    for (_, path) in inventory.ours.iter().filter(|(kind, path)| *kind != Kind::Log || !is_under_way(path)) {
        fs::remove_file(path).map_err(at(path))?;
    }
    let takes = data.join(takes::FOLDER);
    for folder in [&takes.join(takes::bin::FOLDER), &takes, data] {
        match fs::remove_dir(folder) {
            Err(error)
                if ![io::ErrorKind::DirectoryNotEmpty, io::ErrorKind::NotFound].contains(&error.kind()) =>
            {
                return Err(at(folder)(error));
            }
            _ => {}
        }
    }
    Ok(inventory)
}

/// Whether a living program writes a log.
fn is_under_way(log: &Path) -> bool {
    File::open(log).is_ok_and(|file| file.try_lock().is_err())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn data() -> (tempfile::TempDir, PathBuf) {
        let home = tempfile::tempdir().expect("a folder");
        let data = home.path().join("data");
        for name in [
            "takes/take-0001.mid",
            "takes/take-0003.playing",
            "takes/bin/take-0002.mid",
            "takes/bin/take-0004.gone",
            "journal.jsonl",
            "devices.toml",
            "index.sqlite",
            "index.sqlite.seal",
            "index-damaged-20261130.sqlite-wal",
            "letter.txt",
            "takes/letter.mid",
        ] {
            let path = data.join(name);
            fs::create_dir_all(path.parent().expect("a folder")).expect("made");
            fs::write(&path, name).expect("a file");
        }
        fs::write(home.path().join("settings.toml"), "ascii = true\n").expect("a file");
        (home, data)
    }

    #[test]
    fn what_is_ours_is_known_by_its_name() {
        let (_home, data) = data();
        let inventory = Inventory::of(&data).expect("read");
        let counts: Vec<usize> =
            [Kind::Take, Kind::Binned, Kind::Log, Kind::Journal, Kind::Devices, Kind::Index, Kind::Trace]
                .map(|kind| inventory.count(kind))
                .into();
        assert_eq!(counts, [1, 1, 1, 1, 1, 3, 1]);
        assert_eq!(inventory.others, [data.join("letter.txt"), data.join("takes/letter.mid")]);
        assert_eq!(Inventory::of(&data.join("nowhere")).expect("nothing"), Inventory::default());
    }

    #[test]
    fn a_copy_is_laid_out_as_the_folder_is_and_never_written_over_another() {
        let (home, data) = data();
        let long_ago = std::time::UNIX_EPOCH + std::time::Duration::from_secs(1_600_000_000);
        let take = data.join("takes/take-0001.mid");
        File::options().write(true).open(&take).and_then(|file| file.set_modified(long_ago)).expect("set");
        let to = home.path().join("copy");
        copy(&data, &home.path().join("settings.toml"), &to).expect("copied");
        let mut copied: Vec<String> = Inventory::of(&to)
            .map(|all| all.ours.into_iter().map(|(_, path)| path).chain(all.others).collect::<Vec<_>>())
            .expect("read")
            .iter()
            .map(|path| path.strip_prefix(&to).expect("inside").display().to_string())
            .collect();
        copied.sort();
        let expect = [
            "devices.toml",
            "journal.jsonl",
            "settings.toml",
            "takes/bin/take-0002.mid",
            "takes/bin/take-0004.gone",
            "takes/take-0001.mid",
        ];
        assert_eq!(copied, expect);
        let modified = fs::metadata(to.join("takes/take-0001.mid")).and_then(|data| data.modified());
        assert_eq!(modified.expect("a time"), long_ago);
        assert!(matches!(copy(&data, &to, &to), Err(NotWhole::Taken(_))));
        let names: Vec<_> = fs::read_dir(home.path()).expect("read").collect();
        assert_eq!(names.len(), 3, "nothing is left beside it");
    }

    #[test]
    fn everything_of_ours_is_deleted_and_nothing_else() {
        let (_home, data) = data();
        let log = data.join("takes/take-0003.playing");
        let writing = File::open(&log).expect("the log");
        writing.lock().expect("locked");
        delete(&data).expect("deleted");
        assert!(log.exists(), "a take under way goes on");
        drop(writing);
        delete(&data).expect("deleted");
        let left = Inventory::of(&data).expect("read");
        assert_eq!((left.ours.len(), left.others.len()), (0, 2));
        for other in left.others {
            fs::remove_file(other).expect("removed");
        }
        delete(&data).expect("deleted");
        assert!(!data.exists());
    }
}
