//! What becomes of made-up takes over weeks.

use jiff::civil::{Date, date};
use proptest::prelude::*;

use super::made_up::{on, take};
use super::*;
use crate::practice::digest::{Landed, Part};
use crate::tally::Counting;
use crate::tally::verdict::{Band, Measure};

const TODAY: Date = date(2026, 11, 25);

fn asked<'a>() -> Asked<'a> {
    Asked { today: TODAY, since: None, form: None, bands: None }
}

/// What became of takes of one chart.
fn of(digests: &[Digest]) -> ChartProgress {
    let mut charts = progress(digests, &asked()).charts;
    assert_eq!(charts.len(), 1);
    charts.remove(0)
}

/// Takes of so many weeks, two a week, the last ones with `now` chord tones of a hundred and the others with `before`.
fn weeks_of_takes(weeks: i32, before: f64, last: i32, now: f64) -> Vec<Digest> {
    let days = (0..weeks).flat_map(|week| [week * 7, week * 7 + 3]);
    let digest = |(number, days): (u32, i32)| {
        let day = date(2026, 9, 7).checked_add(jiff::Span::new().days(days)).expect("a day");
        on(number, day).with_chord(if days / 7 >= weeks - last { now } else { before })
    };
    (1..).zip(days).map(digest).collect()
}

#[test]
fn a_week_begins_on_monday() {
    let check =
        |day: i8, expect: i8| assert_eq!(monday(date(2026, 11, day)), date(2026, 11, expect), "{day}");
    check(16, 16);
    check(19, 16);
    check(22, 16);
    check(23, 23);
    assert_eq!(monday(date(2027, 1, 1)), date(2026, 12, 28));
}

#[test]
fn takes_are_added_up_week_by_week() {
    let takes = [take(1, 16), take(3, 23), take(2, 22).with_chord(65.0)];
    let chart = of(&takes);
    let weeks: Vec<_> =
        chart.weeks.iter().map(|week| (week.monday.day(), week.takes, week.counted)).collect();
    assert_eq!(weeks, [(16, 2, 200.0), (23, 1, 100.0)]);
    let share = chart.weeks[0].share(Measure::Chord).and_then(|pooled| pooled.share());
    assert_eq!(share, Some(0.6));
    assert_eq!((chart.played.weeks, chart.played.days, chart.played.whole), (2, 3, 3));
}

#[test]
fn only_takes_within_a_tenth_of_the_last_tempo_are_compared() {
    let at = |number, tempo| Digest { tempo, ..take(number, 16) };
    let chart = of(&[at(1, 100.0), at(2, 132.0), at(3, 109.2), at(4, 109.0), at(5, 120.0)]);
    assert_eq!(chart.tempi, Some((109.2, 132.0)));
    assert_eq!(chart.other_tempi, [(100.0, 1), (109.0, 1)]);
    assert_eq!(chart.weeks[0].takes, 3);
}

#[test]
fn loops_and_misread_takes_stand_aside_and_are_told() {
    let looped = Digest { bars: Some((9, 12)), ..take(2, 17) };
    let misread = Digest { misread: 7, ..take(3, 18) };
    let chart = of(&[take(1, 16), looped, misread]);
    assert_eq!(chart.weeks[0].takes, 1);
    assert_eq!((chart.played.whole, chart.played.looped, chart.played.seconds), (2, 1, 180.0));
    assert_eq!(chart.set_aside, [SetAside { take: 3, ghosts: 0.07 }]);
}

#[test]
fn a_chart_of_loops_alone_has_no_weeks() {
    let chart = of(&[Digest { bars: Some((9, 12)), ..take(2, 17) }]);
    assert!(chart.weeks.is_empty() && chart.changes.is_empty() && chart.ways.is_empty());
    assert_eq!((chart.tempi, chart.touch), (None, None));
}

#[test]
fn another_way_of_counting_breaks_the_line() {
    let lenient = |digest: Digest| Digest { counting: Counting::Lenient, ..digest };
    let takes = [take(1, 3), take(2, 10), take(3, 17), lenient(take(4, 18)), lenient(take(5, 24))];
    let chart = of(&takes);
    let rows: Vec<_> = chart.weeks.iter().map(|week| (week.monday.day(), week.way, week.takes)).collect();
    assert_eq!(rows, [(2, 0, 1), (9, 0, 1), (16, 0, 1), (16, 1, 1), (23, 1, 1)]);
    let change = chart.changes[0];
    assert_eq!((change.weeks, change.takes), (1, (1, 1)));
    let ways: Vec<_> = chart.ways.iter().map(|way| (way.counting, way.takes)).collect();
    assert_eq!(ways, [(Counting::Strict, 3), (Counting::Lenient, 2)]);
}

#[test]
fn new_rules_and_other_settings_break_it_too() {
    let check = |changed: Digest| assert!(of(&[take(1, 10), changed]).changes.is_empty());
    check(Digest { rules: 2, ..take(2, 17) });
    check(Digest { settings_sha256: "other".to_owned(), ..take(2, 17) });
    assert_eq!(of(&[take(1, 10), take(2, 17)]).changes.len(), 3);
}

#[test]
fn the_last_three_weeks_stand_against_the_three_before() {
    let check = |weeks: i32, expect: Option<usize>| {
        let changes = of(&weeks_of_takes(weeks, 50.0, 0, 50.0)).changes;
        assert_eq!(changes.first().map(|change| change.weeks), expect, "{weeks} weeks");
    };
    check(1, None);
    check(2, Some(1));
    check(3, Some(1));
    check(5, Some(2));
    check(6, Some(3));
    check(9, Some(3));
}

#[test]
fn change_is_said_of_a_great_difference_and_not_of_a_small_one() {
    let check = |before: f64, now: f64, expect: bool| {
        let chart = of(&weeks_of_takes(6, before, 3, now));
        assert_eq!(chart.changes[0].compared.is_change(), expect, "{before} then {now}");
    };
    check(50.0, 50.0, false);
    check(50.0, 54.0, false);
    check(50.0, 66.0, true);
    check(66.0, 50.0, true);
}

#[test]
fn weeks_are_in_a_row_where_none_is_missing_up_to_today() {
    let row = |takes: &[Digest]| of(takes).changes[0].in_a_row;
    assert!(row(&[take(1, 10), take(2, 17)]) && row(&[take(1, 17), take(2, 24)]));
    assert!(!row(&[take(1, 3), take(2, 17)]), "a week without takes between");
    assert!(!row(&[take(1, 2), take(2, 9)]), "two weeks ago");
}

#[test]
fn a_trend_takes_six_days() {
    let rising = |days: u32| -> Vec<Digest> {
        (1..=days).map(|day| take(day, day as i8).with_chord(40.0 + 2.0 * f64::from(day))).collect()
    };
    assert!(of(&rising(5)).trends.is_empty());
    let trends = of(&rising(6)).trends;
    let chord = trends.iter().find(|trend| trend.measure == Measure::Chord).expect("a trend");
    assert!((chord.trend.slope - 0.14).abs() < 1e-9 && chord.trend.is_change(), "{chord:?}");
}

#[test]
fn charts_of_other_chords_stand_on_one_scale() {
    // Running the scale: .70 and .40 against 4 of 7, as log odds.
    let lift = |n: f64| over_time::lift(&Digest { counted: 1e9, ..take(1, 2).with_chord(n * 1e9) });
    let near = |n: f64, expect: f64| assert!((lift(n).expect("chords") - expect).abs() < 5e-4, "{n}");
    near(0.7, 0.560);
    near(0.57, -0.006);
    near(0.4, -0.693);
}

#[test]
fn the_trend_over_charts_takes_days_of_any() {
    let other = |digest: Digest| Digest {
        form_sha256: "lamps".to_owned(),
        running_the_scale: Some(0.5),
        chord: Part { n: 48.0, effect: 1.0 },
        ..digest
    };
    let takes: Vec<Digest> = (1..=8)
        .map(|day| if day % 2 == 0 { other(take(day, day as i8)) } else { take(day, day as i8) })
        .collect();
    let found = progress(&takes, &asked());
    assert_eq!(found.charts.len(), 2);
    let lift = found.lift.expect("a trend");
    assert_eq!((lift.days, lift.charts), (8, 2));
    assert!(!lift.trend.is_change(), "{lift:?}");
}

#[test]
fn kinds_of_chord_are_added_up_most_notes_first() {
    let chart = of(&[take(1, 10), take(2, 17)]);
    let kinds: Vec<_> =
        chart.kinds.iter().map(|kind| (kind.name.as_str(), kind.counted, kind.open.n)).collect();
    assert_eq!(kinds, [("m7", 120.0, 8.0), ("7", 80.0, 12.0)]);
    assert_eq!(chart.kinds[0].landings.share(), Some(0.4));
}

#[test]
fn a_rung_is_two_takes_met_at_a_tempo() {
    let bands = Bands { bands: vec![(Measure::Chord, Band::new(0.5, 0.65).expect("a band"))], needs: 60.0 };
    let at = |number, tempo, chord| Digest { tempo, ..take(number, 16).with_chord(chord) };
    let takes =
        [at(1, 108.0, 55.0), at(2, 108.2, 60.0), at(3, 116.0, 55.0), at(4, 116.0, 70.0), at(5, 124.0, 52.0)];
    let climbed = |bands: Option<&Bands>| {
        let found = progress(&takes, &Asked { bands, ..asked() });
        found.charts[0].ladder.climbed().collect::<Vec<_>>()
    };
    assert_eq!(climbed(Some(&bands)), [108.0]);
    assert_eq!(climbed(None), [108.0, 116.0]);
    let few = Bands { needs: 101.0, ..bands.clone() };
    assert!(climbed(Some(&few)).is_empty());
}

#[test]
fn positions_are_heard_with_eight_notes_and_the_oldest_is_told() {
    let takes = [
        take(1, 10).in_position("Ab", "C", 12),
        take(2, 12).in_position("Bb", "F", 20).in_position("Bb", "G", 7),
        take(3, 14).in_position("Bb", "F", 9),
    ];
    let coverage = progress(&takes, &asked()).coverage;
    let heard: Vec<_> =
        coverage.heard.iter().map(|at| (at.start.as_str(), at.last.day(), at.takes)).collect();
    assert_eq!(heard, [("C", 10, 1), ("F", 14, 2)]);
    assert!(coverage.strings_known && coverage.of == 84);
    assert!(!progress(&[take(1, 10)], &asked()).coverage.strings_known);
}

#[test]
fn one_chart_or_some_days_may_be_asked_about() {
    let other = Digest { form_sha256: "lamps".to_owned(), ..take(2, 17) };
    let takes = [take(1, 10), other, take(3, 18)];
    let titles = |asked: &Asked<'_>| {
        progress(&takes, asked).charts.into_iter().map(|chart| chart.form_sha256).collect::<Vec<_>>()
    };
    assert_eq!(titles(&asked()), ["cellar", "lamps"]);
    assert_eq!(titles(&Asked { form: Some("lamps"), ..asked() }), ["lamps"]);
    assert_eq!(titles(&Asked { since: Some(date(2026, 11, 18)), ..asked() }), ["cellar"]);
    assert!(titles(&Asked { since: Some(TODAY), ..asked() }).is_empty());
}

/// Day, notes, chord share, changes, tempo, looped, lenient.
type Odd = (i8, u32, f64, usize, f64, bool, bool);

proptest! {
    #[test]
    fn no_takes_however_odd_upset_it(
        takes in prop::collection::vec(
            (1_i8..29, 0_u32..300, 0.0..1.0_f64, 0_usize..30, 20.0..400.0_f64, any::<bool>(), any::<bool>()),
            0..40,
        ),
    ) {
        let digest = |(number, odd): (u32, &Odd)| {
            let &(day, notes, share, changes, tempo, looped, lenient) = odd;
            let counted = f64::from(notes);
            let part = Part { n: (counted * share).round(), effect: 1.0 };
            Digest {
                counted,
                chord: part,
                open: Part { n: counted - part.n, effect: 1.0 },
                landings: Landed { n: (changes as f64 * share) as usize, of: changes },
                tempo,
                bars: looped.then_some((1, 4)),
                counting: if lenient { Counting::Lenient } else { Counting::Strict },
                ..take(number, day)
            }
        };
        let digests: Vec<Digest> = (1..).zip(&takes).map(digest).collect();
        let found = progress(&digests, &asked());
        for chart in &found.charts {
            let told: usize = chart.weeks.iter().map(|week| week.takes).sum();
            let others: usize = chart.other_tempi.iter().map(|&(_, takes)| takes).sum();
            let silent = digests.iter().filter(|digest| digest.is_whole() && digest.counted <= 0.0).count();
            prop_assert_eq!(told + others + chart.set_aside.len() + silent, chart.played.whole);
            for change in &chart.changes {
                prop_assert!(change.compared.interval.low <= change.compared.difference);
                prop_assert!(change.compared.difference <= change.compared.interval.high);
            }
        }
        let mut turned = digests;
        turned.reverse();
        prop_assert_eq!(progress(&turned, &asked()), found);
    }
}
