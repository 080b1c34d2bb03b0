//! Contested notes in the figures of a take: how they stand, and how they would if the player is right.

use super::ShareRecord;
use crate::report::number::{Count, percent};
use crate::tally::{Kind, Tally};

/// The shares of a take with every contested note granted.
#[derive(Clone, Debug, PartialEq)]
pub struct Granted {
    /// How many notes are contested.
    pub contested: usize,
    /// Notes counted then.
    pub counted: Count,
    /// Chord tones then.
    pub chord: ShareRecord,
    /// Outside notes then.
    pub outside: ShareRecord,
    /// Open notes then.
    pub open: ShareRecord,
}

impl Granted {
    /// The shares of a tally in which so many contested notes were granted.
    pub fn of(granted: &Tally, contested: usize) -> Self {
        let share = |kind| ShareRecord::of(granted.mix.share(kind));
        Self {
            contested,
            counted: Count(granted.mix.total.counted().notes()),
            chord: share(Kind::Chord),
            outside: share(Kind::Outside),
            open: share(Kind::Open),
        }
    }

    /// `1 contested; if you are right 69 % chord`
    pub fn brief(&self) -> String {
        let share = self.chord.share.map_or_else(String::new, |share| format!(" {} %", percent(share)));
        format!("{} contested; if you are right{share} chord", self.contested)
    }

    /// `1 note contested; if you are right: 64 of 93 chord tones, 69 %, outside 7, open 2 (whole take)`
    pub fn words(&self) -> String {
        let notes = if self.contested == 1 { "note" } else { "notes" };
        let share = self.chord.share.map_or_else(String::new, |share| format!(", {} %", percent(share)));
        format!(
            "{} {notes} contested; if you are right: {} of {} chord tones{share}, outside {}, open {} (whole take)",
            self.contested, self.chord.n, self.counted, self.outside.n, self.open.n
        )
    }
}
