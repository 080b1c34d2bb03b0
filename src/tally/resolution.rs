//! Resolution: what becomes of the outside notes.
//!
//! A semitone to a chord tone is the right bound: on the annotated solos of the Weimar Jazz Database it is found twice as
//! often under the real chords as under transposed ones, a whole step no more often (our own measurement). Enclosures and
//! double approaches after Coker, *Elements of the Jazz Language* (1991), from memory; their bounds are our own.

use std::ops::Range;

use crate::take::LeftOut;
use crate::time::NanoSpan;

use super::judged::{Class, Device, Judged, Tag};
use super::settings::{Enclosure, OctaveStep, Settings};

/// An approach comes within a beat of its target.
const APPROACH_BEATS: f64 = 1.0;
/// Both semitones of a double approach take at most this long.
const DOUBLE_BEATS: f64 = 1.5;
/// Longer than this is no approach but a held note.
const HELD_BEATS: f64 = 1.0;
/// Events of this many notes are chords; the rules of a line pass over them.
const CHORD_SIZE: usize = 3;
/// Rounding to whole nanoseconds may lengthen a gap by this much.
const ROUNDING: NanoSpan = NanoSpan(1_000);

/// Tags every outside note.
pub fn tag_outside(judged: &mut [Judged], settings: &Settings) {
    let line = Line::of(judged);
    let mut tags = Vec::new();
    for event in 0..line.events.len() {
        for note in line.notes(event).filter(|note| note.judged.class == Some(Class::Outside)) {
            tags.push((note.index, line.tag(event, note, settings)));
        }
    }
    for (index, tag) in tags {
        judged[index].tag = Some(tag);
    }
}

/// The events that the rules of a line look at; ornaments, ghosts and notes between pitches are passed over.
struct Line<'a> {
    judged: &'a [Judged],
    /// Indices of the notes in the line.
    order: Vec<usize>,
    /// Ranges of `order`, one an event.
    events: Vec<Range<usize>>,
}

/// A note in the line.
#[derive(Clone, Copy)]
struct InLine<'a> {
    index: usize,
    judged: &'a Judged,
}

impl<'a> Line<'a> {
    fn of(judged: &'a [Judged]) -> Self {
        let in_line = |index: &usize| {
            judged[*index].class.is_some() || judged[*index].left_out() == Some(LeftOut::NoChord)
        };
        let order: Vec<usize> = (0..judged.len()).filter(in_line).collect();
        let mut start = 0;
        let events = order.chunk_by(|&a, &b| judged[a].note.event == judged[b].note.event).map(|event| {
            let range = start..start + event.len();
            start = range.end;
            range
        });
        let events = events.collect();
        Self { judged, order, events }
    }

    fn notes(&self, event: usize) -> impl Iterator<Item = InLine<'a>> + use<'a, '_> {
        let indices = &self.order[self.events[event].clone()];
        indices.iter().map(|&index| InLine { index, judged: &self.judged[index] })
    }

    /// The notes `away` events from `event`; none where that is no event, or a chord.
    fn neighbours(&self, event: usize, away: isize) -> impl Iterator<Item = InLine<'a>> + use<'a, '_> {
        let there = event
            .checked_add_signed(away)
            .filter(|&there| self.events.get(there).is_some_and(|range| range.len() < CHORD_SIZE));
        there.into_iter().flat_map(|there| self.notes(there))
    }

    fn tag(&self, event: usize, note: InLine<'_>, settings: &Settings) -> Tag {
        if note.judged.timing.length > beats(note, HELD_BEATS) {
            return Tag::HeldOutside;
        }
        if self.events[event].len() >= CHORD_SIZE {
            return Tag::Open;
        }
        let devices: [(Device, &dyn Fn() -> bool); 4] = [
            (Device::Approach, &|| self.approaches(event, note, Class::Chord)),
            (Device::Passing, &|| self.passes(event, note)),
            (Device::DoubleChromatic, &|| self.approaches_twice(event, note)),
            (Device::Enclosure, &|| self.encloses(event, note, settings.enclosure)),
        ];
        let device = devices.into_iter().find_map(|(device, fits)| fits().then_some(device));
        let over_the_octave =
            || settings.octave_step == OctaveStep::Resolves && self.approaches_an_octave_away(event, note);
        match device {
            Some(device) => Tag::Resolved(device),
            None if over_the_octave() => Tag::Resolved(Device::Approach),
            None => Tag::Open,
        }
    }

    /// As an approach, but the target lies 11 or 13 semitones away.
    fn approaches_an_octave_away(&self, event: usize, note: InLine<'_>) -> bool {
        self.neighbours(event, 1).any(|target| {
            matches!(step(note, target).abs(), 11 | 13)
                && within(note, target, APPROACH_BEATS)
                && is_chord_tone(target)
        })
    }

    /// The next note lies a semitone away, comes within a beat and is of `class`.
    fn approaches(&self, event: usize, note: InLine<'_>, class: Class) -> bool {
        self.neighbours(event, 1).any(|target| {
            step(note, target).abs() == 1
                && within(note, target, APPROACH_BEATS)
                && target.judged.class == Some(class)
        })
    }

    /// It goes on to a scale tone and comes from an inside note a semitone away: from the other side, or from the target.
    fn passes(&self, event: usize, note: InLine<'_>) -> bool {
        let from_inside = |before: InLine<'_>| is_inside(before) && step(before, note).abs() == 1;
        let onward = self.approaches(event, note, Class::Scale) || self.approaches(event, note, Class::Other);
        onward && self.neighbours(event, -1).any(from_inside)
    }

    fn approaches_twice(&self, event: usize, note: InLine<'_>) -> bool {
        self.neighbours(event, 1).any(|middle| {
            let direction = step(note, middle);
            direction.abs() == 1
                && self.neighbours(event, 2).any(|target| {
                    step(middle, target) == direction
                        && is_chord_tone(target)
                        && within(note, target, DOUBLE_BEATS)
                })
        })
    }

    /// It is the first or the second of two notes that lie on both sides of a chord tone.
    fn encloses(&self, event: usize, note: InLine<'_>, bounds: Enclosure) -> bool {
        let around = |first: InLine<'_>, second: InLine<'_>, target: InLine<'_>| {
            let (one, other) = (step(target, first), step(target, second));
            let near = |step: i32| step.unsigned_abs() <= u32::from(bounds.semitones);
            one * other < 0
                && near(one)
                && near(other)
                && is_chord_tone(target)
                && within(first, target, bounds.beats)
        };
        let as_first = || {
            self.neighbours(event, 1)
                .any(|second| self.neighbours(event, 2).any(|target| around(note, second, target)))
        };
        let as_second = || {
            self.neighbours(event, -1)
                .any(|first| self.neighbours(event, 1).any(|target| around(first, note, target)))
        };
        as_first() || as_second()
    }
}

/// Signed semitones from one note to another.
fn step(from: InLine<'_>, to: InLine<'_>) -> i32 {
    to.judged.note.pitch.semitones_above(from.judged.note.pitch)
}

/// Whether `to` is struck within so many beats after `from`.
fn within(from: InLine<'_>, to: InLine<'_>, most: f64) -> bool {
    to.judged.timing.on - from.judged.timing.on <= beats(from, most)
}

fn beats(note: InLine<'_>, count: f64) -> NanoSpan {
    NanoSpan((note.judged.timing.beat.0 as f64 * count) as i64) + ROUNDING
}

fn is_chord_tone(note: InLine<'_>) -> bool {
    note.judged.class == Some(Class::Chord)
}

fn is_inside(note: InLine<'_>) -> bool {
    matches!(note.judged.class, Some(Class::Chord | Class::Scale | Class::Other))
}
