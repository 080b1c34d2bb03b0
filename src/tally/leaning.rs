//! Leanings: the one other listed scale that the line of the whole take fits better over a chord.
//!
//! One choice a chord over all its visits, never a choice per visit and never the union of all alternatives: over a plain
//! dominant that union holds all twelve notes, and a choice per visit forgives a quarter of the outside notes whoever
//! plays (Weimar Jazz Database, our own measurement). It says where the line leans, not that the chord was heard.

use std::collections::HashMap;
use std::sync::Arc;

use crate::harmony::{Centre, ChordReading};
use crate::theory::{ChordSymbol, Key, PitchClassSet, Scale};

use super::judged::{Class, Judged, Weight};
use super::stage::Stage;

/// An alternative must explain at least this many notes more than the scale in force.
const LEAST_NOTES: f64 = 4.0;
/// And at least this part of the notes over the chord.
const LEAST_PART: f64 = 1.0 / 20.0;

/// A scale that the line over one chord fits better than the one in force.
#[derive(Clone, Debug, PartialEq)]
pub struct Leaning {
    /// The first chord that it is about, among those [seen](Stage::seen).
    pub seen: usize,
    /// The scale that fits better.
    pub scale: Scale,
    /// Notes it explains less notes the scale in force explains.
    pub notes_more: f64,
    /// Every chord that it is about.
    group: Vec<usize>,
}

/// Chords that are one for this purpose: same key, function, symbol and scale. Where the tune goes through keys each is
/// a group of its own, as if it had been a take by itself.
#[derive(PartialEq, Eq, Hash)]
struct Kind<'a> {
    chorus_key: Option<Key>,
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
        let group = note.visit.and_then(|visit| of_chord[stage.seen_in(visit)]);
        if let Some(group) = group {
            groups[group].notes[usize::from(note.note.pitch.pitch_class().semitones())] += note.weight;
        }
    }
    groups.into_iter().filter_map(|group| leaning(group, stage)).collect()
}

/// Groups the chords; also which group each is in.
fn groups(stage: &Stage<'_>) -> (Vec<Group>, Vec<Option<usize>>) {
    let mut groups: Vec<Group> = Vec::new();
    let mut known: HashMap<Kind<'_>, usize> = HashMap::new();
    // Chords that are seen alike share one reading, so most are known by its address.
    let mut shared: HashMap<*const ChordReading, usize> = HashMap::new();
    let chords = stage.seen().iter().enumerate();
    let of_chord = chords
        .map(|(index, seen)| {
            let (symbol, read) = seen.chord.symbol.as_ref().zip(seen.read)?;
            let group = *shared.entry(Arc::as_ptr(read)).or_insert_with(|| {
                let ChordReading { centre, function, scale, .. } = read.as_ref();
                let kind = Kind { chorus_key: seen.key, centre: *centre, function, symbol, scale };
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
    let seen = *group.chords.first()?;
    let read: &ChordReading = stage.seen()[seen].read?;
    let tones = stage.seen()[seen].chord.symbol.as_ref()?.tone_set();
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
    best.map(|(notes_more, scale)| Leaning { seen, scale: scale.clone(), notes_more, group: group.chords })
}

/// Opens the class *other*: outside notes that a leaning explains.
pub fn open_other(judged: &mut [Judged], leanings: &[Leaning], stage: &Stage<'_>) {
    let mut opened = vec![PitchClassSet::EMPTY; stage.seen().len()];
    for leaning in leanings {
        for &chord in &leaning.group {
            opened[chord] = leaning.scale.pitch_classes();
        }
    }
    for note in judged.iter_mut().filter(|note| note.class == Some(Class::Outside)) {
        let scale = note.visit.map(|visit| opened[stage.seen_in(visit)]);
        if scale.is_some_and(|scale| scale.has(note.note.pitch.pitch_class())) {
            note.class = Some(Class::Other);
        }
    }
}
