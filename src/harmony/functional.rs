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
    pairs.fold(FunctionalMoves { halves: 0, pairs: 0 }, |sum, (a, b)| {
        FunctionalMoves {
            halves: sum.halves + halves(a, b),
            pairs: sum.pairs + 1,
        }
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
