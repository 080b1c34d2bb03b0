//! The raw log of a take under way: an append-only file from which the take is made if the program is killed.
//!
//! Every message is handed to the system as it comes, so that a program that is killed loses none that reached its writer;
//! each second the disk is made to hold them too, for the day the power goes. Two threads do that, as a slow disk is to
//! hold up no message.
//!
//! It is text. The first line is a JSON object (a [`LogHead`]); each further line is a time in nanoseconds from the first
//! click, the bytes of a message in hexadecimal (or `-`: the take has gone on so far), and a full stop. A line without
//! its full stop is torn, and nothing behind it is believed. The file is locked while it is written, so that nobody takes
//! a take under way for one that was left behind.

use std::fmt::Write as _;
use std::fs::File;
use std::io::{self, BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::thread;
use std::time::Duration;

use crossbeam_channel::{Receiver, RecvTimeoutError, bounded};
use serde::{Deserialize, Serialize};

use super::error_words::in_words;
use crate::live::keep::ToKeeper;
use crate::take::{ChannelMessage, Imprint};
use crate::time::{NanoSpan, Nanos, TempoMap};

/// How often the disk is made to hold what was written: about as much a power cut costs.
const SYNC_EVERY: Duration = Duration::from_secs(1);
/// The largest log that is read back: days of playing.
const LARGEST: u64 = 256 << 20;

/// What a log says before the first message.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LogHead {
    /// What the take says about itself; `choruses` are those that were to be played.
    pub imprint: Imprint,
    /// How long a quarter note lasts, in nanoseconds.
    pub quarter_ns: i64,
}

impl LogHead {
    /// The tempo of the take.
    pub fn tempo(&self) -> TempoMap {
        TempoMap::constant(NanoSpan(self.quarter_ns))
    }
}

/// A log that is being written.
#[derive(Debug)]
pub struct RawLog {
    file: File,
    path: PathBuf,
}

impl RawLog {
    /// Begins a log in a file that must not be there yet.
    pub fn begin(path: &Path, head: &LogHead) -> io::Result<Self> {
        let mut file = File::create_new(path)?;
        file.lock()?;
        file.write_all(format!("{}\n", serde_json::json!(head)).as_bytes())?;
        file.sync_all()?;
        Ok(Self { file, path: path.to_owned() })
    }

    /// Where it stands.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Writes down what comes until the session has ended. The system has each message as soon as it came, the disk all
    /// but about the last second at any time, and all of it at the end.
    pub fn write_all(&self, from: &Receiver<ToKeeper>) -> io::Result<()> {
        let (writing, ended) = bounded(0);
        thread::scope(|scope| {
            let syncing = scope.spawn(move || self.sync_until(&ended));
            let written = write_each(from, &self.file);
            drop(writing);
            let synced = syncing.join().unwrap_or_else(|_| Err(io::Error::other("the disk was not asked")));
            written.and(synced)
        })?;
        self.file.sync_all()
    }

    /// Makes the disk hold what was written, again and again, until the writing has ended.
    fn sync_until(&self, ended: &Receiver<()>) -> io::Result<()> {
        while ended.recv_timeout(SYNC_EVERY) == Err(RecvTimeoutError::Timeout) {
            self.file.sync_data()?;
        }
        Ok(())
    }
}

/// Hands every message to the system by itself.
fn write_each(from: &Receiver<ToKeeper>, mut into: impl Write) -> io::Result<()> {
    from.iter().try_for_each(|order| into.write_all(line(order).as_bytes()))
}

fn line(order: ToKeeper) -> String {
    match order {
        ToKeeper::Reached(at) => format!("{} - .\n", at.0),
        ToKeeper::Message(stamped) => {
            let mut line = format!("{} ", stamped.at.0);
            for byte in stamped.message.bytes() {
                write!(line, "{byte:02x}").expect("text takes every byte");
            }
            line + " .\n"
        }
    }
}

/// A log that was left behind.
#[derive(Clone, Debug, PartialEq)]
pub struct LeftBehind {
    /// What it says about its take.
    pub head: LogHead,
    /// Its messages.
    pub messages: Vec<(Nanos, ChannelMessage)>,
    /// How far the take is known to have gone on.
    pub reached: Nanos,
}

/// Why a log is not read back.
#[derive(Debug, thiserror::Error)]
pub enum NotReadBack {
    /// A living program still writes it.
    #[error("it is being written")]
    UnderWay,
    /// It cannot be read.
    #[error("it cannot be read: {}", in_words(.0))]
    Unreadable(#[from] io::Error),
    /// Its first line is none of ours.
    #[error("its first line does not read")]
    NoHead,
}

/// Reads back a log that was left behind, up to its first torn line.
pub fn read_back(path: &Path) -> Result<LeftBehind, NotReadBack> {
    let file = File::open(path)?;
    file.try_lock().map_err(|_| NotReadBack::UnderWay)?;
    let mut lines = BufReader::new(file.take(LARGEST)).lines();
    let head = lines.next().ok_or(NotReadBack::NoHead)??;
    let head: LogHead = serde_json::from_str(&head).map_err(|_| NotReadBack::NoHead)?;
    let mut left = LeftBehind { head, messages: Vec::new(), reached: Nanos::ZERO };
    for line in lines.map_while(Result::ok) {
        let Some((at, message)) = read_line(&line) else { break };
        left.reached = left.reached.max(at);
        left.messages.extend(message.map(|message| (at, message)));
    }
    Ok(left)
}

/// The time and message of a whole line; `None` for a torn one.
fn read_line(line: &str) -> Option<(Nanos, Option<ChannelMessage>)> {
    let mut parts = line.strip_suffix(" .")?.split(' ');
    let at = Nanos(parts.next()?.parse().ok()?);
    let bytes = parts.next()?;
    if bytes == "-" {
        return Some((at, None));
    }
    let byte = |index: usize| u8::from_str_radix(bytes.get(index..index + 2)?, 16).ok();
    let wire: Vec<u8> = (0..bytes.len()).step_by(2).map(byte).collect::<Option<_>>()?;
    // A message that no review asks for (a clock, a system message) is whole all the same.
    Some((at, ChannelMessage::from_wire(&wire)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::live::keep::keeper;
    use crate::live::{ShortMessage, StampedMessage};
    use proptest::prelude::*;

    fn head() -> LogHead {
        let imprint = Imprint {
            chart: "| F7 | Bb7 |\n".to_owned(),
            chart_name: "two.bars".to_owned(),
            count_in_ticks: 0,
            choruses: 3,
            ..Imprint::default()
        };
        LogHead { imprint, quarter_ns: 500_000_000 }
    }

    fn written(messages: &[(i64, [u8; 3])]) -> String {
        let message = |&(at, bytes): &(i64, [u8; 3])| {
            let message = ShortMessage::new(&bytes).expect("a message");
            line(ToKeeper::Message(StampedMessage { at: Nanos(at), message }))
        };
        format!("{}\n{}", serde_json::json!(head()), messages.iter().map(message).collect::<String>())
    }

    #[test]
    fn a_log_is_read_back_as_it_was_written() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("take-0001.playing");
        let (end, orders) = keeper();
        let log = RawLog::begin(&path, &head()).expect("a log");
        assert!(matches!(read_back(&path), Err(NotReadBack::UnderWay)), "it is still being written");
        drop(end);
        log.write_all(&orders).expect("written");
        drop(log);
        assert_eq!(read_back(&path).expect("a log").head, head());
    }

    #[test]
    fn a_message_is_in_the_file_before_the_next_is_taken() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("take-0001.playing");
        let log = RawLog::begin(&path, &head()).expect("a log");
        // With room for none, a message is handed over only when the writer has done with the one before.
        let (give, orders) = bounded(0);
        thread::scope(|scope| {
            scope.spawn(move || log.write_all(&orders).expect("written"));
            for at in 0..20 {
                give.send(ToKeeper::Reached(Nanos(at))).expect("the writer lives");
                let text = std::fs::read_to_string(&path).expect("the log");
                let written = text.lines().skip(1).filter(|line| line.ends_with(" .")).count() as i64;
                assert!((at..=at + 1).contains(&written), "{written} lines after {at}");
            }
            drop(give);
        });
        assert_eq!(read_back(&path).expect("a log").reached, Nanos(19));
    }

    /// A disk with room for so many bytes.
    struct Small<'a>(&'a mut Vec<u8>, usize);

    impl Write for Small<'_> {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            let room = self.1.saturating_sub(self.0.len()).min(bytes.len());
            if room == 0 {
                return Err(io::ErrorKind::StorageFull.into());
            }
            self.0.extend(&bytes[..room]);
            Ok(room)
        }
        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn a_full_disk_ends_the_writing_and_what_is_on_it_reads_back_to_its_last_whole_line() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("take-0001.playing");
        let head = format!("{}\n", serde_json::json!(head()));
        // Ten bytes a line: three are whole, one is torn.
        let (give, orders) = bounded(9);
        (0..9).for_each(|at| give.send(ToKeeper::Reached(Nanos(1_000 + at))).expect("room"));
        drop(give);
        let mut disk = head.clone().into_bytes();
        let room = head.len() + 3 * "1000 - .\n".len() + 4;
        let full = write_each(&orders, Small(&mut disk, room)).expect_err("a full disk");
        assert_eq!(full.kind(), io::ErrorKind::StorageFull);
        std::fs::write(&path, disk).expect("a file");
        assert_eq!(read_back(&path).expect("a log").reached, Nanos(1_002));
    }

    proptest! {
        #[test]
        fn a_log_torn_anywhere_gives_what_is_whole(
            notes in prop::collection::vec((0i64..1_000_000_000_000, 0u8..128, 1u8..128), 1..20),
            cut in any::<prop::sample::Index>(),
        ) {
            let messages: Vec<(i64, [u8; 3])> = notes.iter().map(|&(at, key, velocity)| (at, [0x90, key, velocity])).collect();
            let text = written(&messages);
            let head_length = text.find('\n').expect("a head") + 1;
            let cut = head_length + cut.index(text.len() - head_length + 1);
            let folder = tempfile::tempdir().expect("a folder");
            let path = folder.path().join("torn.playing");
            std::fs::write(&path, &text[..cut]).expect("a file");
            let whole = text[head_length..cut].matches(" .").count();
            let left = read_back(&path).expect("a log");
            prop_assert_eq!(left.messages.len(), whole);
            for ((at, message), (expect_at, bytes)) in left.messages.iter().zip(&messages) {
                prop_assert_eq!((at.0, message.wire()), (*expect_at, &bytes[..]));
            }
        }
    }
}
