//! The journal in the index: read on from where it was read to, or from the start where its file is another.

use rusqlite::{Connection, OptionalExtension, ToSql, Transaction, TransactionBehavior, params};

use super::mark;
use super::trouble::Fault;
use crate::store::journal::{Journal, JournalError, Oddity, OddityKind, Reach, ReadBack, Record};

/// The kinds of lines that do not read, which no entry has.
const DAMAGED: &str = "?damaged";
const NEWER: &str = "?newer";

/// The columns that are marked, and their mark.
const COLUMNS: &str = "line, kind, take, subject, text, mark";

/// Which entries are asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum About<'a> {
    /// All of them.
    Everything,
    /// Those of a kind, by its word.
    Kind(&'a str),
    /// Those of a kind about one subject (an item of a drill, the fingerprint of a chart).
    Subject(&'a str, &'a str),
    /// The last of each subject of a kind: the latest answer to each item of the drills.
    LastOfEach(&'a str),
    /// Those about a take.
    Take(u32),
}

/// Why the journal could not be taken in.
#[derive(Debug, thiserror::Error)]
pub(super) enum NotTakenIn {
    #[error(transparent)]
    Index(#[from] Fault),
    #[error(transparent)]
    Journal(#[from] JournalError),
}

impl From<rusqlite::Error> for NotTakenIn {
    fn from(error: rusqlite::Error) -> Self {
        Self::Index(error.into())
    }
}

/// Checks every row.
pub(super) fn check(connection: &Connection) -> Result<(), Fault> {
    mark::check_all(connection, COLUMNS, "journal")
}

/// Takes in what the journal has beyond what the index knows; gives the line that was cut off, if its last one was.
pub(super) fn take_in(connection: &mut Connection, journal: &Journal) -> Result<Option<Oddity>, NotTakenIn> {
    let from = known(connection, journal)?;
    let read = journal.read_on(from.unwrap_or_default())?;
    let torn = read.oddities.iter().find(|oddity| oddity.kind == OddityKind::Torn).cloned();
    if from == Some(read.reach) {
        return Ok(torn);
    }
    let tail = journal.tail(read.reach)?.unwrap_or_default();
    let writing = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    if from.is_none() {
        writing.execute_batch("DELETE FROM journal")?;
    }
    write(&writing, &read, &tail)?;
    writing.commit()?;
    Ok(torn)
}

/// How far the journal was read, if it is still the one that was read.
fn known(connection: &Connection, journal: &Journal) -> Result<Option<Reach>, NotTakenIn> {
    let said = connection
        .query_row("SELECT bytes, lines, rows_read, tail FROM reach", [], |row| {
            Ok((
                row.get::<_, i64>(0)?,
                row.get::<_, i64>(1)?,
                row.get::<_, i64>(2)?,
                row.get::<_, String>(3)?,
            ))
        })
        .optional()?;
    let Some((bytes, lines, rows_read, tail)) = said else { return Ok(None) };
    let rows: i64 = connection.query_row("SELECT count(*) FROM journal", [], |row| row.get(0))?;
    let reach = Reach { bytes: bytes.cast_unsigned(), lines: lines.cast_unsigned() };
    Ok((rows == rows_read && journal.tail(reach)?.as_ref() == Some(&tail)).then_some(reach))
}

fn write(writing: &Transaction<'_>, read: &ReadBack, tail: &str) -> Result<(), Fault> {
    let sql = format!("INSERT OR REPLACE INTO journal ({COLUMNS}) VALUES (?, ?, ?, ?, ?, ?)");
    let mut insert = writing.prepare(&sql)?;
    let mut insert = |line: u64, kind: &str, take: Option<u32>, subject: Option<&str>, text: &str| {
        let line = line.cast_signed();
        let mark = mark::of(&[&line, &kind, &take, &subject, &text])?;
        insert.execute(params![line, kind, take, subject, text, mark])?;
        Ok::<(), Fault>(())
    };
    for (line, record) in &read.records {
        let entry = &record.entry;
        insert(*line, entry.kind(), entry.take(), entry.subject(), record.line().trim_end())?;
    }
    for oddity in &read.oddities {
        match &oddity.kind {
            OddityKind::Damaged(fault) => insert(oddity.line, DAMAGED, None, None, fault)?,
            OddityKind::Newer => insert(oddity.line, NEWER, None, None, "")?,
            // It is read again each time, until the next entry ends it.
            OddityKind::Torn => {}
        }
    }
    writing.execute_batch("DELETE FROM reach")?;
    writing.execute(
        "INSERT INTO reach SELECT ?1, ?2, count(*), ?3 FROM journal",
        params![read.reach.bytes.cast_signed(), read.reach.lines.cast_signed(), tail],
    )?;
    Ok(())
}

/// The entries that are asked for, in the order they were made.
pub(super) fn records(connection: &Connection, about: About<'_>) -> Result<Vec<Record>, Fault> {
    let (filter, asked): (&str, Vec<&dyn ToSql>) = match &about {
        About::Everything => ("kind NOT IN (?1, ?2)", vec![&DAMAGED, &NEWER]),
        About::Kind(kind) => ("kind = ?1", vec![kind]),
        About::Subject(kind, subject) => ("kind = ?1 AND subject = ?2", vec![kind, subject]),
        About::LastOfEach(kind) => {
            ("line IN (SELECT max(line) FROM journal WHERE kind = ?1 GROUP BY subject)", vec![kind])
        }
        About::Take(take) => ("take = ?1", vec![take]),
    };
    let sql = format!("SELECT {COLUMNS} FROM journal WHERE {filter} ORDER BY line");
    let mut query = connection.prepare_cached(&sql)?;
    let mut rows = query.query(&asked[..])?;
    let mut records = Vec::new();
    while let Some(row) = rows.next()? {
        mark::check(row, 5, "journal")?;
        let text: String = row.get(4)?;
        records.push(serde_json::from_str(&text).map_err(|_| Fault::Row("journal"))?);
    }
    Ok(records)
}

/// The lines that do not read.
pub(super) fn oddities(connection: &Connection, journal: &Journal) -> Result<Vec<Oddity>, Fault> {
    let sql = format!("SELECT {COLUMNS} FROM journal WHERE kind IN (?1, ?2) ORDER BY line");
    let mut query = connection.prepare_cached(&sql)?;
    let mut rows = query.query([DAMAGED, NEWER])?;
    let mut oddities = Vec::new();
    while let Some(row) = rows.next()? {
        mark::check(row, 5, "journal")?;
        let (kind, fault): (String, String) = (row.get(1)?, row.get(4)?);
        let kind = if kind == NEWER { OddityKind::Newer } else { OddityKind::Damaged(fault) };
        let line = row.get::<_, i64>(0)?.cast_unsigned();
        oddities.push(Oddity { path: journal.path().to_owned(), line, kind });
    }
    Ok(oddities)
}
