//! What the session hands, while a take is played, to whoever writes it down.
//!
//! The session waits for the writer, as it is not the audio thread; a writer that has given up is not waited for.

use crossbeam_channel::{Receiver, Sender, bounded};

use super::wires::StampedMessage;
use crate::time::Nanos;

/// Messages that may wait for the disk: some seconds of the densest playing.
const WAITING: usize = 4096;

/// Something to write down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ToKeeper {
    /// A message of the player's.
    Message(StampedMessage),
    /// The take has gone on to this time, whether or not anything was played.
    Reached(Nanos),
}

/// The session's end of the way to the writer.
#[derive(Debug)]
pub struct KeeperEnd(Option<Sender<ToKeeper>>);

/// Both ends of the way to the writer.
pub fn keeper() -> (KeeperEnd, Receiver<ToKeeper>) {
    let (sender, receiver) = bounded(WAITING);
    (KeeperEnd(Some(sender)), receiver)
}

impl KeeperEnd {
    /// Nobody writes anything down.
    pub const fn nobody() -> Self {
        Self(None)
    }

    /// Hands something over.
    pub(super) fn give(&mut self, order: ToKeeper) {
        if self.0.as_ref().is_some_and(|writer| writer.send(order).is_err()) {
            self.0 = None;
        }
    }
}
