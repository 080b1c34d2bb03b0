//! Asking for takes by what they are: for a list, for the charts that were played, for what progress looks at.

use std::path::{Path, PathBuf};

use jiff::Timestamp;
use jiff::civil::Date;
use rusqlite::{Connection, Row, ToSql};
use serde::de::DeserializeOwned;

use super::mark;
use super::take_rows::{IS_WANTED, TALLY_COLUMNS, TALLY_WIDTH};
use super::trouble::Fault;
use crate::practice::Digest;
use crate::practice::digest::VERSION as DIGEST;
use crate::report::band::BandRecord;
use crate::tally::RULES;

/// Which takes are asked for; each part that is given narrows it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Filter {
    /// Their charts' titles hold this, in whatever letters.
    pub title: Option<String>,
    /// Their chart has a text of this fingerprint.
    pub chart_sha256: Option<String>,
    /// They were played over this form, in whatever key.
    pub form_sha256: Option<String>,
    /// They were kept on this day or later.
    pub since: Option<Date>,
    /// They were kept on this day or earlier.
    pub until: Option<Date>,
}

/// A take as a list shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct ListedTake {
    /// Its number.
    pub number: u32,
    /// Its file.
    pub path: PathBuf,
    /// When it was kept.
    pub kept_at: Timestamp,
    /// Title of the chart.
    pub title: String,
    /// Key signature.
    pub key: Option<String>,
    /// Quarter notes a minute.
    pub tempo: f64,
    /// First and last bar that were played, where it was not the whole form.
    pub bars: Option<(usize, usize)>,
    /// Times through.
    pub choruses: u32,
    /// Notes counted.
    pub counted: f64,
    /// Chord tones.
    pub chord: f64,
    /// Design effect of their share.
    pub chord_effect: f64,
    /// Seconds from the first note to the end of the last.
    pub line_s: f64,
    /// The key of each chorus, where it was taken through keys.
    pub keys: Option<Vec<String>>,
    /// How the band played, where the take says.
    pub band: Option<BandRecord>,
}

/// A chart that was played, in whatever key.
#[derive(Clone, Debug, PartialEq)]
pub struct ChartPlayed {
    /// The fingerprint of its form, as digests carry it.
    pub form_sha256: String,
    /// The feel of the last take, where it has a chart.
    pub feel: Option<String>,
    /// How many takes there are.
    pub takes: u32,
    /// The last of them.
    pub last: ListedTake,
}

/// The wanted tallies of takes.
const WANTED: &str =
    "FROM tallies JOIN takes t ON t.number = tallies.take JOIN temp.wanted w ON w.id = t.settings
    WHERE tallies.rules = ?1 AND tallies.digests = ?2";

/// Runs a query over the wanted tallies that a filter lets through, a row at a time: `select`, then what narrows them,
/// then `rest`. Only what is asked for stands in the query, so that a form is found without looking at all of them.
fn each_wanted(
    connection: &Connection,
    (select, rest): (&str, &str),
    filter: &Filter,
    mut take: impl FnMut(&Row<'_>) -> Result<(), Fault>,
) -> Result<(), Fault> {
    let title = filter.title.as_ref().map(|title| title.to_lowercase());
    let day = |day: Option<Date>| day.map(|day| day.to_string());
    let narrowing = [
        ("instr(tallies.title_lower, ?) > 0", title),
        ("tallies.chart_sha256 = ?", filter.chart_sha256.clone()),
        ("tallies.form_sha256 = ?", filter.form_sha256.clone()),
        ("tallies.day >= ?", day(filter.since)),
        ("tallies.day <= ?", day(filter.until)),
    ];
    let mut sql = format!("{select} {WANTED} AND {IS_WANTED}");
    let mut asked: Vec<&dyn ToSql> = vec![&RULES, &DIGEST];
    for (condition, value) in
        narrowing.iter().filter_map(|(condition, value)| Some((condition, value.as_ref()?)))
    {
        sql.push_str(" AND ");
        sql.push_str(condition);
        asked.push(value);
    }
    let mut query = connection.prepare_cached(&format!("{sql} {rest}"))?;
    let mut rows = query.query(&asked[..])?;
    while let Some(row) = rows.next()? {
        take(row)?;
    }
    Ok(())
}

/// The takes that a filter lets through, by number. Those that cannot be judged are none of them.
pub(super) fn listed(
    connection: &Connection,
    folder: &Path,
    filter: &Filter,
) -> Result<Vec<ListedTake>, Fault> {
    let columns = tally_columns();
    let select = format!("SELECT {columns}, tallies.mark, t.file, t.kept_at");
    let mut takes = Vec::new();
    each_wanted(connection, (&select, "AND tallies.fault IS NULL ORDER BY tallies.take"), filter, |row| {
        takes.push(listed_take(row, folder)?);
        Ok(())
    })?;
    Ok(takes)
}

fn tally_columns() -> String {
    TALLY_COLUMNS.split(", ").map(|column| format!("tallies.{column}")).collect::<Vec<_>>().join(", ")
}

/// The take of a row with all columns of its tally, their mark, its file and when it was kept. Columns are taken by their
/// places in [`TALLY_COLUMNS`]: a name is looked for anew in each row.
fn listed_take(row: &Row<'_>, folder: &Path) -> Result<ListedTake, Fault> {
    mark::check(row, TALLY_WIDTH, "tallies")?;
    let (file, kept_at): (String, String) = (row.get(TALLY_WIDTH + 1)?, row.get(TALLY_WIDTH + 2)?);
    let (first, last): (Option<i64>, Option<i64>) = (row.get(12)?, row.get(13)?);
    Ok(ListedTake {
        number: row.get(0)?,
        path: folder.join(file),
        kept_at: kept_at.parse().map_err(|_| Fault::Row("takes"))?,
        title: row.get(5)?,
        key: row.get(9)?,
        tempo: row.get(10)?,
        bars: first.zip(last).map(|(first, last)| (first as usize, last as usize)),
        choruses: row.get(14)?,
        counted: row.get(17)?,
        chord: row.get(18)?,
        chord_effect: row.get(19)?,
        line_s: row.get(16)?,
        keys: json_in(row, 20)?,
        band: json_in(row, 21)?,
    })
}

/// What stands as JSON in a column, if anything does.
fn json_in<T: DeserializeOwned>(row: &Row<'_>, column: usize) -> Result<Option<T>, Fault> {
    let text: Option<String> = row.get(column)?;
    text.map(|text| serde_json::from_str(&text)).transpose().map_err(|_| Fault::Row("tallies"))
}

/// The charts that were played, each with its last take, the one played last first.
pub(super) fn charts(connection: &Connection, folder: &Path) -> Result<Vec<ChartPlayed>, Fault> {
    // Of a group that is asked for its greatest take SQLite gives the other columns of that take (sqlite.org/quirks.html).
    let columns = tally_columns();
    let select = format!("SELECT {columns}, tallies.mark, t.file, t.kept_at, count(*), max(tallies.take)");
    let rest = "AND tallies.fault IS NULL GROUP BY tallies.form_sha256 ORDER BY max(tallies.take) DESC";
    let mut charts = Vec::new();
    each_wanted(connection, (&select, rest), &Filter::default(), |row| {
        charts.push(ChartPlayed {
            form_sha256: row.get(8)?,
            feel: row.get(11)?,
            takes: row.get(TALLY_WIDTH + 3)?,
            last: listed_take(row, folder)?,
        });
        Ok(())
    })?;
    Ok(charts)
}

/// The digests of the takes that a filter lets through, by number.
pub(super) fn digests(connection: &Connection, filter: &Filter) -> Result<Vec<Digest>, Fault> {
    // A digest stands apart from its tally and is asked for by it.
    let select = "SELECT (SELECT text FROM digests WHERE tally = tallies.id), (SELECT mark FROM digests WHERE tally = tallies.id)";
    let rest = "AND tallies.fault IS NULL ORDER BY tallies.take";
    let mut digests = Vec::new();
    each_wanted(connection, (select, rest), filter, |row| {
        mark::check(row, 1, "digests")?;
        let text = row.get_ref(0)?.as_str().map_err(|_| Fault::Row("digests"))?;
        digests.push(serde_json::from_str(text).map_err(|_| Fault::Row("digests"))?);
        Ok(())
    })?;
    Ok(digests)
}

/// The takes that cannot be judged, with their files and why.
pub(super) fn faults(connection: &Connection, folder: &Path) -> Result<Vec<(u32, String)>, Fault> {
    let (select, rest) =
        ("SELECT tallies.take, t.file, tallies.fault", "AND tallies.fault IS NOT NULL ORDER BY tallies.take");
    let mut faults = Vec::new();
    each_wanted(connection, (select, rest), &Filter::default(), |row| {
        let (file, fault): (String, String) = (row.get(1)?, row.get(2)?);
        faults.push((row.get(0)?, format!("{}: {fault}", folder.join(file).display())));
        Ok(())
    })?;
    Ok(faults)
}
