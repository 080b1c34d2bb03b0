//! The pitch a note settles on when its channel is bent, and the notes that makes of it.
//!
//! A pitch is settled while it stays within 20 cents of its middle. The longest settled stretch, if it lasts 60 ms
//! (or half of a note shorter than 120 ms), is the pitch: rounded when within 35 cents of a semitone, else `between`.
//! A swing to and fro within 60 cents of its middle is vibrato and settled all the while. A settled start of 120 ms
//! or more on another semitone is a note of its own. The bounds are our choice, untested on instruments.

mod settle;

use super::strings::StringMap;
use super::stroke::{Curves, Stroke};
use crate::take::note::{BendPart, LeftOut, Note};
use crate::theory::Pitch;
use crate::time::{NanoSpan, Nanos};
use settle::{Settled, Step, settle, settled_start};

/// A settled start at least this long is a note of its own.
const OWN_START: NanoSpan = NanoSpan::millis(120);
/// The shortest settled stretch that is a pitch.
const PLATEAU: NanoSpan = NanoSpan::millis(60);
/// How far from a semitone a pitch still is that semitone.
const ROUNDED_CENTS: f64 = 35.0;

/// What a bent note sounds as.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Heard {
    /// One pitch, this many cents above the key.
    One(f64),
    /// Nothing settled.
    Unsettled,
    /// A start, then from an instant on another pitch.
    Two { start: f64, from: Nanos, then: f64 },
}

/// Gives every stroke its pitch, string and fret: one note for each, two where a bend made two.
pub(super) fn sound(strokes: &[Stroke], curves: &Curves, strings: Option<&StringMap>) -> Vec<Note> {
    let mut notes = Vec::with_capacity(strokes.len());
    let mut steps = Vec::new();
    for (index, stroke) in strokes.iter().enumerate() {
        let curve = &curves[usize::from(stroke.channel)];
        let later = curve.get(stroke.curve_from as usize..).unwrap_or_default();
        let unbent = later.first().is_none_or(|point| point.at >= stroke.off);
        let heard = if unbent {
            Heard::One(f64::from(stroke.bent_by))
        } else {
            settle::steps_of(stroke, later, &mut steps);
            hear(&steps)
        };
        push_notes(&mut notes, index as u32, stroke, heard, strings);
    }
    let split = notes.len() > strokes.len();
    if split {
        notes.sort_by_key(|note| note.on);
    }
    notes
}

fn push_notes(notes: &mut Vec<Note>, index: u32, stroke: &Stroke, heard: Heard, strings: Option<&StringMap>) {
    let whole = Note {
        index,
        event: 0,
        on: stroke.on,
        off: stroke.off,
        pitch: struck_pitch(stroke),
        bend_cents: 0,
        part: BendPart::Whole,
        velocity: stroke.velocity,
        channel: stroke.channel,
        string: strings.and_then(|map| map.string(stroke.channel)),
        fret: strings.and_then(|map| map.fret(stroke.channel, stroke.key)),
        left_out: stroke.left_out,
    };
    match heard {
        Heard::One(cents) => notes.push(bent(whole, cents)),
        Heard::Unsettled => notes.push(Note { left_out: whole.left_out.or(Some(LeftOut::Between)), ..whole }),
        Heard::Two { start, from, then } => {
            let (off, part) = (from, BendPart::Start);
            notes.push(bent(Note { off, part, ..whole }, start));
            let (on, part) = (from, BendPart::Bent);
            notes.push(bent(Note { on, part, ..whole }, then));
        }
    }
}

fn struck_pitch(stroke: &Stroke) -> Pitch {
    Pitch::new(stroke.key).expect("a key read from a message has seven bits")
}

/// The note as the bend leaves it: on the nearest semitone, or between two.
fn bent(note: Note, cents: f64) -> Note {
    let bend_cents = cents.round() as i16;
    let nearest = (cents / 100.0).round() as i32;
    let between = semitones(cents).is_none().then_some(LeftOut::Between);
    Note {
        bend_cents,
        pitch: note.pitch.up(nearest).unwrap_or(note.pitch),
        left_out: note.left_out.or(between),
        ..note
    }
}

/// The semitone a pitch is on; `None` between two.
fn semitones(cents: f64) -> Option<i32> {
    let nearest = (cents / 100.0).round();
    ((cents - nearest * 100.0).abs() <= ROUNDED_CENTS).then_some(nearest as i32)
}

/// Applies the rule above to the steps of a note, of which there is at least one.
fn hear(steps: &[Step]) -> Heard {
    if let Some(two) = hear_two(steps) {
        return two;
    }
    let length = settle::length(steps);
    let shortest = PLATEAU.min(length.scaled(1, 2));
    match settle(steps) {
        Some(settled) if settled.length >= shortest => Heard::One(settled.cents),
        _ => Heard::Unsettled,
    }
}

/// A settled start and then another semitone; `None` for all other shapes.
fn hear_two(steps: &[Step]) -> Option<Heard> {
    let start_steps = settled_start(steps);
    let (start, rest) = steps.split_at(start_steps);
    if settle::length(start) < OWN_START {
        return None;
    }
    let start = settle::mean(start);
    let Settled { from, length, cents } = settle(rest)?;
    let differ = semitones(start)? != semitones(cents)?;
    (differ && length >= PLATEAU).then_some(Heard::Two { start, from, then: cents })
}

#[cfg(test)]
mod tests;
