//! Keeps what sound libraries print away from the screen.
//!
//! ALSA and JACK write to file descriptor 2 on threads of their own, past every handler they offer. While a guard lives
//! that descriptor leads elsewhere; it is led back once, whether by the guard's end or by a panic.

use std::fs::{File, OpenOptions};
use std::io;
use std::os::fd::OwnedFd;
use std::path::Path;
use std::sync::{Mutex, PoisonError};

use rustix::stdio::{dup2_stderr, stderr};

/// Where descriptor 2 led before; empty while it leads there still.
static BEFORE: Mutex<Option<OwnedFd>> = Mutex::new(None);

/// While it lives, what is written to descriptor 2 goes to a log or nowhere.
#[derive(Debug)]
pub struct StderrGuard(());

impl StderrGuard {
    /// Leads descriptor 2 to the end of `log`, or nowhere. `None` when a guard lives already: the outer one rules.
    pub fn lead_to(log: Option<&Path>) -> io::Result<Option<Self>> {
        let mut before = BEFORE.lock().unwrap_or_else(PoisonError::into_inner);
        if before.is_some() {
            return Ok(None);
        }
        let target = target(log)?;
        // `stderr()` borrows descriptor 2 of this process, which is open for its whole life.
        let kept = rustix::io::dup(stderr())?;
        dup2_stderr(&target)?;
        *before = Some(kept);
        Ok(Some(Self(())))
    }
}

fn target(log: Option<&Path>) -> io::Result<File> {
    match log {
        Some(log) => OpenOptions::new().append(true).create(true).open(log),
        None => OpenOptions::new().write(true).open("/dev/null"),
    }
}

/// Leads descriptor 2 back to where it led; does nothing when it leads there already.
pub fn restore() {
    let before = BEFORE.lock().unwrap_or_else(PoisonError::into_inner).take();
    if let Some(before) = before {
        // Nothing can be said about a failure here: the place to say it is what failed.
        let _ = dup2_stderr(&before);
    }
}

impl Drop for StderrGuard {
    fn drop(&mut self) {
        restore();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_meanwhile_lands_in_the_log_and_an_inner_guard_changes_nothing() {
        let folder = tempfile::tempdir().expect("a folder");
        let log = folder.path().join("log");
        let guard = StderrGuard::lead_to(Some(&log))
            .expect("led away")
            .expect("the outer guard");
        assert!(StderrGuard::lead_to(None).expect("no error").is_none());
        rustix::io::write(stderr(), b"a library speaks\n").expect("written");
        drop(guard);
        assert!(BEFORE.lock().expect("no panic").is_none());
        assert!(
            std::fs::read_to_string(&log)
                .expect("a log")
                .contains("a library speaks\n")
        );
    }
}
