//! Asks for one thing on a screen of its own.

use crate::command::exit_status::Failure;
use crate::screen::ask::{Answer, AskScreen};
use crate::screen::entry_line::EntryLine;

use super::Visits;

/// What is asked for, and where.
#[derive(Clone, Copy)]
pub(super) struct Question<'a> {
    /// The title of the screen.
    pub title: &'a str,
    /// The question, and what may be written.
    pub words: &'a str,
    /// What stands before the line.
    pub line: &'a str,
}

/// Asks until `take` takes the answer; none where it is left. What is wrong with an answer is said below the question, and
/// the answer can be mended.
pub(super) fn ask<T>(
    visits: &mut Visits<'_, '_>,
    question: Question<'_>,
    take: impl Fn(&str) -> Result<T, Failure>,
) -> Result<Option<T>, Failure> {
    let (mut words, mut begun) = (question.words.to_owned(), String::new());
    loop {
        let line = EntryLine::with_text(question.line, &begun);
        let Answer::Given(text) = visits.show(&mut AskScreen::new(question.title, words, line))? else {
            return Ok(None);
        };
        match take(&text) {
            Ok(taken) => return Ok(Some(taken)),
            Err(failure) => words = format!("{}\n\n{}", question.words, failure.message()),
        }
        begun = text;
    }
}
