//! The review as a page: which tables and sentences are printed, in which order, on a terminal and in a pipe.

use crate::report::output_form::OutputForm;
use crate::report::review::Review;
use crate::report::review::notes::notes;
use crate::report::review::text::{
    LEGEND, Rows, ScaleNames, bars, chorus_title, findings, foot, heading, next_lines, plain_lines, shares,
    summary_sentences,
};
use crate::report::table::Table;
use crate::report::verdict::VerdictDocument;

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

/// What is asked of a page.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// The verdict, where bands were asked for.
    pub verdict: Option<&'a VerdictDocument>,
    /// What is shown.
    pub part: Part,
    /// The bars or notes of this bar only.
    pub bar: Option<usize>,
}

impl Asked<'_> {
    /// The summary and the bars, nothing more.
    pub const BARS: Self = Asked { verdict: None, part: Part::Bars, bar: None };
}

/// The text of a review in `form`.
pub fn page(review: &Review, asked: Asked<'_>, form: OutputForm) -> String {
    match (asked.part, form) {
        (Part::Plain, _) => plain(review, asked, form),
        (_, OutputForm::Terminal { .. }) => on_terminal(review, asked, form),
        _ => in_pipe(review, asked, form),
    }
}

/// Heading, shares, findings, verdict, the rows, the legend, the foot.
fn on_terminal(review: &Review, asked: Asked<'_>, form: OutputForm) -> String {
    let mut summary = shares(review);
    for sentence in findings(review).into_iter().chain(next_lines(review)) {
        summary.note(sentence);
    }
    let text = |table: &Table| table.text(form).unwrap_or_default();
    let mut blocks = vec![format!("{}\n", form.signs().write(&heading(review))), text(&summary)];
    blocks.extend(asked.verdict.map(|verdict| {
        let mut bands = verdict.table();
        verdict.sentences(review).into_iter().for_each(|sentence| bands.note(sentence));
        text(&bands)
    }));
    match asked.part {
        Part::Bars => blocks.extend(choruses(review, asked.bar, form)),
        Part::Notes => blocks.push(text(&notes(review, asked.bar))),
        Part::Totals | Part::Plain => {}
    }
    let mut last = Table::new([]);
    if asked.part == Part::Bars {
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
        let title = if numbers.len() > 1 { chorus_title(review, *chorus) + "\n" } else { String::new() };
        title + &table.text(form).unwrap_or_default()
    });
    titled.collect()
}

/// One table; the summary and the foot stand in its note column.
fn in_pipe(review: &Review, asked: Asked<'_>, form: OutputForm) -> String {
    let mut table = match asked.part {
        Part::Bars => bars(review, Rows { chorus: None, bar: asked.bar, scales: ScaleNames::Full }),
        Part::Notes => notes(review, asked.bar),
        Part::Totals | Part::Plain => shares(review),
    };
    table.note(heading(review));
    let legend = (asked.part == Part::Bars).then(|| LEGEND.to_owned());
    for sentence in sentences(review, asked).chain(legend).chain(foot().map(str::to_owned)) {
        table.note(sentence);
    }
    table.text(form).unwrap_or_default()
}

/// The summary, what was found, and the verdict.
fn sentences(review: &Review, asked: Asked<'_>) -> impl Iterator<Item = String> {
    let verdict = asked.verdict.map(|verdict| verdict.sentences(review)).unwrap_or_default();
    summary_sentences(review).into_iter().chain(findings(review)).chain(next_lines(review)).chain(verdict)
}

fn plain(review: &Review, asked: Asked<'_>, form: OutputForm) -> String {
    let head = [heading(review)].into_iter().chain(sentences(review, asked));
    let lines = head.chain(plain_lines(review, asked.bar)).chain(foot().map(str::to_owned));
    lines.flat_map(|line| [form.signs().write(&line).into_owned(), "\n".to_owned()]).collect()
}
