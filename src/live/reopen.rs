//! What was lost is opened again, on a thread of its own: opening may take seconds, and letting go of a dead server, too.

use std::sync::Arc;
use std::time::Duration;
use std::{io, thread};

use crossbeam_channel::{Receiver, RecvTimeoutError, Sender, bounded};

use super::devices::{NotesIn, SoundOut};

/// How long the first wait is; each one is twice as long as the one before, to [`LONGEST`].
const FIRST: Duration = Duration::from_millis(500);
/// The longest wait between two tries.
const LONGEST: Duration = Duration::from_secs(4);

/// Devices that belong together: a sound output, and the input that goes with it if there is one.
pub struct Pair {
    /// Sound out.
    pub sound: Box<dyn SoundOut>,
    /// The player's notes, where they come by the server that the sound goes to.
    pub notes: Option<Box<dyn NotesIn>>,
}

/// What was lost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lost {
    /// The sound alone.
    Sound,
    /// The sound, and the input that goes with it.
    SoundAndNotes,
}

/// Tries once to open what was lost; `None` where it is not there (yet).
pub type Open = Arc<dyn Fn(Lost) -> Option<Pair> + Send + Sync>;

/// Lets go of what is dead and begins to open it again.
pub type OpenAgain = Box<dyn Fn(Pair) -> io::Result<Box<dyn Opening>> + Send>;

/// An opening under way; it is given up when this is dropped.
pub trait Opening: Send {
    /// What has been opened, once.
    fn opened(&mut self) -> Option<Pair>;
}

/// An opening on a thread of its own.
pub struct Reopening {
    opened: Receiver<Pair>,
    /// Never sent on: the thread sees it go.
    _until: Sender<()>,
}

impl Reopening {
    /// Lets go of what is `dead` and opens it again, as soon as it is there.
    pub fn begin(dead: Pair, open: Open) -> io::Result<Self> {
        let (give, opened) = bounded(1);
        let (until, ended) = bounded::<()>(0);
        let work = move || {
            let lost = if dead.notes.is_some() { Lost::SoundAndNotes } else { Lost::Sound };
            drop(dead);
            let mut wait = FIRST;
            while ended.recv_timeout(wait) == Err(RecvTimeoutError::Timeout) {
                if let Some(pair) = open(lost) {
                    // Nobody waits for it any more when the take has ended: then it is closed again.
                    let _ = give.send(pair);
                    return;
                }
                wait = (wait * 2).min(LONGEST);
            }
        };
        thread::Builder::new().name("reopening".to_owned()).spawn(work)?;
        Ok(Self { opened, _until: until })
    }
}

impl Opening for Reopening {
    fn opened(&mut self) -> Option<Pair> {
        self.opened.try_recv().ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::live::silent::SilentSound;
    use crate::time::Nanos;
    use std::sync::atomic::{AtomicUsize, Ordering};

    fn silence() -> Pair {
        Pair { sound: Box::new(SilentSound::new(Nanos::ZERO)), notes: None }
    }

    #[test]
    fn it_tries_until_the_device_is_there() {
        let (tried, tries) = crossbeam_channel::unbounded();
        let count = AtomicUsize::new(0);
        let open = move |lost: Lost| {
            tried.send(lost).expect("somebody counts");
            (count.fetch_add(1, Ordering::Relaxed) == 1).then(silence)
        };
        let reopening = Reopening::begin(silence(), Arc::new(open)).expect("a thread");
        assert!(reopening.opened.recv_timeout(Duration::from_secs(20)).is_ok());
        assert_eq!(tries.try_iter().collect::<Vec<_>>(), [Lost::Sound; 2]);
    }

    #[test]
    fn it_gives_up_with_the_take() {
        let (alive, ended) = bounded::<()>(0);
        let open = move |_: Lost| {
            let _alive = &alive;
            None
        };
        drop(Reopening::begin(silence(), Arc::new(open)).expect("a thread"));
        let gone = ended.recv_timeout(Duration::from_secs(20));
        assert_eq!(gone, Err(RecvTimeoutError::Disconnected), "the thread has let go of what it opens with");
    }
}
