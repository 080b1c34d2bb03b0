//! Contested notes: the tally as it would stand if a player were right who hears a note otherwise.
//!
//! Counts follow; what a note resolves to, landings and shares of sounding time stay as they were judged.

use super::Tally;
use super::judged::{Class, Device, Tag};

/// What a note is heard as instead.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HeardAs {
    /// A chord tone.
    Chord,
    /// A scale tone.
    Scale,
    /// An outside note that resolves.
    Resolved,
    /// An outside note left open.
    Open,
    /// No note of the line.
    NotPlayed,
}

/// A note by its place in a take.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// The note-on of this number, from 0.
    Index(usize),
    /// The `note`th counted note (from 1) of a bar of a chorus.
    Place {
        /// Times through, from 1.
        chorus: u32,
        /// Bar of the form.
        bar: usize,
        /// Which of its notes, from 1.
        note: usize,
    },
}

impl Tally {
    /// The place in [`Self::notes`] of a counted note; `None` where there is none such.
    pub fn counted_note(&self, which: Which) -> Option<usize> {
        let mut counted = self.notes.iter().enumerate().filter(|(_, note)| note.is_counted());
        match which {
            Which::Index(index) => {
                counted.find(|(_, note)| note.note.index as usize == index).map(|(at, _)| at)
            }
            Which::Place { chorus, bar, note } => {
                let here = counted.filter(|(_, judged)| {
                    let of = judged.visit.map(|visit| &self.mix.by_bar[self.mix.bar_of_visit[visit]]);
                    of.is_some_and(|of| (of.chorus, of.bar) == (chorus, bar))
                });
                here.map(|(at, _)| at).nth(note.checked_sub(1)?)
            }
        }
    }

    /// The tally with these notes (places in [`Self::notes`]) heard as the player hears them.
    #[must_use]
    pub fn granting(&self, heard: &[(usize, HeardAs)]) -> Self {
        let mut granted = self.clone();
        for &(at, heard_as) in heard {
            let Some(note) = granted.notes.get_mut(at) else { continue };
            (note.class, note.tag) = match heard_as {
                HeardAs::Chord => (Some(Class::Chord), None),
                HeardAs::Scale => (Some(Class::Scale), None),
                HeardAs::Resolved => (Some(Class::Outside), Some(Tag::Resolved(Device::Approach))),
                HeardAs::Open => (Some(Class::Outside), Some(Tag::Open)),
                HeardAs::NotPlayed => (None, None),
            };
        }
        granted.mix = granted.mix.clone().recounted(&granted.notes);
        granted
    }
}
