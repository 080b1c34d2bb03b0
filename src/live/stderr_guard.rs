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

/// Where descriptor 2 led before, and how many guards live; empty while it leads there still.
static BEFORE: Mutex<Option<Before>> = Mutex::new(None);

struct Before {
    led_to: OwnedFd,
    guards: usize,
}

/// While one lives, what is written to descriptor 2 goes to a log or nowhere.
#[derive(Debug)]
pub struct StderrGuard(());

impl StderrGuard {
    /// Leads descriptor 2 to the end of `log`, or nowhere. Where a guard lives already its choice stays.
    pub fn lead_to(log: Option<&Path>) -> io::Result<Self> {
        let mut before = BEFORE.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(before) = before.as_mut() {
            before.guards += 1;
            return Ok(Self(()));
        }
        let target = target(log)?;
        let led_to = rustix::io::dup(stderr())?;
        dup2_stderr(&target)?;
        *before = Some(Before { led_to, guards: 1 });
        Ok(Self(()))
    }
}

fn target(log: Option<&Path>) -> io::Result<File> {
    match log {
        Some(log) => OpenOptions::new().append(true).create(true).open(log),
        None => OpenOptions::new().write(true).open("/dev/null"),
    }
}

/// Leads descriptor 2 back to where it led, whatever guards live; does nothing when it leads there already.
pub fn restore() {
    let before = BEFORE.lock().unwrap_or_else(PoisonError::into_inner).take();
    if let Some(before) = before {
        // Nothing can be said about a failure here: the place to say it is what failed.
        let _ = dup2_stderr(&before.led_to);
    }
}

impl Drop for StderrGuard {
    fn drop(&mut self) {
        let mut before = BEFORE.lock().unwrap_or_else(PoisonError::into_inner);
        let left = before.as_mut().map_or(0, |before| {
            before.guards -= 1;
            before.guards
        });
        drop(before);
        if left == 0 {
            restore();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_lands_in_the_log_until_the_last_guard_goes() {
        let folder = tempfile::tempdir().expect("a folder");
        let log = folder.path().join("log");
        let outer = StderrGuard::lead_to(Some(&log)).expect("led away");
        let inner = StderrGuard::lead_to(None).expect("nothing to do");
        drop(outer);
        rustix::io::write(stderr(), b"a library speaks\n").expect("written");
        drop(inner);
        assert!(BEFORE.lock().expect("no panic").is_none());
        assert!(std::fs::read_to_string(&log).expect("a log").contains("a library speaks\n"));
    }
}
