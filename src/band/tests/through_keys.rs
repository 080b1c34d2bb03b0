//! The band through the keys: each chorus in its own, and over the seam into the next.

use std::sync::Arc;

use super::*;
use crate::harmony::Changes;
use crate::theory::{Key, KeyMode};

/// A chart of three chords in keys that lie so many semitones above the first.
fn changes(above: &[i32]) -> Vec<Arc<Changes>> {
    let in_key = |&above: &i32| {
        let moved = |text: &str| {
            let symbol: ChordSymbol = text.parse().expect("a chord");
            let root = Key::new(symbol.root.pitch_class().up(above), KeyMode::Major).tonic;
            symbol.transposed(root).to_string()
        };
        let form = form(&["Dm7", "G7", "Cmaj7", "Cmaj7"].map(moved).join(" | "));
        let key = Key::new(PitchClass::from_semitones(above), KeyMode::Major);
        Arc::new(Changes { key, reading: Reading { home: Some(key), ..reading(&form) }, form })
    };
    above.iter().map(in_key).collect()
}

fn arranged_in(keys: &[Arc<Changes>], seed: u64) -> Arrangement {
    let (form, reading) = (&keys[0].form, &keys[0].reading);
    let choruses = keys.len() as u16;
    arrange(&Call { keys, choruses, seed: Seed(seed), ..call(form, reading) })
}

const BAR: TickSpan = TickSpan(4 * crate::time::TICKS_PER_QUARTER);

#[test]
fn each_chorus_is_in_its_key_and_the_last_note_is_the_tonic_of_the_last() {
    for seed in 0..100 {
        let keys = changes(&[0, 5, 10]);
        let arrangement = arranged_in(&keys, seed);
        let bar_one = Ticks::ZERO + arrangement.count_in;
        let bass = of_part(&arrangement, Part::Bass);
        let on = |at: Ticks| bass.iter().find(|note| note.at == at).map(|note| note.key.key() % 12);
        let roots: Vec<_> = (0..12).filter(|bar| bar % 4 != 3).map(|bar| on(bar_one + BAR * bar)).collect();
        assert_eq!(roots, [2, 7, 0, 7, 0, 5, 0, 5, 10].map(Some), "seed {seed}");
        assert_eq!(on(arrangement.end), Some(10), "seed {seed}");
    }
}

#[test]
fn the_bass_leads_over_the_seam_to_the_new_root() {
    for seed in 0..200 {
        let arrangement = arranged_in(&changes(&[0, 6]), seed);
        let seam = Ticks::ZERO + arrangement.count_in + BAR * 4;
        let bass = of_part(&arrangement, Part::Bass);
        let [approach, root] = [-1, 0].map(|beat| {
            let at = seam + TickSpan::quarters(beat);
            i32::from(bass.iter().find(|note| note.at == at).expect("a note").key.key())
        });
        assert_eq!(root % 12, 8, "Ab of Abm7");
        let by = approach - root;
        assert!(
            [1, -1, 2, -2, 7, -5].contains(&by),
            "a semitone, a step or the fifth, not {by}: seed {seed}"
        );
    }
}

#[test]
fn a_push_at_the_seam_sounds_the_chord_of_the_new_key() {
    let pushed = (0..300).filter_map(|seed| {
        let arrangement = arranged_in(&changes(&[0, 6]), seed);
        let seam = Ticks::ZERO + arrangement.count_in + BAR * 4;
        let comp = of_part(&arrangement, Part::Comp);
        let push = comp.iter().filter(|note| note.at < seam && note.at > seam - TickSpan::quarters(1));
        let classes: Vec<u8> = push.map(|note| note.key.key() % 12).collect();
        (!classes.is_empty()).then_some(classes)
    });
    let pushed: Vec<_> = pushed.collect();
    assert!(pushed.len() > 5, "{}", pushed.len());
    for classes in pushed {
        assert!(classes.contains(&11) && classes.contains(&6), "Cb and Gb of Abm7, not {classes:?}");
    }
}

#[test]
fn the_same_seed_plays_the_same_notes_in_the_same_keys() {
    let keys = changes(&[0, 5]);
    assert_eq!(arranged_in(&keys, 3), arranged_in(&keys, 3));
    assert_ne!(arranged_in(&keys, 3), arranged_in(&changes(&[0, 6]), 3));
}
