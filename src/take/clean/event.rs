//! Events: notes struck together count as one, each of m weighing 1/m.
//!
//! Together means two things: the onsets lie within 30 ms of the first (60 ms where each string has its channel, for
//! a strum takes time and a converter too), and the notes sound together for at least half of the shorter one. So
//! neither a fast line nor a grace note is a chord.

use crate::take::note::{LeftOut, Note};
use crate::time::NanoSpan;

/// How far apart the onsets of an event lie at most: on keys, and on strings with a channel each (our choice).
const TOGETHER: NanoSpan = NanoSpan::millis(30);
const TOGETHER_ON_STRINGS: NanoSpan = NanoSpan::millis(60);

/// The notes of one event, as indices into the notes; ghosts and re-triggers have none.
pub(super) struct Event {
    pub first: usize,
    /// The index after its last note. Left-out notes may stand in between.
    pub end: usize,
    /// Its number, as its notes carry it.
    pub number: u32,
}

/// Numbers the events in the order of their onsets and returns those that sounded as notes.
pub(super) fn group(notes: &mut [Note], on_strings: bool) -> Vec<Event> {
    let window = if on_strings { TOGETHER_ON_STRINGS } else { TOGETHER };
    let mut events: Vec<Event> = Vec::with_capacity(notes.len());
    let mut number = 0;
    for index in 0..notes.len() {
        let note = notes[index];
        if is_misread(&note) {
            notes[index].event = number;
            number += 1;
            continue;
        }
        if let Some(event) = events.last_mut()
            && together(&notes[event.first], &note, window)
        {
            notes[index].event = event.number;
            event.end = index + 1;
            continue;
        }
        notes[index].event = number;
        let (first, end) = (index, index + 1);
        events.push(Event { first, end, number });
        number += 1;
    }
    events
}

/// Whether a note is none at all, so that no rule about a line may see it.
pub(super) fn is_misread(note: &Note) -> bool {
    matches!(note.left_out, Some(LeftOut::Ghost | LeftOut::Retrigger))
}

fn together(first: &Note, later: &Note, window: NanoSpan) -> bool {
    let shared = first.off.min(later.off) - later.on;
    let shorter = first.length().min(later.length());
    later.on - first.on <= window && shared >= shorter.scaled(1, 2)
}
