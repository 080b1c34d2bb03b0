//! The report or the notes of a take as a file in the current folder. No file that is there is written over.

use crate::command::exit_status::Failure;
use crate::command::visits::files::write_first_free;
use crate::report::html::take::TakePage;
use crate::report::review::Review;
use crate::report::review::notes::spreadsheet;
use crate::screen::chorus::wish::Export;

/// Writes what is asked for and says where: the page as the player reads it, the notes as they sound.
pub(super) fn export(what: Export, review: &Review, sounding: &Review) -> Result<String, Failure> {
    let (text, ending) = match what {
        Export::Page => (TakePage { review, verdict: None, weeks: None }.write(), "html"),
        Export::Notes => (spreadsheet(sounding), "csv"),
    };
    let stem = review.source.take.map_or_else(|| "take".to_owned(), |take| format!("take-{take}"));
    write_first_free(&stem, ending, &text)
}
