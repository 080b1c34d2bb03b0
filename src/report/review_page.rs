//! The review as a page: which tables and sentences are printed, in which order, on a terminal and in a pipe.

use super::output_form::OutputForm;
use super::review::Review;
use super::review_text::{
    LEGEND, Rows, ScaleNames, bars, findings, foot, heading, notes, plain_lines, shares, summary_sentences,
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
    match part {
        Part::Bars => blocks.extend(choruses(review, bar, form)),
        Part::Notes => blocks.push(text(&notes(review, bar))),
        Part::Totals | Part::Plain => {}
    }
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

/// The bars of each chorus under its number, in the widest form that fits the terminal.
fn choruses(review: &Review, bar: Option<usize>, form: OutputForm) -> Vec<String> {
    let mut numbers: Vec<u32> = review.bars.iter().flatten().map(|bar| bar.chorus).collect();
    numbers.dedup();
    let tables = |scales| {
        let of = |&chorus: &u32| bars(review, Rows { chorus: Some(chorus), bar, scales });
        numbers.iter().map(of).collect::<Vec<Table>>()
    };
    let full = tables(ScaleNames::Full);
    let fits = full.iter().all(|table| table.fits(form));
    let shown = if fits { full } else { tables(ScaleNames::Short) };
    let titled = numbers.iter().zip(shown).map(|(chorus, table)| {
        let title = if numbers.len() > 1 { format!("chorus {chorus}\n") } else { String::new() };
        title + &table.text(form).unwrap_or_default()
    });
    titled.collect()
}

/// One table; the summary and the foot stand in its note column.
fn in_pipe(
    review: &Review,
    verdict: Option<&VerdictDocument>,
    part: Part,
    bar: Option<usize>,
    form: OutputForm,
) -> String {
    let mut table = match part {
        Part::Bars => bars(review, Rows { chorus: None, bar, scales: ScaleNames::Full }),
        Part::Notes => notes(review, bar),
        Part::Totals | Part::Plain => shares(review),
    };
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
