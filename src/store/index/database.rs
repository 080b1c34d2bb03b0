//! Opening the index: as a file that can be shared, or in memory where no file can be kept.

use std::path::Path;
use std::time::Duration;

use rusqlite::backup::Backup;
use rusqlite::{Connection, OpenFlags};

use super::layout::{self, STEPS};
use super::trouble::Fault;
use super::{journal_rows, take_rows};
use crate::store::probe;

/// How long another program's writing is waited for; a write takes a fraction of a second.
const PATIENCE: Duration = Duration::from_secs(5);

/// Pages that are copied at a time: whatever a file has.
const ALL_PAGES: i32 = -1;

/// Opens the index at `path`, making it or bringing its layout up where that is due.
pub(super) fn open_file(path: &Path) -> Result<Connection, Fault> {
    let mut connection = Connection::open(path)?;
    // First of all, as changing the journal mode may have to wait too.
    connection.busy_timeout(PATIENCE)?;
    let layout = layout::layout_of(&connection)?;
    if layout > layout::current() {
        return Err(Fault::Newer(layout));
    }
    connection.pragma_update(None, "foreign_keys", true)?;
    let mode = if is_on_network(path) { "DELETE" } else { "WAL" };
    connection.pragma_update_and_check(None, "journal_mode", mode, |_| Ok(()))?;
    // In WAL a power cut may cost the last writes, never the whole; they are made again.
    connection.pragma_update(None, "synchronous", "NORMAL")?;
    connection.pragma_update(None, "temp_store", "MEMORY")?;
    layout::bring_up(&mut connection, Some(path), STEPS)?;
    Ok(connection)
}

/// Checks a database to its last row.
pub(super) fn check(connection: &Connection) -> Result<(), Fault> {
    let said: String = connection.pragma_query_value(None, "integrity_check", |row| row.get(0))?;
    if said != "ok" {
        return Err(Fault::Unsound);
    }
    take_rows::check(connection)?;
    journal_rows::check(connection)
}

/// Whether `path` stands where files are shared over a network: there a database in WAL mode would be spoilt, for its
/// programs share memory (sqlite.org/wal.html).
pub(super) fn is_on_network(path: &Path) -> bool {
    path.parent().is_some_and(probe::is_network)
}

/// An index in memory, with what the file at `path` holds if it can be read and has this program's layout.
pub(super) fn open_memory(path: Option<&Path>) -> Result<Connection, Fault> {
    let copied = path.and_then(|path| copy_of_file(path, false).or_else(|_| copy_of_file(path, true)).ok());
    let mut connection = match copied {
        Some(copy) => copy,
        None => Connection::open_in_memory()?,
    };
    layout::bring_up(&mut connection, None, STEPS)?;
    connection.pragma_update(None, "foreign_keys", true)?;
    connection.pragma_update(None, "temp_store", "MEMORY")?;
    Ok(connection)
}

/// A copy in memory of a file that is only read. `unchanging` says that nobody can write it, so that nothing need be
/// written beside it either.
fn copy_of_file(path: &Path, unchanging: bool) -> Result<Connection, Fault> {
    let flags =
        OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let immutable = if unchanging { "?immutable=1" } else { "" };
    let source = Connection::open_with_flags(format!("file:{}{immutable}", in_uri(path)), flags)?;
    source.busy_timeout(PATIENCE)?;
    let layout = layout::layout_of(&source)?;
    if layout != layout::current() {
        return Err(Fault::Newer(layout));
    }
    let mut copy = Connection::open_in_memory()?;
    let backup = Backup::new(&source, &mut copy)?;
    backup.step(ALL_PAGES)?;
    drop(backup);
    check(&copy)?;
    Ok(copy)
}

/// A path as a URI takes it (sqlite.org/uri.html).
fn in_uri(path: &Path) -> String {
    path.to_string_lossy().replace('%', "%25").replace('?', "%3f").replace('#', "%23")
}
