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
    let by = written.shift_of(&pitches);
    let moved = |pitch| moved_by(pitch, by, written);
    for note in notes {
        note.pitch = moved(note.pitch);
    }
    open_strings.iter().copied().map(moved).collect()
}

/// A pitch moved with all others, or by itself within what MIDI can say where they cannot be moved together.
fn moved_by(pitch: Pitch, together: Option<i32>, written: Written) -> Pitch {
    let alone = || written.shift_of(&[pitch]);
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo;
    use crate::judge::{Question, judge};
    use crate::report::review::{Detail, Review};
    use crate::take::{ChannelMessage, Imprint, MidiFile, TakeFile};
    use crate::theory::ScaleRequest;
    use crate::time::Nanos;
    use proptest::prelude::*;

    fn review(bytes: &[u8], written: Written) -> Review {
        let choices = Choices::default().written_for(written);
        let question =
            Question { choices: &choices, chart: None, track: None, detail: Detail::Notes, bands: None };
        judge(bytes, None, question).expect("a review").review
    }

    /// All that a review says but names: what is counted, each note's class, degree and place.
    fn but_names(review: &Review) -> (String, Vec<String>) {
        let notes = review.notes.iter().flatten().map(|note| {
            let (bar, degree, class, tag, rule) =
                (note.chord_bar, &note.degree, note.class, note.tag, note.rule);
            format!(
                "{bar:?} {degree:?} {class} {tag:?} {rule:?} {:?} {:?} {:?}",
                note.string, note.fret, note.left_out
            )
        });
        let totals = serde_json::to_value(&review.totals).expect("JSON");
        let counted: Vec<_> =
            ["counted", "chord", "scale", "other", "outside", "resolved", "open", "landings", "rests"]
                .map(|share| totals[share].to_string())
                .into();
        (counted.join(" "), notes.collect())
    }

    /// A take over the demo's chart with these keys struck, an eighth each or so.
    fn take(keys: &[(u8, u16)]) -> Vec<u8> {
        let mut at = 0;
        let mut solo = Vec::new();
        for &(key, ms) in keys {
            let message = |wire: [u8; 3]| ChannelMessage::from_wire(&wire).expect("a message");
            solo.push((Nanos(at), message([0x90, key, 80])));
            at += i64::from(ms) * 1_000_000;
            solo.push((Nanos(at), message([0x80, key, 0])));
        }
        let imprint = Imprint { count_in_ticks: 0, choruses: 1, ..demo::imprint() };
        let tempo = crate::take::writer::writable(&crate::time::TempoMap::at_bpm(132.0));
        let line = crate::judge::kept::Line { solo, gaps: Vec::new() };
        let file: TakeFile =
            crate::judge::kept::take_file(&imprint, &tempo, Choices::default().bare, line).expect("a file");
        file.to_bytes()
    }

    #[test]
    fn names_move_and_pitches_with_them() {
        let bytes = demo::take().to_bytes();
        let (sounding, read) = (review(&bytes, Written::C), review(&bytes, Written::Bb));
        let first = |review: &Review| review.notes.iter().flatten().next().cloned().expect("a note");
        assert_eq!(first(&read).key, first(&sounding).key + 2);
        assert_eq!((sounding.chart.key.as_deref(), read.chart.key.as_deref()), (Some("Eb"), Some("F")));
        assert_eq!(read.chart.written_for().as_deref(), Some("written for Bb"));
        assert_eq!(but_names(&sounding), but_names(&read));
        assert!(MidiFile::parse(&bytes).is_ok());
    }

    #[test]
    fn bars_by_themselves_keep_what_they_mean_in_the_whole() {
        let chords = ChordSource::of_chart(&demo::chart(), &Overrides::default());
        let functions = |chords: &ChordSource| -> Vec<_> {
            chords.reading.chords.iter().flatten().map(|read| read.function.clone()).collect()
        };
        let cut = chords.only_bars(5, 8).expect("bars");
        let read = cut.written_for(Written::Eb);
        assert_eq!(functions(&read), functions(&cut));
        assert_eq!((read.id.first_bar, read.id.last_bar()), (5, 8));
        assert_eq!(read.form.chords[0].text, "Dm7");
    }

    #[test]
    fn open_strings_move_together() {
        let moved = tuning(&Tuning::standard(), Written::Bb);
        assert_eq!(moved.lowest().key(), Tuning::standard().lowest().key() + 2);
    }

    #[test]
    fn the_way_back_leads_to_what_sounds() {
        for written in Written::ALL {
            let scale = ScaleRequest::HarmonicMinorOf("D".parse().expect("a note"));
            let there = by_itself(written).scale(scale.clone());
            assert_eq!(by_itself_sounding(written).scale(there), scale, "{written}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]
        #[test]
        fn a_review_counts_the_same_for_every_instrument(
            keys in prop::collection::vec((36_u8..96, 80_u16..700), 1..60),
            which in 0..Written::ALL.len(),
        ) {
            let bytes = take(&keys);
            let (sounding, read) = (review(&bytes, Written::C), review(&bytes, Written::ALL[which]));
            prop_assert_eq!(but_names(&sounding), but_names(&read));
        }
    }
}
