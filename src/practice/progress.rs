//! Progress over weeks: what may be compared is put side by side, and "change" is said only where it is one.
//!
//! Pure: it looks at digests of takes and at the day it is told, and reads nothing. A take is compared with takes of the
//! same form, whole, at a tempo within a tenth of the last one's, counted in the same way; what is left aside is told.

mod alike;
mod coverage;
mod group;
mod ladder;
mod over_time;
mod touch;
mod week;

use jiff::civil::Date;

use super::Digest;
use crate::tally::verdict::Bands;

pub use alike::{SetAside, Way};
pub use coverage::{Coverage, PositionHeard};
pub use group::GroupRow;
pub use ladder::{Ladder, Rung};
pub use over_time::{Change, LiftTrend, MeasureTrend, days_since};
pub use touch::Touch;
pub use week::{Week, monday};

/// What is asked about the weeks.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// The day it is asked on.
    pub today: Date,
    /// The first day looked at; all days where none is named.
    pub since: Option<Date>,
    /// The one chart asked about, by the fingerprint of its form; all charts where none is named.
    pub form: Option<&'a str>,
    /// What makes a take "met", for the ladder of tempi.
    pub bands: Option<&'a Bands>,
}

/// What became of the takes.
#[derive(Clone, Debug, PartialEq)]
pub struct Progress {
    /// The day it was asked on.
    pub today: Date,
    /// The first day looked at.
    pub since: Option<Date>,
    /// Each chart by itself, the one played last first.
    pub charts: Vec<ChartProgress>,
    /// By kind of chord, over all these charts.
    pub kinds: Vec<GroupRow>,
    /// By the key chords are heard in, over all these charts.
    pub keys: Vec<GroupRow>,
    /// Positions of the neck, over every chart there is.
    pub coverage: Coverage,
    /// The trend over all these charts, each held against its own running of the scale.
    pub lift: Option<LiftTrend>,
}

/// What became of one chart.
#[derive(Clone, Debug, PartialEq)]
pub struct ChartProgress {
    /// Its title at the last take.
    pub title: String,
    /// The fingerprint of its form.
    pub form_sha256: String,
    /// The key signatures it was played in, the last one first.
    pub keys: Vec<String>,
    /// The feel of the last take.
    pub feel: Option<String>,
    /// What was played of it in all.
    pub played: Played,
    /// How the takes that are compared were counted, in the order of time; the last one is in force.
    pub ways: Vec<Way>,
    /// Slowest and fastest tempo of the takes that are compared; `None` without any.
    pub tempi: Option<(f64, f64)>,
    /// Whole takes left aside because their tempo is farther off, by tempo.
    pub other_tempi: Vec<(f64, usize)>,
    /// Takes set aside because they were misread.
    pub set_aside: Vec<SetAside>,
    /// The weeks, in order.
    pub weeks: Vec<Week>,
    /// Chord share of running the scale over the form.
    pub running_the_scale: Option<f64>,
    /// The last weeks against those before, by measure; none where there is one week only.
    pub changes: Vec<Change>,
    /// The trends over days, by measure; none under six days.
    pub trends: Vec<MeasureTrend>,
    /// By kind of chord.
    pub kinds: Vec<GroupRow>,
    /// By the key chords are heard in.
    pub regions: Vec<GroupRow>,
    /// Tempi.
    pub ladder: Ladder,
    /// Register, density and rests; `None` where nothing is counted.
    pub touch: Option<Touch>,
}

/// How much was played, loops and all.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Played {
    /// Takes of the whole form.
    pub whole: usize,
    /// Takes of some bars again and again.
    pub looped: usize,
    /// Seconds of both.
    pub seconds: f64,
    /// Days on which there was one.
    pub days: usize,
    /// Weeks in which there was one.
    pub weeks: usize,
    /// The first day.
    pub first: Date,
    /// The last day.
    pub last: Date,
}

/// Puts digests side by side, in whatever order they come.
pub fn progress(digests: &[Digest], asked: &Asked<'_>) -> Progress {
    let mut digests: Vec<&Digest> =
        digests.iter().filter(|digest| asked.since.is_none_or(|since| digest.day >= since)).collect();
    digests.sort_by_key(|digest| (digest.day, digest.take));
    let coverage = Coverage::of(&digests);
    digests.retain(|digest| asked.form.is_none_or(|form| digest.form_sha256 == form));
    let takes = by_form(&digests);
    let charts: Vec<(ChartProgress, Vec<&Digest>)> =
        takes.iter().filter_map(|takes| chart(takes, asked)).collect();
    let compared: Vec<&Digest> = charts.iter().flat_map(|(_, compared)| compared.iter().copied()).collect();
    Progress {
        today: asked.today,
        since: asked.since,
        kinds: group::rows(&compared, |digest| &digest.kinds),
        keys: group::rows(&compared, |digest| &digest.regions),
        coverage,
        lift: over_time::lift_trend(&compared),
        charts: charts.into_iter().map(|(chart, _)| chart).collect(),
    }
}

/// The takes of each form, the form played last first.
fn by_form<'a>(digests: &[&'a Digest]) -> Vec<Vec<&'a Digest>> {
    let mut forms: Vec<Vec<&Digest>> = Vec::new();
    for &digest in digests.iter().rev() {
        match forms.iter_mut().find(|takes| takes[0].form_sha256 == digest.form_sha256) {
            Some(takes) => takes.push(digest),
            None => forms.push(vec![digest]),
        }
    }
    for takes in &mut forms {
        takes.reverse();
    }
    forms
}

/// What became of one chart, with the takes that are counted as the last one was. `takes` are in the order of time.
fn chart<'a>(takes: &[&'a Digest], asked: &Asked<'_>) -> Option<(ChartProgress, Vec<&'a Digest>)> {
    let last = takes.last()?;
    let found = alike::alike(takes);
    let in_force = found.in_force();
    let tempi = found.compared.iter().map(|digest| digest.tempo);
    let chart = ChartProgress {
        title: last.title.clone(),
        form_sha256: last.form_sha256.clone(),
        keys: keys(takes),
        feel: last.feel.clone(),
        played: played(takes)?,
        tempi: tempi.clone().reduce(f64::min).zip(tempi.reduce(f64::max)),
        weeks: week::weeks(&found.compared, &found.ways),
        running_the_scale: last.running_the_scale,
        changes: over_time::changes(&in_force, asked.today),
        trends: over_time::trends(&in_force),
        kinds: group::rows(&in_force, |digest| &digest.kinds),
        regions: group::rows(&in_force, |digest| &digest.regions),
        ladder: Ladder::of(takes, found.ways.last(), asked.bands),
        touch: Touch::of(&in_force),
        ways: found.ways,
        other_tempi: found.other_tempi,
        set_aside: found.set_aside,
    };
    Some((chart, in_force))
}

/// The key signatures, the last one first.
fn keys(takes: &[&Digest]) -> Vec<String> {
    let mut keys: Vec<String> = Vec::new();
    for key in takes.iter().rev().filter_map(|digest| digest.key.as_ref()) {
        if !keys.contains(key) {
            keys.push(key.clone());
        }
    }
    keys
}

fn played(takes: &[&Digest]) -> Option<Played> {
    let whole = takes.iter().filter(|digest| digest.is_whole()).count();
    let distinct = |of: fn(Date) -> Date| takes.chunk_by(|a, b| of(a.day) == of(b.day)).count();
    Some(Played {
        whole,
        looped: takes.len() - whole,
        seconds: takes.iter().map(|digest| digest.seconds).sum(),
        days: distinct(|day| day),
        weeks: distinct(monday),
        first: takes.first()?.day,
        last: takes.last()?.day,
    })
}

#[cfg(test)]
mod made_up;
#[cfg(test)]
mod tests;
