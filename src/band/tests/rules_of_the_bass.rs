//! The rules of the bass, held against charts at random.

use super::played::{Sounding, for_every_chart};
use super::*;

#[test]
fn the_bass_keeps_its_range_and_plays_one_note_at_a_time() {
    for_every_chart(50_000, |played| {
        let bass = played.part(Part::Bass);
        for note in &bass {
            assert!((28..=55).contains(&note.key.key()) && note.length.0 > 0, "{note:?} {}", played.tell());
        }
        for pair in bass.windows(2) {
            assert!(pair[0].at + pair[0].length <= pair[1].at, "{pair:?} {}", played.tell());
        }
        bass.len() as u64
    });
}

#[test]
fn every_chord_begins_on_its_root() {
    for_every_chart(30_000, |played| {
        if !played.plays() {
            return 0;
        }
        let bass = played.part(Part::Bass);
        let mut seen = 0;
        for (i, chord) in played.chords.iter().enumerate() {
            let Some(root) = chord.root().filter(|_| chord.place.playing == Playing::Band) else { continue };
            let before = i.checked_sub(1).map(|i| &played.chords[i]);
            let tied = i > 0 && played.is_tied(i - 1);
            let at = if tied { played.chords[i - 1].at } else { chord.at };
            let struck = bass.iter().find(|note| note.at == at);
            let struck = struck.unwrap_or_else(|| panic!("nothing at {at:?}, chord {i} {}", played.tell()));
            // A push that is tied to its bar is one with it; what goes on is what was there before the push.
            let before = if tied { i.checked_sub(2).map(|i| &played.chords[i]) } else { before };
            let goes_on = before.is_some_and(|before| {
                before.symbol == chord.symbol
                    && before.place.chorus == chord.place.chorus
                    && before.place.playing == Playing::Band
            });
            if goes_on && played.walks_in(chord.place.chorus) {
                let tones = chord.symbol.map(ChordSymbol::tone_set).expect("a chord");
                assert!(tones.has(struck.key.pitch_class()), "chord {i} {}", played.tell());
            } else {
                assert_eq!(struck.key.pitch_class(), root, "chord {i} {}", played.tell());
                seen += 1;
            }
        }
        seen
    });
}

#[test]
fn an_approach_is_never_what_it_leads_to() {
    for_every_chart(5_000, |played| {
        let bass = played.part(Part::Bass);
        let mut seen = 0;
        for (i, chord) in played.chords.iter().enumerate() {
            let Some(next) = played.chords.get(i + 1) else { continue };
            let at_home = |chord: &Sounding| chord.place.playing == Playing::Band && chord.symbol.is_some();
            let long = chord.lasts().0 >= 2 * chord.place.pulse.0 && !played.is_tied(i);
            if !(long && at_home(chord) && at_home(next) && played.walks_in(chord.place.chorus)) {
                continue;
            }
            let approach = bass.iter().rfind(|note| note.at < next.at);
            let landing = bass.iter().find(|note| note.at >= next.at);
            if let Some((approach, landing)) = approach.zip(landing) {
                let same = approach.key.pitch_class() == landing.key.pitch_class();
                assert!(!same, "chord {i} {}", played.tell());
                seen += 1;
            }
        }
        seen
    });
}

#[test]
fn a_walking_line_never_repeats_a_note_and_leaps_only_to_roots() {
    for_every_chart(20_000, |played| {
        let bass = played.part(Part::Bass);
        let mut seen = 0;
        for pair in bass.windows(2) {
            let (Some(from), Some(to)) = (played.chord_at(pair[0].at), played.chord_at(pair[1].at)) else {
                continue;
            };
            let unbroken = played.chords.iter().all(|chord| {
                let between = chord.at < pair[1].at && pair[0].at < chord.end;
                !between || chord.symbol.is_some() && chord.place.playing == Playing::Band
            });
            if !unbroken || !played.walks_in(from.place.chorus) || !played.walks_in(to.place.chorus) {
                continue;
            }
            let leap = pair[1].key.semitones_above(pair[0].key).abs();
            let begins = pair[1].at == to.at;
            // A chord too short for more than its root leaves no room for an approach.
            let after_short = begins && from.lasts().0 < 2 * from.place.pulse.0;
            assert!(leap > 0 || after_short, "{pair:?} {}", played.tell());
            let is_root = begins && to.root() == Some(pair[1].key.pitch_class());
            assert!(leap <= 7 || is_root, "{pair:?} {}", played.tell());
            seen += 1;
        }
        seen
    });
}
