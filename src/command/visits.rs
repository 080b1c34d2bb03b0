//! Screens that stand still, each opened with the documents that it shows; what leaving them wishes is carried out here.
//!
//! A screen draws and says what is wished for; what it shows is asked of the rooms by the files of this folder, one a
//! screen, from the same documents that the commands print.

mod ask;
pub mod assignment;
pub mod class;
pub mod drill;
mod files;
pub mod neck;
pub mod progress;
pub mod reading;
pub mod soundcheck;
pub mod take;

use std::io::IsTerminal;

use crate::live::begin_cues::BeginCues;
use crate::live::listening::{Heard, Listening};
use crate::live::stop_signal::StopSignal;
use crate::live::{LiveError, NotesChoice, SoundChoice};
use crate::screen::still::{Cues, Left, Still, visit};

use super::exit_status::Failure;
use super::output::Output;
use super::play::learnt;
use super::play::view::theme;
use super::sound_args::SoundArgs;
use super::startup::Startup;

/// What every screen is opened with.
pub struct Visits<'a, 'o> {
    /// Settings and where they came from.
    pub startup: &'a Startup,
    /// Where words go while no screen is open.
    pub out: &'a mut Output<'o>,
    /// Where sound goes, and with it which inputs give cues.
    pub sound: &'a SoundArgs,
    /// The inputs that give cues.
    pub heard: NotesChoice,
}

impl Visits<'_, '_> {
    /// Whether a screen can be opened: both ends are a terminal.
    pub fn are_possible() -> bool {
        std::io::stdout().is_terminal() && std::io::stdin().is_terminal()
    }

    /// Shows a screen until it is left, and says what is wished for. A failure that is an interruption ends the program.
    pub fn show<S: Still>(&mut self, still: &mut S) -> Result<S::Wish, Failure> {
        let theme = theme(self.out.form());
        let mut cues = InstrumentCues::begin(&self.heard, self.sound)?;
        match visit(still, theme, &mut cues)? {
            Left::Wish(wish) => Ok(wish),
            Left::Interrupted => Err(Failure::interrupted()),
        }
    }
}

/// The cues of the instruments that are there: foot switches and low notes that were learnt.
struct InstrumentCues {
    cues: BeginCues,
    /// Open only where an instrument gives any.
    listening: Option<Listening>,
    stop: StopSignal,
}

impl InstrumentCues {
    fn begin(heard: &NotesChoice, sound: &SoundArgs) -> Result<Self, Failure> {
        let cues = learnt::cues(heard, sound.audio_host.as_deref());
        let listening = if cues.words().is_empty() {
            None
        } else {
            Some(Listening::begin(&SoundChoice::Device(sound.names()), heard)?.0)
        };
        let stop = StopSignal::listen().map_err(LiveError::Signals)?;
        Ok(Self { cues, listening, stop })
    }
}

impl Cues for InstrumentCues {
    fn given(&mut self) -> bool {
        let Some(listening) = &mut self.listening else { return false };
        loop {
            match listening.hear() {
                Heard::Message(message) if self.cues.hear(&message) => return true,
                Heard::Message(_) | Heard::Input(_) => {}
                Heard::Nothing | Heard::Over => return false,
            }
        }
    }

    fn is_over(&mut self) -> bool {
        self.stop.is_asked()
    }
}
