//! How often luck alone decides about a band: what two takes would be told whose player truly plays one share.
//!
//! Exact: every count that can come up is judged by the rule of the verdict and weighed by its binomial chance. Notes of
//! two takes say as much as fewer notes drawn one by one would, by the least design effect of a share over takes; so many
//! are drawn.

use crate::statistics::{Level, wilson};
use crate::tally::verdict::{BETWEEN_TAKES, Band, Finding};

use super::assignment::TakesAsked;

/// What comes out how often, of all pairs of takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Odds {
    /// The true share.
    pub share: f64,
    /// Notes of both takes together.
    pub notes: f64,
    /// The band is met.
    pub met: f64,
    /// Nothing can be said.
    pub undecided: f64,
    /// Clearly below.
    pub below: f64,
    /// Clearly above.
    pub above: f64,
}

impl Odds {
    /// The odds for two takes of `needs` notes each whose true share is `share`, with so many bands judged at once.
    pub fn of(band: Band, share: f64, needs: f64, bands: usize) -> Self {
        let notes = needs * TakesAsked::TOGETHER as f64;
        let drawn = (notes / BETWEEN_TAKES).round() as u32;
        let level = Level::for_intervals(bands);
        let mut odds = Self { share, notes, met: 0.0, undecided: 0.0, below: 0.0, above: 0.0 };
        for (hits, chance) in (0..=drawn).zip(binomial(drawn, share)) {
            let (hits, all) = (f64::from(hits), f64::from(drawn));
            let Some(interval) = wilson(hits, all, level) else { continue };
            match band.judge(hits / all, interval) {
                Finding::Met => odds.met += chance,
                Finding::ClearlyAbove => odds.above += chance,
                Finding::ClearlyBelow => odds.below += chance,
                Finding::Undecided | Finding::NoVerdict => odds.undecided += chance,
            }
        }
        odds
    }

    /// How often the band is not met.
    pub fn missed(&self) -> f64 {
        self.undecided + self.below + self.above
    }
}

/// The chance of 0 to `n` hits of `n` draws. Worked out from the likeliest count both ways, so that nothing overflows.
fn binomial(n: u32, p: f64) -> Vec<f64> {
    let size = n as usize + 1;
    let p = p.clamp(0.0, 1.0);
    if p <= 0.0 || p >= 1.0 {
        let sure = if p <= 0.0 { 0 } else { n as usize };
        return (0..size).map(|hits| if hits == sure { 1.0 } else { 0.0 }).collect();
    }
    let mode = ((f64::from(n) + 1.0) * p).floor().min(f64::from(n)) as usize;
    let mut weights = vec![0.0; size];
    weights[mode] = 1.0;
    let odds = p / (1.0 - p);
    for hits in mode..size - 1 {
        weights[hits + 1] = weights[hits] * odds * (size - 1 - hits) as f64 / (hits + 1) as f64;
    }
    for hits in (0..mode).rev() {
        weights[hits] = weights[hits + 1] / odds * (hits + 1) as f64 / (size - 1 - hits) as f64;
    }
    let all: f64 = weights.iter().sum();
    weights.iter().map(|weight| weight / all).collect()
}

/// Odds in words: `3 of 10`, `1 of 170`, `fewer than 1 of 1,000`.
pub fn in_words(chance: f64) -> String {
    match chance {
        chance if chance < 0.001 => "fewer than 1 of 1,000".to_owned(),
        chance if chance > 0.999 => "more than 999 of 1,000".to_owned(),
        chance if (0.095..0.905).contains(&chance) => format!("{} of 10", (chance * 10.0).round()),
        chance if chance < 0.5 => format!("1 of {}", coarse(1.0 / chance)),
        chance => format!("all but 1 of {}", coarse(1.0 / (1.0 - chance))),
    }
}

/// A number to two digits.
fn coarse(number: f64) -> f64 {
    let step = if number >= 100.0 { 10.0 } else { 1.0 };
    (number / step).round() * step
}

#[cfg(test)]
mod tests {
    use super::*;

    fn band(low: f64, high: f64) -> Band {
        Band::new(low, high).expect("a band")
    }

    #[test]
    fn chances_are_those_of_the_binomial() {
        // 10 draws at 0.3: .0282475 for none, .2668279 for three (binomial theorem, worked by hand).
        let chances = binomial(10, 0.3);
        assert!((chances[0] - 0.028_247_524_9).abs() < 1e-12, "{chances:?}");
        assert!((chances[3] - 0.266_827_932).abs() < 1e-9);
        for (n, p) in [(1, 0.5), (7, 0.0), (7, 1.0), (400, 0.02), (100_000, 0.6)] {
            assert!((binomial(n, p).iter().sum::<f64>() - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn every_pair_of_takes_is_told_something() {
        for share in [0.0, 0.3, 0.57, 0.62, 1.0] {
            let odds = Odds::of(band(0.55, 0.7), share, 60.0, 3);
            assert!((odds.met + odds.missed() - 1.0).abs() < 1e-9, "{odds:?}");
        }
    }

    #[test]
    fn more_notes_and_wider_bands_are_missed_less_often() {
        let missed = |low, high, needs| Odds::of(band(low, high), 0.62, needs, 1).missed();
        assert!(missed(0.55, 0.70, 60.0) < missed(0.60, 0.65, 60.0));
        assert!(missed(0.55, 0.70, 240.0) < missed(0.55, 0.70, 60.0));
    }

    #[test]
    fn odds_are_said_as_people_say_them() {
        let check = |chance, expect: &str| assert_eq!(in_words(chance), expect);
        check(0.3, "3 of 10");
        check(1.0 / 171.0, "1 of 170");
        check(0.05, "1 of 20");
        check(0.0001, "fewer than 1 of 1,000");
        check(0.95, "all but 1 of 20");
        check(1.0, "more than 999 of 1,000");
    }
}
