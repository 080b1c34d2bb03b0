//! The cheapest path through a [`Lattice`], exactly, in little time.
//!
//! Two things keep it fast. The cost of a change depends only on how far apart two signatures are, so the best key to come
//! from is found among one best key for each signature. And in a loop, where the last key must meet the first, a first key
//! is tried only if a lower bound (the best way on from it to any end, and the cheapest wrap) can still win.

use super::{FAR, Lattice, change, into};

/// A way through: its cost and the key (column) of each item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Path {
    /// The sum of all costs.
    pub(super) total: i32,
    /// The column of each item.
    pub(super) states: Vec<usize>,
}

/// The cheapest path. Ties: the earliest first key, then the earliest last; on the way stay, else the earliest key.
pub(super) fn cheapest(lattice: &Lattice) -> Path {
    let rest = cost_of_rest(lattice);
    let mut starts: Vec<(i32, usize)> =
        (0..lattice.keys.len()).map(|s| (lattice.first[s] + rest[s] + lattice.cheapest_wrap(s), s)).collect();
    starts.sort_unstable();
    let mut best: Option<Path> = None;
    for (bound, start) in starts {
        let better = |best: &Path| (bound, start) < (best.total, best.states[0]);
        if !best.as_ref().is_none_or(better) {
            continue;
        }
        let path = from_start(lattice, start);
        if best.as_ref().is_none_or(|best| (path.total, start) < (best.total, best.states[0])) {
            best = Some(path);
        }
    }
    best.unwrap_or(Path { total: 0, states: Vec::new() })
}

impl Lattice {
    /// What going from the last item in key `end` back to the first in key `start` costs, in a loop.
    fn wrap(&self, end: usize, start: usize) -> i32 {
        match (self.stay.rows().last(), self.split.last()) {
            (Some(stay), Some(split)) if self.wraps => {
                if end == start {
                    stay[start]
                } else {
                    change(self.fifths(end, start)) + split
                }
            }
            _ => 0,
        }
    }

    fn cheapest_wrap(&self, start: usize) -> i32 {
        let ends = 0..self.keys.len();
        ends.map(|end| self.wrap(end, start)).min().unwrap_or(0)
    }

    fn fifths(&self, a: usize, b: usize) -> usize {
        let apart = self.keys[a].signature().abs_diff(self.keys[b].signature());
        apart.min(12 - apart)
    }
}

/// For each key of the first item the cheapest way on to any end, that item's own cost included.
fn cost_of_rest(lattice: &Lattice) -> Vec<i32> {
    let steps = lattice.items.len();
    let mut rest: Vec<i32> = lattice.last.clone();
    for i in (0..steps).rev() {
        if i + 1 < steps {
            let entered: Vec<i32> =
                rest.iter().zip(&lattice.keys).map(|(cost, &key)| cost + into(key)).collect();
            let nearest = Nearest::of(lattice, &entered);
            let stay = &lattice.stay[i];
            rest = (0..rest.len())
                .map(|s| {
                    let (change, _) = nearest.to(lattice.keys[s].signature());
                    (rest[s] + stay[s]).min(change + lattice.split[i])
                })
                .collect();
        }
        rest.iter_mut().zip(&lattice.items[i]).for_each(|(cost, item)| *cost += item);
    }
    rest
}

/// A cost beyond any that occurs, with room to add to it.
const NO_WAY: i32 = i32::MAX / 2;

/// The cheapest path whose first item is in key `start`.
fn from_start(lattice: &Lattice, start: usize) -> Path {
    let keys = lattice.keys.len();
    let mut costs = vec![NO_WAY; keys];
    costs[start] = lattice.first[start] + lattice.items[0][start];
    let mut next = costs.clone();
    let mut came_from: Vec<usize> = Vec::with_capacity(lattice.items.costs.len());
    for (i, items) in lattice.items.rows().enumerate().skip(1) {
        let nearest = Nearest::of(lattice, &costs);
        let (stay, split) = (&lattice.stay[i - 1], lattice.split[i - 1]);
        for s in 0..keys {
            let (cost, from) = nearest.to(lattice.keys[s].signature());
            let change = cost + split + into(lattice.keys[s]);
            let stay = costs[s] + stay[s];
            let (cost, from) = if stay <= change { (stay, s) } else { (change, from) };
            next[s] = (cost + items[s]).min(NO_WAY);
            came_from.push(from);
        }
        std::mem::swap(&mut costs, &mut next);
    }
    let ends = (0..keys).map(|end| (costs[end] + lattice.last[end] + lattice.wrap(end, start), end));
    let (total, end) = ends.min().unwrap_or((NO_WAY, start));
    let mut states = vec![end];
    for from in came_from.chunks_exact(keys).rev() {
        let at = states[states.len() - 1];
        states.push(from[at]);
    }
    states.reverse();
    Path { total, states }
}

/// A cost and the key it comes from in one number, the cost above the key: the least is the cheapest, of equals the
/// earliest key.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Way(i64);

impl Way {
    /// Bits for the key; there are at most 36.
    const KEY_BITS: u32 = 8;
    /// No key at all.
    const NONE: Self = Self::new(NO_WAY, (1 << Self::KEY_BITS) - 1);

    const fn new(cost: i32, key: usize) -> Self {
        Self(((cost as i64) << Self::KEY_BITS) | key as i64)
    }

    const fn dearer(self, by: i32) -> Self {
        Self(self.0 + ((by as i64) << Self::KEY_BITS))
    }

    const fn parts(self) -> (i32, usize) {
        ((self.0 >> Self::KEY_BITS) as i32, (self.0 & ((1 << Self::KEY_BITS) - 1)) as usize)
    }
}

/// For each signature the cheapest change that arrives there: its cost and the key it comes from.
struct Nearest {
    to: [Way; 12],
}

impl Nearest {
    fn of(lattice: &Lattice, costs: &[i32]) -> Self {
        let mut from = [Way::NONE; 12];
        for (s, (&cost, key)) in costs.iter().zip(&lattice.keys).enumerate() {
            let best = &mut from[key.signature()];
            *best = (*best).min(Way::new(cost, s));
        }
        let of_all = from.iter().copied().min().unwrap_or(Way::NONE);
        Self { to: std::array::from_fn(|signature| cheapest_change(&from, of_all, signature)) }
    }

    /// Cost and key of the cheapest change between any key and one with this signature.
    fn to(&self, signature: usize) -> (i32, usize) {
        self.to[signature].parts()
    }
}

/// The cheapest of all counts as far away: where it is near, it wins by its own distance.
fn cheapest_change(from: &[Way; 12], of_all: Way, signature: usize) -> Way {
    let mut best = of_all.dearer(const { change(FAR) });
    for fifths in 0..FAR {
        for other in [signature + fifths, signature + 12 - fifths] {
            best = best.min(from[other % 12].dearer(change(fifths)));
        }
    }
    best
}
