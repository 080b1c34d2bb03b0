//! The ways to practise with the band, on charts small enough to see.

use super::*;
use crate::chart::{Trade, Turns};

const EIGHT: &str = "Dm7 | G7 | Cmaj7 | A7 | Dm7 | G7 | Cmaj7 | Cmaj7";

fn with(accompaniment: Accompaniment, choruses: u16) -> Arrangement {
    let form = form(EIGHT);
    arrange(&Call { choruses, accompaniment, ..call(&form, &reading(&form)) })
}

/// So many bars traded with the drums at a time.
fn traded(bars: u8, choruses: u16) -> Arrangement {
    let form = form(EIGHT);
    let turns = Turns { head: None, trade: Trade::of(bars) };
    arrange(&Call { choruses, turns, ..call(&form, &reading(&form)) })
}

/// The bars, from 0, in which a part is struck before the end.
fn bars_of(arrangement: &Arrangement, part: Part) -> Vec<i64> {
    let last = arrangement.end - Ticks::ZERO - arrangement.count_in;
    let before_the_end = |place: &i64| *place < (last.in_quarters() * 100.0) as i64;
    let places = struck(arrangement, part).into_iter().filter(before_the_end);
    let mut bars: Vec<i64> = places.map(|place| place / 400).collect();
    bars.dedup();
    bars
}

#[test]
fn the_first_chorus_alone_is_in_two_when_asked() {
    let accompaniment = Accompaniment { opening: Opening::TwoFeel, ..Accompaniment::default() };
    let places = struck(&with(accompaniment, 2), Part::Bass);
    let on_beats = |chorus: i64| {
        let beats = places.iter().filter(|&&place| place / 3200 == chorus && place % 100 == 0);
        beats.map(|place| place / 100 % 4).collect::<std::collections::BTreeSet<_>>()
    };
    assert_eq!(on_beats(0).into_iter().collect::<Vec<_>>(), [0, 2]);
    assert_eq!(on_beats(1).into_iter().collect::<Vec<_>>(), [0, 1, 2, 3]);
}

#[test]
fn the_band_lays_out_and_the_tonic_sounds_all_the_same() {
    let accompaniment = Accompaniment { band_out: BandOut::of(2, 8), ..Accompaniment::default() };
    let arrangement = with(accompaniment, 2);
    for part in [Part::Bass, Part::Ride, Part::Hat, Part::Kick] {
        assert_eq!(bars_of(&arrangement, part), [0, 1, 2, 3, 4, 5, 8, 9, 10, 11, 12, 13], "{part:?}");
    }
    assert_eq!(arrangement.notes.iter().filter(|note| note.at == arrangement.end).count(), 3);
}

#[test]
fn what_the_band_plays_does_not_hang_on_where_it_lays_out() {
    let out = Accompaniment { band_out: BandOut::of(2, 8), ..Accompaniment::default() };
    let (whole, out) = (with(Accompaniment::default(), 2), with(out, 2));
    let left = |note: &&BandNote| {
        !out.notes.iter().any(|other| other == *note || other.at == note.at && other.key == note.key)
    };
    let bar = |note: &BandNote| (note.at - Ticks::ZERO - whole.count_in).0 / Meter::FOUR_FOUR.bar().0;
    assert!(out.notes.len() < whole.notes.len());
    assert!(whole.notes.iter().filter(left).all(|note| [6, 7, 14, 15].contains(&bar(note))));
}

#[test]
fn in_their_turn_the_drums_are_alone() {
    let arrangement = traded(4, 2);
    assert_eq!(bars_of(&arrangement, Part::Bass), [0, 1, 2, 3, 8, 9, 10, 11]);
    assert_eq!(bars_of(&arrangement, Part::Comp).into_iter().filter(|bar| bar / 4 % 2 == 1).count(), 0);
    assert_eq!(bars_of(&arrangement, Part::Hat).len(), 16);
}

#[test]
fn the_drums_vary_and_lead_back_in() {
    let arrangement = traded(4, 2);
    let in_bar = |part, bar: i64| -> Vec<i64> {
        let of_part = struck(&arrangement, part).into_iter();
        of_part.filter(|place| place / 400 == bar).map(|place| place % 400).collect()
    };
    let solo = |bar| (in_bar(Part::Ride, bar), in_bar(Part::Kick, bar));
    let different: std::collections::BTreeSet<_> = [4, 5, 6, 12, 13, 14].map(solo).into_iter().collect();
    assert!(different.len() > 3, "{different:?}");
    for last in [7, 15] {
        assert_eq!(solo(last), (vec![0, 100, 200, 300], vec![]));
    }
    assert!((4..8).all(|bar| in_bar(Part::Hat, bar) == [100, 300]));
}

#[test]
fn a_click_alone_leaves_nothing_else() {
    let click = ClickOn::Alone("2,4/2".parse().expect("beats"));
    let arrangement = with(Accompaniment { click, ..Accompaniment::default() }, 1);
    assert_eq!(struck(&arrangement, Part::Click), [100, 300, 900, 1100, 1700, 1900, 2500, 2700]);
    assert!(arrangement.notes.iter().all(|note| note.part == Part::Click));
    assert!(arrangement.notes.iter().any(|note| note.at == Ticks::ZERO), "it is counted in");
}

#[test]
fn the_band_starts_where_the_count_in_ends() {
    for (count_in, quarters) in [(CountInBars::One, 4), (CountInBars::Two, 8), (CountInBars::ByTempo, 8)] {
        let arrangement = with(Accompaniment { count_in, ..Accompaniment::default() }, 1);
        assert_eq!(arrangement.count_in, TickSpan::quarters(quarters));
        assert_eq!(struck(&arrangement, Part::Bass)[0], 0);
    }
}
