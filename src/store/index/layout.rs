//! The layout of the index: numbered steps that are only added, each made in one piece, with a copy kept before it.

use std::path::{Path, PathBuf};

use rusqlite::{Connection, TransactionBehavior};

use super::trouble::Fault;

/// The steps, from an empty database on. A step that was published is never changed.
pub(super) const STEPS: &[&str] = &[include_str!("layout/1-takes-tallies-journal.sql")];

/// The number of the layout that this program makes and knows.
pub(super) fn current() -> i64 {
    STEPS.len() as i64
}

/// The number of the layout of a database; 0 for an empty one.
pub(super) fn layout_of(connection: &Connection) -> Result<i64, Fault> {
    Ok(connection.pragma_query_value(None, "user_version", |row| row.get(0))?)
}

/// Brings a database to the layout that `steps` end in. `path` is its file, if it has one: a copy of it is kept beside
/// it before each step but the first.
pub(super) fn bring_up(
    connection: &mut Connection,
    path: Option<&Path>,
    steps: &[&str],
) -> Result<(), Fault> {
    let newest = steps.len() as i64;
    loop {
        let layout = layout_of(connection)?;
        if layout == newest {
            return Ok(());
        }
        let Some(step) = usize::try_from(layout).ok().and_then(|layout| steps.get(layout)) else {
            return Err(Fault::Newer(layout));
        };
        if let Some(path) = path.filter(|_| layout > 0) {
            let copied = connection.backup("main", copy_of(path, layout), None::<fn(_)>);
            copied.map_err(|error| Fault::NoCopy(Fault::from(error).in_words()))?;
        }
        let step_made = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        // Another program may have made this step while this one waited for its turn.
        if layout_of(&step_made)? == layout {
            step_made.execute_batch(step)?;
            step_made.pragma_update(None, "user_version", layout + 1)?;
            step_made.commit()?;
        }
    }
}

/// The name of the copy that is kept of a layout.
pub(super) fn copy_of(path: &Path, layout: i64) -> PathBuf {
    path.with_file_name(format!("index-layout-{layout}.sqlite"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tables(connection: &Connection) -> Vec<String> {
        let mut all = connection
            .prepare("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name")
            .expect("a query");
        let names = all.query_map([], |row| row.get(0)).expect("rows");
        names.collect::<Result<_, _>>().expect("names")
    }

    #[test]
    fn an_empty_database_gets_every_step_and_a_second_time_none() {
        let mut connection = Connection::open_in_memory().expect("memory");
        for _ in 0..2 {
            bring_up(&mut connection, None, STEPS).expect("brought up");
            assert_eq!(layout_of(&connection).expect("a layout"), current());
        }
        assert_eq!(tables(&connection), ["digests", "journal", "reach", "settings", "takes", "tallies"]);
    }

    #[test]
    fn a_copy_is_kept_before_a_step_is_made() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("index.sqlite");
        let mut connection = Connection::open(&path).expect("a database");
        bring_up(&mut connection, Some(&path), &["CREATE TABLE a (x)"]).expect("brought up");
        assert!(!copy_of(&path, 0).exists(), "there was nothing to copy");
        connection.execute("INSERT INTO a VALUES (7)", []).expect("a row");
        let steps = ["CREATE TABLE a (x)", "DROP TABLE a; CREATE TABLE b (y)", "CREATE TABLE c (z)"];
        bring_up(&mut connection, Some(&path), &steps).expect("brought up");
        assert_eq!(tables(&connection), ["b", "c"]);
        let copy = Connection::open(copy_of(&path, 1)).expect("the copy");
        assert_eq!((layout_of(&copy).expect("a layout"), tables(&copy)), (1, vec!["a".to_owned()]));
        let kept: i64 = copy.query_row("SELECT x FROM a", [], |row| row.get(0)).expect("the row");
        assert_eq!(kept, 7);
        assert!(copy_of(&path, 2).exists());
    }

    #[test]
    fn a_step_that_fails_leaves_the_database_as_it_was() {
        let mut connection = Connection::open_in_memory().expect("memory");
        bring_up(&mut connection, None, &["CREATE TABLE a (x)"]).expect("brought up");
        let steps = ["CREATE TABLE a (x)", "CREATE TABLE b (y); CREATE TABLE a (x)"];
        assert!(bring_up(&mut connection, None, &steps).is_err());
        assert_eq!(
            (layout_of(&connection).expect("a layout"), tables(&connection)),
            (1, vec!["a".to_owned()])
        );
    }

    #[test]
    fn a_newer_layout_is_left_alone() {
        let mut connection = Connection::open_in_memory().expect("memory");
        connection.pragma_update(None, "user_version", 9).expect("set");
        assert!(matches!(bring_up(&mut connection, None, STEPS), Err(Fault::Newer(9))));
        assert_eq!(tables(&connection), Vec::<String>::new());
    }
}
