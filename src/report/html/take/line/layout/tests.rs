//! What the layout keeps to, over random takes.

use proptest::prelude::*;

use super::*;
use crate::chart::Chart;
use crate::harmony::Overrides;
use crate::judge::{Choices, ChordSource, Question, judge};
use crate::report::review::Detail;
use crate::take::{ChannelMessage, TakeFile};
use crate::theory::chord::BareSymbols;
use crate::time::{Nanos, TempoMap, TickSpan, Ticks};

const CHART: &str = "| F7 | Bbmaj7 Ebm7b5 | Am7 D7b9 Gm7 C7 | % | 3/4 Bbm7b5 | 4/4 Dbmaj7#11/F |\n";

/// A note: its key, when it is struck and for how long, in 48ths of a quarter.
type Note = (u8, i64, i64);

fn review(notes: &[Note]) -> Review {
    let tempo = TempoMap::at_bpm(120.0);
    let at = |place: i64| tempo.nanos(Ticks::ZERO + TickSpan(TickSpan::quarters(1).0 * place / 48));
    let mut solo: Vec<(Nanos, ChannelMessage)> = Vec::new();
    for &(key, from, length) in notes {
        let message = |wire: [u8; 3]| ChannelMessage::from_wire(&wire).expect("a message");
        solo.push((at(from), message([0x90, key, 80])));
        solo.push((at(from + length), message([0x80, key, 0])));
    }
    solo.sort_by_key(|&(at, message)| (at, message.wire()[0]));
    let take = TakeFile { tempo: tempo.clone(), solo, ..TakeFile::default() };
    let (chart, _) = Chart::parse("chart.bars", CHART, BareSymbols::default()).expect("a chart");
    let chords = ChordSource::of_chart(&chart, &Overrides::default());
    let choices = Choices::default();
    let question =
        Question { choices: &choices, chart: Some(&chords), track: None, detail: Detail::Notes, bands: None };
    judge(&take.to_bytes(), None, question).expect("a take").review
}

fn all_systems(review: &Review) -> Vec<System> {
    let mut choruses: Vec<u32> = review.bars.iter().flatten().map(|bar| bar.chorus).collect();
    choruses.dedup();
    let of = |chorus| Window::of(review, chorus).map(|window| systems(review, chorus, window));
    choruses.into_iter().filter_map(of).flatten().collect()
}

/// Checks that nothing overlaps that may not, and that every counted note is drawn once.
fn check(notes: &[Note]) -> usize {
    let review = review(notes);
    let systems = all_systems(&review);
    let mut labelled = 0;
    let mut unlabelled = 0;
    for system in &systems {
        let picture = Area { left: 0.0, top: 0.0, right: WIDTH, bottom: system.height };
        let labels: Vec<Area> =
            system.notes.iter().flat_map(|note| &note.label).map(|label| label.at).collect();
        for (index, label) in labels.iter().enumerate() {
            assert!(picture.holds(label), "{label:?} leaves the picture");
            assert!(
                !labels[index + 1..].iter().any(|other| other.overlaps(label)),
                "two labels at {label:?}"
            );
            assert!(!system.notes.iter().any(|note| note.area.overlaps(label)), "a note at {label:?}");
            let pushes = || system.notes.iter().flat_map(|note| &note.push);
            assert!(!pushes().any(|push| push.area.overlaps(label)), "an arrow at {label:?}");
            assert!(!system.headers.iter().any(|header| header.at.overlaps(label)), "a symbol at {label:?}");
        }
        for (index, header) in system.headers.iter().enumerate() {
            assert!(!system.headers[index + 1..].iter().any(|other| other.at.overlaps(&header.at)));
        }
        for note in &system.notes {
            assert!(picture.holds(&note.area), "{:?} leaves the picture", note.area);
        }
        labelled += labels.len();
        unlabelled += system.unlabelled;
    }
    let counted = review.notes.iter().flatten().filter(|note| note.counted).count();
    assert_eq!(
        labelled + unlabelled,
        counted,
        "every note that counts has its degree, or is said to have none"
    );
    unlabelled
}

#[test]
fn every_degree_finds_room_in_a_line_of_sixteenths() {
    // 16 notes a bar, up and down two octaves by steps of 1 to 4 semitones.
    let steps = [2, 1, 4, -3, 1, 2, -1, 3];
    let mut key: i64 = 60;
    let line = (0..64).map(|index| {
        key += steps[index as usize % 8] * if key > 80 { -3 } else { 1 };
        (key.clamp(48, 84) as u8, index * 12, 11)
    });
    assert_eq!(check(&line.collect::<Vec<_>>()), 0);
}

#[test]
fn what_is_played_before_the_first_bar_and_after_the_last_is_drawn_at_the_ends() {
    check(&[(60, 0, 40), (62, 48 * 22, 40), (64, 48 * 23 + 20, 40), (65, 48 * 23 + 40, 60)]);
}

#[test]
fn a_note_that_came_early_has_an_arrow_into_its_chord_also_over_the_end_of_a_system() {
    // An eighth before bar 2 and before bar 5, each held into it, with space before.
    let review = review(&[(65, 0, 48), (62, 4 * 48 - 8, 90), (60, 16 * 48 - 8, 90)]);
    let systems = all_systems(&review);
    let pushes: Vec<(f64, f64)> =
        systems[0].notes.iter().filter_map(|note| Some((note.area.left, note.push?.to))).collect();
    assert_eq!(pushes.len(), 2);
    let bar_2 = systems[0].bars[1].left;
    assert!(pushes[0].0 < bar_2 && pushes[0].1 > bar_2);
    let end = systems[0].right();
    assert!(pushes[1].0 < end && pushes[1].1 > end);
    let rest_of_it = systems[1].notes.first().expect("the rest of the held note");
    assert!(rest_of_it.push.is_none() && rest_of_it.label.is_none());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn nothing_overlaps_however_dense_the_take(
        notes in proptest::collection::vec((36u8..96, 0i64..(48 * 24), 1i64..96), 1..260),
    ) {
        check(&notes);
    }
}
