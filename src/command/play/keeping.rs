//! A take on its way to the disk: its log while it is played, its file when it has ended.

use std::thread::JoinHandle;

use crate::command::output::Output;
use crate::judge::kept::{Line, choruses_begun, take_file};
use crate::live::keep::{self, KeeperEnd};
use crate::live::{Played, Stopped};
use crate::store::error_words::in_words;
use crate::store::raw_log::LogHead;
use crate::store::takes::{KeptTake, NotKept, Recovery, TakeFolder, rescue};
use crate::take::{ChannelMessage, Imprint};
use crate::theory::chord::BareSymbols;

use super::last_words::name_log;

/// A take that is being written down.
pub(super) struct Keeping {
    takes: TakeFolder,
    /// The number the take will have.
    pub number: u32,
    writer: JoinHandle<std::io::Result<()>>,
}

impl Keeping {
    /// Takes a number and begins to write down.
    pub fn begin(takes: TakeFolder, head: &LogHead) -> Result<(Self, KeeperEnd), NotKept> {
        let (number, log) = takes.begin(head)?;
        name_log(Some(log.path()));
        let (end, orders) = keep::keeper();
        let writer = std::thread::spawn(move || log.write_all(&orders));
        Ok((Self { takes, number, writer }, end))
    }

    /// Makes a take of the log of a session that broke off, and says so.
    pub fn cut_off(self, bare: BareSymbols, out: &mut Output) {
        // What the writer says of itself adds nothing: what is in the log is what there is.
        let _ = self.writer.join();
        name_log(None);
        tell(&self.takes.recover(bare), out);
    }

    /// Finishes the log into the take's file; `None` for a take that never came to bar 1.
    pub fn finish(self, bytes: Option<&[u8]>, out: &mut Output) -> Result<Option<KeptTake>, NotKept> {
        let broke_off = match self.writer.join() {
            Ok(Ok(())) => None,
            Ok(Err(error)) => Some(format!("The log of the take broke off ({})", in_words(&error))),
            Err(_) => Some("The log of the take broke off".to_owned()),
        };
        let Some(bytes) = bytes else {
            name_log(None);
            self.takes.forget(self.number);
            return Ok(None);
        };
        let kept = self.takes.finish(self.number, bytes);
        name_log(None);
        if kept.is_err() {
            out.remark(&rescued(self.number, bytes));
        }
        if let Some(broke_off) = broke_off {
            let rest = if kept.is_ok() { "; the take itself is whole." } else { "." };
            out.remark(&(broke_off + rest));
        }
        kept.map(Some)
    }
}

/// Keeps a take that its folder does not take, and says where, or why not.
fn rescued(number: u32, bytes: &[u8]) -> String {
    match rescue(number, bytes) {
        Ok(path) => format!(
            "The whole take is kept in {} for now: move it away from there. barwise review reads it.",
            path.display()
        ),
        Err(error) => format!("It could not be kept elsewhere either ({}).", in_words(&error)),
    }
}

/// Says what became of takes that were cut off.
pub fn tell(recoveries: &[Recovery], out: &mut Output) {
    for recovery in recoveries {
        match recovery {
            Recovery::Made(take) => {
                out.remark(&format!(
                    "take {} was cut off; it is kept as far as it was written down: {}",
                    take.number,
                    take.path.display()
                ));
            }
            Recovery::Empty(_) => {}
            Recovery::Failed { path, why } => {
                out.remark(&format!("{}: this take cannot be finished: {why}", path.display()));
            }
        }
    }
}

/// The bytes of the take as far as it was played; `None` where bar 1 was never reached.
pub(super) fn take_bytes(played: &Played, planned: Imprint, bare: BareSymbols) -> Option<Vec<u8>> {
    let choruses = match played.stopped {
        Stopped::AtTheEnd => Some(planned.choruses),
        Stopped::AfterChorus(chorus) => Some(chorus.into()),
        Stopped::Now(at) | Stopped::Interrupted(at) => choruses_begun(&planned, &played.tempo, bare, at),
    };
    let stopped = match played.stopped {
        Stopped::Now(at) | Stopped::Interrupted(at) => Some(played.tempo.ticks(at).0),
        Stopped::AtTheEnd | Stopped::AfterChorus(_) => None,
    };
    let imprint = Imprint { choruses: choruses?, stopped, ..planned };
    let solo = played
        .messages
        .iter()
        .filter_map(|stamped| Some((stamped.at, ChannelMessage::from_wire(stamped.message.bytes())?)));
    let gaps = played.gaps.iter().map(|gap| (gap.from, gap.until)).collect();
    let line = Line { solo: solo.collect(), gaps };
    Some(take_file(&imprint, &played.tempo, bare, line)?.to_bytes())
}
