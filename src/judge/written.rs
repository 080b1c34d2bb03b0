//! The lens of a transposing instrument: out of what sounds it makes what its player reads.
//!
//! Chords, keys, notes and open strings move up by one interval together, so that classes, degrees, counts and frets stay
//! what they are and only names move. What is shown to the player is made of this; documents, files and pitches that
//! sound never are.

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::Arc;

use super::{Choices, ChordSource};
use crate::chart::header::key_text;
use crate::chart::{Form, Move};
use crate::harmony::{self, Changes, Overrides};
use crate::neck::Tuning;
use crate::report::review::ChartId;
use crate::take::Note;
use crate::theory::{Key, KeyMode, Pitch, PitchClass, Written};

impl ChordSource {
    /// The chords as the player of an instrument in `written` reads them; a chart without a key is moved from the one that
    /// is heard, else from C.
    #[must_use]
    pub fn written_for(&self, written: Written) -> Self {
        if written.is_concert() {
            return self.clone();
        }
        if let Some(whole) = &self.whole {
            let whole = whole.written_for(written);
            let (first, last) = (self.id.first_bar, self.id.last_bar());
            return whole.only_bars(first, last).unwrap_or_else(|_| self.clone());
        }
        let header: Option<Key> = self.id.key.as_deref().and_then(|key| key.parse().ok());
        let from = header.or(self.reading.home).unwrap_or(Key::new(PitchClass::C, KeyMode::Major));
        let Changes { form, reading, .. } = changes(&self.form, from, written);
        let keys = moved_keys(&self.keys, written);
        let id = ChartId {
            key: header.map(|key| key_text(written.key(key))),
            keys: self.id.keys.is_some().then(|| keys.iter().map(|changes| key_text(changes.key)).collect()),
            written,
            ..self.id.clone()
        };
        Self { form, reading, keys, id, ..self.clone() }
    }
}

/// The changes of each chorus; what sounds alike is read once.
fn moved_keys(each: &[Arc<Changes>], written: Written) -> Vec<Arc<Changes>> {
    let mut known: HashMap<Key, Arc<Changes>> = HashMap::new();
    let mut moved = |sounding: &Arc<Changes>| {
        let moved = known
            .entry(sounding.key)
            .or_insert_with(|| Arc::new(changes(&sounding.form, sounding.key, written)));
        Arc::clone(moved)
    };
    each.iter().map(&mut moved).collect()
}

fn changes(sounding: &Form, from: Key, written: Written) -> Changes {
    let key = written.key(from);
    let form = sounding.transposed_from(from, key);
    let reading = harmony::read(&form, &Overrides::default());
    Changes { key, form, reading }
}

impl Choices {
    /// The same choices for what is shown to the player of an instrument in `written`.
    #[must_use]
    pub fn written_for(self, written: Written) -> Self {
        Self { written, ..self }
    }
}

/// The chords as they are read, moved only where that is another thing.
pub(super) fn chords(sounding: Cow<'_, ChordSource>, written: Written) -> Cow<'_, ChordSource> {
    if written.is_concert() { sounding } else { Cow::Owned(sounding.written_for(written)) }
}

/// Moves the notes of a take, and gives the open strings moved with them.
pub(super) fn move_notes(notes: &mut [Note], open_strings: &[Pitch], written: Written) -> Vec<Pitch> {
    let pitches: Vec<Pitch> =
        notes.iter().map(|note| note.pitch).chain(open_strings.iter().copied()).collect();
    let by = written.shift_of(pitches.iter().copied());
    let moved = |pitch| moved_by(pitch, by, written);
    for note in notes {
        note.pitch = moved(note.pitch);
    }
    open_strings.iter().copied().map(moved).collect()
}

/// A pitch moved with all others, or by itself within what MIDI can say where they cannot be moved together.
fn moved_by(pitch: Pitch, together: Option<i32>, written: Written) -> Pitch {
    let alone = || written.shift_of([pitch]);
    together.or_else(alone).and_then(|by| pitch.up(by)).unwrap_or(pitch)
}

/// The open strings as the player reads them.
pub fn tuning(sounding: &Tuning, written: Written) -> Tuning {
    let strings = move_notes(&mut [], sounding.strings(), written);
    Tuning::of_strings(strings).unwrap_or_else(|| sounding.clone())
}

/// The way back: from what the player reads and types on a screen to what sounds.
pub fn by_itself_sounding(written: Written) -> Move {
    let concert = Key::new(PitchClass::C, KeyMode::Major);
    Move::new(written.key(concert), concert)
}

/// From chords and notes by themselves to what the player reads; like charts without a key they are moved from C.
pub fn by_itself(written: Written) -> Move {
    let concert = Key::new(PitchClass::C, KeyMode::Major);
    Move::new(concert, written.key(concert))
}
