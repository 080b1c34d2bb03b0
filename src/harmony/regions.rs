//! The key of each stretch: the cheapest way through the progression, where staying in a key costs what its chords cost
//! there and changing costs by distance on the circle of fifths. Exact dynamic programming over whole numbers.
//!
//! Costs, bonuses for cadences and the limits on weights were tuned on half of the Weimar Jazz Database (Pfleiderer et al.
//! 2017) and half of the sequences of Granroth-Wilding & Steedman (2014), and tested on the other halves and on the Jazz
//! Harmony Treebank (Harasim et al. 2020). That a key is left seldom and to near keys first is common practice.
//!
//! It is not where keys set by the player come in: those replace what is found here.

use std::collections::HashMap;
use std::ops::Index;
use std::rc::Rc;

use crate::theory::{KeyMode, PitchClass};

use super::local::local_cost;
use super::reduce::{Class, Item, Kinds, Progression};
use super::tonality::Tonality;

mod path;

/// A longer item weighs more, by the root of its length over the usual length, within these limits.
const WEIGHT: (f64, f64) = (0.6, 1.5);
/// To another key with the same signature.
const SAME_SIGNATURE: i32 = 700;
/// To another signature, and for each fifth between them up to [`FAR`].
const OTHER_SIGNATURE: i32 = 1500;
const EACH_FIFTH: i32 = 120;
const FAR: usize = 3;
/// Leaving between a dominant and what it resolves to, or between a ii and its dominant.
const SPLITS_CADENCE: i32 = 1500;
/// Beginning a stretch of blues.
const INTO_BLUES: i32 = 300;
/// A form that begins or ends on the tonic chord.
const TONIC_AT_END: i32 = -800;
/// No chord counts for more than this against the key of the whole.
const HOME_LIMIT: u32 = 2000;

/// The keys a progression may be in, with every cost of being in them.
///
/// Rows go by item, columns by key. Keys are ordered as ties are settled: majors by interval above the first root, then
/// minors, then blues.
#[derive(Clone, Debug)]
pub(super) struct Lattice {
    keys: Vec<Tonality>,
    /// What each item costs in each key, by its weight.
    items: Rows,
    /// The same with no item above [`HOME_LIMIT`].
    home_items: Rows,
    /// The bonus (negative) from each item to the next within one key; the last row is the wrap, where there is one.
    stay: Rows,
    /// What leaving any key between an item and the next costs on top.
    split: Vec<i32>,
    /// Beginning and ending the form in each key.
    first: Vec<i32>,
    last: Vec<i32>,
    wraps: bool,
}

/// Rows of costs, one number a key, in one piece of memory.
#[derive(Clone, Debug, Default)]
struct Rows {
    width: usize,
    costs: Vec<i32>,
}

impl Rows {
    fn new(width: usize, costs: impl Iterator<Item = i32>) -> Self {
        Self { width, costs: costs.collect() }
    }

    fn len(&self) -> usize {
        self.costs.len() / self.width
    }

    fn rows(&self) -> impl Iterator<Item = &[i32]> {
        self.costs.chunks_exact(self.width)
    }
}

impl Index<usize> for Rows {
    type Output = [i32];

    fn index(&self, row: usize) -> &[i32] {
        &self.costs[row * self.width..(row + 1) * self.width]
    }
}

impl Lattice {
    /// The lattice of a progression with at least one item; `None` without any.
    pub(super) fn of(progression: &Progression) -> Option<Self> {
        let items = &progression.items[..];
        let (first, last) = (items.first()?, items.last()?);
        let keys = candidate_keys(progression, first.root);
        let each_key = |cost: &dyn Fn(Tonality) -> i32| keys.iter().map(|&key| cost(key)).collect();
        let weights = weights(items);
        let costs = costs(progression, &keys);
        let weighted = |limit: u32| {
            let rows = costs.iter().zip(&weights);
            let numbers =
                rows.flat_map(|(row, &weight)| row.iter().map(move |&cost| weigh(cost.min(limit), weight)));
            Rows::new(keys.len(), numbers)
        };
        let neighbours = || progression.neighbours();
        let tonic_at_end = |item: &Item, key: Tonality| if key.is_tonic(item) { TONIC_AT_END } else { 0 };
        Some(Self {
            items: weighted(u32::MAX),
            home_items: weighted(HOME_LIMIT),
            stay: Rows::new(
                keys.len(),
                neighbours().flat_map(|(a, b)| keys.iter().map(move |&key| bonus(a, b, key))),
            ),
            split: neighbours().map(|(a, b)| if is_cadence(a, b) { SPLITS_CADENCE } else { 0 }).collect(),
            first: each_key(&|key| tonic_at_end(first, key) + into(key)),
            last: each_key(&|key| tonic_at_end(last, key)),
            wraps: progression.wrap().is_some(),
            keys,
        })
    }

    /// The key of each item.
    pub(super) fn keys_of_items(&self) -> Vec<Tonality> {
        path::cheapest(self).states.iter().map(|&s| self.keys[s]).collect()
    }

    /// The key that explains the whole best without any change; the earlier one on a tie.
    pub(super) fn home(&self) -> Option<Tonality> {
        let cost = |s: usize| {
            let items: i32 = self.home_items.rows().map(|row| row[s]).sum();
            let bonuses: i32 = self.stay.rows().map(|row| row[s]).sum();
            items + bonuses + self.first[s] + self.last[s]
        };
        (0..self.keys.len()).min_by_key(|&s| cost(s)).map(|s| self.keys[s])
    }
}

/// Twelve majors, twelve minors, and each blues whose I7 and IV7 alternate and fill a quarter of the form.
fn candidate_keys(progression: &Progression, first: PitchClass) -> Vec<Tonality> {
    let tonics = || (0..12).map(|interval| first.up(interval));
    let in_mode = |mode: KeyMode| tonics().map(move |tonic| Tonality { tonic, mode });
    in_mode(KeyMode::Major)
        .chain(in_mode(KeyMode::Minor))
        .chain(in_mode(KeyMode::Blues).filter(|key| may_be_blues(progression, key.tonic)))
        .collect()
}

fn may_be_blues(progression: &Progression, tonic: PitchClass) -> bool {
    let is = |item: &Item, root: PitchClass| item.class == Class::Dominant && item.root == root;
    let fourth = tonic.up(5);
    let goes = |from, to| {
        let mut pairs = progression.neighbours();
        pairs.any(|(a, b)| is(a, from) && is(b, to))
    };
    let ticks = |wanted: &dyn Fn(&Item) -> bool| -> i64 {
        let items = progression.items.iter().filter(|item| wanted(item));
        items.map(|item| item.length.0).sum()
    };
    goes(tonic, fourth)
        && goes(fourth, tonic)
        && 4 * ticks(&|item| is(item, tonic) || is(item, fourth)) >= ticks(&|_| true)
}

/// The weight of each item: its length against the lower median of all.
fn weights(items: &[Item]) -> Vec<f64> {
    let mut lengths: Vec<i64> = items.iter().map(|item| item.length.0).collect();
    lengths.sort_unstable();
    let usual = lengths[(lengths.len() - 1) / 2].max(1) as f64;
    let weight = |item: &Item| (item.length.0 as f64 / usual).sqrt().clamp(WEIGHT.0, WEIGHT.1);
    items.iter().map(weight).collect()
}

/// What each item costs in each key. Choruses repeat themselves, so each kind of context is looked at once.
fn costs(progression: &Progression, keys: &[Tonality]) -> Vec<Rc<[u32]>> {
    let mut known: HashMap<Kinds, Rc<[u32]>> = HashMap::new();
    let cost = |item: usize| {
        let context = progression.context(item);
        let fresh = || keys.iter().map(|&key| local_cost(context, key).cost).collect();
        Rc::clone(known.entry(context.kinds()).or_insert_with(fresh))
    };
    (0..progression.items.len()).map(cost).collect()
}

/// A cost by an item's weight, rounded half up.
fn weigh(cost: u32, weight: f64) -> i32 {
    (weight * f64::from(cost) + 0.5) as i32
}

const fn into(key: Tonality) -> i32 {
    if matches!(key.mode, KeyMode::Blues) { INTO_BLUES } else { 0 }
}

/// Whether going from `a` to `b` is half of a cadence: a dominant resolves down a fifth or a half step, a ii finds its V.
fn is_cadence(a: &Item, b: &Item) -> bool {
    let up = a.move_to(b);
    (a.class.is_dominant() && matches!(up, 5 | 11)) || (a.class.is_two() && b.class.is_dominant() && up == 5)
}

/// What going from `a` to `b` within `key` takes off: arriving at the tonic chord, preparing the dominant, I7 and IV7.
fn bonus(a: &Item, b: &Item, key: Tonality) -> i32 {
    let arrival = if key.is_tonic(b) { arrival(a, key) } else { 0 };
    arrival + preparation(a, b, key) + blues_change(a, b, key)
}

fn arrival(a: &Item, key: Tonality) -> i32 {
    match (key.degree(a.root), a.class) {
        (7, Class::Dominant | Class::Suspended) => -1000,
        (7, Class::Major) if a.plain => -1000,
        (1, Class::Dominant) => -300,
        (10, Class::Dominant) if key.mode == KeyMode::Major => -350,
        (11, Class::Diminished) if key.mode == KeyMode::Minor => -200,
        _ => 0,
    }
}

fn preparation(a: &Item, b: &Item, key: Tonality) -> i32 {
    let two_five = key.degree(a.root) == 2 && key.degree(b.root) == 7 && b.class.is_dominant();
    match (a.class, key.mode) {
        (Class::HalfDiminished, KeyMode::Minor) | (Class::Minor, KeyMode::Major | KeyMode::Blues)
            if two_five =>
        {
            -200
        }
        (Class::HalfDiminished | Class::Minor, _) if two_five => -50,
        _ => 0,
    }
}

fn blues_change(a: &Item, b: &Item, key: Tonality) -> i32 {
    let both = a.class == Class::Dominant && b.class == Class::Dominant;
    let degrees = (key.degree(a.root), key.degree(b.root));
    if key.mode == KeyMode::Blues && both && matches!(degrees, (0, 5) | (5, 0)) { -300 } else { 0 }
}

/// What changing key costs by the distance of the signatures on the circle of fifths, 0 to [`FAR`] and beyond.
const fn change(fifths: usize) -> i32 {
    match fifths {
        0 => SAME_SIGNATURE,
        fifths if fifths < FAR => OTHER_SIGNATURE + EACH_FIFTH * fifths as i32,
        _ => OTHER_SIGNATURE + EACH_FIFTH * FAR as i32,
    }
}

#[cfg(test)]
mod tests;
