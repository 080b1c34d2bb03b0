//! The takes in the index, as they are written: what their files say, and one tally for each way of judging.

use std::collections::BTreeMap;

use rusqlite::{Connection, ToSql, Transaction, TransactionBehavior, params};

use super::files::Known;
use super::mark;
use super::reading::{Judging, Taken};
use super::trouble::Fault;
use crate::practice::digest::VERSION as DIGEST;
use crate::tally::RULES;

/// Checks every row.
pub(super) fn check(connection: &Connection) -> Result<(), Fault> {
    mark::check_all(connection, "text, mark", "settings")?;
    mark::check_all(connection, &format!("{TAKE_COLUMNS}, mark"), "takes")?;
    mark::check_all(connection, &format!("{TALLY_COLUMNS}, mark"), "tallies")?;
    mark::check_all(connection, "text, mark", "digests")
}

/// What is known of each take's file.
pub(super) fn known(connection: &Connection) -> Result<BTreeMap<u32, Known>, Fault> {
    let sql = format!("SELECT {TAKE_COLUMNS}, mark FROM takes ORDER BY number");
    let mut query = connection.prepare_cached(&sql)?;
    let mut rows = query.query([])?;
    let mut known = BTreeMap::new();
    while let Some(row) = rows.next()? {
        mark::check(row, 10, "takes")?;
        known.insert(row.get(0)?, Known { file: row.get(1)?, size: row.get(2)?, modified: row.get(3)? });
    }
    Ok(known)
}

/// The columns of a take that are marked, in their order.
const TAKE_COLUMNS: &str = "number, file, size, modified, sha256, kept_at, settings, stopped, head, trade";

/// Says which tally of each take is wanted: that by the settings of its day and the choices of this run.
pub(super) fn want(connection: &Connection, judging: Judging<'_>) -> Result<(), Fault> {
    connection.execute_batch(
        "CREATE TEMP TABLE IF NOT EXISTS wanted (id INTEGER PRIMARY KEY, print TEXT NOT NULL); DELETE FROM temp.wanted;
         CREATE TEMP TABLE IF NOT EXISTS kept (title TEXT PRIMARY KEY, print TEXT NOT NULL); DELETE FROM temp.kept",
    )?;
    let mut all = connection.prepare_cached("SELECT text, mark, id FROM settings")?;
    let mut insert = connection.prepare_cached("INSERT INTO temp.wanted VALUES (?, ?)")?;
    let mut rows = all.query([])?;
    while let Some(row) = rows.next()? {
        mark::check(row, 1, "settings")?;
        let text: String = row.get(0)?;
        insert.execute(params![row.get::<_, i64>(2)?, judging.print_of(&text)])?;
    }
    let mut insert = connection.prepare_cached("INSERT INTO temp.kept VALUES (?, ?)")?;
    for (title, print) in judging.kept_prints() {
        insert.execute(params![title, print])?;
    }
    Ok(())
}

/// That a tally `tallies` is the wanted one of its take, whose print is `print`.
pub(super) const IS_WANTED: &str = "tallies.settings = print || coalesce((SELECT kept.print FROM temp.kept WHERE kept.title = tallies.title), '')";

/// The numbers of takes without the tally that is wanted, in order.
pub(super) fn untallied(connection: &Connection) -> Result<Vec<u32>, Fault> {
    let mut query = connection.prepare_cached(&format!(
        "SELECT number FROM takes LEFT JOIN temp.wanted ON id = takes.settings
         WHERE print IS NULL OR NOT EXISTS (
            SELECT 1 FROM tallies WHERE take = number AND rules = ?1 AND digests = ?2 AND {IS_WANTED})
         ORDER BY number"
    ))?;
    let numbers = query.query_map([RULES, DIGEST], |row| row.get(0))?;
    Ok(numbers.collect::<Result<_, _>>()?)
}

/// Writes down takes that were read, and that others are gone, in one piece.
pub(super) fn write(connection: &mut Connection, taken: &[Taken], gone: &[u32]) -> Result<(), Fault> {
    let writing = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    for number in gone {
        writing.execute("DELETE FROM takes WHERE number = ?", [number])?;
    }
    for take in taken {
        write_one(&writing, take)?;
    }
    Ok(writing.commit()?)
}

fn write_one(writing: &Transaction<'_>, taken: &Taken) -> Result<(), Fault> {
    let mut insert = writing.prepare_cached("INSERT OR IGNORE INTO settings (text, mark) VALUES (?, ?)")?;
    insert.execute(params![taken.settings, mark::of(&[&taken.settings])?])?;
    let mut settings = writing.prepare_cached("SELECT id FROM settings WHERE text = ?")?;
    let settings: i64 = settings.query_row([&taken.settings], |row| row.get(0))?;
    let number = taken.seen.number;
    // Tallies of what the file held before are of no use; those by other rules or settings stay.
    let mut stale = writing.prepare_cached(
        "DELETE FROM tallies WHERE take = ?1 AND EXISTS (SELECT 1 FROM takes WHERE number = ?1 AND sha256 <> ?2)",
    )?;
    stale.execute(params![number, taken.sha256])?;
    let (file, kept_at) = (taken.seen.file(), taken.kept_at.to_string());
    let columns: [&dyn ToSql; 10] = [
        &number,
        &file,
        &taken.seen.size,
        &taken.seen.modified,
        &taken.sha256,
        &kept_at,
        &settings,
        &taken.stopped,
        &taken.head,
        &taken.trade,
    ];
    let mark = mark::of(&columns)?;
    let sql = format!(
        "INSERT INTO takes ({TAKE_COLUMNS}, mark) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
         ON CONFLICT (number) DO UPDATE SET file = excluded.file, size = excluded.size, modified = excluded.modified,
            sha256 = excluded.sha256, kept_at = excluded.kept_at, settings = excluded.settings,
            stopped = excluded.stopped, head = excluded.head, trade = excluded.trade, mark = excluded.mark"
    );
    let rest: [&dyn ToSql; 1] = [&mark];
    writing.prepare_cached(&sql)?.execute(&[&columns[..], &rest].concat()[..])?;
    write_tally(writing, taken)
}

/// The columns of a tally that are marked, in their order.
pub(super) const TALLY_COLUMNS: &str = "take, rules, digests, settings, day, title, title_lower, chart_sha256, form_sha256, \
    chart_key, tempo, feel, first_bar, last_bar, choruses, seconds, line_s, counted, chord, chord_effect, keys, band, fault";

/// How many they are.
pub(super) const TALLY_WIDTH: usize = 23;

fn write_tally(writing: &Transaction<'_>, taken: &Taken) -> Result<(), Fault> {
    let digest = taken.found.as_ref().ok().map(|found| &found.digest);
    let line_s = taken.found.as_ref().ok().map(|found| found.line_s);
    let bars = digest.and_then(|digest| digest.bars);
    let text = digest.map(serde_json::to_string).transpose().map_err(|_| Fault::Row("digests"))?;
    let found = taken.found.as_ref().ok();
    let keys = found.and_then(|found| found.keys.as_ref()).map(|keys| serde_json::json!(keys).to_string());
    let band = found.and_then(|found| found.band.as_ref()).map(|band| serde_json::json!(band).to_string());
    let columns: [&dyn ToSql; TALLY_WIDTH] = [
        &taken.seen.number,
        &RULES,
        &DIGEST,
        &taken.print,
        &digest.map(|digest| digest.day.to_string()),
        &digest.map(|digest| &digest.title),
        &digest.map(|digest| digest.title.to_lowercase()),
        &digest.map(|digest| &digest.chart_sha256),
        &digest.map(|digest| &digest.form_sha256),
        &digest.and_then(|digest| digest.key.as_ref()),
        &digest.map(|digest| digest.tempo),
        &digest.and_then(|digest| digest.feel.as_ref()),
        &bars.map(|bars| bars.0 as i64),
        &bars.map(|bars| bars.1 as i64),
        &digest.map(|digest| digest.choruses),
        &digest.map(|digest| digest.seconds),
        &line_s,
        &digest.map(|digest| digest.counted),
        &digest.map(|digest| digest.chord.n),
        &digest.map(|digest| digest.chord.effect),
        &keys,
        &band,
        &taken.found.as_ref().err(),
    ];
    let mark = mark::of(&columns)?;
    let places = ["?"; TALLY_WIDTH + 1].join(", ");
    let sql = format!("INSERT OR REPLACE INTO tallies ({TALLY_COLUMNS}, mark) VALUES ({places})");
    let rest: [&dyn ToSql; 1] = [&mark];
    let tally = writing.prepare_cached(&sql)?.insert(&[&columns[..], &rest].concat()[..])?;
    if let Some(text) = text {
        let mut insert =
            writing.prepare_cached("INSERT OR REPLACE INTO digests (tally, text, mark) VALUES (?, ?, ?)")?;
        insert.execute(params![tally, text, mark::of(&[&text])?])?;
    }
    Ok(())
}
