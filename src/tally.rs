//! The tally: which chord each note was meant for, its layer, whether it resolved, and how sure the shares are.
//!
//! It is not pictures and not words. Pure: a saved take tallied again gives the same answer to the bit.

pub mod settings;
pub mod stage;
pub mod attribution;
pub mod judged;
pub mod line;
pub mod resolution;
pub mod leaning;
pub mod landing;
pub mod sounding;
pub mod mix;
pub mod places;
pub mod verdict;
pub mod contested;

pub use judged::{Class, Device, Judged, Tag};
pub use landing::{Landing, Landings};
pub use leaning::Leaning;
pub use mix::{Counts, Kind, Mix, RECORDED_SOLOISTS, Share};
pub use places::Places;
pub use settings::{Counting, NamedColours, Settings};
pub use sounding::{ByDuration, Rests};
pub use stage::{Laid, Stage};

use crate::take::{LeftOut, Note};

/// The number of these rules; a change that can alter a figure counts it up.
pub const RULES: u32 = 1;

/// Landings come one a change, so each counts as a draw of its own.
pub const LANDING_EFFECT: f64 = 1.0;

/// Everything found about a take.
#[derive(Clone, Debug, PartialEq)]
pub struct Tally {
    /// The choices it was made with.
    pub settings: Settings,
    /// Every note-on, in the order they came.
    pub notes: Vec<Judged>,
    /// The shares.
    pub mix: Mix,
    /// The same by sounding time.
    pub by_duration: ByDuration,
    /// The chord share of running the scale over this form; `None` without a chord.
    pub running_the_scale: Option<f64>,
    /// How the changes were met.
    pub landings: Landings,
    /// Other scales the line fits better.
    pub leanings: Vec<Leaning>,
    /// Silences.
    pub rests: Rests,
    /// Silences of each chorus, the first one's first.
    pub rests_of_choruses: Vec<Rests>,
}

/// Tallies the notes of a take on its stage.
pub fn tally(notes: &[Note], stage: &Stage<'_>, settings: Settings) -> Tally {
    let mut judged = line::judge_each(notes, stage, &settings);
    let leanings = leaning::leanings(&judged, stage);
    if settings.counting == Counting::Lenient {
        leaning::open_other(&mut judged, &leanings, stage);
    }
    resolution::tag_outside(&mut judged, &settings);
    Tally {
        settings,
        mix: Mix::of(&judged, stage),
        by_duration: sounding::by_duration(&judged, stage),
        running_the_scale: mix::running_the_scale(stage),
        landings: landing::landings(&judged, stage),
        leanings,
        rests: sounding::rests(&judged, stage),
        rests_of_choruses: sounding::rests_of_choruses(&judged, stage),
        notes: judged,
    }
}

impl Tally {
    /// How many notes were left out for a reason.
    pub fn left_out(&self, reason: LeftOut) -> usize {
        self.notes.iter().filter(|note| note.left_out() == Some(reason)).count()
    }

    /// Misread notes, as a part of all notes struck.
    pub fn ghost_part(&self) -> f64 {
        let ghosts = self.left_out(LeftOut::Ghost) + self.left_out(LeftOut::Retrigger);
        if self.notes.is_empty() { 0.0 } else { ghosts as f64 / self.notes.len() as f64 }
    }
}
