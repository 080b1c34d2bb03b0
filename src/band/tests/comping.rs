//! The comping on charts small enough to see.

use super::walking::chart;
use super::*;

fn shells(arrangement: &Arrangement) -> Vec<(i64, [u8; 2])> {
    let bar_one = Ticks::ZERO + arrangement.count_in;
    let notes = of_part(arrangement, Part::Comp);
    let place = |note: &BandNote| ((note.at - bar_one).in_quarters() * 100.0).round() as i64;
    notes.chunks(2).map(|two| (place(&two[0]), [two[0].key.key() % 12, two[1].key.key() % 12])).collect()
}

#[test]
fn a_push_sounds_the_chord_that_comes() {
    let form = form("Dm7 | G7 | Cmaj7 | A7");
    let pushes: Vec<[u8; 2]> = (0..200)
        .flat_map(|seed| shells(&arranged(&form, Feel::Straight, 1, seed)))
        .filter(|&(place, _)| place == 350)
        .map(|(_, shell)| shell)
        .collect();
    assert!(pushes.len() > 5);
    assert!(
        pushes.iter().all(|shell| shell.contains(&11) && shell.contains(&5)),
        "B and F of G7: {pushes:?}"
    );
}

#[test]
fn a_chord_that_the_chart_pushes_is_struck_there_and_the_rest_makes_room() {
    let form = chart("| Dm7 G7@4& | | Cmaj7 |");
    for seed in 0..100 {
        let struck = shells(&arranged(&form, Feel::Straight, 1, seed));
        let near: Vec<_> = struck.iter().filter(|(place, _)| (251..450).contains(place)).collect();
        assert_eq!(near.len(), 1, "{struck:?}");
        assert!(near[0].0 == 350 && near[0].1.contains(&11));
    }
}

#[test]
fn after_a_push_the_beat_is_left_out() {
    let form = form("Dm7 | G7 | Cmaj7 | A7");
    let struck = (0..200).flat_map(|seed| {
        let places: Vec<i64> =
            shells(&arranged(&form, Feel::Straight, 1, seed)).iter().map(|shell| shell.0).collect();
        places.windows(2).map(|pair| (pair[0] % 400, pair[1] - pair[0])).collect::<Vec<_>>()
    });
    let after_pushes: Vec<i64> = struck.filter(|&(place, _)| place == 350).map(|(_, gap)| gap).collect();
    assert!(after_pushes.len() > 20 && after_pushes.iter().all(|&gap| gap >= 100), "{after_pushes:?}");
}

#[test]
fn three_four_has_cells_of_its_own() {
    let three = form_in("3/4".parse().expect("a meter"), "Dm7 | G7 | Cmaj7 | A7");
    let places: std::collections::BTreeSet<i64> = (0..100)
        .flat_map(|seed| shells(&arranged(&three, Feel::Straight, 1, seed)))
        .map(|(place, _)| place % 300)
        .collect();
    assert_eq!(places.into_iter().collect::<Vec<_>>(), [0, 50, 100, 150, 200, 250]);
}

#[test]
fn a_chord_lasts_no_longer_than_the_bass_stays_below_it() {
    let form = form("Cmaj7 | Cmaj7 | Cmaj7 | Cmaj7");
    for seed in 0..300 {
        let arrangement = arranged(&form, Feel::Swing, 1, seed);
        let bass = of_part(&arrangement, Part::Bass);
        for chord in of_part(&arrangement, Part::Comp) {
            let together = bass.iter().filter(|note| sound_together(note, &chord));
            assert!(together.into_iter().all(|note| note.key < chord.key));
        }
    }
}

/// Whether two notes sound at once.
pub(super) fn sound_together(a: &BandNote, b: &BandNote) -> bool {
    a.at < b.at + b.length && b.at < a.at + a.length
}
