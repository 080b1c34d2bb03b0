//! Bends as players make them: held, pushed, shaken, and let go between two pitches.

use super::*;
use proptest::prelude::*;

/// Steps of a bend curve from (milliseconds, cents) each.
fn steps(shape: &[(i64, f32)]) -> Vec<Step> {
    let mut at = Nanos::ZERO;
    let step = |&(millis, cents): &(i64, f32)| {
        let from = at;
        at += NanoSpan::millis(millis);
        Step { from, to: at, cents }
    };
    shape.iter().map(step).collect()
}

fn one(shape: &[(i64, f32)]) -> Option<i32> {
    match hear(&steps(shape)) {
        Heard::One(cents) => semitones(cents),
        other => {
            assert_eq!(other, Heard::Unsettled, "{shape:?} was split");
            None
        }
    }
}

/// `cycles` of a sine between `low` and `high`, six a second.
fn sine(cycles: usize, low: f32, high: f32) -> Vec<(i64, f32)> {
    let value = |step: usize| {
        let phase = step as f32 / 16.0 * std::f32::consts::TAU;
        f32::midpoint(low, high) + (high - low) / 2.0 * phase.sin()
    };
    (0..cycles * 16).map(|step| (10, value(step))).collect()
}

#[test]
fn a_pitch_within_35_cents_of_a_semitone_is_that_semitone() {
    let check = |cents, expect| assert_eq!(semitones(cents), expect, "{cents}");
    check(0.0, Some(0));
    check(35.0, Some(0));
    check(36.0, None);
    check(50.0, None);
    check(64.0, None);
    check(65.0, Some(1));
    check(199.95, Some(2));
    check(-120.0, Some(-1));
}

#[test]
fn the_longest_plateau_decides() {
    assert_eq!(one(&[(40, 0.0), (20, 50.0), (20, 120.0), (300, 200.0)]), Some(2), "bent up at once");
    assert_eq!(one(&[(20, -100.0), (20, -50.0), (300, -5.0)]), Some(0), "a scoop");
    assert_eq!(one(&[(300, 0.0), (20, 80.0), (30, 150.0)]), Some(0), "a fall-off");
    assert_eq!(one(&[(100, 0.0), (400, 50.0)]), None, "a quarter tone");
    assert_eq!(one(&[(300, 0.0), (20, 100.0), (100, 200.0), (300, 0.0)]), Some(0), "bent and released");
}

#[test]
fn a_slide_that_settles_nowhere_is_between() {
    let slide: Vec<_> = (0..30).map(|step| (10, step as f32 * 30.0)).collect();
    assert_eq!(one(&slide), None);
}

#[test]
fn half_of_a_short_note_is_enough() {
    assert_eq!(one(&[(20, -100.0), (50, 0.0)]), Some(0));
    assert_eq!(one(&[(20, -100.0), (20, -50.0), (30, 0.0)]), None);
}

#[test]
fn vibrato_does_not_change_the_pitch() {
    assert_eq!(one(&sine(4, -50.0, 50.0)), Some(0));
    assert_eq!(one(&sine(4, 0.0, 60.0)), Some(0));
    assert_eq!(one(&sine(4, 0.0, 110.0)), Some(0), "a string only bends upwards");
    let bent_with_vibrato = [vec![(60, 0.0), (20, 100.0)], sine(4, 180.0, 240.0)].concat();
    assert_eq!(one(&bent_with_vibrato), Some(2));
}

#[test]
fn a_settled_start_is_a_note_of_its_own() {
    let heard = hear(&steps(&[(120, 0.0), (20, 60.0), (20, 140.0), (60, 200.0)]));
    let from = Nanos::ZERO + NanoSpan::millis(160);
    assert_eq!(heard, Heard::Two { start: 0.0, from, then: 200.0 });
    assert_eq!(one(&[(119, 0.0), (20, 60.0), (20, 140.0), (160, 200.0)]), Some(2), "too short a start");
    assert_eq!(one(&[(150, 0.0), (20, 60.0), (20, 140.0), (59, 200.0)]), Some(0), "too short an arrival");
    assert_eq!(one(&[(200, 0.0), (150, 50.0)]), Some(0), "an arrival between two semitones is no note");
}

proptest! {
    #[test]
    fn the_longest_run_is_as_long_as_the_longest_of_all_runs(shape in prop::collection::vec((1i64..50, -150f32..150.0), 1..24)) {
        let steps = steps(&shape);
        let width = |run: &[Step]| {
            let low = run.iter().map(|step| step.cents).fold(f32::INFINITY, f32::min);
            run.iter().map(|step| step.cents).fold(f32::NEG_INFINITY, f32::max) - low
        };
        let runs = (0..steps.len()).flat_map(|first| (first + 1..=steps.len()).map(move |end| first..end));
        let longest = runs.filter(|run| width(&steps[run.clone()]) <= 40.0).map(|run| settle::length(&steps[run]).0).max();
        let found = settle(&steps).map(|settled| settled.length.0);
        prop_assert!(found >= longest, "vibrato may only be longer");
    }
}
