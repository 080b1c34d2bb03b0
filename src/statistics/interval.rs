//! Confidence intervals for shares: Wilson's for one, Newcombe's for the difference of two.

/// How often intervals are meant to hold their true values: together 95 times in 100, however many are read at once.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Level {
    intervals: usize,
}

/// Quantiles of the normal distribution at 1 - 0.05 / 2k for k intervals read at once (Bonferroni); from the standard
/// library of Python 3.11, `statistics.NormalDist().inv_cdf`.
const QUANTILES: [f64; 6] = [
    1.959_963_984_540_054,
    2.241_402_727_604_946_4,
    2.393_979_799_818_510_4,
    2.497_705_474_412_373_7,
    2.575_829_303_548_9,
    2.638_257_273_476_751,
];

impl Level {
    /// One interval.
    pub const ONE: Self = Self { intervals: 1 };

    /// So many intervals at once; from six on as for six.
    pub const fn for_intervals(intervals: usize) -> Self {
        Self { intervals: if intervals == 0 { 1 } else { intervals } }
    }

    /// The quantile of the normal distribution that the interval is made with.
    pub fn z(self) -> f64 {
        QUANTILES[self.intervals.min(QUANTILES.len()) - 1]
    }
}

/// An interval of shares or of differences of shares.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// The lower end.
    pub low: f64,
    /// The upper end.
    pub high: f64,
}

impl Interval {
    /// Whether `value` lies inside, ends included.
    pub fn holds(self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }
}

/// Wilson's score interval (1927) for `successes` of `n`, which may be fractions (weighted notes, or `n` over a design
/// effect). `None` when `n` is not above 0.
pub fn wilson(successes: f64, n: f64, level: Level) -> Option<Interval> {
    if n.is_nan() || n <= 0.0 {
        return None;
    }
    let z = level.z();
    let p = (successes / n).clamp(0.0, 1.0);
    let shrink = 1.0 + z * z / n;
    let centre = (p + z * z / (2.0 * n)) / shrink;
    let half = z * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt() / shrink;
    Some(Interval { low: (centre - half).max(0.0), high: (centre + half).min(1.0) })
}

/// Newcombe's hybrid score interval (1998) for the second share minus the first. `None` when either `n` is not above 0.
pub fn newcombe(first: (f64, f64), second: (f64, f64), level: Level) -> Option<Interval> {
    let p1 = first.0 / first.1;
    let p2 = second.0 / second.1;
    let one = wilson(first.0, first.1, level)?;
    let two = wilson(second.0, second.1, level)?;
    let difference = p2 - p1;
    Some(Interval {
        low: difference - (p2 - two.low).hypot(one.high - p1),
        high: difference + (two.high - p2).hypot(p1 - one.low),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_counted_has_no_interval() {
        assert_eq!(wilson(0.0, 0.0, Level::ONE), None);
        assert_eq!(newcombe((1.0, 2.0), (0.0, 0.0), Level::ONE), None);
    }

    #[test]
    fn none_of_twelve_reaches_a_quarter() {
        let interval = wilson(0.0, 12.0, Level::ONE).expect("twelve counted");
        assert!(interval.low.abs() < 1e-12 && (interval.high - 0.242).abs() < 5e-4, "{interval:?}");
    }
}
