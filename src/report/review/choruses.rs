//! One chorus of a take by itself, as the document has it.

use schemars::JsonSchema;
use serde::Serialize;

use crate::report::number::Count;
use crate::tally::{Kind, Stage, Tally};

use super::{LandingsRecord, RestsRecord, ShareRecord};

/// One chorus. Its shares have the design effect of the whole take: a chorus has too few bars for one of its own.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ChorusRecord {
    /// Times through, from 1.
    pub chorus: u32,
    /// Notes counted.
    pub counted: Count,
    /// Chord tones.
    pub chord: ShareRecord,
    /// Scale tones.
    pub scale: ShareRecord,
    /// Notes of another scale.
    pub other: ShareRecord,
    /// Outside notes.
    pub outside: ShareRecord,
    /// Outside notes that resolved.
    pub resolved: ShareRecord,
    /// Outside notes that did not.
    pub open: ShareRecord,
    /// Changes landed on; beside them the thirds and sevenths of the whole take.
    pub landings: LandingsRecord,
    /// Silences.
    pub rests: RestsRecord,
}

impl ChorusRecord {
    /// The records of every chorus.
    pub(super) fn of_each(tally: &Tally, stage: &Stage<'_>) -> Vec<Self> {
        (1..)
            .zip(&tally.rests_of_choruses)
            .map(|(chorus, &rests)| {
                let share = |kind| ShareRecord::of(tally.mix.share_in_chorus(kind, chorus));
                let landed = tally.landings.rate_in_chorus(chorus, stage);
                Self {
                    chorus,
                    counted: Count(tally.mix.of_chorus(chorus).counted().notes()),
                    chord: share(Kind::Chord),
                    scale: share(Kind::Scale),
                    other: share(Kind::Other),
                    outside: share(Kind::Outside),
                    resolved: share(Kind::Resolved),
                    open: share(Kind::Open),
                    landings: LandingsRecord::of_rate(landed, tally.landings.baseline),
                    rests: RestsRecord::of(rests),
                }
            })
            .collect()
    }
}
