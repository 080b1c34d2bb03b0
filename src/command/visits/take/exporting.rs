//! The report or the notes of a take as a file in the current folder. No file that is there is written over.

use std::fs::File;
use std::io::{ErrorKind, Write};
use std::path::PathBuf;

use crate::command::exit_status::Failure;
use crate::report::html::take::TakePage;
use crate::report::review::Review;
use crate::report::review::notes::spreadsheet;
use crate::screen::chorus::wish::Export;
use crate::store::error_words::in_words;

/// The most names that are tried: `take-14.html`, `take-14-2.html`.
const MOST_NAMES: u32 = 99;

/// Writes what is asked for and says where.
pub(super) fn export(what: Export, review: &Review) -> Result<String, Failure> {
    let (text, ending) = match what {
        Export::Page => (TakePage { review, verdict: None, weeks: None }.write(), "html"),
        Export::Notes => (spreadsheet(review), "csv"),
    };
    let stem = review.source.take.map_or_else(|| "take".to_owned(), |take| format!("take-{take}"));
    let path = written(&stem, ending, text.as_bytes())?;
    Ok(format!("wrote {} into this folder", path.display()))
}

/// Writes a new file under the first name that is free.
fn written(stem: &str, ending: &str, bytes: &[u8]) -> Result<PathBuf, Failure> {
    for number in 1..=MOST_NAMES {
        let name = if number == 1 { format!("{stem}.{ending}") } else { format!("{stem}-{number}.{ending}") };
        let path = PathBuf::from(name);
        let failed = |error| Failure::store(format!("{}: {}", path.display(), in_words(&error)));
        match File::create_new(&path) {
            Ok(mut file) => {
                let kept = file.write_all(bytes).and_then(|()| file.sync_all());
                kept.map_err(failed)?;
                return Ok(path);
            }
            Err(error) if error.kind() == ErrorKind::AlreadyExists => {}
            Err(error) => return Err(failed(error)),
        }
    }
    Err(Failure::store(format!(
        "{stem}.{ending} to {stem}-{MOST_NAMES}.{ending} are there already: move some away"
    )))
}
