//! The bass on charts small enough to see.

use super::*;
use crate::chart::Chart;
use crate::theory::chord::BareSymbols;

/// A chart in 4/4 as it is written, with places.
pub(super) fn chart(bars: &str) -> Form {
    let (chart, _) = Chart::parse("a.bars", bars, BareSymbols::default()).expect("a chart");
    chart.unfold()
}

#[test]
fn the_textbook_line_is_one_the_bass_plays() {
    // Dm7 D2 F2 A2 Ab2 | G7 G2 B2 D3 Db3 | C: roots on 1, chord tones up, approaches a semitone above. Worked by hand.
    let form = form("Dm7 | G7 | Cmaj7");
    let wanted = [38, 41, 45, 44, 43, 47, 50, 49, 48];
    let played = (0..5000).any(|seed| bass_keys(&arranged(&form, Feel::Swing, 1, seed))[..9] == wanted);
    assert!(played, "no seed of 5000 walks it");
}

#[test]
fn a_bar_with_two_chords_is_root_and_approach_twice() {
    let keys = bass_keys(&arranged(&form("Gm7 C7 | Fmaj7"), Feel::Swing, 1, 3));
    assert_eq!([keys[0] % 12, keys[2] % 12, keys[4] % 12], [7, 0, 5]);
}

#[test]
fn a_chord_that_goes_on_starts_its_second_bar_on_another_chord_tone() {
    let keys = bass_keys(&arranged(&form("Dm7 | Dm7 | Dm7 | G7"), Feel::Swing, 1, 11));
    assert_eq!(keys[0] % 12, 2);
    assert!([9, 5].contains(&(keys[4] % 12)), "fifth or third, not {}", keys[4]);
    assert_eq!(keys[8] % 12, 2);
}

#[test]
fn a_chorus_begins_on_its_root_though_the_chord_goes_on() {
    for seed in 0..50 {
        let keys = bass_keys(&arranged(&form("F7 | Bb7 | F7"), Feel::Swing, 3, seed));
        assert_eq!([keys[0] % 12, keys[12] % 12, keys[24] % 12], [5, 5, 5]);
    }
}

#[test]
fn no_chord_leaves_the_bass_silent() {
    let arrangement = arranged(&form("Dm7 | N.C. | G7"), Feel::Swing, 1, 1);
    assert_eq!(struck(&arrangement, Part::Bass), [0, 100, 200, 300, 800, 900, 1000, 1100, 1200]);
}

#[test]
fn a_chord_pushed_over_the_barline_is_struck_on_the_swung_off_beat_and_tied() {
    // At 120 the off-beat of a swung quarter lies at 2.6 parts of 3.6: 0.72.
    let arrangement = arranged(&chart("| Dm7 G7@4& | | Cmaj7 |"), Feel::Swing, 1, 1);
    let places = struck(&arrangement, Part::Bass);
    assert_eq!(places, [0, 100, 200, 300, 372, 500, 600, 700, 800, 900, 1000, 1100, 1200]);
    assert_eq!(bass_keys(&arrangement)[4] % 12, 7, "G, and no other note on beat 1");
    let straight = arranged(&chart("| Dm7 G7@4& | | Cmaj7 |"), Feel::Straight, 1, 1);
    assert_eq!(struck(&straight, Part::Bass)[4], 350);
}

#[test]
fn a_chord_pushed_within_the_bar_is_struck_there() {
    let arrangement = arranged(&chart("| Gm7 C7@2& | F7 |"), Feel::Swing, 1, 1);
    assert_eq!(struck(&arrangement, Part::Bass), [0, 172, 200, 300, 400, 500, 600, 700, 800]);
    assert_eq!(bass_keys(&arrangement)[1] % 12, 0);
}

#[test]
fn a_ballad_is_in_two_with_a_pick_up_now_and_then() {
    let form = form("Dm7 | G7 | Cmaj7 | A7");
    let lines: std::collections::BTreeSet<Vec<i64>> =
        (0..2000).map(|seed| struck(&arranged(&form, Feel::Ballad, 1, seed), Part::Bass)).collect();
    let every = [0, 200, 350, 400, 600, 750, 800, 1000, 1150, 1200, 1400, 1550, 1600];
    assert!(lines.contains(&vec![0, 200, 400, 600, 800, 1000, 1200, 1400, 1600]));
    assert!(lines.iter().flatten().all(|place| every.contains(place)));
    assert_eq!(lines.len(), 16, "each of four pick-ups comes and does not");
}

#[test]
fn a_bossa_has_root_and_fifth_with_eighths_before_them() {
    let arrangement = arranged(&form("Am7 | D7 G7"), Feel::Bossa, 1, 1);
    assert_eq!(struck(&arrangement, Part::Bass), [0, 150, 200, 350, 400, 550, 600, 750, 800]);
    let classes: Vec<u8> = bass_keys(&arrangement).iter().map(|key| key % 12).collect();
    assert_eq!(classes, [9, 4, 4, 9, 2, 9, 7, 2, 9]);
}

#[test]
fn three_four_walks_in_three() {
    let three = form_in("3/4".parse().expect("a meter"), "Dm7 | G7");
    let places = struck(&arranged(&three, Feel::Swing, 1, 1), Part::Bass);
    assert_eq!(places, [0, 100, 200, 300, 400, 500, 600]);
}
