//! The fast solver against a plain one that tries every first key and looks at every change.

use proptest::prelude::*;

use super::path::{Path, cheapest};
use super::*;
use crate::theory::PitchClass;
use crate::time::TickSpan;

/// What going from column `a` to column `b` after item `i` costs, as the rule says it.
fn step(lattice: &Lattice, i: usize, a: usize, b: usize, entry: i32) -> i32 {
    if a == b {
        return lattice.stay[i][a];
    }
    let relative = |s: usize| match lattice.keys[s].mode {
        KeyMode::Minor => lattice.keys[s].tonic.up(3),
        _ => lattice.keys[s].tonic,
    };
    let (from, to) = (relative(a), relative(b));
    let fifths = (0..12i32)
        .filter(|&n| from.up(7 * n) == to || from.up(-7 * n) == to)
        .min()
        .expect("the circle of fifths holds every note");
    let distance = if fifths == 0 {
        700
    } else {
        1500 + 120 * fifths.min(3)
    };
    distance + lattice.split[i] + entry
}

fn from_start_plainly(lattice: &Lattice, start: usize) -> Path {
    let columns = lattice.keys.len();
    let unreached = 1_000_000_000i64;
    let mut costs = vec![unreached; columns];
    costs[start] = i64::from(lattice.first[start] + lattice.items[0][start]);
    let mut back = Vec::new();
    for i in 1..lattice.items.len() {
        let mut next = vec![unreached; columns];
        let mut from = vec![0; columns];
        for s in 0..columns {
            let cost = |p: usize| costs[p] + i64::from(step(lattice, i - 1, p, s, into(lattice.keys[s])));
            let least = (0..columns).map(cost).min().expect("there are columns");
            from[s] = if cost(s) == least {
                s
            } else {
                (0..columns).find(|&p| cost(p) == least).expect("one is least")
            };
            next[s] = least + i64::from(lattice.items[i][s]);
        }
        costs = next;
        back.push(from);
    }
    let wrap = |end: usize| {
        if lattice.wraps {
            step(lattice, lattice.stay.len() - 1, end, start, 0)
        } else {
            0
        }
    };
    let total = |end: usize| costs[end] + i64::from(lattice.last[end] + wrap(end));
    let end = (0..columns)
        .min_by_key(|&end| total(end))
        .expect("there are columns");
    let mut states = vec![end];
    for from in back.iter().rev() {
        states.push(from[states[states.len() - 1]]);
    }
    states.reverse();
    Path {
        total: i32::try_from(total(end)).expect("a small cost"),
        states,
    }
}

fn cheapest_plainly(lattice: &Lattice) -> Path {
    let paths = (0..lattice.keys.len()).map(|start| from_start_plainly(lattice, start));
    paths.min_by_key(|path| path.total).expect("there are columns")
}

fn classes() -> impl Strategy<Value = Class> {
    prop::sample::select(vec![
        Class::Major,
        Class::Minor,
        Class::MinorTonic,
        Class::HalfDiminished,
        Class::Diminished,
        Class::Dominant,
        Class::Dominant,
        Class::Suspended,
    ])
}

/// Moves as harmony makes them more often than not, so that cadences, blues and ties occur.
fn moves() -> impl Strategy<Value = i32> {
    prop::sample::select(vec![5, 5, 5, 7, 11, 1, 2, 10, 0, 3, 8, 6])
}

prop_compose! {
    fn progressions()(
        chords in prop::collection::vec((moves(), classes(), any::<bool>(), 1i64..5), 1..12),
        loops in any::<bool>(),
    ) -> Progression {
        let mut root = PitchClass::C;
        let items = chords.into_iter().enumerate().map(|(chord, (up, class, plain, quarters))| {
            root = root.up(up);
            let plain = plain && class == Class::Major;
            Item { root, class, plain, length: TickSpan::quarters(quarters), chord }
        });
        Progression::of_items(items.collect(), loops)
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn the_fast_solver_finds_what_the_plain_one_finds(progression in progressions()) {
        let lattice = Lattice::of(&progression).expect("there are items");
        prop_assert_eq!(cheapest(&lattice), cheapest_plainly(&lattice));
    }
}

#[test]
fn a_longer_chord_weighs_more_within_limits() {
    let item = |quarters| Item {
        root: PitchClass::C,
        class: Class::Major,
        plain: true,
        length: TickSpan::quarters(quarters),
        chord: 0,
    };
    let items = [1, 4, 4, 16].map(item);
    assert_eq!(weights(&items), [0.6, 1.0, 1.0, 1.5]);
}
