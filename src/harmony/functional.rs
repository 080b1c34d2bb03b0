//! Whether there is a key at all: how much of the harmony moves as keys do.
//!
//! The moves counted are those of functional harmony as common practice has them (a dominant falls a fifth or a half step,
//! a ii goes to its dominant). The least share, one move in ten, was set on the 382 tonal and blues solos of the Weimar
//! Jazz Database (Pfleiderer et al. 2017) and its modal ones.

use std::collections::HashSet;

use crate::theory::{KeyMode, PitchClass};

use super::local::local_cost;
use super::reading::FunctionalMoves;
use super::reduce::{Class, Context, Item, Progression};
use super::tonality::Tonality;

/// With a smaller share of functional moves than one in this many, no key is assumed.
const PAIRS_PER_MOVE: u32 = 10;
/// Roots a chart must have to be heard in a key without functional moves.
const RESCUE_ROOTS: usize = 3;
/// The greatest local cost of any chord then: all are at home in one key.
const RESCUE_COST: u32 = 300;

/// Counts the functional moves among neighbouring chords.
pub(super) fn count_moves(progression: &Progression) -> FunctionalMoves {
    let pairs = progression.neighbours().filter(|(a, b)| !a.same_chord(b));
    pairs.fold(FunctionalMoves { halves: 0, pairs: 0 }, |sum, (a, b)| FunctionalMoves {
        halves: sum.halves + halves(a, b),
        pairs: sum.pairs + 1,
    })
}

/// Half moves that going from `a` to `b` counts for: 2 for a full one.
fn halves(a: &Item, b: &Item) -> u32 {
    use Class as C;
    let up = a.move_to(b);
    match (a.class, up) {
        (C::Dominant, 5 | 11) | (C::Suspended, 5) | (C::Diminished, 1 | 11) => 2,
        (C::Dominant, 7) if b.class == C::Dominant => 2,
        (C::Minor | C::HalfDiminished, 5 | 11) if b.class.is_dominant() => 2,
        (C::MinorTonic, 7) => 1,
        (C::Major, 5) if a.plain && matches!(b.class, C::Major | C::Minor | C::MinorTonic) => 2,
        (C::Major, 5 | 11) if b.class == C::Major => 1,
        _ => 0,
    }
}

/// Whether a key is assumed: enough functional moves, or every chord at home in one key.
pub(super) fn has_key(progression: &Progression, moves: FunctionalMoves) -> bool {
    let enough = moves.halves > 0 && moves.halves * PAIRS_PER_MOVE >= 2 * moves.pairs;
    enough || all_in_one_key(progression)
}

fn all_in_one_key(progression: &Progression) -> bool {
    let items = &progression.items;
    let roots: HashSet<PitchClass> = items.iter().map(|item| item.root).collect();
    let mut keys = PitchClass::all()
        .flat_map(|tonic| [KeyMode::Major, KeyMode::Minor].map(|mode| Tonality { tonic, mode }));
    roots.len() >= RESCUE_ROOTS
        && keys.any(|key| {
            let at_home = |item| local_cost(Context::alone(item), key).cost <= RESCUE_COST;
            items.iter().any(|item| key.is_tonic(item)) && items.iter().all(at_home)
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, loops: bool, expected: (u32, u32), key: bool) {
        let progression = Progression::of_symbols(text, loops);
        let moves = count_moves(&progression);
        assert_eq!((moves.halves, moves.pairs), expected, "{text}");
        assert_eq!(has_key(&progression, moves), key, "{text}");
    }

    #[test]
    fn each_functional_move_counts_for_one_or_a_half() {
        for (text, halves) in [
            ("G7 Cm", 2),
            ("G7 F#m7", 2),
            ("G7 D7", 2),
            ("G7 Dm7", 0),
            ("G7sus4 C", 2),
            ("G7sus4 Gb", 0),
            ("Dm7 G7", 2),
            ("Dm7b5 Db7", 2),
            ("Dm7 Gm7", 0),
            ("Bdim7 C", 2),
            ("Ebdim7 Dm7", 2),
            ("Cm6 G", 1),
            ("G Cm6", 2),
            ("Gmaj7 C", 1),
            ("Dbmaj7 Cmaj7", 1),
            ("Gmaj7 Cm", 0),
        ] {
            check(text, false, (halves, 1), halves > 0);
        }
    }

    #[test]
    fn equal_chords_are_no_pair_and_the_wrap_is_one() {
        check("Dm7 Ebm7 Dm7", true, (0, 2), false);
        check("Em7", true, (0, 0), false);
        check("Dm7 G7", true, (2, 2), true);
    }

    #[test]
    fn one_move_in_ten_is_enough_for_a_key() {
        let chords = |others: usize| format!("G7 Cm7{}", " Dm7 Cm7".repeat(others / 2));
        check(&chords(8), false, (2, 9), true);
        check(&chords(10), false, (2, 11), false);
    }

    #[test]
    fn chords_all_at_home_in_one_key_are_heard_in_it_without_any_move() {
        check("C G Am F", true, (0, 4), true);
        check("C G C G", true, (4, 4), true);
        check("Am Em Am Em", true, (0, 4), false);
        check("Cmaj7 Ebmaj7 Gbmaj7 Amaj7", true, (0, 4), false);
    }
}
