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
    let distance = if fifths == 0 { 700 } else { 1500 + 120 * fifths.min(3) };
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
        if lattice.wraps { step(lattice, lattice.stay.len() - 1, end, start, 0) } else { 0 }
    };
    let total = |end: usize| costs[end] + i64::from(lattice.last[end] + wrap(end));
    let end = (0..columns).min_by_key(|&end| total(end)).expect("there are columns");
    let mut states = vec![end];
    for from in back.iter().rev() {
        states.push(from[states[states.len() - 1]]);
    }
    states.reverse();
    Path { total: i32::try_from(total(end)).expect("a small cost"), states }
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

fn in_key(key: &str) -> Tonality {
    Tonality::of(key.parse::<crate::theory::Key>().expect(key))
}

#[test]
fn arrivals_and_preparations_take_off_their_bonus() {
    for (key, chords, expected) in [
        ("C", "G7 Cmaj7", -1000),
        ("C", "G7sus4 Cmaj7", -1000),
        ("C", "G C", -1000),
        ("C", "Gmaj7 C", 0),
        ("C", "Db7 Cmaj7", -300),
        ("C", "Bb7 Cmaj7", -350),
        ("Cm", "Bb7 Cm7", 0),
        ("Cm", "Bdim7 Cm6", -200),
        ("C", "Bdim7 Cmaj7", 0),
        ("C", "Dm7 G7", -200),
        ("C", "Dm7b5 G7", -50),
        ("Cm", "Dm7 G7sus4", -50),
        ("Cm", "Dm7b5 G7", -200),
        ("C blues", "Dm7 G7", -200),
        ("C blues", "G7 C7", -1000),
        ("C blues", "C7 F7", -300),
        ("C blues", "F7 C7", -300),
        ("C", "C7 F7", 0),
    ] {
        let items = Progression::of_symbols(chords, false).items;
        assert_eq!(bonus(&items[0], &items[1], in_key(key)), expected, "{chords} in {key}");
    }
}

#[test]
fn a_cadence_is_not_split_lightly() {
    for (chords, expected) in [
        ("G7 Cmaj7", true),
        ("G7 Gbmaj7", true),
        ("G7sus4 C", true),
        ("Dm7 G7", true),
        ("Dm7b5 G7sus4", true),
        ("Dm7 Db7", false),
        ("Dm6 G7", false),
        ("Cmaj7 Fmaj7", false),
    ] {
        let items = Progression::of_symbols(chords, false).items;
        assert_eq!(is_cadence(&items[0], &items[1]), expected, "{chords}");
    }
}

#[test]
fn a_change_costs_by_the_distance_of_the_signatures() {
    assert_eq!([0, 1, 2, 3, 4, 6].map(change), [700, 1620, 1740, 1860, 1860, 1860]);
}

#[test]
fn beginning_and_ending_on_the_tonic_and_entering_a_blues_count_at_the_ends() {
    let lattice = Lattice::of(&Progression::of_symbols("C7 F7 C7 G7", true)).expect("a lattice");
    let column = |key: &str| lattice.keys.iter().position(|k| *k == in_key(key)).expect(key);
    assert_eq!(lattice.first[column("C blues")], 300 - 800);
    assert_eq!(lattice.first[column("C")], 0);
    let lattice = Lattice::of(&Progression::of_symbols("Cmaj7 G7 Cmaj7", true)).expect("a lattice");
    assert_eq!((lattice.first[0], lattice.last[0]), (-800, -800));
    assert_eq!(lattice.split, [0, 1500, 0]);
}

#[test]
fn a_blues_is_a_candidate_where_its_one_and_four_alternate_and_fill_a_quarter() {
    let blues =
        |text: &str| Lattice::of(&Progression::of_symbols(text, true)).expect("a lattice").keys.len() - 24;
    assert_eq!(blues("C7 F7 C7 G7"), 2, "G7 and C7 alternate too, around the loop");
    assert_eq!(blues("C7 F7 Gm7 Am7"), 0);
    assert_eq!(blues("C7 F7 C7 Em7 Am7 Dm7 Gmaj7 Em7 Am7 Dm7 Gmaj7 Em7"), 1);
    assert_eq!(blues("C7 F7 C7 Em7 Am7 Dm7 Gmaj7 Em7 Am7 Dm7 Gmaj7 Em7 Am7"), 0);
}

#[test]
fn home_counts_no_chord_above_the_limit() {
    let lattice = Lattice::of(&Progression::of_symbols("Cmaj7 Gbmaj7 C#7", false)).expect("a lattice");
    let strange = |rows: &Rows| rows[1][0];
    assert_eq!((strange(&lattice.items), strange(&lattice.home_items)), (3200, 2000));
}
