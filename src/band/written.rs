//! An arrangement as a MIDI file: a track for each part, the chords as texts, sections and choruses as markers.

use super::{Arrangement, BandNote, Call, Part};
use crate::harmony::Changes;
use crate::take::writer::{PartTrack, TakeFile};
use crate::theory::Key;
use crate::time::{TempoMap, TickSpan, Ticks};

/// The channel of percussion, from 0 (General MIDI: channel 10).
const PERCUSSION: u8 = 9;
/// Acoustic bass, from 0 (General MIDI program 33).
const ACOUSTIC_BASS: u8 = 32;
/// Electric piano 1, from 0 (General MIDI program 5).
const ELECTRIC_PIANO: u8 = 4;

/// The file of what the band plays when it is called so, without the parts in `left_out`.
pub fn written(
    arrangement: &Arrangement,
    call: &Call,
    (tempo, key): (&TempoMap, Option<Key>),
    left_out: &[Part],
) -> TakeFile {
    let bar_one = Ticks::ZERO + arrangement.count_in;
    let choruses = 1..=u32::from(call.choruses);
    let starts = choruses.map(|chorus| (chorus, bar_one + call.form.length() * i64::from(chorus - 1)));
    let moved = |at: Ticks, start: Ticks| start + (at - Ticks::ZERO);
    let chords = starts.clone().flat_map(|(chorus, start)| {
        let chords = call.changes(chorus).0.chords.iter();
        chords.map(move |chord| (moved(chord.start, start), chord.text.clone()))
    });
    let mut chords: Vec<(Ticks, String)> = chords.collect();
    chords.dedup_by(|later, earlier| later.1 == earlier.1);
    let sections = &call.form.bars;
    let markers = starts.clone().flat_map(|(chorus, start)| {
        let sections =
            sections.iter().filter_map(move |bar| Some((moved(bar.start, start), bar.label.clone()?)));
        std::iter::once((start, Changes::marker(call.keys, chorus))).chain(sections)
    });
    let key_of = |chorus| Changes::of_chorus(call.keys, chorus).map(|changes| changes.key);
    let keys = starts.skip(1).filter_map(|(chorus, at)| Some((at, key_of(chorus)?)));
    let parts = Part::BAND.into_iter().filter(|part| !left_out.contains(part));
    let parts = parts.map(|part| track(part, &arrangement.notes)).filter(|track| !track.notes.is_empty());
    TakeFile {
        tempo: tempo.clone(),
        meters: call.form.meters_from(bar_one),
        key: key_of(1).or(key),
        keys: keys.collect(),
        markers: markers.collect(),
        chords,
        parts: parts.collect(),
        ..TakeFile::default()
    }
}

fn track(part: Part, notes: &[BandNote]) -> PartTrack {
    let (channel, program) = match part {
        Part::Bass => (0, Some(ACOUSTIC_BASS)),
        Part::Comp | Part::Line => (1, Some(ELECTRIC_PIANO)),
        Part::Ride | Part::Hat | Part::Kick | Part::Click => (PERCUSSION, None),
    };
    let notes = notes.iter().filter(|note| note.part == part);
    let notes = notes.map(|note| (note.at, note.length.max(TickSpan(1)), note.key, note.velocity));
    let mut name = part.word().to_owned();
    name[..1].make_ascii_uppercase();
    PartTrack { name, channel, program, notes: notes.collect() }
}
