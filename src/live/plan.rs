//! What a session is asked to do, and what comes back of it.

use std::sync::Arc;

use super::foot::FootSwitch;
use super::wires::{ShortMessage, StampedMessage};
use crate::band::voices::sound_font::SoundFont;
use crate::band::{Accompaniment, BandNote, CountIn, Levels, Part, Seed};
use crate::chart::Feel;
use crate::chart::{Form, Turns};
use crate::harmony::{Changes, Reading};
use crate::take::writer::writable;
use crate::time::{NanoSpan, Nanos, TempoMap, TickSpan};

/// Everything a take needs.
#[derive(Clone, Debug)]
pub struct SessionPlan {
    /// The tune.
    pub form: Form,
    /// What its chords mean.
    pub reading: Reading,
    /// The same in the key of each chorus, where the tune goes through keys; none where it stays in one.
    pub keys: Vec<Arc<Changes>>,
    /// Quarter notes a minute, 20 to 400.
    pub bpm: f64,
    /// Times through, at least 1.
    pub choruses: u16,
    /// How the band moves.
    pub feel: Feel,
    /// How much of the measured swing it takes, in percent; [`crate::band::feel::USUAL_SWING_PERCENT`] as a rule.
    pub swing_percent: u8,
    /// From which the band's choices follow.
    pub seed: Seed,
    /// Parts that do not sound.
    pub mutes: Vec<Part>,
    /// How loud each part is against the usual mix.
    pub levels: Levels,
    /// What plays the parts that it has, in the place of our own voices. It is read before a session begins, so that the
    /// first click sounds as all else will.
    pub sound_font: Option<SoundFont>,
    /// How the band plays with somebody who practises.
    pub accompaniment: Accompaniment,
    /// Where sound goes.
    pub sound: SoundChoice,
    /// Where the player's notes come from.
    pub notes: NotesChoice,
    /// The foot switch that stops the take, where one was learnt.
    pub foot: Option<FootSwitch>,
    /// A line that sounds over the band, its places counted from bar 1; empty as a rule.
    pub line: Vec<BandNote>,
    /// Whose bars are whose: in the drums' own, they are alone.
    pub turns: Turns,
}

/// Where sound goes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SoundChoice {
    /// To a device; without one the session goes on silently and says so.
    Device(SoundNames),
    /// Nowhere: a monotonic clock stands in.
    Silent,
}

/// To the system's own device.
impl Default for SoundChoice {
    fn default() -> Self {
        Self::Device(SoundNames::default())
    }
}

/// By which names a sound device is asked for.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct SoundNames {
    /// The host: `alsa`, `jack`, `pulseaudio`, `pipewire`; the system's own without one.
    pub host: Option<String>,
    /// The device's name or a part of it, whatever its case; the host's default device without one.
    pub device: Option<String>,
}

impl SoundNames {
    /// Whether anything is named.
    pub const fn any(&self) -> bool {
        self.host.is_some() || self.device.is_some()
    }
}

/// Where the player's notes come from.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub enum NotesChoice {
    /// Every MIDI input but the system's own through ports.
    #[default]
    Ports,
    /// The MIDI inputs whose name holds this text, whatever its case.
    PortsNamed(String),
    /// These messages, as if they were played: they arrive in real time and are stamped exactly as given.
    File {
        /// What their times count from.
        from: FileStart,
        /// Each with its time.
        messages: Vec<(Nanos, ShortMessage)>,
    },
    /// Nobody plays.
    Nobody,
}

/// What the times of a file's messages count from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum FileStart {
    /// The first click of the count-in.
    CountIn,
    /// The start of bar 1.
    #[default]
    BarOne,
}

/// A take, as it was played.
#[derive(Clone, Debug, PartialEq)]
pub struct Played {
    /// Every message with its time from the first click of the count-in, in the order of arrival.
    pub messages: Vec<StampedMessage>,
    /// How long the count-in lasts: bar 1 starts there.
    pub count_in: TickSpan,
    /// The tempo, from the first click.
    pub tempo: TempoMap,
    /// What was lost on the way.
    pub dropped: Dropped,
    /// Stretches in which notes may be missing.
    pub gaps: Vec<Gap>,
    /// The input that the last note came by, where one can be told.
    pub used: Option<String>,
    /// What had to be said, each thing once.
    pub said: Vec<String>,
    /// How it ended.
    pub stopped: Stopped,
    /// Whether it was shown to the end; a view that breaks off stops the take.
    pub view: Result<(), ViewBroke>,
}

/// A view that broke off.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ViewBroke {
    /// What kind of trouble.
    pub kind: std::io::ErrorKind,
    /// What the system says.
    pub why: String,
}

impl From<std::io::Error> for ViewBroke {
    fn from(error: std::io::Error) -> Self {
        Self { kind: error.kind(), why: error.to_string() }
    }
}

/// What was lost on the way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Dropped {
    /// MIDI messages that found no room.
    pub messages: u64,
    /// Notes of the band that were struck after their frame.
    pub late_notes: u64,
    /// News of the audio thread that found no room.
    pub news: u64,
    /// How often the sound device ran out of sound; `None` where none told.
    pub underruns: Option<u64>,
}

impl Dropped {
    /// What has to be said of sound that came late; `None` where all of it came in time.
    pub fn stumbled(&self) -> Option<String> {
        let dry = self.underruns.unwrap_or(0);
        let counted = |count: u64, word: &str| format!("{count} {word}{}", if count == 1 { "" } else { "s" });
        (dry > 0 || self.late_notes > 0).then(|| {
            let (times, notes) = (counted(dry, "time"), counted(self.late_notes, "note"));
            format!("The sound ran dry {times}; {notes} of the band came late.")
        })
    }
}

/// A stretch of the take in which notes may be missing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gap {
    /// Its start.
    pub from: Nanos,
    /// Its end.
    pub until: Nanos,
}

/// How a take ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stopped {
    /// After the last bar of the last chorus.
    AtTheEnd,
    /// At the end of this chorus (from 1), as the player asked.
    AfterChorus(u16),
    /// At once, as the player asked.
    Now(Nanos),
    /// By a signal from outside.
    Interrupted(Nanos),
}

/// Says why a session cannot start or go on.
#[derive(Debug, thiserror::Error)]
pub enum LiveError {
    /// There is nothing to play.
    #[error("the chart has no bars: write at least one chord between barlines")]
    NoBars,
    /// The take would be too long.
    #[error("{bars} bars are too many for one take: at most {GREATEST_BARS}, ask for fewer choruses")]
    TooLong {
        /// Bars of all choruses.
        bars: usize,
    },
    /// The tempo is out of range.
    #[error("a tempo of {bpm} is out of range: 20 to 400 quarter notes a minute")]
    Tempo {
        /// What was asked for.
        bpm: f64,
    },
    /// No signal handler could be set.
    #[error("cannot listen for an interrupt: {0}")]
    Signals(std::io::Error),
    /// The session's thread could not be started.
    #[error("cannot start the session's thread: {0}")]
    Thread(std::io::Error),
    /// The session broke off by a fault of its own.
    #[error("the session broke off; this is a fault in the program")]
    Broken,
}

/// The most bars a take may have: over six hours at a medium tempo.
pub const GREATEST_BARS: usize = 20_000;

impl SessionPlan {
    /// Whether the plan can be played.
    pub fn check(&self) -> Result<(), LiveError> {
        let bars = self.form.bars.len() * usize::from(self.choruses);
        if bars == 0 {
            return Err(LiveError::NoBars);
        }
        if bars > GREATEST_BARS {
            return Err(LiveError::TooLong { bars });
        }
        if !(20.0..=400.0).contains(&self.bpm) {
            return Err(LiveError::Tempo { bpm: self.bpm });
        }
        Ok(())
    }

    /// The count-in.
    pub fn count_in(&self) -> CountIn {
        CountIn::of(&self.form, self.quarter(), self.accompaniment.count_in)
    }

    /// The tempo from the first click on, as a saved take can hold it.
    pub fn tempo(&self) -> TempoMap {
        writable(&TempoMap::at_bpm(self.bpm))
    }

    /// How long a quarter note lasts.
    pub fn quarter(&self) -> NanoSpan {
        self.tempo().quarter(crate::time::Ticks::ZERO)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sound_that_came_late_is_said_and_sound_in_time_is_not() {
        let check = |underruns: Option<u64>, late_notes: u64, expect: Option<&str>| {
            let dropped = Dropped { late_notes, underruns, ..Dropped::default() };
            assert_eq!(dropped.stumbled().as_deref(), expect);
        };
        check(None, 0, None);
        check(Some(0), 0, None);
        check(Some(1), 0, Some("The sound ran dry 1 time; 0 notes of the band came late."));
        check(None, 2, Some("The sound ran dry 0 times; 2 notes of the band came late."));
    }
}
