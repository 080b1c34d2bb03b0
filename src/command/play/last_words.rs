//! What is said after a panic while a take is played: where its log is. The hook for the terminal goes first.

use std::io::Write;
use std::panic;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, Once, PoisonError};

/// The log of the take that is played.
static LOG: Mutex<Option<PathBuf>> = Mutex::new(None);
static HOOK: Once = Once::new();

/// Names the log of the take that is played from now on; `None` when it is finished.
pub fn name_log(log: Option<&Path>) {
    HOOK.call_once(|| {
        let before = panic::take_hook();
        panic::set_hook(Box::new(move |what| {
            before(what);
            say();
        }));
    });
    *LOG.lock().unwrap_or_else(PoisonError::into_inner) = log.map(Path::to_owned);
}

fn say() {
    // Said once, by the first thread that panics; one that panics with the name in its hand says nothing.
    let log = LOG.try_lock().ok().and_then(|mut log| log.take());
    if let Some(log) = log {
        let told = format!("What was played is in {}; barwise takes makes a take of it.\n", log.display());
        // A terminal that is gone takes no words, and a panic in here would end the program at once.
        let _ = std::io::stderr().write_all(told.as_bytes());
    }
}
