//! Results that a screen writes: to new files alone, and what became of it in a sentence that the screen shows.

use std::path::Path;

use crate::command::exit_status::Failure;
use crate::command::output_file::may_be_new;
use crate::store::error_words::in_words;
use crate::store::replace::replace;

/// Writes a text to a file that is not there yet; says so.
pub(super) fn write_new(name: &str, endings: &[&str], text: &str) -> Result<String, Failure> {
    let path = Path::new(name);
    may_be_new(path, endings)?;
    let failed = |error: std::io::Error| Failure::store(format!("{name}: {}", in_words(&error)));
    replace(path, text).map_err(failed)?;
    Ok(format!("wrote {name}"))
}

/// The most names that are tried: `take-14.html`, `take-14-2.html`.
const MOST_NAMES: u32 = 99;

/// Writes a text to the first file of this stem that is not there yet; says which that is.
pub(super) fn write_first_free(stem: &str, ending: &str, text: &str) -> Result<String, Failure> {
    let name = |number: u32| {
        if number == 1 { format!("{stem}.{ending}") } else { format!("{stem}-{number}.{ending}") }
    };
    let free = (1..=MOST_NAMES).map(name).find(|name| !Path::new(name).exists());
    let free = free.ok_or_else(|| {
        Failure::store(format!("{} to {} are there already: move some away", name(1), name(MOST_NAMES)))
    })?;
    write_new(&free, &[ending], text)
}

/// What a screen says of it, come what may.
pub(super) fn said(written: Result<String, Failure>) -> String {
    written.unwrap_or_else(|failure| failure.message().to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_that_is_taken_is_counted_on() {
        let folder = tempfile::tempdir().expect("a folder");
        let stem = folder.path().join("take-14").display().to_string();
        for expect in ["take-14.csv", "take-14-2.csv", "take-14-3.csv"] {
            assert!(said(write_first_free(&stem, "csv", "notes")).ends_with(expect));
        }
    }

    #[test]
    fn nothing_is_written_over() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("weeks.csv");
        let name = path.display().to_string();
        assert_eq!(said(write_new(&name, &["csv"], "one")), format!("wrote {name}"));
        assert!(said(write_new(&name, &["csv"], "two")).contains("there is such a file already"));
        assert!(said(write_new(&name, &["html"], "two")).contains("ends in .html"));
        assert_eq!(std::fs::read_to_string(&path).expect("there"), "one");
    }
}
