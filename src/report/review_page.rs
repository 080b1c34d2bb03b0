//! The review as a page: which tables and sentences are printed, in which order, on a terminal and in a pipe.

use super::output_form::OutputForm;
use super::review::Review;
use super::review_text::{
    LEGEND, bars, findings, foot, heading, notes, plain_lines, shares, summary_sentences,
};
use super::table::Table;
use super::verdict::VerdictDocument;

/// What of a review is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The summary, then the bars.
    Bars,
    /// The summary.
    Totals,
    /// Every note in order.
    Notes,
    /// One line a chord, in words.
    Plain,
}

/// The text of a review in `form`; the bars or notes of `bar` only, where it is given.
pub fn page(
    review: &Review,
    verdict: Option<&VerdictDocument>,
    part: Part,
    bar: Option<usize>,
    form: OutputForm,
) -> String {
    match (part, form) {
        (Part::Plain, _) => plain(review, verdict, bar, form),
        (_, OutputForm::Terminal { .. }) => on_terminal(review, verdict, part, bar, form),
        _ => in_pipe(review, verdict, part, bar, form),
    }
}

fn body(review: &Review, part: Part, bar: Option<usize>) -> Option<Table> {
    match part {
        Part::Bars => Some(bars(review, bar)),
        Part::Notes => Some(notes(review, bar)),
        Part::Totals | Part::Plain => None,
    }
}

/// Heading, shares, findings, verdict, the rows, the legend, the foot.
fn on_terminal(
    review: &Review,
    verdict: Option<&VerdictDocument>,
    part: Part,
    bar: Option<usize>,
    form: OutputForm,
) -> String {
    let mut summary = shares(review);
    for sentence in findings(review) {
        summary.note(sentence);
    }
    let text = |table: &Table| table.text(form).unwrap_or_default();
    let mut blocks = vec![format!("{}\n", form.signs().write(&heading(review))), text(&summary)];
    blocks.extend(verdict.map(|verdict| text(&verdict.table())));
    blocks.extend(body(review, part, bar).map(|table| text(&table)));
    let mut last = Table::new([]);
    if part == Part::Bars {
        last.note(LEGEND);
    }
    for sentence in foot() {
        last.note(sentence);
    }
    blocks.push(text(&last).trim_start().to_owned());
    blocks.join("\n")
}

/// One table; the summary and the foot stand in its note column.
fn in_pipe(
    review: &Review,
    verdict: Option<&VerdictDocument>,
    part: Part,
    bar: Option<usize>,
    form: OutputForm,
) -> String {
    let mut table = body(review, part, bar).unwrap_or_else(|| shares(review));
    table.note(heading(review));
    let sentences = summary_sentences(review).into_iter().chain(findings(review));
    let judged = verdict.map(|verdict| verdict.sentence.clone());
    for sentence in sentences.chain(judged).chain(foot().map(str::to_owned)) {
        table.note(sentence);
    }
    table.text(form).unwrap_or_default()
}

fn plain(review: &Review, verdict: Option<&VerdictDocument>, bar: Option<usize>, form: OutputForm) -> String {
    let head = [heading(review)].into_iter().chain(summary_sentences(review)).chain(findings(review));
    let judged = verdict.map(|verdict| verdict.sentence.clone());
    let lines = head.chain(judged).chain(plain_lines(review, bar)).chain(foot().map(str::to_owned));
    lines.flat_map(|line| [form.signs().write(&line).into_owned(), "\n".to_owned()]).collect()
}
