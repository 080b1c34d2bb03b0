//! Progress as rows: a week, a kind of chord, a key or a position each.
//!
//! Every figure comes from the [`ProgressDocument`].

use crate::report::number::percent;
use crate::report::progress::picture::{day_words, difference};
use crate::report::progress::words::{points_between, spread, title};
use crate::report::progress::{ChartRecord, GroupRecord, LandingsOverTakes, ProgressDocument};
use crate::report::review::ShareRecord;
use crate::report::table::{Column, Row, Table};
use crate::report::takes::short_title;
use crate::tally::verdict::Measure;

/// What the rows are of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum By {
    /// Weeks.
    Week,
    /// Kinds of chord.
    Chord,
    /// Keys that chords are heard in.
    Key,
    /// Positions of the neck.
    Position,
}

impl By {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Week => "week",
            Self::Chord => "chord",
            Self::Key => "key",
            Self::Position => "position",
        }
    }
}

/// How many columns rows have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Columns {
    /// All: a pipe gets the same ones whatever is asked.
    Full,
    /// Fewer: without what a heading says, or what a narrow terminal has no room for.
    Short,
}

/// The charts, one a row: the last week, what it is held against, and whether anything changed.
pub fn charts(document: &ProgressDocument, columns: Columns) -> Table {
    let is_full = columns == Columns::Full;
    let key = is_full.then(|| Column::words("key"));
    let numbers = ["scale", "takes"].map(Column::numbers);
    let headings = [Column::words("chart")].into_iter().chain(key).chain([Column::words("last week")]);
    let change = if is_full { "last weeks against those before" } else { "last weeks, those before" };
    let last = ["last", change].map(Column::words);
    let mut table = Table::new(headings.chain(numbers).chain(last));
    for chart in &document.charts {
        let title = title(chart);
        let key = is_full.then(|| chart.keys.first().cloned().unwrap_or_else(|| "-".to_owned()));
        let none = || "-".to_owned();
        let cells = [if is_full { title } else { short_title(&title) }].into_iter().chain(key).chain([
            chart.weeks.last().map_or_else(none, |week| spread(&week.chord)),
            chart.running_the_scale.map_or_else(none, |share| percent(share).to_string()),
            (chart.played.takes + chart.played.loops).to_string(),
            if is_full { chart.played.last.clone() } else { day_words(&chart.played.last, false) },
            chart_change(chart, columns).unwrap_or_else(none),
        ]);
        table.push(Row::new(cells.map(Into::into)));
    }
    table
}

/// `+6 points (+2 to +10)  change`; where there is no room for the word, an unclear change is told by its interval.
fn chart_change(chart: &ChartRecord, columns: Columns) -> Option<String> {
    let change = chart.changes.iter().find(|change| change.measure == Measure::Chord.word())?;
    let words = points_between(change.difference, change.low, change.high);
    Some(match (columns, words.split_once(" points ")) {
        (Columns::Short, Some((_, interval))) if !change.is_change() => {
            format!("{interval} {}", change.finding)
        }
        (Columns::Short, Some((points, interval))) => format!("{points} {interval} {}", change.finding),
        _ => format!("{words}  {}", change.finding),
    })
}

/// Headings of words, and of numbers, in order; those of [`Columns::Full`] alone are told apart.
const HEADINGS: [(Column, Columns); 11] = [
    (Column::words("by"), Columns::Short),
    (Column::words("chart"), Columns::Full),
    (Column::words("name"), Columns::Short),
    (Column::numbers("takes"), Columns::Short),
    (Column::numbers("notes"), Columns::Short),
    (Column::words("chord share"), Columns::Short),
    (Column::words("open"), Columns::Short),
    (Column::words("landings"), Columns::Short),
    (Column::words("all notes"), Columns::Short),
    (Column::words("last"), Columns::Short),
    (Column::words("counted"), Columns::Full),
];

/// What a row says, in the order of the headings; empty where it says nothing.
type Cells = [String; HEADINGS.len()];

/// Rows under way.
struct Rows {
    table: Table,
    columns: Columns,
}

/// The rows asked for, each with a word for what it is of.
pub fn rows(document: &ProgressDocument, by: &[By], columns: Columns) -> Table {
    let headings = HEADINGS.iter().filter(|(_, least)| columns == Columns::Full || *least == columns);
    let table = Table::new(headings.map(|&(column, _)| column));
    let mut rows = Rows { table, columns };
    let one = document.charts.first().filter(|_| document.charts.len() == 1);
    let name = one.map_or_else(String::new, title);
    for &by in by {
        match by {
            By::Week => document.charts.iter().for_each(|chart| rows.weeks(chart)),
            By::Chord => rows.groups(by, &name, one.map_or(&document.kinds, |chart| &chart.kinds)),
            By::Key => rows.groups(by, &name, one.map_or(&document.keys, |chart| &chart.regions)),
            By::Position => rows.positions(document),
        }
    }
    rows.table
}

impl Rows {
    fn push(&mut self, cells: Cells, note: Option<String>) {
        let kept = cells.into_iter().zip(&HEADINGS);
        let kept = kept.filter(|(_, (_, least))| self.columns == Columns::Full || *least == self.columns);
        let row = Row::new(kept.map(|(cell, _)| cell.into()));
        self.table.push(match note {
            Some(note) => row.with_note(note),
            None => row,
        });
    }

    fn weeks(&mut self, chart: &ChartRecord) {
        let mut before = None;
        for week in &chart.weeks {
            let old = before.replace(week.counted_as).and_then(|way: usize| chart.counted.get(way));
            let new = chart.counted.get(week.counted_as);
            let broken = old.zip(new).filter(|(old, new)| old != new).map(|(old, new)| difference(old, new));
            let [chord, open, landings, all] = shares(&week.chord, &week.open, &week.landings);
            let (takes, counted) = (week.takes.to_string(), week.counted.to_string());
            let way = new.map_or_else(String::new, |way| format!("{}, rules {}", way.counting, way.rules));
            let (by, monday) = (By::Week.word().to_owned(), week.monday.clone());
            let last = String::new();
            self.push(
                [by, title(chart), monday, takes, counted, chord, open, landings, all, last, way],
                broken,
            );
        }
    }

    fn groups(&mut self, by: By, chart: &str, groups: &[GroupRecord]) {
        for group in groups {
            let [chord, open, landings, all] = shares(&group.chord, &group.open, &group.landings);
            let (takes, counted) = (group.takes.to_string(), group.counted.to_string());
            let (by, chart, name) = (by.word().to_owned(), chart.to_owned(), group.name.clone());
            let none = String::new;
            self.push([by, chart, name, takes, counted, chord, open, landings, all, none(), none()], None);
        }
    }

    /// Positions are those of every chart.
    fn positions(&mut self, document: &ProgressDocument) {
        for position in &document.positions.heard {
            let (by, takes) = (By::Position.word().to_owned(), position.takes.to_string());
            let name = format!("from {} in {}", position.start, position.key);
            let (none, last) = (String::new, position.last.clone());
            let cells = [by, none(), name, takes, none(), none(), none(), none(), none(), last, none()];
            self.push(cells, None);
        }
    }
}

fn shares(chord: &ShareRecord, open: &ShareRecord, landings: &LandingsOverTakes) -> [String; 4] {
    let landed = format!("{} of {}", landings.n, landings.of);
    let baseline = landings.baseline.map_or_else(String::new, |all| format!("{} %", percent(all)));
    [spread(chord), spread(open), landed, baseline]
}
