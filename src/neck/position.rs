//! Positions: a scale under one hand, so many notes a string, each pitch at exactly one place.
//!
//! Three notes a string for scales of six notes and more, two for pentatonics (common practice). A position is named by the
//! note it starts on, on the lowest string. Positions as a frame for teaching: Leavitt, *A Modern Method for Guitar*, 1966,
//! and Goodrick, *The Advancing Guitarist*, 1987 (both from memory).

use crate::theory::{NoteName, Pitch, PitchClass, PitchClassSet, Scale};

use super::place::{Fret, Place, PlacedNote};
use super::tuning::Tuning;

/// The lowest fret a position starts on where open strings are left alone.
const LOWEST_START: i32 = 1;
/// Semitones, and frets, of an octave.
const OCTAVE: i32 = 12;
/// The most notes of a scale that is played two a string.
const MOST_TWO_A_STRING: usize = 5;

/// A scale in one position.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Position {
    start: NoteName,
    notes: Vec<PlacedNote>,
    per_string: usize,
}

/// Says why there is no such position.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoPosition {
    /// The scale does not have the note.
    #[error("{start} is not in {scale}: start a position from {names}")]
    Start {
        /// The note asked for.
        start: NoteName,
        /// The scale.
        scale: String,
        /// The notes it has.
        names: String,
    },
    /// The scale has too few notes for a position.
    #[error("{scale} has {notes} notes: a position needs at least {least}", least = FEWEST_NOTES)]
    FewNotes {
        /// The scale.
        scale: String,
        /// How many notes it has.
        notes: usize,
    },
    /// On this tuning it would leave the neck or the range of MIDI.
    #[error("{scale} from {start} does not lie within {highest} frets in this tuning", highest = Fret::HIGHEST)]
    OffTheNeck {
        /// The note asked for.
        start: NoteName,
        /// The scale.
        scale: String,
    },
}

/// The fewest notes of a scale that has positions: with fewer, strings would be left out.
const FEWEST_NOTES: usize = 5;

impl Position {
    /// The position of `scale` that starts from `start` on the lowest string: at fret 1 or above, an octave higher where a
    /// fret would lie below the nut.
    pub fn of(scale: &Scale, start: NoteName, tuning: &Tuning) -> Result<Self, NoPosition> {
        let steps = Steps::of(scale, start)?;
        let lowest = tuning.lowest();
        let above_open = i32::from(start.pitch_class().above(lowest.pitch_class()));
        let first = if above_open < LOWEST_START { above_open + OCTAVE } else { above_open };
        let placed = [first, first + OCTAVE].into_iter().find_map(|fret| steps.place(fret, tuning));
        placed.ok_or_else(|| NoPosition::OffTheNeck { start, scale: scale.to_string() })
    }

    /// The position that starts from the open lowest string, where `start` is that string's note and no fret lies below
    /// the nut.
    pub fn open(scale: &Scale, start: NoteName, tuning: &Tuning) -> Option<Self> {
        let steps = Steps::of(scale, start).ok()?;
        let is_open = start.pitch_class() == tuning.lowest().pitch_class();
        is_open.then(|| steps.place(0, tuning)).flatten()
    }

    /// All positions of a scale, in the order of its notes; the open one before the same start higher up.
    pub fn all(scale: &Scale, tuning: &Tuning) -> Vec<Self> {
        let both = |start| [Self::open(scale, start, tuning), Self::of(scale, start, tuning).ok()];
        scale.names().into_iter().flat_map(both).flatten().collect()
    }

    /// The position of `scale` that starts nearest to `fret` on the lowest string; the higher of two as near. `None` where
    /// the scale has none.
    pub fn nearest(scale: &Scale, fret: Fret, tuning: &Tuning) -> Option<Self> {
        let distance = |position: &Self| {
            let above = position.first_fret().above(fret);
            (above.abs(), above < 0)
        };
        Self::all(scale, tuning).into_iter().min_by_key(distance)
    }

    /// This position as it is over another scale: itself where the scale holds the same notes, else the other scale's own
    /// from the nearest start.
    #[must_use]
    pub fn over(&self, scale: &Scale, tuning: &Tuning) -> Self {
        let own: PitchClassSet = self.notes.iter().map(|note| note.pitch.pitch_class()).collect();
        if own == scale.pitch_classes() {
            return self.clone();
        }
        Self::nearest(scale, self.first_fret(), tuning).unwrap_or_else(|| self.clone())
    }

    /// The note it starts on.
    pub const fn start(&self) -> NoteName {
        self.start
    }

    /// Every note with its place, lowest first.
    pub fn notes(&self) -> &[PlacedNote] {
        &self.notes
    }

    /// How many notes lie on each string.
    pub const fn per_string(&self) -> usize {
        self.per_string
    }

    /// The fret of the lowest note.
    pub fn first_fret(&self) -> Fret {
        self.notes.first().map_or(Fret::OPEN, |note| note.place.fret)
    }

    /// The lowest and the highest fret.
    pub fn frets(&self) -> (Fret, Fret) {
        let frets = || self.notes.iter().map(|note| note.place.fret);
        (frets().min().unwrap_or_default(), frets().max().unwrap_or_default())
    }

    /// The place of a pitch in this position, if it has it.
    pub fn place_of(&self, pitch: Pitch) -> Option<Place> {
        self.notes.iter().find(|note| note.pitch == pitch).map(|note| note.place)
    }

    /// The notes of a chord in this position, lowest first; `None` where the position lacks one of its tones (then the chord's
    /// own scale has a position that has them: see [`Position::over`]).
    pub fn arpeggio(&self, tones: PitchClassSet) -> Option<Vec<PlacedNote>> {
        let held = |note: &&PlacedNote| tones.has(note.pitch.pitch_class());
        let found: Vec<PlacedNote> = self.notes.iter().filter(held).copied().collect();
        let all: PitchClassSet = found.iter().map(|note| note.pitch.pitch_class()).collect();
        (all == tones).then_some(found)
    }

    /// The chord of `size` notes stacked in thirds on the note `index` of the position (every other note of the scale), over
    /// one octave; `None` where it leaves the position.
    pub fn stacked(&self, index: usize, size: usize) -> Option<Vec<PlacedNote>> {
        (0..size).map(|third| self.notes.get(index + 2 * third).copied()).collect()
    }
}

/// A scale on its way up from a starting note.
struct Steps {
    start: NoteName,
    /// Semitones above the start, and names, through one octave.
    notes: Vec<(i32, NoteName)>,
    per_string: usize,
}

impl Steps {
    fn of(scale: &Scale, start: NoteName) -> Result<Self, NoPosition> {
        let names = scale.names();
        if names.len() < FEWEST_NOTES {
            return Err(NoPosition::FewNotes { scale: scale.to_string(), notes: names.len() });
        }
        let above = |name: &NoteName| i32::from(name.pitch_class().above(start.pitch_class()));
        let mut notes: Vec<(i32, NoteName)> = names.iter().map(|name| (above(name), *name)).collect();
        notes.sort_by_key(|&(semitones, _)| semitones);
        match notes.first() {
            Some(&(0, start)) => {
                let per_string = if notes.len() <= MOST_TWO_A_STRING { 2 } else { 3 };
                Ok(Self { start, notes, per_string })
            }
            _ => Err(NoPosition::Start {
                start,
                scale: scale.to_string(),
                names: names.iter().map(NoteName::to_string).collect::<Vec<_>>().join(" "),
            }),
        }
    }

    /// The note `index` steps up: semitones above the start, and its name.
    fn step(&self, index: usize) -> (i32, NoteName) {
        let (semitones, name) = self.notes[index % self.notes.len()];
        (semitones + OCTAVE * (index / self.notes.len()) as i32, name)
    }

    /// The position with its first note at `fret` of the lowest string; `None` where a fret lies off the neck.
    fn place(&self, fret: i32, tuning: &Tuning) -> Option<Position> {
        let lowest = i32::from(tuning.lowest().key()) + fret;
        let strings = tuning.from_lowest().enumerate();
        let places = strings.flat_map(|(row, (string, open))| {
            (0..self.per_string).map(move |note| (row * self.per_string + note, string, open))
        });
        let note = |(index, string, open): (usize, _, Pitch)| {
            let (semitones, name) = self.step(index);
            let pitch = u8::try_from(lowest + semitones).ok().and_then(Pitch::new)?;
            let fret = u8::try_from(pitch.semitones_above(open)).ok().map(Fret)?;
            (fret <= Fret::HIGHEST).then_some(PlacedNote { place: Place { string, fret }, pitch, name })
        };
        let notes = places.map(note).collect::<Option<Vec<_>>>()?;
        Some(Position { start: self.start, notes, per_string: self.per_string })
    }
}

/// The places of a pitch class on all strings up to `highest`, lowest string first.
pub fn places_of(pitch_class: PitchClass, highest: Fret, tuning: &Tuning) -> Vec<Place> {
    let on_string = |(string, open): (_, Pitch)| {
        (0..=highest.0).map(Fret).filter_map(move |fret| {
            let pitch = open.up(i32::from(fret.0))?;
            (pitch.pitch_class() == pitch_class).then_some(Place { string, fret })
        })
    };
    tuning.from_lowest().flat_map(on_string).collect()
}

#[cfg(test)]
mod tests;
