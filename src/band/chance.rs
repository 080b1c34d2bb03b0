//! Chance that can be repeated: a seeded generator, one stream of choices for each part.
//!
//! It is for musical choices only, never for anything that must not be guessed.

use super::Part;

/// The number all choices of a take follow from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub struct Seed(pub u64);

/// A stream of choices: `SplitMix64` (Steele, Lea & Flood, *Fast Splittable Pseudorandom Number Generators*, 2014).
#[derive(Clone, Debug)]
pub struct Chance {
    state: u64,
}

/// 2^64 divided by the golden ratio, made odd: the step of the generator.
const STEP: u64 = 0x9e37_79b9_7f4a_7c15;

impl Chance {
    /// The choices of `part`: streams apart, so that muting one part leaves the others as they were.
    pub fn new(seed: Seed, part: Part) -> Self {
        let mut chance = Self { state: seed.0 ^ (part as u64 + 1).wrapping_mul(STEP) };
        chance.next();
        chance
    }

    fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(STEP);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A whole number below `bound` (0 when there is none), each as likely as the others to 1 in 2^32.
    pub fn below(&mut self, bound: u32) -> u32 {
        ((u128::from(self.next()) * u128::from(bound)) >> 64) as u32
    }

    /// True `percent` times in a hundred.
    pub fn percent(&mut self, percent: u32) -> bool {
        self.below(100) < percent
    }

    /// `middle`, moved by at most `spread` either way; a velocity stays within 1 to 127.
    pub fn velocity(&mut self, middle: u8, spread: u8) -> u8 {
        let low = i32::from(middle) - i32::from(spread);
        let moved = low + self.below(2 * u32::from(spread) + 1) as i32;
        moved.clamp(1, 127) as u8
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_makes_the_same_choices_and_another_does_not() {
        let first = |seed| {
            let mut chance = Chance::new(Seed(seed), Part::Bass);
            std::array::from_fn::<u32, 16, _>(|_| chance.below(1000))
        };
        assert_eq!(first(7), first(7));
        assert_ne!(first(7), first(8));
    }

    #[test]
    fn the_generator_gives_the_published_numbers() {
        // The first outputs of SplitMix64 from state 0, as printed beside its reference code (from memory).
        let mut chance = Chance { state: 0 };
        assert_eq!([chance.next(), chance.next()], [0xe220_a839_7b1d_cdaf, 0x6e78_9e6a_a1b9_65f4]);
    }

    #[test]
    fn numbers_stay_below_their_bound_and_reach_it() {
        let mut chance = Chance::new(Seed(1), Part::Click);
        let seen: std::collections::BTreeSet<u32> = (0..500).map(|_| chance.below(6)).collect();
        assert_eq!(seen.into_iter().collect::<Vec<_>>(), [0, 1, 2, 3, 4, 5]);
        assert_eq!(chance.below(0), 0);
    }
}
