//! Moments: what a session shows of itself, the latest only.

use std::sync::{Arc, Mutex, PoisonError};

use super::wires::StampedMessage;
use crate::time::{Nanos, Ticks};

/// Where the take is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Place {
    /// Devices are opening.
    #[default]
    Opening,
    /// Before bar 1.
    CountIn {
        /// Clicks so far.
        click: usize,
        /// Clicks in all.
        of: usize,
    },
    /// In the tune.
    Playing {
        /// Which time through, from 1.
        chorus: u16,
        /// Where in the form.
        at: Ticks,
    },
    /// The closing tonic sounds.
    Closing {
        /// Which time through came before it, from 1.
        chorus: u16,
    },
    /// The take is over.
    Over,
}

/// Where the take will stop.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Ending {
    /// After the last chorus.
    #[default]
    LastChorus,
    /// After the chorus that runs.
    ThisChorus,
}

/// What a session shows of itself at one instant.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Moment {
    /// Where the take is.
    pub place: Place,
    /// Where it will stop.
    pub ending: Ending,
    /// Notes heard from the player so far, the count-in left out.
    pub notes: u32,
    /// What had to be said so far, each thing once.
    pub said: Arc<Vec<String>>,
    /// What was played up to the last barline of the tune.
    pub heard: Arc<HeardSoFar>,
}

/// What was played up to a barline.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct HeardSoFar {
    /// The barline, in the take's time.
    pub until: Nanos,
    /// What came over the wire before it.
    pub messages: Vec<StampedMessage>,
}

/// The latest moment: written by the session, read by a view, never a queue.
#[derive(Debug, Default)]
pub struct Latest(Mutex<Moment>);

impl Latest {
    /// Shows a moment in place of the last one.
    pub fn show(&self, moment: Moment) {
        // A moment is written whole: one left by a thread that panicked is still good to read.
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = moment;
    }

    /// The latest moment.
    pub fn get(&self) -> Moment {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }
}
