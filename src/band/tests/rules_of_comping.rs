//! The rules of the comping, held against charts at random.

use std::collections::BTreeSet;

use super::comping::sound_together;
use super::played::{Played, Sounding, for_every_chart};
use super::*;
use crate::band::comping::cells::cells;

/// The two notes of each chord that is struck.
fn shells(played: &Played) -> Vec<[BandNote; 2]> {
    let comp = played.part(Part::Comp);
    comp.chunks(2).map(|two| [two[0], two[1]]).collect()
}

/// The shells of a chord by the rule: two of its guide tones (of a triad its third and fifth) between C3 and E4, a minor
/// third apart or more.
fn voicings(chord: ChordSymbol) -> Vec<[i32; 2]> {
    let (guides, tones) = (chord.guide_tones(), chord.tones());
    let first = guides.first().copied().unwrap_or(tones[0]);
    let second = guides.get(1).copied();
    let second =
        second.or_else(|| tones.iter().rev().copied().find(|&tone| tone != first)).expect("two tones");
    let wanted = BTreeSet::from([first, second]);
    let pairs = (48..=64).flat_map(|low| (low + 3..=64).map(move |high| [low, high]));
    pairs
        .filter(|pair| {
            pair.iter().map(|&key| PitchClass::from_semitones(key)).collect::<BTreeSet<_>>() == wanted
        })
        .collect()
}

#[test]
fn the_comping_lies_above_the_bass_that_sounds() {
    for_every_chart(10_000, |played| {
        let bass = played.part(Part::Bass);
        let comp = played.part(Part::Comp);
        for chord in &comp {
            assert!((48..=64).contains(&chord.key.key()) && chord.length.0 > 0, "{}", played.tell());
            for note in bass.iter().filter(|note| sound_together(note, chord)) {
                assert!(note.key < chord.key, "{note:?} {chord:?} {}", played.tell());
            }
        }
        comp.len() as u64
    });
}

#[test]
fn the_comping_moves_as_little_as_it_can() {
    for_every_chart(5_000, |played| {
        // Where bars are left out, not every shell that the next one moved from is heard.
        if !played.every_bar_is_the_bands() {
            return 0;
        }
        let bass = played.part(Part::Bass);
        let motion = |from: [i32; 2], to: [i32; 2]| (from[0] - to[0]).abs() + (from[1] - to[1]).abs();
        let mut last = [53, 60];
        let mut seen = 0;
        for [low, high] in shells(played) {
            let shell = [low, high].map(|note| i32::from(note.key.key()));
            assert!(low.at == high.at && shell[1] - shell[0] >= 3, "{}", played.tell());
            let under = bass.iter().find(|note| note.at <= low.at && low.at < note.at + note.length);
            let floor = under.map_or(0, |note| i32::from(note.key.key()));
            let chords = sounding_chords(played, low.at);
            let chord = chords.iter().copied().find(|&chord| voicings(chord).contains(&shell));
            let Some(chord) = chord else {
                panic!("{shell:?} at {:?} is none of {chords:?} {}", low.at, played.tell());
            };
            let nearest = voicings(chord).into_iter().filter(|voicing| voicing[0] > floor);
            let nearest = nearest.map(|voicing| motion(last, voicing)).min();
            assert_eq!(Some(motion(last, shell)), nearest, "{shell:?} {}", played.tell());
            last = shell;
            seen += 1;
        }
        seen
    });
}

/// The chords that a strike at `at` may sound: on the off-beat before the barline the one that comes; in a bar of one
/// pulse, whose off-beat is no push of necessity, either.
fn sounding_chords(played: &Played, at: Ticks) -> Vec<ChordSymbol> {
    let Some(here) = played.chord_at(at) else { return Vec::new() };
    let place = here.place;
    let is_push = at == place.end - place.pulse + place.off_beat && here.at != at;
    let comes = played.chord_at(place.end).filter(|_| is_push);
    let stays = (!is_push || place.pulses() == 1).then_some(here);
    comes.into_iter().chain(stays).filter_map(|chord| chord.symbol).collect()
}

#[test]
fn chords_that_the_chart_pushes_are_struck_with_it() {
    for_every_chart(1_000, |played| {
        if !played.plays() {
            return 0;
        }
        let (bass, comp) = (played.part(Part::Bass), played.part(Part::Comp));
        let pushed = |chord: &&Sounding| chord.is_off_the_pulses() && chord.place.playing == Playing::Band;
        let mut seen = 0;
        for chord in played.chords.iter().filter(pushed) {
            let Some(symbol) = chord.symbol else { continue };
            let under = bass.iter().find(|note| note.at == chord.at);
            let under = under.unwrap_or_else(|| panic!("no bass at {:?} {}", chord.at, played.tell()));
            let has_room = voicings(symbol).iter().any(|voicing| voicing[0] > i32::from(under.key.key()));
            assert_eq!(comp.iter().any(|note| note.at == chord.at), has_room, "{}", played.tell());
            seen += 1;
        }
        seen
    });
}

#[test]
fn no_cell_comes_three_times_running() {
    for_every_chart(10_000, |played| {
        let bars = bars::unfold(&played.case.call(), Ticks::ZERO);
        let mut chance = Chance::new(Seed(played.case.number), Part::Comp);
        let drawn = cells(&bars, &mut chance);
        assert!(drawn.windows(3).all(|three| three[0] != three[1] || three[1] != three[2]));
        drawn.len().saturating_sub(2) as u64
    });
}
