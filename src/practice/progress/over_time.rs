//! Whether anything changed: the last weeks against those before, and trends over days.

use jiff::civil::Date;

use super::Digest;
use super::week::{cluster, monday};
use crate::statistics::between_takes::Cluster;
use crate::statistics::{Compared, Trend, compare, theil_sen};
use crate::tally::verdict::Measure;

/// Weeks on each side of a comparison, at most.
const WEEKS: usize = 3;

/// Fewest days a trend is told from.
const FEWEST_DAYS: usize = 6;

/// Most days looked at, the last ones; the work grows with their square.
const MOST_DAYS: usize = 120;

/// What is compared.
const MEASURES: [Measure; 3] = [Measure::Chord, Measure::Landings, Measure::Open];

/// The last weeks with takes against as many before them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// Of what.
    pub measure: Measure,
    /// Weeks on each side, 1 to 3.
    pub weeks: usize,
    /// The Mondays on which the sides begin.
    pub from: (Date, Date),
    /// Whether these weeks and the present one follow each other without a gap; else they are weeks played.
    pub in_a_row: bool,
    /// Takes on each side.
    pub takes: (usize, usize),
    /// The shares and their difference.
    pub compared: Compared,
    /// For landings: thirds and sevenths among all notes, on each side.
    pub all_notes: Option<(f64, f64)>,
}

/// A straight line through the days.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeasureTrend {
    /// Of what.
    pub measure: Measure,
    /// Days it is told from.
    pub days: usize,
    /// Its slope is a change of share a week.
    pub trend: Trend,
}

/// The trend over charts: of the logit of the chord share less that of running the scale over the same chart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LiftTrend {
    /// Days it is told from.
    pub days: usize,
    /// Charts it is told from.
    pub charts: usize,
    /// Its slope is a change of lift a week.
    pub trend: Trend,
    /// The lift of the last day.
    pub last: f64,
}

/// Compares takes that were counted alike, in the order of time.
pub(super) fn changes(takes: &[&Digest], today: Date) -> Vec<Change> {
    let weeks: Vec<&[&Digest]> = takes.chunk_by(|a, b| monday(a.day) == monday(b.day)).collect();
    let side = (weeks.len() / 2).min(WEEKS);
    if side == 0 {
        return Vec::new();
    }
    let compared = &weeks[weeks.len() - 2 * side..];
    let mondays: Vec<Date> = compared.iter().map(|week| monday(week[0].day)).collect();
    let until_now = mondays.iter().copied().chain([monday(today)]);
    let sides = Sides {
        weeks: side,
        from: (mondays[0], mondays[side]),
        in_a_row: mondays.iter().zip(until_now.skip(1)).all(|(&week, next)| weeks_since(week, next) <= 1.0),
        before: compared[..side].concat(),
        now: compared[side..].concat(),
    };
    MEASURES.into_iter().filter_map(|measure| sides.change(measure)).collect()
}

/// The weeks on either side of a comparison.
struct Sides<'a> {
    weeks: usize,
    from: (Date, Date),
    in_a_row: bool,
    before: Vec<&'a Digest>,
    now: Vec<&'a Digest>,
}

impl Sides<'_> {
    fn change(&self, measure: Measure) -> Option<Change> {
        let clusters =
            |takes: &[&Digest]| takes.iter().map(|digest| cluster(digest, measure)).collect::<Vec<Cluster>>();
        let compared = compare(&clusters(&self.before), &clusters(&self.now))?;
        let all = |takes: &[&Digest]| {
            let counted: f64 = takes.iter().map(|digest| digest.counted).sum();
            takes.iter().map(|digest| digest.guide_tones).sum::<f64>() / counted
        };
        Some(Change {
            measure,
            weeks: self.weeks,
            from: self.from,
            in_a_row: self.in_a_row,
            takes: (self.before.len(), self.now.len()),
            compared,
            all_notes: (measure == Measure::Landings).then(|| (all(&self.before), all(&self.now))),
        })
    }
}

/// The last days of takes in the order of time.
fn days<'a>(takes: &'a [&'a Digest]) -> Vec<&'a [&'a Digest]> {
    let days: Vec<&[&Digest]> = takes.chunk_by(|a, b| a.day == b.day).collect();
    days[days.len().saturating_sub(MOST_DAYS)..].to_vec()
}

/// Days from one day to another; 0 where the calendar does not reach.
pub fn days_since(first: Date, day: Date) -> i32 {
    day.since((jiff::Unit::Day, first)).map_or(0, |span| span.get_days())
}

/// Weeks from one day to another, as a fraction.
fn weeks_since(first: Date, day: Date) -> f64 {
    f64::from(days_since(first, day)) / 7.0
}

/// Trends of takes that were counted alike, in the order of time.
pub(super) fn trends(takes: &[&Digest]) -> Vec<MeasureTrend> {
    MEASURES.into_iter().filter_map(|measure| trend(takes, measure)).collect()
}

fn trend(takes: &[&Digest], measure: Measure) -> Option<MeasureTrend> {
    let days = days(takes);
    let first = days.first()?[0].day;
    let point = |day: &&[&Digest]| {
        let clusters = day.iter().map(|digest| cluster(digest, measure));
        let (n, of) = clusters.fold((0.0, 0.0), |sum, take| (sum.0 + take.0, sum.1 + take.1));
        (of > 0.0).then(|| (weeks_since(first, day[0].day), n / of))
    };
    let points: Vec<(f64, f64)> = days.iter().filter_map(point).collect();
    let trend = theil_sen(&points).filter(|_| points.len() >= FEWEST_DAYS)?;
    Some(MeasureTrend { measure, days: points.len(), trend })
}

/// The trend over charts, of takes each of which is counted as the last one of its chart. Days on which several charts
/// were played take the mean of their lifts by notes.
pub(super) fn lift_trend(takes: &[&Digest]) -> Option<LiftTrend> {
    let mut takes = takes.to_vec();
    let last = takes.iter().max_by_key(|digest| (digest.day, digest.take)).copied()?;
    takes.retain(|digest| counted_alike(digest, last));
    takes.sort_by_key(|digest| (digest.day, digest.take));
    let days = days(&takes);
    let first = days.first()?[0].day;
    let point = |day: &&[&Digest]| Some((weeks_since(first, day[0].day), lift_of_day(day)?));
    let points: Vec<(f64, f64)> = days.iter().filter_map(point).collect();
    let trend = theil_sen(&points).filter(|_| points.len() >= FEWEST_DAYS)?;
    let mut forms: Vec<&str> = takes.iter().map(|digest| digest.form_sha256.as_str()).collect();
    forms.sort_unstable();
    forms.dedup();
    Some(LiftTrend { days: points.len(), charts: forms.len(), trend, last: points.last()?.1 })
}

fn counted_alike(digest: &Digest, other: &Digest) -> bool {
    digest.rules == other.rules
        && digest.counting == other.counting
        && digest.settings_sha256 == other.settings_sha256
}

/// The mean lift of a day's takes, by notes; `None` without any over chords.
fn lift_of_day(day: &[&Digest]) -> Option<f64> {
    let lifts = day.iter().filter_map(|digest| Some((lift(digest)?, digest.counted)));
    let (sum, notes) = lifts.fold((0.0, 0.0), |sum, (lift, notes)| (sum.0 + lift * notes, sum.1 + notes));
    (notes > 0.0).then(|| sum / notes)
}

/// How far a take lies above running the scale over its chart: the difference of logits, so that charts whose scales
/// hold more or fewer chord tones can stand beside each other. Half a note is added on either side, for shares of 0 and 1.
pub(super) fn lift(digest: &Digest) -> Option<f64> {
    let baseline = digest.running_the_scale.filter(|share| *share > 0.0 && *share < 1.0)?;
    let (n, of) = (digest.chord.n, digest.counted);
    (of > 0.0).then(|| ((n + 0.5) / (of - n + 0.5)).ln() - (baseline / (1.0 - baseline)).ln())
}
