//! The line: played notes in time, each with its length, its chord and its layer.

use std::ops::Range;

use crate::take::{LeftOut, Note};
use crate::time::Nanos;

use super::attribution::{Timing, attribute};
use super::judged::{Judged, Weight};
use super::settings::Settings;
use super::stage::{Hints, Stage};

/// Judges every note for itself: chord and layer, not yet what it resolves to.
pub fn judge_each(notes: &[Note], stage: &Stage<'_>, settings: &Settings) -> Vec<Judged> {
    let events = events(notes);
    let sizes = event_sizes(notes, &events);
    let nexts = next_events(notes, &events);
    let each = notes.iter().zip(sizes).zip(nexts);
    let hints = &mut Hints::default();
    each.map(|((note, size), next)| judge(*note, size, next, stage, hints, settings)).collect()
}

fn judge(
    note: Note,
    size: usize,
    next: Option<Nanos>,
    stage: &Stage<'_>,
    hints: &mut Hints,
    settings: &Settings,
) -> Judged {
    let end = next.map_or(note.off, |next| note.off.min(next));
    let spot = stage.spot(note.on, hints);
    let length = end.max(note.on) - note.on;
    let timing = Timing { on: note.on, length, next, beat: spot.beat, bar: spot.bar };
    let found = attribute(&timing, stage, hints, settings);
    let layers = found.visit.and_then(|visit| stage.layers(visit));
    let without_chord = match found.visit {
        None => Some(LeftOut::CountIn),
        Some(_) if layers.is_none() => Some(LeftOut::NoChord),
        Some(_) => None,
    };
    let kept_out = found.visit.and_then(|visit| stage.kept_out(visit));
    let left_out = note.left_out.or(without_chord).or(kept_out);
    let class = layers.filter(|_| left_out.is_none()).map(|layers| layers.class_of(note.pitch.pitch_class()));
    Judged {
        note: Note { left_out, ..note },
        timing,
        place: spot.place,
        visit: found.visit,
        early: found.early,
        either: found.either,
        class,
        tag: None,
        weight: Weight::one_of(size),
    }
}

/// Whether a note stands in the line at all: ghosts and re-triggers do not, an ornament still counts as an onset.
fn is_struck(note: &Note) -> bool {
    !matches!(note.left_out, Some(LeftOut::Ghost | LeftOut::Retrigger))
}

/// How many counted notes were struck together with each note.
fn event_sizes(notes: &[Note], events: &[Range<usize>]) -> Vec<usize> {
    let mut sizes = vec![1; notes.len()];
    for group in events {
        let counted = notes[group.clone()].iter().filter(|note| note.left_out.is_none()).count();
        sizes[group.clone()].fill(counted.max(1));
    }
    sizes
}

/// When the next event comes after the one each note belongs to.
fn next_events(notes: &[Note], events: &[Range<usize>]) -> Vec<Option<Nanos>> {
    let mut nexts = vec![None; notes.len()];
    let mut following: Option<Nanos> = None;
    for group in events.iter().rev() {
        nexts[group.clone()].fill(following);
        let onset = notes[group.clone()].iter().filter(|note| is_struck(note)).map(|note| note.on).min();
        following = onset.or(following);
    }
    nexts
}

/// Runs of notes that were struck together.
fn events(notes: &[Note]) -> Vec<Range<usize>> {
    let mut start = 0;
    let together = notes.chunk_by(|a, b| a.event == b.event).map(|group| {
        let range = start..start + group.len();
        start = range.end;
        range
    });
    together.collect()
}
