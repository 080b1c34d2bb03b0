//! Attribution: which chord a note was meant for.
//!
//! One lookup that never sees the pitch: a note belongs to the chord sounding at
//! `on + max(30 ms, min(q · length, 1 beat))`, where q is 0.3 in a line that keeps moving and 0.6 with space after it.
//! Measured on the annotated solos of the Weimar Jazz Database (Pfleiderer et al. 2017), where independent evidence, the
//! fit of pitches, says that the notes it moves belong to the new chord. There is no rule for late notes.

use crate::time::{NanoSpan, Nanos};

use super::settings::{PushShares, Settings};
use super::stage::{Hints, Stage};

/// A change so soon after the onset is always the note's own: the guard against clipped note-offs.
const SNAP: NanoSpan = NanoSpan::millis(30);

/// The line keeps moving when the next note comes within this many beats.
const RUNNING_WITHIN_BEATS: f64 = 0.6;

/// Bounds of the shares for which a note "could be either": shown in its reason, never in a share.
const EITHER: [PushShares; 2] =
    [PushShares { running: 0.8, spaced: 0.4 }, PushShares { running: 0.6, spaced: 0.0 }];

/// How a note lies in time, for every rule that asks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Timing {
    /// When it was struck.
    pub on: Nanos,
    /// How long it sounds, until it is let go or the next event comes.
    pub length: NanoSpan,
    /// When the next event comes.
    pub next: Option<Nanos>,
    /// How long a beat lasts where it was struck.
    pub beat: NanoSpan,
    /// How long a bar lasts there.
    pub bar: NanoSpan,
}

impl Timing {
    fn is_running(&self) -> bool {
        let within = self.beat.0 as f64 * RUNNING_WITHIN_BEATS;
        self.next.is_some_and(|next| (next - self.on).0 as f64 <= within)
    }
}

/// The chord a note belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Attribution {
    /// Index of the visit; `None` before the first chord.
    pub visit: Option<usize>,
    /// Whether it was struck before that chord began: a push.
    pub early: bool,
    /// Whether other shares would have found another chord, and it rings into the later of the two.
    pub either: bool,
}

/// Finds the chord a note was meant for.
pub fn attribute(timing: &Timing, stage: &Stage<'_>, hints: &mut Hints, settings: &Settings) -> Attribution {
    let at_onset = stage.visit_at(timing.on, hints);
    if at_onset == stage.visit_at(timing.on + SNAP.max(timing.beat), &mut hints.clone()) {
        return Attribution { visit: at_onset, early: false, either: false };
    }
    let found = |shares| settle(stage, at_onset, look_up(timing, stage, *hints, shares));
    let visit = found(settings.push);
    let others = EITHER.into_iter().map(found);
    let either = others.filter(|other| *other != visit).any(|other| is_rival(visit, other, timing, stage));
    Attribution { visit, early: visit != at_onset, either }
}

/// Whether `other` could be meant as well as `found`: both are chords, and the note rings on into the later one; one that
/// is let go at the change belongs to the chord it was struck over.
fn is_rival(found: Option<usize>, other: Option<usize>, timing: &Timing, stage: &Stage<'_>) -> bool {
    let Some((found, other)) = found.zip(other) else { return false };
    let sounds = |visit| stage.layers(visit).is_some();
    let later = stage.visits()[found.max(other)];
    sounds(found) && sounds(other) && timing.on + timing.length > later.on + SNAP
}

fn look_up(timing: &Timing, stage: &Stage<'_>, mut hints: Hints, shares: PushShares) -> Option<usize> {
    let share = shares.lookup(timing.length, timing.is_running());
    stage.visit_at(timing.on + share.min(timing.beat).max(SNAP), &mut hints)
}

/// A chord that merely goes on into its next bar is no other chord: the note stays where it was struck.
fn settle(stage: &Stage<'_>, at_onset: Option<usize>, found: Option<usize>) -> Option<usize> {
    match (at_onset, found) {
        (Some(from), Some(to)) if from <= to && stage.same_chord(from, to) => at_onset,
        _ => found,
    }
}
