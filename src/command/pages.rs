//! Pages: where the HTML of a result goes.

use std::path::Path;

use crate::store::replace::replace;

use super::exit_status::Failure;
use super::output::Output;
use super::output_file::may_write;

/// Writes a page to the file named and says so; to standard output where `-` is named.
pub fn write(path: &Path, page: &str, out: &mut Output) -> Result<(), Failure> {
    if path == Path::new("-") {
        return out.text(page);
    }
    may_write(path, &["html", "htm"], "--html")?;
    replace(path, page).map_err(|error| Failure::store(format!("{}: {error}", path.display())))?;
    out.remark(&format!("wrote {}", path.display()));
    Ok(())
}
