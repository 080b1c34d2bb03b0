//! What holds for all parts together, held against charts at random: who is heard where, and that chance repeats.

use std::ops::Range;

use super::played::{Place, Played, Sounding, for_every_chart};
use super::random_charts::CHARTS;
use super::*;
use crate::theory::Pitch;

/// What is struck within `span`, and what of bass and comping still sounds in it.
fn heard(played: &Played, span: Range<Ticks>) -> Vec<BandNote> {
    let rings = |note: &BandNote| matches!(note.part, Part::Bass | Part::Comp) && note.at < span.end;
    let heard =
        |note: &&BandNote| span.contains(&note.at) || rings(note) && note.at + note.length > span.start;
    played.arrangement.notes.iter().filter(heard).copied().collect()
}

#[test]
fn in_a_break_the_foot_alone_is_heard() {
    for_every_chart(2_000, |played| {
        if !played.plays() {
            return 0;
        }
        let breaks = |chord: &&Sounding| chord.symbol.is_none() && chord.place.playing == Playing::Band;
        let mut seen = 0;
        for chord in played.chords.iter().filter(breaks) {
            let pulses = chord.place.hat_pulses().into_iter();
            let expected: Vec<Ticks> = pulses.filter(|at| (chord.at..chord.end).contains(at)).collect();
            let heard = heard(played, chord.at..chord.end);
            let foot = Pitch::new(44).expect("the pedal hi-hat");
            assert!(
                heard.iter().all(|note| note.part == Part::Hat && note.key == foot),
                "{heard:?} {}",
                played.tell()
            );
            assert_eq!(heard.iter().map(|note| note.at).collect::<Vec<_>>(), expected, "{}", played.tell());
            seen += 1;
        }
        seen
    });
}

#[test]
fn where_the_band_lays_out_nothing_is_heard() {
    for_every_chart(2_000, |played| {
        let out = |bar: &&Place| bar.playing == Playing::Nobody;
        let bars: Vec<&Place> = played.bars.iter().filter(out).collect();
        for bar in &bars {
            assert_eq!(heard(played, bar.at..bar.end), [], "{}", played.tell());
        }
        bars.len() as u64
    });
}

#[test]
fn in_their_turn_the_drums_alone_are_heard_and_keep_the_time() {
    for_every_chart(2_000, |played| {
        let turns = |bar: &&Place| bar.playing == Playing::DrumsAlone;
        let bars: Vec<&Place> = played.bars.iter().filter(turns).collect();
        for bar in &bars {
            let heard = heard(played, bar.at..bar.end);
            let drums = |note: &BandNote| matches!(note.part, Part::Ride | Part::Hat | Part::Kick);
            assert!(heard.iter().all(drums), "{heard:?} {}", played.tell());
            let hats = heard.iter().filter(|note| note.part == Part::Hat).map(|note| note.at);
            assert_eq!(hats.collect::<Vec<_>>(), bar.hat_pulses(), "{}", played.tell());
        }
        bars.len() as u64
    });
}

#[test]
fn a_click_alone_is_all_there_is() {
    for_every_chart(500, |played| {
        if played.plays() {
            return 0;
        }
        assert!(played.arrangement.notes.iter().all(|note| note.part == Part::Click), "{}", played.tell());
        1
    });
}

#[test]
fn nothing_comes_after_the_end_but_the_tonic() {
    for_every_chart(5_000, |played| {
        let arrangement = &played.arrangement;
        assert!(arrangement.notes.is_sorted_by_key(|note| note.at), "{}", played.tell());
        for note in &arrangement.notes {
            assert!(note.at >= Ticks::ZERO && (1..=127).contains(&note.velocity), "{}", played.tell());
            let rings = matches!(note.part, Part::Bass | Part::Comp);
            assert!(!rings || note.at >= arrangement.end || note.at + note.length <= arrangement.end);
        }
        let last = arrangement.notes.iter().filter(|note| note.at >= arrangement.end);
        let last: Vec<(Part, Ticks)> = last.map(|note| (note.part, note.at)).collect();
        let first = played.case.form.chords.iter().find_map(|chord| chord.symbol);
        let Some(first) = first.filter(|_| played.plays()) else {
            assert_eq!(last, [], "{}", played.tell());
            return 0;
        };
        let tonic = [Part::Bass, Part::Ride, Part::Kick].map(|part| (part, arrangement.end));
        assert_eq!(last, tonic, "{}", played.tell());
        let bass = of_part(arrangement, Part::Bass);
        let bass = bass.last().map(|note| (note.key.pitch_class(), note.length));
        assert_eq!(bass, Some((first.heard().root.pitch_class(), arrangement.closing)), "{}", played.tell());
        1
    });
}

#[test]
fn the_last_tonic_lies_nearest_to_the_note_before_it() {
    for_every_chart(5_000, |played| {
        let bass = of_part(&played.arrangement, Part::Bass);
        let [.., before, tonic] = &bass[..] else { return 0 };
        let [before, tonic] = [before, tonic].map(|note| i32::from(note.key.key()));
        let elsewhere = (28..=55).filter(|key| (key - tonic) % 12 == 0);
        let nearest = elsewhere.min_by_key(|key| (key - before).abs());
        assert_eq!(Some(tonic), nearest, "after {before} {}", played.tell());
        1
    });
}

#[test]
fn velocities_stray_little_and_no_note_strays_in_time() {
    for_every_chart(50_000, |played| {
        let notes = played.part(Part::Bass).into_iter().chain(played.part(Part::Comp));
        let mut seen = 0;
        for note in notes {
            let middle = if note.part == Part::Bass { 76..=84 } else { 55..=75 };
            assert!(middle.contains(&note.velocity), "{note:?} {}", played.tell());
            let place = played.bars.iter().find(|bar| (bar.at..bar.end).contains(&note.at));
            let into = place.map(|bar| TickSpan((note.at - bar.at).0 % bar.pulse.0));
            let on_the_grid = place.zip(into).is_some_and(|(bar, into)| {
                into == TickSpan::ZERO
                    || into == bar.off_beat
                    || played.chords.iter().any(|c| c.at == note.at)
            });
            assert!(on_the_grid, "{note:?} {}", played.tell());
            seen += 1;
        }
        seen
    });
}

#[test]
fn the_same_seed_plays_the_same_notes_and_another_does_not() {
    let differ = std::cell::Cell::new(0);
    for_every_chart(10_000, |played| {
        let call = played.case.call();
        assert_eq!(played.arrangement, arrange(&call), "{}", played.tell());
        let other = arrange(&Call { seed: Seed(played.case.number + 1), ..call });
        differ.set(differ.get() + u64::from(other != played.arrangement));
        1
    });
    assert!(differ.get() > CHARTS * 8 / 10, "{}", differ.get());
}
