//! Leanings: the one other listed scale that the line of the whole take fits better over a chord.
//!
//! One choice a chord over all its visits, never a choice per visit and never the union of all alternatives: over a plain
//! dominant that union holds all twelve notes, and a choice per visit forgives a quarter of the outside notes whoever
//! plays (Weimar Jazz Database, our own measurement). It says where the line leans, not that the chord was heard.

use std::collections::HashMap;
use std::sync::Arc;

use crate::harmony::{Centre, ChordReading};
use crate::theory::{ChordSymbol, PitchClassSet, Scale};

use super::judged::{Class, Judged, Weight};
use super::stage::Stage;

/// An alternative must explain at least this many notes more than the scale in force.
const LEAST_NOTES: f64 = 4.0;
/// And at least this part of the notes over the chord.
const LEAST_PART: f64 = 1.0 / 20.0;

/// A scale that the line over one chord fits better than the one in force.
#[derive(Clone, Debug, PartialEq)]
pub struct Leaning {
    /// Index of the first chord of the form that it is about.
    pub chord: usize,
    /// The scale that fits better.
    pub scale: Scale,
    /// Notes it explains less notes the scale in force explains.
    pub notes_more: f64,
    /// Every chord of the form that it is about.
    group: Vec<usize>,
}

/// Chords that are one for this purpose: same key, function, symbol and scale.
#[derive(PartialEq, Eq, Hash)]
struct Kind<'a> {
    centre: Centre,
    function: &'a str,
    symbol: &'a ChordSymbol,
    scale: &'a Scale,
}

/// Counted notes by pitch class over one group of chords.
#[derive(Default)]
struct Group {
    chords: Vec<usize>,
    notes: [Weight; 12],
}

/// Finds the leanings of a take, in the order of the form.
pub fn leanings(judged: &[Judged], stage: &Stage<'_>) -> Vec<Leaning> {
    let (mut groups, of_chord) = groups(stage);
    for note in judged.iter().filter(|note| note.is_counted()) {
        let group = note.visit.and_then(|visit| of_chord[stage.visits()[visit].chord]);
        if let Some(group) = group {
            groups[group].notes[usize::from(note.note.pitch.pitch_class().semitones())] += note.weight;
        }
    }
    groups.into_iter().filter_map(|group| leaning(group, stage)).collect()
}

/// Groups the form's chords; also which group each chord is in.
fn groups(stage: &Stage<'_>) -> (Vec<Group>, Vec<Option<usize>>) {
    let laid = stage.laid();
    let mut groups: Vec<Group> = Vec::new();
    let mut known: HashMap<Kind<'_>, usize> = HashMap::new();
    // Chords that are seen alike share one reading, so most are known by its address.
    let mut shared: HashMap<*const ChordReading, usize> = HashMap::new();
    let chords = laid.form.chords.iter().zip(&laid.reading.chords).enumerate();
    let of_chord = chords
        .map(|(index, (chord, read))| {
            let (symbol, read) = chord.symbol.as_ref().zip(read.as_ref())?;
            let group = *shared.entry(Arc::as_ptr(read)).or_insert_with(|| {
                let kind = Kind { centre: read.centre, function: &read.function, symbol, scale: &read.scale };
                *known.entry(kind).or_insert_with(|| {
                    groups.push(Group::default());
                    groups.len() - 1
                })
            });
            groups[group].chords.push(index);
            Some(group)
        })
        .collect();
    (groups, of_chord)
}

fn leaning(group: Group, stage: &Stage<'_>) -> Option<Leaning> {
    let chord = *group.chords.first()?;
    let laid = stage.laid();
    let read: &ChordReading = laid.reading.chords[chord].as_ref()?;
    let tones = laid.form.chords[chord].symbol.as_ref()?.tone_set();
    let explained = |scale: PitchClassSet| -> f64 {
        let set = scale | tones;
        set.iter().map(|p| group.notes[usize::from(p.semitones())]).sum::<Weight>().notes()
    };
    let in_force = explained(read.scale.pitch_classes());
    let all = group.notes.into_iter().sum::<Weight>().notes();
    let needed = LEAST_NOTES.max(all * LEAST_PART);
    let mut best: Option<(f64, &Scale)> = None;
    for scale in &read.alternatives {
        let more = explained(scale.pitch_classes()) - in_force;
        if more >= needed && best.is_none_or(|(most, _)| more > most) {
            best = Some((more, scale));
        }
    }
    best.map(|(notes_more, scale)| Leaning { chord, scale: scale.clone(), notes_more, group: group.chords })
}

/// Opens the class *other*: outside notes that a leaning explains.
pub fn open_other(judged: &mut [Judged], leanings: &[Leaning], stage: &Stage<'_>) {
    let mut opened = vec![PitchClassSet::EMPTY; stage.laid().form.chords.len()];
    for leaning in leanings {
        for &chord in &leaning.group {
            opened[chord] = leaning.scale.pitch_classes();
        }
    }
    for note in judged.iter_mut().filter(|note| note.class == Some(Class::Outside)) {
        let scale = note.visit.map(|visit| opened[stage.visits()[visit].chord]);
        if scale.is_some_and(|scale| scale.has(note.note.pitch.pitch_class())) {
            note.class = Some(Class::Other);
        }
    }
}
