//! Weeks, Monday to Sunday, and what was played in each.

use jiff::civil::Date;

use super::Digest;
use super::alike::Way;
use crate::statistics::between_takes::Cluster;
use crate::statistics::{Pooled, between_takes};
use crate::tally::verdict::Measure;

/// One week of a chart. A week in which the way of counting changed stands there once for each way.
#[derive(Clone, Debug, PartialEq)]
pub struct Week {
    /// Its Monday.
    pub monday: Date,
    /// Index of the way its takes were counted in.
    pub way: usize,
    /// Takes.
    pub takes: usize,
    /// Notes counted.
    pub counted: f64,
    /// Thirds and sevenths among them.
    pub guide_tones: f64,
    /// What was played, in the order of [`Measure::ALL`].
    pub shares: Vec<(Measure, Pooled)>,
}

impl Week {
    /// What was played of one measure.
    pub fn share(&self, measure: Measure) -> Option<Pooled> {
        self.shares.iter().find(|(of, _)| *of == measure).map(|&(_, pooled)| pooled)
    }
}

/// The Monday of the week that a day is in; the day itself where the calendar ends before it.
pub fn monday(day: Date) -> Date {
    let since = i64::from(day.weekday().to_monday_zero_offset());
    day.checked_sub(jiff::Span::new().days(since)).unwrap_or(day)
}

/// What a take has of a measure: notes of it, of how many; for landings changes.
pub(super) fn cluster(digest: &Digest, measure: Measure) -> Cluster {
    let part = match measure {
        Measure::Chord => digest.chord,
        Measure::Scale => digest.scale_and_other,
        Measure::Outside => digest.outside,
        Measure::Resolved => digest.resolved,
        Measure::Open => digest.open,
        Measure::Landings => return (digest.landings.n as f64, digest.landings.of as f64),
    };
    (part.n, digest.counted)
}

/// Each week's clusters of a measure.
pub(super) fn clusters_by_week(takes: &[&Digest], measure: Measure) -> Vec<Vec<Cluster>> {
    let weeks = takes.chunk_by(|a, b| monday(a.day) == monday(b.day));
    weeks.map(|week| week.iter().map(|digest| cluster(digest, measure)).collect()).collect()
}

/// The weeks of takes in the order of time. How much takes differ is told from all weeks counted in the same way.
pub(super) fn weeks(takes: &[&Digest], ways: &[Way]) -> Vec<Week> {
    let mut weeks: Vec<Week> = Vec::new();
    for (index, way) in ways.iter().enumerate() {
        let of_way: Vec<&Digest> = takes.iter().copied().filter(|digest| way.is_of(digest)).collect();
        let factors = Measure::ALL.map(|measure| {
            let clusters = clusters_by_week(&of_way, measure);
            (measure, between_takes(clusters.iter().map(Vec::as_slice)))
        });
        let by_week = of_way.chunk_by(|a, b| monday(a.day) == monday(b.day));
        weeks.extend(by_week.map(|takes| week(takes, index, &factors)));
    }
    weeks.sort_by_key(|week| (week.monday, week.way));
    weeks
}

fn week(takes: &[&Digest], way: usize, factors: &[(Measure, f64)]) -> Week {
    let pooled = |&(measure, factor): &(Measure, f64)| {
        let clusters: Vec<Cluster> = takes.iter().map(|digest| cluster(digest, measure)).collect();
        (measure, Pooled::of(&clusters, factor))
    };
    Week {
        monday: monday(takes[0].day),
        way,
        takes: takes.len(),
        counted: takes.iter().map(|digest| digest.counted).sum(),
        guide_tones: takes.iter().map(|digest| digest.guide_tones).sum(),
        shares: factors.iter().map(pooled).collect(),
    }
}
