//! What home puts at its top: the assignment, what was suggested after the last take, and on a first run the demo.

use std::fs;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::charts::Listed;
use super::{Opens, ToStart};
use crate::command::load;
use crate::command::values::ChartSource;
use crate::harmony::Overrides;
use crate::judge::digested::form_fingerprint;
use crate::judge::{Choices, ChordSource, Question, judge};
use crate::practice::Assignment;
use crate::practice::assignment::TempoBand;
use crate::practice::days::{ago, still_waits};
use crate::report::home::ToPlay;
use crate::report::review::{Detail, NextRecord};
use crate::store::index::ListedTake;
use crate::theory::Written;

/// What there is to play, each with what opens it.
pub(super) fn all(
    assignment: Option<&Assignment>,
    (takes, charts): (&[ListedTake], &[Listed]),
    choices: &Choices,
    today: Date,
) -> Vec<(ToPlay, Opens)> {
    if takes.is_empty() && assignment.is_none() {
        let demo = ToPlay {
            what: "the demo: an invented line".to_owned(),
            last: "-".to_owned(),
            why: "no instrument needed".to_owned(),
            chart: None,
        };
        return vec![(demo, Opens::Demo)];
    }
    let asked = assignment.and_then(|assignment| asked(assignment, charts, choices, today));
    asked.into_iter().chain(left(takes, charts, choices, today)).collect()
}

/// The row of the assignment; `None` where it asks for no chart by itself.
fn asked(
    assignment: &Assignment,
    charts: &[Listed],
    choices: &Choices,
    today: Date,
) -> Option<(ToPlay, Opens)> {
    let text = assignment.task.chart.clone()?;
    let title = assignment.words.title.clone();
    let name = title.clone().unwrap_or_else(|| "the assignment".to_owned());
    let source = ChartSource::Carried { name, text };
    let chart = load::chart(&source, choices.bare).ok()?.chart;
    let form = form_fingerprint(&ChordSource::of_chart(&chart, &Overrides::default()));
    let at = charts.iter().position(|listed| listed.form_sha256 == form);
    let own = at.map(|at| &charts[at]);
    let due = assignment.words.due.map(|due| format!(", due {}", due.strftime("%a %-d %b")));
    let tempo = assignment.task.tempo.filter(|band| !band.has(chart.header().tempo.get()));
    let row = ToPlay {
        what: chart.title().to_owned(),
        last: own.and_then(|own| own.last_at).map_or_else(|| "-".to_owned(), |at| ago(day(at), today)),
        why: format!("assignment{}", due.unwrap_or_default()),
        chart: at,
    };
    let start = ToStart {
        tempo: tempo.map(TempoBand::low),
        choruses: assignment.task.choruses,
        bars: assignment.task.bars.map(|(first, last)| format!("{first}-{last}")),
        ..ToStart::of(source)
    };
    Some((row, Opens::Play(start)))
}

fn day(at: Timestamp) -> Date {
    at.to_zoned_datetime(TimeZone::system()).date()
}

/// What was suggested after the last take of a whole form and not played since; it waits to the end of the next day.
fn left(takes: &[ListedTake], charts: &[Listed], choices: &Choices, today: Date) -> Vec<(ToPlay, Opens)> {
    let whole = |take: &&ListedTake| {
        take.bars.is_none() && take.counted > 0.0 && still_waits(day(take.kept_at), today)
    };
    let Some(take) = takes.iter().rev().find(whole) else { return Vec::new() };
    let Some(at) = charts.iter().position(|listed| listed.row.title == take.title) else { return Vec::new() };
    // A take that can no longer be read suggests nothing; `takes` says what is wrong with it.
    let Ok(bytes) = fs::read(&take.path) else { return Vec::new() };
    let suggested = |choices: &Choices| {
        let question = Question { choices, chart: None, track: None, detail: Detail::Totals, bands: None };
        judge(&bytes, None, question).map_or_else(|_| Vec::new(), |answer| answer.review.next)
    };
    // What a row opens sounds, what stands in it is read.
    let sounding = suggested(&choices.clone().written_for(Written::C));
    let read = suggested(choices);
    let since: Vec<&ListedTake> = takes.iter().filter(|later| later.number > take.number).collect();
    let is_left = |next: &&NextRecord| match next.bars {
        Some([first, last]) => !since.iter().any(|later| later.bars == Some((first, last))),
        None => true,
    };
    let row = |(next, read): (&NextRecord, &NextRecord)| {
        let what = ToPlay {
            what: read.what.clone(),
            last: "-".to_owned(),
            why: format!("left from take {}, {}", take.number, take.title),
            chart: Some(at),
        };
        (what, opens(next, charts[at].source.clone()))
    };
    sounding.iter().zip(&read).filter(|(next, _)| is_left(next)).map(row).collect()
}

/// What a suggestion opens.
pub(super) fn opens(next: &NextRecord, source: ChartSource) -> Opens {
    match (next.kind, &next.symbol) {
        ("arpeggio", Some(symbol)) => Opens::Neck(symbol.clone()),
        _ => Opens::Play(ToStart {
            bars: next.bars.map(|[first, last]| format!("{first}-{last}")),
            tempo: next.tempo.map(|tempo| tempo.0),
            choruses: next.times.and_then(|times| u32::try_from(times).ok()),
            ..ToStart::of(source)
        }),
    }
}
