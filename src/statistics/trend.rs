//! Trends: the slope that a row of sessions has, told by the middle of all pairs, so that one odd day moves little.

use super::interval::{Interval, Level};

/// A straight line through points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trend {
    /// Change of y for one of x.
    pub slope: f64,
    /// The 95 % interval of the slope.
    pub interval: Interval,
    /// The line's y at x = 0: the middle y less the slope times the middle x.
    pub intercept: f64,
}

impl Trend {
    /// Whether a change may be said: the interval excludes 0.
    pub fn is_change(&self) -> bool {
        !self.interval.holds(0.0)
    }
}

/// The line of Theil and Sen through points `(x, y)`: its slope is the median of the slopes of all pairs with different
/// x, its interval the one that Sen (*JASA* 63, 1968) takes from the ranks of these slopes, ties taken in. `None` where
/// no two x differ. The work grows with the square of the number of points.
pub fn theil_sen(points: &[(f64, f64)]) -> Option<Trend> {
    let mut slopes: Vec<f64> = Vec::new();
    for (index, &(x, y)) in points.iter().enumerate() {
        let later = points[index + 1..].iter().filter(|other| other.0.total_cmp(&x).is_ne());
        slopes.extend(later.map(|other| (other.1 - y) / (other.0 - x)));
    }
    slopes.sort_by(f64::total_cmp);
    let slope = median(&slopes)?;
    let xs = sorted(points.iter().map(|point| point.0));
    let ys = sorted(points.iter().map(|point| point.1));
    let intercept = median(&ys)? - slope * median(&xs)?;
    let all = rank_spread(points.len()) - ties(&xs) - ties(&ys);
    let half_ranks = Level::ONE.z() * (all / 18.0).max(0.0).sqrt() / 2.0;
    let middle = slopes.len() as f64 / 2.0;
    let last = slopes.len() - 1;
    let upper = ((middle + half_ranks).round_ties_even() as usize).min(last);
    let lower = ((middle - half_ranks).round_ties_even() - 1.0).max(0.0) as usize;
    Some(Trend { slope, interval: Interval { low: slopes[lower.min(last)], high: slopes[upper] }, intercept })
}

/// Eighteen times the variance of Kendall's sum over so many untied points.
fn rank_spread(count: usize) -> f64 {
    let n = count as f64;
    n * (n - 1.0) * (2.0 * n + 5.0)
}

/// What values that come more than once take off it.
fn ties(sorted: &[f64]) -> f64 {
    sorted.chunk_by(|a, b| a.total_cmp(b).is_eq()).map(|same| rank_spread(same.len())).sum()
}

fn sorted(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values
}

/// The middle of sorted values, or of the two in the middle.
fn median(sorted: &[f64]) -> Option<f64> {
    let middle = sorted.len() / 2;
    if sorted.len() % 2 == 1 {
        sorted.get(middle).copied()
    } else {
        Some(f64::midpoint(*sorted.get(middle.checked_sub(1)?)?, *sorted.get(middle)?))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_odd_day_does_not_tilt_the_line() {
        let mut points: Vec<(f64, f64)> = (0..9).map(|x| (f64::from(x), 0.5 + 0.01 * f64::from(x))).collect();
        points[4].1 = 0.0;
        let trend = theil_sen(&points).expect("a trend");
        assert!((trend.slope - 0.01).abs() < 1e-12 && trend.interval.low > 0.0, "{trend:?}");
    }

    #[test]
    fn one_day_has_no_trend() {
        assert_eq!(theil_sen(&[]), None);
        assert_eq!(theil_sen(&[(3.0, 0.5)]), None);
        assert_eq!(theil_sen(&[(3.0, 0.5), (3.0, 0.7)]), None);
    }
}
