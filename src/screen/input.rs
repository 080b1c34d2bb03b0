//! Keys on a thread of their own.
//!
//! A terminal that goes away leaves whoever reads from it reading for ever, so the view never reads: it takes keys from
//! a channel, and the end of a take does not wait for one. The thread ends with the program, or with the first read that
//! fails; there is one at most, so that no key goes to a screen that is gone.

use std::io;
use std::sync::OnceLock;
use std::thread;
use std::time::Duration;

use crossbeam_channel::{Receiver, RecvTimeoutError, Sender, bounded};
use ratatui::crossterm::event::{self, Event, KeyEvent};

/// Keys that may wait while a frame is drawn.
const WAITING: usize = 64;

/// What the thread has read.
static READ: OnceLock<Receiver<KeyEvent>> = OnceLock::new();

/// The keys that are pressed.
pub struct Keys {
    pressed: Receiver<KeyEvent>,
}

impl Keys {
    /// Begins to listen: to what is pressed from now on.
    pub fn listen() -> io::Result<Self> {
        if let Some(read) = READ.get() {
            read.try_iter().for_each(drop);
            return Ok(Self { pressed: read.clone() });
        }
        let (sender, pressed) = bounded(WAITING);
        thread::Builder::new().name("keys".to_owned()).spawn(move || hand_over(&sender))?;
        Ok(Self { pressed: READ.get_or_init(|| pressed).clone() })
    }

    /// The next key, if one comes within `wait`. A terminal that gives no more keys is waited for all the same.
    pub fn next(&self, wait: Duration) -> Option<KeyEvent> {
        match self.pressed.recv_timeout(wait) {
            Ok(key) => Some(key),
            Err(RecvTimeoutError::Timeout) => None,
            Err(RecvTimeoutError::Disconnected) => {
                thread::sleep(wait);
                None
            }
        }
    }
}

fn hand_over(keys: &Sender<KeyEvent>) {
    while let Ok(event) = event::read() {
        if let Event::Key(key) = event
            && keys.send(key).is_err()
        {
            return;
        }
    }
}
