//! Shares over several takes: the takes are the clusters, for playing differs from take to take by more than chance.

use super::design_effect::over_independent;
use super::interval::{Interval, Level, newcombe, wilson};

/// The factor is never taken for less: halves of the same recorded solo differ by more than their bars explain (Weimar
/// Jazz Database, 444 solos, our own measurement).
pub const LEAST: f64 = 1.5;

/// What is believed before any two takes of a player can be compared, and how many takes' worth it is believed.
const BEFOREHAND: (f64, f64) = (1.7, 2.0);

/// What is put on top, as an estimate from few takes is often too small.
const MARGIN: f64 = 1.15;

/// A take as a cluster: notes of the kind, and notes counted.
pub type Cluster = (f64, f64);

/// How much less the notes of several takes say than as many independent ones would: their number is divided by this.
///
/// Takes in one group (a week, one side of a comparison) are held to be played alike; their design effect is the ratio
/// estimator's over takes. Over all groups it is averaged, held to [`LEAST`], averaged with what is believed beforehand
/// and raised by a margin:
///
/// `1.15 x (2 x 1.7 + d x max(1.5, effect)) / (2 + d)`, where d is the number of takes less that of groups.
///
/// The plain `max(1.5, effect)` says "change" of 6 in 100 players who did not change where the true factor is 2; found by
/// simulation, as the figures here were, and held by it (`tests/how_sure.rs`).
pub fn between_takes<'a>(groups: impl IntoIterator<Item = &'a [Cluster]>) -> f64 {
    let (mut sum, mut freedom) = (0.0, 0.0);
    for group in groups {
        let takes: Vec<Cluster> = group.iter().copied().filter(|take| take.1 > 0.0).collect();
        if let Some(effect) = over_independent(&takes) {
            let free = takes.len() as f64 - 1.0;
            sum += free * effect;
            freedom += free;
        }
    }
    let effect = if freedom > 0.0 { (sum / freedom).max(LEAST) } else { LEAST };
    let (believed, weight) = BEFOREHAND;
    MARGIN * (weight * believed + freedom * effect) / (weight + freedom)
}

/// A share pooled over takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pooled {
    /// Notes of the kind.
    pub n: f64,
    /// Notes counted.
    pub of: f64,
    /// What their number is divided by.
    pub factor: f64,
}

impl Pooled {
    /// Adds takes up; `factor` as [`between_takes`] gives it.
    pub fn of(takes: &[Cluster], factor: f64) -> Self {
        let sum = |part: fn(&Cluster) -> f64| takes.iter().map(part).sum();
        Self { n: sum(|take| take.0), of: sum(|take| take.1), factor }
    }

    /// The share; `None` when nothing is counted.
    pub fn share(&self) -> Option<f64> {
        (self.of > 0.0).then(|| self.n / self.of)
    }

    /// Its 95 % interval.
    pub fn interval(&self) -> Option<Interval> {
        wilson(self.n / self.factor, self.of / self.factor, Level::ONE)
    }

    fn shrunk(&self) -> (f64, f64) {
        (self.n / self.factor, self.of / self.factor)
    }
}

/// Two stretches of playing compared.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Compared {
    /// The earlier one.
    pub before: Pooled,
    /// The later one.
    pub now: Pooled,
    /// The later share minus the earlier.
    pub difference: f64,
    /// Its 95 % interval.
    pub interval: Interval,
}

impl Compared {
    /// Whether a change may be said: the interval excludes 0.
    pub fn is_change(&self) -> bool {
        !self.interval.holds(0.0)
    }
}

/// Compares the shares of two groups of takes by Newcombe's interval, every count divided by the factor between takes.
/// `None` when either has nothing counted.
pub fn compare(before: &[Cluster], now: &[Cluster]) -> Option<Compared> {
    let factor = between_takes([before, now]);
    let (before, now) = (Pooled::of(before, factor), Pooled::of(now, factor));
    let difference = now.share()? - before.share()?;
    let interval = newcombe(before.shrunk(), now.shrunk(), Level::ONE)?;
    Some(Compared { before, now, difference, interval })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn takes_that_agree_count_as_the_least_factor_allows_and_takes_that_do_not_as_little_as_they_should() {
        let alike = [(60.0, 100.0); 40];
        assert!((between_takes([alike.as_slice()]) / (1.15 * 1.5) - 1.0).abs() < 0.01);
        let apart: Vec<Cluster> =
            (0..40).map(|take| (if take % 2 == 0 { 50.0 } else { 70.0 }, 100.0)).collect();
        assert!(between_takes([apart.as_slice()]) > 4.0);
    }

    #[test]
    fn one_take_says_nothing_of_how_takes_differ() {
        let check =
            |groups: &[&[Cluster]]| assert!((between_takes(groups.iter().copied()) - 1.955).abs() < 1e-12);
        check(&[]);
        check(&[&[(60.0, 100.0)]]);
        check(&[&[(60.0, 100.0)], &[(30.0, 100.0)]]);
        check(&[&[(0.0, 100.0), (0.0, 90.0)]]);
    }

    #[test]
    fn a_change_is_said_where_the_interval_excludes_nothing_changed() {
        let compared = |before: f64, now: f64| {
            compare(&[(before, 100.0); 4], &[(now, 100.0); 4]).expect("notes").is_change()
        };
        assert!(!compared(55.0, 60.0) && compared(50.0, 70.0) && compared(70.0, 50.0));
        assert_eq!(compare(&[], &[(1.0, 2.0)]), None);
    }
}
