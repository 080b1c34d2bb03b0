//! Landings: whether the first note of a new chord is its third or seventh.
//!
//! Recorded soloists land there no more often than they play thirds and sevenths anywhere (22.7 % against 22.3 %; Weimar
//! Jazz Database, our own measurement): an exercise, always shown beside its own baseline.

use crate::theory::PitchClass;

use super::judged::{Judged, Weight};
use super::stage::{Hints, Stage};

/// How one change was met.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Landing {
    /// The same chord went on, or it is the first of all, or there is no chord, or the bar is not the player's: nothing
    /// to land on.
    NoChange,
    /// No counted note came in the chord's first beat.
    NoNote,
    /// This note came.
    Note {
        /// Index of the note that met the change.
        index: usize,
        /// Whether it is the third or seventh (or what stands for them).
        hit: bool,
        /// Whether it is the new chord's third, reached from the old chord's seventh by a step.
        seven_to_three: bool,
    },
}

/// Landings of a whole take.
#[derive(Clone, Debug, PartialEq)]
pub struct Landings {
    /// How each visit's change was met, in the order of the visits.
    pub by_visit: Vec<Landing>,
    /// The share of thirds and sevenths among all counted notes; `None` when none is counted.
    pub baseline: Option<f64>,
}

impl Landings {
    /// Changes landed on, and changes that a note met at all.
    pub fn rate(&self) -> (usize, usize) {
        rate(self.by_visit.iter())
    }

    /// The same of one chorus (from 1).
    pub fn rate_in_chorus(&self, chorus: u32, stage: &Stage<'_>) -> (usize, usize) {
        let visits = stage.visits().iter().zip(&self.by_visit);
        rate(visits.filter(|(visit, _)| visit.chorus == chorus).map(|(_, landing)| landing))
    }
}

fn rate<'a>(landings: impl Iterator<Item = &'a Landing>) -> (usize, usize) {
    let met = landings.filter_map(|landing| match landing {
        Landing::Note { hit, .. } => Some(*hit),
        Landing::NoChange | Landing::NoNote => None,
    });
    met.fold((0, 0), |(hits, all), hit| (hits + usize::from(hit), all + 1))
}

/// Finds how every change was met.
pub fn landings(judged: &[Judged], stage: &Stage<'_>) -> Landings {
    let firsts = first_notes(judged, stage);
    let by_visit = (0..stage.visits().len())
        .map(|visit| match firsts[visit] {
            _ if !stage.visits()[visit].change
                || stage.layers(visit).is_none()
                || stage.kept_out(visit).is_some() =>
            {
                Landing::NoChange
            }
            None => Landing::NoNote,
            Some(first) => land(judged, first, visit, stage),
        })
        .collect();
    Landings { by_visit, baseline: baseline(judged, stage) }
}

/// For each change, the first counted note of its chord if it comes within a beat of the change; of notes struck together
/// the highest. A chord pushed before the barline goes on in the bar behind it, and is met by a note there too.
fn first_notes(judged: &[Judged], stage: &Stage<'_>) -> Vec<Option<usize>> {
    let changes = changes_by_visit(stage);
    let mut firsts: Vec<Option<usize>> = vec![None; stage.visits().len()];
    for (index, note) in judged.iter().enumerate() {
        let Some(visit) = note.visit.filter(|_| note.is_counted()) else { continue };
        let first = &mut firsts[changes[visit]];
        let higher = first.is_some_and(|first| {
            judged[first].note.event == note.note.event && note.note.pitch > judged[first].note.pitch
        });
        if first.is_none() || higher {
            *first = Some(index);
        }
    }
    let hints = &mut Hints::default();
    for (visit, first) in firsts.iter_mut().enumerate() {
        let start = stage.visits()[visit].on;
        *first = first.filter(|&index| judged[index].timing.on < start + stage.spot(start, hints).beat);
    }
    firsts
}

/// For each visit, the visit at which its chord began to sound.
fn changes_by_visit(stage: &Stage<'_>) -> Vec<usize> {
    let visits = stage.visits().iter().enumerate();
    let began = visits.scan(0, |began, (visit, sounding)| {
        *began = if sounding.change { visit } else { *began };
        Some(*began)
    });
    began.collect()
}

fn land(judged: &[Judged], index: usize, visit: usize, stage: &Stage<'_>) -> Landing {
    let pitch_class = judged[index].note.pitch.pitch_class();
    let hit = stage.layers(visit).is_some_and(|layers| layers.guide.has(pitch_class));
    Landing::Note { index, hit, seven_to_three: hit && seven_to_three(judged, index, visit, stage) }
}

/// Whether one of the two counted notes before is the seventh of the chord before and lies at most two semitones from
/// the note, which is the third of its own chord.
fn seven_to_three(judged: &[Judged], index: usize, visit: usize, stage: &Stage<'_>) -> bool {
    let note = judged[index].note;
    if guide_tone(visit, stage, 0) != Some(note.pitch.pitch_class()) {
        return false;
    }
    let before = judged[..index].iter().rev().filter(|note| note.is_counted());
    before.take(2).any(|earlier| {
        let seventh = earlier.visit.filter(|&v| v < visit).and_then(|v| guide_tone(v, stage, 1));
        let step = note.pitch.semitones_above(earlier.note.pitch);
        seventh == Some(earlier.note.pitch.pitch_class()) && (1..=2).contains(&step.abs())
    })
}

/// The guide tone of a visit's chord: 0 the third, 1 the seventh.
fn guide_tone(visit: usize, stage: &Stage<'_>, which: usize) -> Option<PitchClass> {
    stage.chord(visit).chord.symbol.as_ref().and_then(|symbol| symbol.guide_tones().get(which).copied())
}

fn baseline(judged: &[Judged], stage: &Stage<'_>) -> Option<f64> {
    let mut guides = Weight::ZERO;
    let mut all = Weight::ZERO;
    for note in judged.iter().filter(|note| note.is_counted()) {
        all += note.weight;
        let layers = note.visit.and_then(|visit| stage.layers(visit));
        if layers.is_some_and(|layers| layers.guide.has(note.note.pitch.pitch_class())) {
            guides += note.weight;
        }
    }
    (all > Weight::ZERO).then(|| guides.notes() / all.notes())
}
