//! Places: where on the instrument the counted notes were played, string by string and key by key.
//!
//! Each note struck counts once here, also where several were struck together: it is a question of where, not of how much.

use std::collections::BTreeMap;

use crate::theory::Pitch;

use super::judged::{Class, Judged};

/// Notes played at one place, by their layer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct PlaceCounts {
    by_class: [usize; 4],
}

impl PlaceCounts {
    fn add(&mut self, class: Class) {
        self.by_class[class as usize] += 1;
    }

    /// Notes of one layer.
    pub const fn of(&self, class: Class) -> usize {
        self.by_class[class as usize]
    }

    /// All notes.
    pub fn all(&self) -> usize {
        self.by_class.iter().sum()
    }
}

/// A place on a neck.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Spot {
    /// The string, 1 the highest.
    pub string: u8,
    /// The fret at which the note was struck.
    pub fret: u8,
}

/// The counted notes by place.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Places {
    /// By string and fret, for the notes whose string is known.
    pub on_strings: BTreeMap<Spot, PlaceCounts>,
    /// By pitch, for all notes.
    pub by_pitch: BTreeMap<Pitch, PlaceCounts>,
}

impl Places {
    /// The places of a judged line.
    pub fn of(judged: &[Judged]) -> Self {
        let mut places = Self::default();
        for (note, class) in judged.iter().filter_map(|note| Some((&note.note, note.class?))) {
            places.by_pitch.entry(note.pitch).or_default().add(class);
            if let Some((string, fret)) = note.string.zip(note.fret) {
                places.on_strings.entry(Spot { string, fret }).or_default().add(class);
            }
        }
        places
    }

    /// The notes of one string.
    pub fn of_string(&self, string: u8) -> PlaceCounts {
        let mut sum = PlaceCounts::default();
        for (_, counts) in self.on_strings.iter().filter(|(spot, _)| spot.string == string) {
            for class in Class::ALL {
                sum.by_class[class as usize] += counts.of(class);
            }
        }
        sum
    }

    /// The lowest and the highest fret played on a string.
    pub fn frets(&self, string: u8) -> Option<(u8, u8)> {
        let mut frets = self.on_strings.keys().filter(|spot| spot.string == string).map(|spot| spot.fret);
        let lowest = frets.next()?;
        Some((lowest, frets.next_back().unwrap_or(lowest)))
    }
}
