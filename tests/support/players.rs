//! Made-up players whose true shares are known: takes that differ by more than chance, as a true factor says.

use barwise::statistics::between_takes::Cluster;
use barwise::statistics::{Level, Pooled, newcombe, theil_sen};

use crate::draws::Draws;

/// What is done about takes that differ: from groups of takes to what their notes are divided by.
pub type Rule = fn(&[&[Cluster]]) -> f64;

/// Players of one kind.
#[derive(Clone, Copy, Debug)]
pub struct Players {
    /// Their true share.
    pub share: f64,
    /// Fewest and most notes of a take; each number between is as likely.
    pub notes: (u32, u32),
    /// How much more shares pooled over takes vary than those of independent notes.
    pub factor: f64,
}

/// How often, of all players.
#[derive(Clone, Copy, Debug)]
pub struct Often {
    /// The interval holds the truth.
    pub held: f64,
    /// The interval of a difference excludes 0: "change" is said.
    pub change: f64,
}

impl Players {
    /// One take: its own true share is drawn around the player's (beta-binomial, with the correlation of notes within a
    /// take that gives the factor over takes of these sizes).
    fn take(self, share: f64, draws: &mut Draws) -> Cluster {
        let (fewest, most) = (f64::from(self.notes.0), f64::from(self.notes.1));
        let notes = (fewest + (most - fewest + 1.0) * draws.unit()).floor();
        let correlation = (self.factor - 1.0) / (self.size_met_by_a_note() - 1.0);
        let own = if correlation > 0.0 {
            let weight = (1.0 - correlation) / correlation;
            let (a, b) = (gamma(share * weight, draws), gamma((1.0 - share) * weight, draws));
            a / (a + b)
        } else {
            share
        };
        let hits = (0..notes as u32).filter(|_| draws.unit() < own).count();
        (hits as f64, notes)
    }

    /// The mean size of the take that a note is in: the mean square of sizes over their mean.
    fn size_met_by_a_note(self) -> f64 {
        let sizes = || (self.notes.0..=self.notes.1).map(f64::from);
        sizes().map(|size| size * size).sum::<f64>() / sizes().sum::<f64>()
    }

    fn takes(self, count: usize, share: f64, draws: &mut Draws) -> Vec<Cluster> {
        (0..count).map(|_| self.take(share, draws)).collect()
    }

    /// How often the interval of one week holds the true share, told with the factor of all the weeks.
    pub fn week(self, weeks: usize, takes_a_week: usize, players: usize, rule: Rule) -> f64 {
        let mut draws = Draws(2_026);
        let held = (0..players).filter(|_| {
            let weeks: Vec<Vec<Cluster>> =
                (0..weeks).map(|_| self.takes(takes_a_week, self.share, &mut draws)).collect();
            let groups: Vec<&[Cluster]> = weeks.iter().map(Vec::as_slice).collect();
            let pooled = Pooled::of(groups[0], rule(&groups));
            pooled.interval().expect("notes").holds(self.share)
        });
        held.count() as f64 / players as f64
    }

    /// How often the interval of a difference holds the true one, and how often "change" is said, of players whose share
    /// rose by `gain` from one half of their takes to the other.
    pub fn compared(self, takes: usize, gain: f64, players: usize, rule: Rule) -> Often {
        let mut draws = Draws(1_117);
        let (mut held, mut change) = (0_u32, 0_u32);
        for _ in 0..players {
            let before = self.takes(takes / 2, self.share, &mut draws);
            let now = self.takes(takes - takes / 2, self.share + gain, &mut draws);
            let factor = rule(&[&before, &now]);
            let (before, now) = (Pooled::of(&before, factor), Pooled::of(&now, factor));
            let shrunk = |pooled: Pooled| (pooled.n / factor, pooled.of / factor);
            let interval = newcombe(shrunk(before), shrunk(now), Level::ONE).expect("notes");
            held += u32::from(interval.holds(gain));
            change += u32::from(!interval.holds(0.0));
        }
        let often = |count: u32| f64::from(count) / players as f64;
        Often { held: often(held), change: often(change) }
    }

    /// How often a trend over sessions of one take each is said to be a change, of players who did not change.
    pub fn trends(self, sessions: usize, players: usize) -> f64 {
        let mut draws = Draws(730);
        let said = (0..players).filter(|_| {
            let takes = self.takes(sessions, self.share, &mut draws);
            let points: Vec<(f64, f64)> =
                (0..).map(f64::from).zip(takes.iter().map(|take| take.0 / take.1)).collect();
            theil_sen(&points).expect("sessions").is_change()
        });
        said.count() as f64 / players as f64
    }
}

/// A draw of a gamma variable of this shape (Marsaglia & Tsang 2000).
fn gamma(shape: f64, draws: &mut Draws) -> f64 {
    if shape < 1.0 {
        return gamma(shape + 1.0, draws) * (1.0 - draws.unit()).powf(1.0 / shape);
    }
    let d = shape - 1.0 / 3.0;
    let c = 1.0 / (9.0 * d).sqrt();
    loop {
        let x = normal(draws);
        let v = (1.0 + c * x).powi(3);
        if v > 0.0 && (1.0 - draws.unit()).ln() < 0.5 * x * x + d - d * v + d * v.ln() {
            return d * v;
        }
    }
}

/// A draw of a normal variable (Box & Muller 1958).
fn normal(draws: &mut Draws) -> f64 {
    let (u, v) = (1.0 - draws.unit(), draws.unit());
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}
