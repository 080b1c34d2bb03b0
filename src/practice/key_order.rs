//! Key orders: which key a tune is played in, chorus by chorus, when it is taken through all twelve.

use std::fmt;
use std::str::FromStr;

use crate::band::Part;
use crate::band::chance::{Chance, Seed};
use crate::chart::Head;
use crate::theory::Key;

/// How many keys there are.
pub const ALL_KEYS: u32 = 12;

/// In which order the keys come.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum KeyOrder {
    /// Around the circle of fourths: each key a fourth above the last.
    Fourths,
    /// Each key a semitone above the last.
    Semitones,
    /// By chance, each key once before any comes again.
    Random,
}

/// Says which orders there are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("keys come in fourths, in semitones or in random order: write one of these words, as in fourths")]
pub struct NoKeyOrder;

impl KeyOrder {
    const WORDS: [(Self, &str); 3] =
        [(Self::Fourths, "fourths"), (Self::Semitones, "semitones"), (Self::Random, "random")];

    /// The key of each of so many choruses, from `first` on; in random order `seed` says which follow. Where the first and
    /// the last chorus are the tune, both are in the first key and the keys go on between them.
    pub fn keys(self, first: Key, choruses: u32, head: Option<Head>, seed: Seed) -> Vec<Key> {
        let tune = usize::from(head.is_some());
        let keys = self.in_turn(first, seed).take(choruses as usize - (2 * tune).min(choruses as usize));
        let at_the_end = std::iter::repeat_n(first, tune);
        at_the_end.clone().chain(keys).chain(at_the_end).collect()
    }

    /// The keys without an end. Where the first comes it is spelled as it was given, all others as signatures usually are.
    fn in_turn(self, first: Key, seed: Seed) -> impl Iterator<Item = Key> {
        let tonic = first.tonic.pitch_class();
        let key = move |above: i32| {
            let pitch_class = tonic.up(above);
            if pitch_class == tonic { first } else { Key::new(pitch_class, first.mode) }
        };
        // The band draws nothing from the stream of the line that is played.
        let mut chance = Chance::new(seed, Part::Line);
        let mut round: Vec<i32> = Vec::new();
        let mut last = None;
        let steps = std::iter::repeat_with(move || {
            if round.is_empty() {
                round = self.round(last, &mut chance);
            }
            last = round.pop();
            last
        });
        steps.flatten().map(key)
    }

    /// Once through all keys, in semitones above the first, the last one first; it does not begin with `before`.
    fn round(self, before: Option<i32>, chance: &mut Chance) -> Vec<i32> {
        let all = 0..ALL_KEYS as i32;
        match self {
            Self::Fourths => all.rev().map(|nth| nth * 5 % 12).collect(),
            Self::Semitones => all.rev().collect(),
            Self::Random => {
                let mut left: Vec<i32> = all.collect();
                // The very first key stands first.
                let may_begin = |&key: &i32| before.map_or(key == 0, |before| key != before);
                let first = draw(&mut left.iter().copied().filter(may_begin).collect(), chance);
                left.retain(|&key| key != first);
                let drawn = std::iter::repeat_with(|| draw(&mut left, chance));
                let mut round: Vec<i32> = drawn.take(ALL_KEYS as usize - 1).collect();
                round.push(first);
                round
            }
        }
    }
}

/// Takes one of those that are left, of which there is at least one.
fn draw(left: &mut Vec<i32>, chance: &mut Chance) -> i32 {
    let drawn = chance.below(left.len() as u32) as usize;
    left.swap_remove(drawn)
}

impl FromStr for KeyOrder {
    type Err = NoKeyOrder;

    fn from_str(text: &str) -> Result<Self, NoKeyOrder> {
        Self::WORDS.iter().find(|(_, word)| *word == text).map(|&(order, _)| order).ok_or(NoKeyOrder)
    }
}

/// Prints `fourths`.
impl fmt::Display for KeyOrder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let word = Self::WORDS.iter().find(|(order, _)| order == self).map_or("", |(_, word)| word);
        f.write_str(word)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::header::key_text;
    use crate::theory::PitchClass;
    use proptest::prelude::*;

    fn keys(order: &str, first: &str, choruses: u32) -> Vec<String> {
        let (order, first): (KeyOrder, Key) =
            (order.parse().expect("an order"), first.parse().expect("a key"));
        order.keys(first, choruses, None, Seed(7)).into_iter().map(key_text).collect()
    }

    #[test]
    fn fourths_go_around_the_circle() {
        let expect = ["Eb", "Ab", "Db", "Gb", "B", "E", "A", "D", "G", "C", "F", "Bb", "Eb"];
        assert_eq!(keys("fourths", "Eb", 13), expect);
    }

    #[test]
    fn semitones_go_up() {
        assert_eq!(keys("semitones", "Am", 5), ["Am", "Bbm", "Bm", "Cm", "C#m"]);
        assert_eq!(keys("semitones", "F#", 3), ["F#", "G", "Ab"], "the first as it is written");
        assert_eq!(keys("semitones", "F blues", 2), ["F blues", "Gb blues"]);
    }

    #[test]
    fn the_tune_stands_in_the_first_key_at_both_ends() {
        let keys = |order: KeyOrder| order.keys("C".parse().expect("a key"), 5, Head::around(5), Seed(0));
        let texts: Vec<String> = keys(KeyOrder::Fourths).into_iter().map(key_text).collect();
        assert_eq!(texts, ["C", "C", "F", "Bb", "C"]);
    }

    #[test]
    fn words_that_are_no_order_are_refused() {
        for text in ["", "fifths", "Fourths", "chromatic"] {
            assert_eq!(text.parse::<KeyOrder>(), Err(NoKeyOrder), "{text}");
        }
        assert_eq!("random".parse::<KeyOrder>().map(|order| order.to_string()), Ok("random".to_owned()));
    }

    proptest! {
        #[test]
        fn at_random_each_key_comes_once_before_any_comes_again(seed in any::<u64>(), tonic in 0u8..12) {
            let first = Key::new(PitchClass::from_semitones(i32::from(tonic)), crate::theory::KeyMode::Major);
            let keys = KeyOrder::Random.keys(first, 36, None, Seed(seed));
            prop_assert_eq!(keys[0], first);
            for round in keys.chunks(12) {
                let tonics: std::collections::BTreeSet<_> =
                    round.iter().map(|key| key.tonic.pitch_class()).collect();
                prop_assert_eq!(tonics.len(), 12);
            }
            prop_assert!(keys.windows(2).all(|pair| pair[0] != pair[1]));
            prop_assert_eq!(keys, KeyOrder::Random.keys(first, 36, None, Seed(seed)));
        }
    }
}
