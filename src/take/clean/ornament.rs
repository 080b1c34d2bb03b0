//! Ornaments: grace notes, which are shown and not counted.
//!
//! A grace note leads to a note at most 70 ms later and two semitones away, with room around both: the onset before
//! it and the one after its target are more than 80 ms off. So the fast runs of an up tempo keep their notes. An
//! ornament is still an onset to the notes around it. The bounds are our choice.

use super::event::{Event, is_misread};
use crate::take::note::{LeftOut, Note};
use crate::time::NanoSpan;

/// The longest way from a grace note to its target.
const GRACE: NanoSpan = NanoSpan::millis(70);
/// The room around both, more than this.
const ROOM: NanoSpan = NanoSpan::millis(80);
/// The widest step to the target, in semitones.
const STEP: i32 = 2;

/// Marks the ornaments. Of notes struck together all must lead on.
pub(super) fn set_aside(notes: &mut [Note], events: &[Event]) {
    for (place, pair) in events.windows(2).enumerate() {
        let on = |event: &Event| notes[event.first].on;
        let [grace, target] = pair else { continue };
        let before = place.checked_sub(1).map(|before| &events[before]);
        let after = events.get(place + 2);
        let leads = on(target) - on(grace) <= GRACE;
        let room_before = before.is_none_or(|before| on(grace) - on(before) > ROOM);
        let room_after = after.is_none_or(|after| on(after) - on(target) > ROOM);
        if leads && room_before && room_after && all_step(notes, grace, target) {
            mark(notes, grace);
        }
    }
}

/// The notes of an event.
fn members<'a>(notes: &'a [Note], event: &'a Event) -> impl Iterator<Item = &'a Note> {
    notes[event.first..event.end].iter().filter(|note| note.event == event.number)
}

fn all_step(notes: &[Note], grace: &Event, target: &Event) -> bool {
    members(notes, grace)
        .all(|from| members(notes, target).any(|to| to.pitch.semitones_above(from.pitch).abs() <= STEP))
}

fn mark(notes: &mut [Note], grace: &Event) {
    for note in &mut notes[grace.first..grace.end] {
        if note.event == grace.number && note.left_out.is_none() && !is_misread(note) {
            note.left_out = Some(LeftOut::Ornament);
        }
    }
}
