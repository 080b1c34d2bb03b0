//! The takes a player keeps: MIDI files, numbered, in the data folder of the user. The files are the truth.
//!
//! A take under way has a [raw log](super::raw_log) in the same folder, which holds its number. It is finished into the
//! take's file when the take ends, or the next time anybody looks if the program was killed.

pub mod bin;

use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

use etcetera::BaseStrategy;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ZonedDateTime};

use super::error_words::in_words;
use super::journal::{Entry, Journal};
use super::raw_log::{LeftBehind, LogHead, NotReadBack, RawLog, read_back};
use crate::judge::fingerprint;
use crate::judge::kept::{Line, choruses_begun, take_file};
use crate::take::Imprint;
use crate::theory::chord::BareSymbols;

/// The environment variable that names the folder of takes and other data.
pub const FOLDER_VARIABLE: &str = "BARWISE_DATA_DIR";

/// The name of the folder of takes in that folder.
pub const FOLDER: &str = "takes";

/// How often a number may turn out to be taken by another program before giving up.
const MOST_TRIES: u32 = 100;

const TAKE: &str = "mid";
const LOG: &str = "playing";

/// Why a take could not be kept or found.
#[derive(Debug, thiserror::Error)]
pub enum NotKept {
    /// The system names no home folder.
    #[error("no home folder is known for takes: set {FOLDER_VARIABLE} to a folder")]
    NoHome,
    /// The folder is there and its takes cannot be found out.
    #[error(
        "{}: the takes in it cannot be read: {}; see its permissions, or set {FOLDER_VARIABLE} to another folder",
        path.display(),
        in_words(source)
    )]
    Unreadable {
        /// The folder.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// The folder or the file could not be written.
    #[error("{}: {}; set {FOLDER_VARIABLE} to a folder that may be written", path.display(), in_words(source))]
    Unwritable {
        /// The folder or file.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// No take has this number.
    #[error("no take {number}; {}", there_are(*last))]
    NoTake {
        /// What was asked for.
        number: u32,
        /// The greatest number there is, if there is any take.
        last: Option<u32>,
    },
    /// The bin has no take of this number.
    #[error("no take {number} in the bin; {}", in_the_bin(there))]
    NotInBin {
        /// What was asked for.
        number: u32,
        /// Those that are in it.
        there: Vec<u32>,
    },
    /// There is no take at all.
    #[error("no take is kept yet: play one, as in barwise play bus-shelter")]
    NoTakes,
}

fn there_are(last: Option<u32>) -> String {
    last.map_or_else(
        || "none is kept yet".to_owned(),
        |last| format!("the last one is {last}; barwise takes lists them"),
    )
}

fn in_the_bin(there: &[u32]) -> String {
    if there.is_empty() {
        return "it is empty".to_owned();
    }
    let numbers: Vec<String> = there.iter().map(u32::to_string).collect();
    format!("in it: {}", numbers.join(", "))
}

/// The folder of takes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TakeFolder {
    path: PathBuf,
}

/// A take that is kept.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct KeptTake {
    /// Its number, from 1.
    pub number: u32,
    /// Its file.
    pub path: PathBuf,
}

/// What became of a log that was left behind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Recovery {
    /// Its take was made.
    Made(KeptTake),
    /// It ended before bar 1 with nothing played: there was no take, and the log is gone.
    Empty(u32),
    /// It could not be read or finished; it stays where it is.
    Failed {
        /// The log.
        path: PathBuf,
        /// Why.
        why: String,
    },
}

impl KeptTake {
    /// When its file was last written, in the local zone.
    pub fn written_at(&self) -> Option<ZonedDateTime> {
        let modified = fs::metadata(&self.path).and_then(|data| data.modified()).ok()?;
        Some(Timestamp::try_from(modified).ok()?.to_zoned_datetime(TimeZone::system()))
    }
}

/// The folder of takes and other data: `folder` (the value of [`FOLDER_VARIABLE`]) if it is given, else `barwise` within
/// the folder the system keeps data in (XDG Base Directory Specification).
pub fn data_folder(folder: Option<OsString>) -> Result<PathBuf, NotKept> {
    match folder.filter(|folder| !folder.is_empty()) {
        Some(folder) => Ok(PathBuf::from(folder)),
        None => Ok(etcetera::choose_base_strategy().map_err(|_| NotKept::NoHome)?.data_dir().join("barwise")),
    }
}

impl TakeFolder {
    /// The folder of this user's takes, in the [`data_folder`].
    pub fn of_user(folder: Option<OsString>) -> Result<Self, NotKept> {
        Ok(Self::in_folder(&data_folder(folder)?))
    }

    /// The folder of takes in the [`data_folder`] `data`.
    pub fn in_folder(data: &Path) -> Self {
        Self { path: data.join(FOLDER) }
    }

    /// Where it is, or would be.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Every take, by its number. A folder that is not there yet has none; one that cannot be read is an error.
    pub fn list(&self) -> Result<Vec<KeptTake>, NotKept> {
        self.numbered(TAKE)
    }

    fn numbered(&self, ending: &str) -> Result<Vec<KeptTake>, NotKept> {
        let mut takes = match files_in(&self.path) {
            Ok(files) => files
                .into_iter()
                .filter_map(|path| Some(KeptTake { number: number_of(&path, ending)?, path }))
                .collect(),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Vec::new(),
            Err(source) => return Err(NotKept::Unreadable { path: self.path.clone(), source }),
        };
        takes.sort();
        Ok(takes)
    }

    /// The take with this number.
    pub fn find(&self, number: u32) -> Result<KeptTake, NotKept> {
        let takes = self.list()?;
        let last = takes.last().map(|take| take.number);
        takes.into_iter().find(|take| take.number == number).ok_or(NotKept::NoTake { number, last })
    }

    /// The take whose file this is, if it is one of this folder. The folder itself need not be readable.
    pub fn holding(&self, file: &Path) -> Option<KeptTake> {
        let file = file.canonicalize().ok()?;
        let here = self.path.canonicalize().ok()?;
        let number = number_of(&file, TAKE).filter(|_| file.parent() == Some(&here))?;
        Some(KeptTake { number, path: self.path.join(file.file_name()?) })
    }

    /// Whether a take is known to have been written on `day` in the local zone. False also where the takes cannot be
    /// read: what is asked here only decides whether a caution is said again.
    pub fn any_of_day(&self, day: Date) -> bool {
        let takes = self.list().unwrap_or_default();
        takes.iter().filter_map(KeptTake::written_at).any(|at| at.date() == day)
    }

    /// The take that was played last.
    pub fn last(&self) -> Result<KeptTake, NotKept> {
        self.list()?.pop().ok_or(NotKept::NoTakes)
    }

    /// The number after every one that was ever given out. Where some cannot be read none is given, so that no number
    /// comes twice.
    fn next_number(&self) -> Result<u32, NotKept> {
        let taken = [self.numbered(TAKE)?, self.numbered(LOG)?, self.in_bin()?, self.gone()?].concat();
        Ok(taken.into_iter().map(|take| take.number).max().unwrap_or(0) + 1)
    }

    /// Begins a take: takes the next number and opens its log.
    pub fn begin(&self, head: &LogHead) -> Result<(u32, RawLog), NotKept> {
        fs::create_dir_all(&self.path).map_err(unwritable(&self.path))?;
        let first = self.next_number()?;
        let mut last = io::Error::from(io::ErrorKind::AlreadyExists);
        for number in first..first.saturating_add(MOST_TRIES) {
            let path = self.file(number, LOG);
            match RawLog::begin(&path, head) {
                Ok(log) => return Ok((number, log)),
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => last = error,
                Err(error) => return Err(unwritable(&path)(error)),
            }
        }
        Err(unwritable(&self.path)(last))
    }

    /// Finishes a take that was begun: its file is written beside, synced and renamed, then its log goes. No file is ever
    /// written over.
    pub fn finish(&self, number: u32, bytes: &[u8]) -> Result<KeptTake, NotKept> {
        let path = self.file(number, TAKE);
        let beside = self.file(number, "new");
        let written = write_new(&beside, &path, bytes);
        written.map_err(unwritable(&path))?;
        self.forget(number);
        let take = KeptTake { number, path };
        self.note_kept(&take, bytes);
        Ok(take)
    }

    /// Notes in the journal when a take was kept, as the time of its file does not outlive every copy.
    fn note_kept(&self, take: &KeptTake, bytes: &[u8]) {
        let written = take.written_at().map(|at| at.timestamp());
        if let (Some(kept_at), Some(data)) = (written, self.path.parent()) {
            let kept = Entry::Kept { take: take.number, sha256: fingerprint(bytes), kept_at };
            // The take is whole without it, and whoever next asks the index notes it then.
            let _ = Journal::in_folder(data).append(kept, Timestamp::now());
        }
    }

    /// Takes away the log of a take that is finished, or that never was one.
    pub fn forget(&self, number: u32) {
        // A log that stays is finished again the next time anybody looks, into the same file: nothing is lost by it.
        let _ = fs::remove_file(self.file(number, LOG));
    }

    /// Finishes the logs of programs that are gone. In a folder that cannot be read it finishes none; whoever then asks
    /// for a take, or begins one, is told why.
    pub fn recover(&self, bare: BareSymbols) -> Vec<Recovery> {
        let logs = self.numbered(LOG).unwrap_or_default();
        logs.into_iter().filter_map(|log| self.recover_one(&log, bare)).collect()
    }

    fn recover_one(&self, log: &KeptTake, bare: BareSymbols) -> Option<Recovery> {
        let failed = |why: String| Some(Recovery::Failed { path: log.path.clone(), why });
        if self.file(log.number, TAKE).exists() {
            self.forget(log.number);
            return None;
        }
        match read_back(&log.path) {
            Err(NotReadBack::UnderWay) => None,
            // Another program has made the file this moment and has not come to its first line.
            Err(NotReadBack::NoHead) if is_new(&log.path) => None,
            Err(error) => failed(error.to_string()),
            Ok(left) => match bytes_of(left, bare) {
                None => {
                    self.forget(log.number);
                    Some(Recovery::Empty(log.number))
                }
                Some(bytes) => match self.finish(log.number, &bytes) {
                    Ok(take) => Some(Recovery::Made(take)),
                    Err(error) => failed(error.to_string()),
                },
            },
        }
    }

    fn file(&self, number: u32, ending: &str) -> PathBuf {
        self.path.join(format!("take-{number:04}.{ending}"))
    }
}

/// Whether a file was written to within the last minute.
fn is_new(path: &Path) -> bool {
    let written = fs::metadata(path).and_then(|data| data.modified());
    written.is_ok_and(|at| at.elapsed().is_ok_and(|since| since < Duration::from_mins(1)))
}

/// The take of a log, as far as it went; `None` if it ended before bar 1 with nothing played.
fn bytes_of(left: LeftBehind, bare: BareSymbols) -> Option<Vec<u8>> {
    let tempo = left.head.tempo();
    let begun = choruses_begun(&left.head.imprint, &tempo, bare, left.reached);
    let choruses = begun.or((!left.messages.is_empty()).then_some(1))?;
    let stopped = Some(tempo.ticks(left.reached).0);
    let imprint = Imprint { choruses, stopped, ..left.head.imprint };
    let line = Line { solo: left.messages, gaps: Vec::new() };
    Some(take_file(&imprint, &tempo, bare, line)?.to_bytes())
}

fn unwritable(path: &Path) -> impl FnOnce(io::Error) -> NotKept + use<> {
    let path = path.to_owned();
    move |source| NotKept::Unwritable { path, source }
}

fn files_in(folder: &Path) -> io::Result<Vec<PathBuf>> {
    fs::read_dir(folder)?.map(|entry| Ok(entry?.path())).collect()
}

/// The number in the name of a file with this ending.
fn number_of(path: &Path, ending: &str) -> Option<u32> {
    let name = path.file_name()?.to_str()?;
    name.strip_prefix("take-")?.strip_suffix(ending)?.strip_suffix('.')?.parse().ok()
}

/// Writes a file that must not be there yet, whole or not at all.
fn write_new(beside: &Path, path: &Path, bytes: &[u8]) -> io::Result<()> {
    let write = || {
        let mut file = File::create(beside)?;
        file.write_all(bytes)?;
        file.sync_all()?;
        // A hard link is refused where the name is taken; a rename would write over it.
        fs::hard_link(beside, path)
    };
    let written = write();
    // A part of a file would only be in the way, most of all on a full disk.
    let removed = fs::remove_file(beside);
    written.and(removed)
}

/// Keeps a take that its own folder does not take (its disk is full, it is gone) in the system's folder for passing files.
pub fn rescue(number: u32, bytes: &[u8]) -> io::Result<PathBuf> {
    rescue_into(&std::env::temp_dir(), number, bytes)
}

fn rescue_into(folder: &Path, number: u32, bytes: &[u8]) -> io::Result<PathBuf> {
    let taken = |error: &io::Error| error.kind() == io::ErrorKind::AlreadyExists;
    let mut last = io::Error::from(io::ErrorKind::AlreadyExists);
    for copy in 1..=MOST_TRIES {
        let path = folder.join(format!("barwise-take-{number:04}-{copy}.{TAKE}"));
        match write_new(&path.with_extension(format!("{}.new", std::process::id())), &path, bytes) {
            Ok(()) => return Ok(path),
            Err(error) if taken(&error) => last = error,
            Err(error) => return Err(error),
        }
    }
    Err(last)
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// A folder of takes that is not there yet.
    pub fn folder() -> (tempfile::TempDir, TakeFolder) {
        let home = tempfile::tempdir().expect("a folder");
        let folder = TakeFolder::of_user(Some(home.path().into())).expect("a folder");
        (home, folder)
    }

    /// What a log says first.
    pub fn head() -> LogHead {
        let imprint = Imprint {
            chart: "| F7 | Bb7 |\n".to_owned(),
            chart_name: "two.bars".to_owned(),
            count_in_ticks: 0,
            choruses: 3,
            ..Imprint::default()
        };
        LogHead { imprint, quarter_ns: 500_000_000 }
    }

    #[test]
    fn takes_are_numbered_on_and_never_written_over() {
        let (_home, folder) = folder();
        assert!(matches!(folder.last(), Err(NotKept::NoTakes)));
        let (one, log) = folder.begin(&head()).expect("begun");
        let (two, _other) = folder.begin(&head()).expect("begun while the first is under way");
        assert_eq!((one, two), (1, 2));
        let kept = folder.finish(one, b"one").expect("kept");
        assert_eq!(fs::read(&kept.path).expect("a file"), b"one");
        assert!(!log.path().exists());
        assert!(folder.finish(one, b"again").is_err());
        assert_eq!(fs::read(&kept.path).expect("a file"), b"one");
        assert_eq!(folder.list().expect("takes"), [kept]);
    }

    #[test]
    fn a_day_is_known_by_the_takes_written_on_it() {
        let (_home, folder) = folder();
        let (number, _log) = folder.begin(&head()).expect("begun");
        let before = folder.any_of_day(ZonedDateTime::now().date());
        let kept = folder.finish(number, b"one").expect("kept");
        let day = kept.written_at().expect("a time").date();
        assert!(!before && folder.any_of_day(day));
        assert!(!folder.any_of_day(day.yesterday().expect("a day before")));
    }

    #[test]
    fn a_log_left_behind_is_finished_and_one_under_way_is_not_touched() {
        let (_home, folder) = folder();
        let (_number, log) = folder.begin(&head()).expect("begun");
        assert_eq!(folder.recover(BareSymbols::default()), []);
        let path = log.path().to_owned();
        drop(log);
        let more = "500000000 903c40 .\n700000000 803c00 .\n9000000000 - .\n9100000000 90";
        let mut file = fs::OpenOptions::new().append(true).open(&path).expect("the log");
        file.write_all(more.as_bytes()).expect("written");
        let Some(Recovery::Made(take)) = folder.recover(BareSymbols::default()).pop() else {
            panic!("no take")
        };
        let midi = crate::take::MidiFile::parse(&fs::read(take.path).expect("a file")).expect("a MIDI file");
        assert_eq!(midi.tracks[2].note_count, 1);
        assert_eq!(Imprint::of(&midi).expect("an imprint").choruses, 3, "9 s of a form of 4 s");
        assert!(!path.exists());
    }

    #[test]
    fn a_folder_that_is_not_there_has_no_takes_and_one_that_cannot_be_read_is_said() {
        let (home, folder) = folder();
        assert_eq!(folder.list().expect("no takes"), []);
        fs::write(home.path().join("takes"), b"").expect("a file in the way");
        let said = |error: NotKept| {
            assert!(matches!(error, NotKept::Unreadable { .. }), "{error:?}");
            error.to_string()
        };
        let message = said(folder.list().expect_err("a file"));
        assert!(message.contains("takes: the takes in it cannot be read: "), "{message}");
        assert!(message.contains("a file, not a folder; see its permissions, or set BARWISE"), "{message}");
        said(folder.find(1).expect_err("a file"));
        said(folder.last().expect_err("a file"));
        said(folder.next_number().expect_err("a file"));
        said(folder.drop_take(1).expect_err("a file"));
        assert!(folder.recover(BareSymbols::default()).is_empty());
        assert!(!folder.any_of_day(ZonedDateTime::now().date()));
    }

    #[test]
    fn a_take_that_its_folder_does_not_take_is_kept_elsewhere_and_never_over_another() {
        let elsewhere = tempfile::tempdir().expect("a folder");
        let kept = |bytes: &[u8]| rescue_into(elsewhere.path(), 7, bytes).expect("kept");
        let (one, two) = (kept(b"one"), kept(b"two"));
        assert!(one.ends_with("barwise-take-0007-1.mid") && two.ends_with("barwise-take-0007-2.mid"));
        assert_eq!(fs::read(one).expect("a file"), b"one");
        assert_eq!(files_in(elsewhere.path()).expect("files").len(), 2, "and nothing is left beside them");
        assert!(rescue_into(&elsewhere.path().join("none"), 7, b"three").is_err());
    }

    #[test]
    fn a_file_in_the_folder_is_known_for_the_take_it_is() {
        let (home, folder) = folder();
        let (number, _log) = folder.begin(&head()).expect("begun");
        let kept = folder.finish(number, b"one").expect("kept");
        assert_eq!(folder.holding(&kept.path), Some(kept));
        let elsewhere = home.path().join("take-0001.mid");
        fs::write(&elsewhere, b"one").expect("a file");
        assert_eq!(folder.holding(&elsewhere), None);
    }

    #[test]
    fn a_log_that_was_made_this_moment_is_not_taken_for_one_left_behind() {
        let (_home, folder) = folder();
        fs::create_dir_all(&folder.path).expect("a folder");
        let path = folder.file(1, LOG);
        fs::write(&path, b"").expect("a file");
        assert_eq!(folder.recover(BareSymbols::default()), []);
        let long_ago = std::time::SystemTime::now() - Duration::from_mins(5);
        File::options().write(true).open(&path).and_then(|file| file.set_modified(long_ago)).expect("set");
        assert!(matches!(folder.recover(BareSymbols::default())[..], [Recovery::Failed { .. }]));
    }

    #[test]
    fn a_folder_that_cannot_be_made_is_said_with_what_to_do() {
        let home = tempfile::tempdir().expect("a folder");
        let file = home.path().join("file");
        fs::write(&file, b"").expect("a file");
        let folder = TakeFolder::of_user(Some(file.into())).expect("a folder");
        let message = folder.begin(&head()).expect_err("no folder").to_string();
        assert!(message.contains("set BARWISE_DATA_DIR"), "{message}");
    }
}
