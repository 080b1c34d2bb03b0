//! A fingerprint that each row carries, so that a row that was damaged is known from one that was written.

use rusqlite::types::{ToSqlOutput, Value, ValueRef};
use rusqlite::{Connection, Row, ToSql};
use sha2::{Digest, Sha256};

use super::trouble::Fault;

/// The fingerprint of the columns of a row in their order.
pub(super) fn of(columns: &[&dyn ToSql]) -> Result<i64, Fault> {
    let mut digest = Sha256::new();
    for column in columns {
        match column.to_sql()? {
            ToSqlOutput::Borrowed(value) => add(&mut digest, value),
            ToSqlOutput::Owned(value) => add(&mut digest, ValueRef::from(&value)),
            _ => add(&mut digest, ValueRef::from(&Value::Null)),
        }
    }
    Ok(first(digest))
}

/// Checks the first `columns` of a row of `table` against the fingerprint that follows them.
pub(super) fn check(row: &Row<'_>, columns: usize, table: &'static str) -> Result<(), Fault> {
    let mut digest = Sha256::new();
    for column in 0..columns {
        add(&mut digest, row.get_ref(column)?);
    }
    let marked: i64 = row.get(columns)?;
    if marked == first(digest) { Ok(()) } else { Err(Fault::Row(table)) }
}

/// Checks every row of `table`, of which `columns` are followed by their fingerprint.
pub(super) fn check_all(connection: &Connection, columns: &str, table: &'static str) -> Result<(), Fault> {
    let mut query = connection.prepare(&format!("SELECT {columns} FROM {table}"))?;
    let marked = query.column_count() - 1;
    let mut rows = query.query([])?;
    while let Some(row) = rows.next()? {
        check(row, marked, table)?;
    }
    Ok(())
}

fn add(digest: &mut Sha256, value: ValueRef<'_>) {
    match value {
        ValueRef::Null => digest.update([0]),
        ValueRef::Integer(number) => {
            digest.update([1]);
            digest.update(number.to_le_bytes());
        }
        ValueRef::Real(number) => {
            digest.update([2]);
            digest.update(number.to_bits().to_le_bytes());
        }
        ValueRef::Text(bytes) | ValueRef::Blob(bytes) => {
            digest.update([3]);
            digest.update((bytes.len() as u64).to_le_bytes());
            digest.update(bytes);
        }
    }
}

fn first(digest: Sha256) -> i64 {
    let bytes: [u8; 32] = digest.finalize().into();
    let (first, _) = bytes.split_at(8);
    first.iter().fold(0, |number, &byte| number << 8 | i64::from(byte))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_is_known_again_and_a_changed_one_is_not() {
        let connection = Connection::open_in_memory().expect("memory");
        connection.execute_batch("CREATE TABLE t (a, b, c, d, mark)").expect("a table");
        let row: [&dyn ToSql; 4] = [&"one", &2i64, &0.5f64, &None::<i64>];
        let mark = of(&row).expect("a mark");
        connection
            .execute(
                "INSERT INTO t VALUES (?, ?, ?, ?, ?)",
                rusqlite::params!["one", 2, 0.5, None::<i64>, mark],
            )
            .expect("a row");
        let checked = |change: &str| {
            connection.execute_batch(change).expect("changed");
            let mut query = connection.prepare("SELECT * FROM t").expect("a query");
            let mut rows = query.query([]).expect("rows");
            check(rows.next().expect("read").expect("a row"), 4, "t").is_ok()
        };
        assert!(checked(""));
        for change in ["a = 'onf'", "b = 3", "c = 0.25", "d = 0", "mark = mark + 1"] {
            assert!(!checked(&format!("SAVEPOINT s; UPDATE t SET {change}")), "{change}");
            connection.execute_batch("ROLLBACK TO s; RELEASE s").expect("as it was");
        }
        assert!(checked(""));
    }
}
