//! Rhythm cells: where in a bar the comping strikes.
//!
//! Those of four pulses are common practice; the others are the same ideas cut to shorter and longer bars.

use crate::band::bars::Bar;
use crate::band::chance::Chance;

/// Where a cell strikes: a pulse from 0, on it or on its off-beat, and how long it sounds.
pub(in crate::band) type Strike = (i64, Place, Sounds);

/// The strikes of a bar.
pub(in crate::band) type Cell = &'static [Strike];

/// Where in its pulse a strike falls, and which chord it has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::band) enum Place {
    OnBeat,
    OffBeat,
    /// The off-beat before the next bar, whatever the pulse, sounding the chord that comes.
    Push,
}

/// How long a strike sounds, as far as its chord does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::band) enum Sounds {
    Pulse,
    Bar,
}

use Place::{OffBeat, OnBeat, Push};

const REST: Cell = &[];
const PUSH: Cell = &[(0, Push, Sounds::Pulse)];
const WHOLE: Cell = &[(0, OnBeat, Sounds::Bar)];

/// Cells with their weights.
type Weighted = &'static [(u32, Cell)];

const OF_ONE: Weighted =
    &[(4, &[(0, OnBeat, Sounds::Pulse)]), (3, &[(0, OffBeat, Sounds::Pulse)]), (2, PUSH), (1, REST)];

const OF_TWO: Weighted = &[
    (4, &[(0, OnBeat, Sounds::Pulse)]),
    (3, &[(1, OnBeat, Sounds::Pulse)]),
    (3, &[(0, OffBeat, Sounds::Pulse)]),
    (2, PUSH),
    (2, WHOLE),
    (1, REST),
];

const OF_THREE: Weighted = &[
    (4, &[(0, OnBeat, Sounds::Pulse), (1, OffBeat, Sounds::Pulse)]),
    (3, &[(1, OnBeat, Sounds::Pulse), (2, OnBeat, Sounds::Pulse)]),
    (3, &[(0, OffBeat, Sounds::Pulse), (2, OnBeat, Sounds::Pulse)]),
    (2, PUSH),
    (2, WHOLE),
    (1, REST),
];

const OF_FOUR: Weighted = &[
    (4, &[(0, OnBeat, Sounds::Pulse), (1, OffBeat, Sounds::Pulse)]),
    (3, &[(1, OffBeat, Sounds::Pulse), (3, OnBeat, Sounds::Pulse)]),
    (3, &[(0, OffBeat, Sounds::Pulse), (2, OnBeat, Sounds::Pulse)]),
    (2, PUSH),
    (2, WHOLE),
    (1, REST),
];

/// Longer bars, on their pulses alone: these may be eighths.
const OF_MORE: Weighted = &[
    (4, &[(0, OnBeat, Sounds::Pulse), (3, OnBeat, Sounds::Pulse)]),
    (3, &[(1, OnBeat, Sounds::Pulse), (3, OnBeat, Sounds::Pulse)]),
    (3, &[(0, OnBeat, Sounds::Pulse), (2, OnBeat, Sounds::Pulse)]),
    (2, PUSH),
    (2, WHOLE),
    (1, REST),
];

const fn of(pulses: i64) -> Weighted {
    match pulses {
        ..=1 => OF_ONE,
        2 => OF_TWO,
        3 => OF_THREE,
        4 => OF_FOUR,
        _ => OF_MORE,
    }
}

/// A cell for each bar by its weight, never the same in three bars running.
pub(in crate::band) fn cells(bars: &[Bar], chance: &mut Chance) -> Vec<Cell> {
    let mut drawn: Vec<Cell> = Vec::with_capacity(bars.len());
    for bar in bars {
        let worn = match drawn.as_slice() {
            [.., last_but_one, last] if last_but_one == last => Some(*last),
            _ => None,
        };
        drawn.push(draw(of(bar.pulses()), worn, chance));
    }
    drawn
}

/// One of the cells but `worn`.
fn draw(cells: Weighted, worn: Option<Cell>, chance: &mut Chance) -> Cell {
    let allowed = || cells.iter().filter(|(_, cell)| Some(*cell) != worn);
    let mut left = chance.below(allowed().map(|(weight, _)| weight).sum());
    for &(weight, cell) in allowed() {
        if left < weight {
            return cell;
        }
        left -= weight;
    }
    REST
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::tests::some_bars;
    use crate::band::{Part, Seed};

    #[test]
    fn every_cell_is_drawn_and_none_three_times_running() {
        for beats in 1..=7 {
            let bars = some_bars(beats, 4, 4000);
            let drawn = cells(&bars, &mut Chance::new(Seed(u64::from(beats)), Part::Comp));
            assert!(drawn.windows(3).all(|three| three[0] != three[1] || three[1] != three[2]));
            for (_, cell) in of(i64::from(beats)) {
                assert!(drawn.contains(cell), "{cell:?} in {beats}");
            }
        }
    }

    #[test]
    fn cells_stay_within_their_bars() {
        for pulses in 1..=9 {
            let places = of(pulses).iter().flat_map(|(_, cell)| cell.iter());
            assert!(places.into_iter().all(|&(pulse, ..)| pulse < pulses), "{pulses}");
        }
    }

    #[test]
    fn heavier_cells_come_more_often() {
        let bars = some_bars(4, 4, 20_000);
        let drawn = cells(&bars, &mut Chance::new(Seed(1), Part::Comp));
        let count = |cell: Cell| drawn.iter().filter(|&&drawn| drawn == cell).count();
        assert!(count(OF_FOUR[0].1) > count(OF_FOUR[1].1));
        assert!(count(OF_FOUR[1].1) > count(PUSH) && count(PUSH) > count(REST));
    }
}
