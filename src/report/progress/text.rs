//! Progress as words and rows: the picture of a chart's weeks with what may be said of them, or the charts as a list.
//!
//! Every figure comes from the [`ProgressDocument`].

use crate::report::review::written_for;
use unicode_width::UnicodeWidthStr;

use crate::report::output_form::OutputForm;
use crate::report::progress::picture::{Frame, picture};
use crate::report::progress::rows::{By, Columns, charts, rows};
use crate::report::progress::words::{Said, all_charts, name, one_chart, title};
use crate::report::progress::{ChartRecord, ProgressDocument};
use crate::report::signs::Signs;
use crate::report::table::{Table, fold};
use crate::report::theme::{Ink, Role};
use crate::tally::verdict::Measure;

/// Weeks that a terminal shows where no first day is named.
const WEEKS_SHOWN: usize = 12;

/// What is asked of a page.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// Whether one chart was asked about.
    pub one_chart: bool,
    /// The rows wanted; none for the usual ones.
    pub by: &'a [By],
    /// The share that is drawn over weeks.
    pub measure: Measure,
}

/// The text of a document in `form`, which is not JSON.
pub fn page(document: &ProgressDocument, asked: Asked<'_>, form: OutputForm) -> String {
    match form {
        OutputForm::Terminal { width, ink, signs } => terminal(document, asked, form, (width, ink, signs)),
        _ => piped(document, asked).text(form).unwrap_or_default(),
    }
}

/// The rows asked for with the sentences as notes; of all charts, where no rows are named, one row each.
fn piped(document: &ProgressDocument, asked: Asked<'_>) -> Table {
    let mut table = match (asked.one_chart, asked.by) {
        (false, []) => charts(document, Columns::Full),
        (true, []) => rows(document, &[By::Week], Columns::Full),
        (_, by) => rows(document, by, Columns::Full),
    };
    for (label, words) in said(document, asked).into_iter().filter(|(_, words)| !words.is_empty()) {
        table.note(if label.is_empty() { words } else { format!("{label}: {words}") });
    }
    table.note(document.caution);
    table
}

fn said(document: &ProgressDocument, asked: Asked<'_>) -> Said {
    let chart = document.charts.first().filter(|_| asked.one_chart);
    let mut said =
        chart.map_or_else(|| all_charts(document), |chart| one_chart(document, chart, asked.measure));
    said.extend(written_for(document.written).map(|words| (String::new(), words)));
    said
}

fn terminal(
    document: &ProgressDocument,
    asked: Asked<'_>,
    form: OutputForm,
    (width, ink, signs): (usize, Ink, Signs),
) -> String {
    let chart = document.charts.first().filter(|_| asked.one_chart);
    let mut blocks = Vec::new();
    if let Some(chart) = chart {
        let heading = ink.paint(Role::Heading, &heading(chart, asked.measure));
        blocks.push(format!("{}\n", signs.write(&heading)));
        if asked.by.is_empty() || asked.by.contains(&By::Week) {
            let recorded_soloists = document.recorded_soloists;
            let frame = Frame { measure: asked.measure, recorded_soloists, width, ink, signs };
            blocks.extend(weeks(document, chart, frame));
        }
    }
    blocks.extend(tables(document, asked, form).iter().filter_map(|table| table.text(form)));
    blocks.push(labelled(&said(document, asked), width, signs));
    blocks.push(format!(" {}\n", document.caution));
    blocks.join("\n")
}

/// The rows that a terminal shows: those asked for, but for weeks that are drawn; the charts where several are shown.
fn tables(document: &ProgressDocument, asked: Asked<'_>, form: OutputForm) -> Vec<Table> {
    let by: Vec<By> = asked.by.iter().copied().filter(|&by| !(asked.one_chart && by == By::Week)).collect();
    let columns = if asked.one_chart { Columns::Short } else { Columns::Full };
    let charts = (!asked.one_chart).then(|| {
        let full = charts(document, Columns::Full);
        if full.fits(form) { full } else { charts(document, Columns::Short) }
    });
    let rows = (!by.is_empty()).then(|| rows(document, &by, columns));
    charts.into_iter().chain(rows).collect()
}

/// The picture, and how many weeks before it are not shown.
fn weeks(document: &ProgressDocument, chart: &ChartRecord, frame: Frame) -> Option<String> {
    if chart.weeks.is_empty() {
        return None;
    }
    let all = document.since.is_some() || chart.weeks.len() <= WEEKS_SHOWN;
    let hidden = if all { 0 } else { chart.weeks.len() - WEEKS_SHOWN };
    let drawn = picture(chart, &chart.weeks[hidden..], frame);
    let first = chart.weeks.first().filter(|_| hidden > 0);
    let earlier = first.map(|week| format!(" {hidden} earlier weeks: --since {} shows them.\n", week.monday));
    Some(format!("{drawn}{}", earlier.unwrap_or_default()))
}

/// `Bus Shelter, Rain   chord share by week   swing 124-132   lenient, rules 1`.
fn heading(chart: &ChartRecord, measure: Measure) -> String {
    let tempo = chart.tempi_compared.map(|[slowest, fastest]| {
        let (slowest, fastest) = (slowest.round(), fastest.round());
        let feel = chart.feel.as_deref().map_or_else(String::new, |feel| format!("{feel} "));
        let tempi = if fastest > slowest { format!("{slowest}-{fastest}") } else { slowest.to_string() };
        format!("{feel}{tempi}")
    });
    let way = chart.counted.last().map(|way| format!("{}, rules {}", way.counting, way.rules));
    let what = format!("{} by week", name(measure.word()));
    let parts = [Some(title(chart)), Some(what), tempo, way].into_iter().flatten();
    format!(" {}", parts.collect::<Vec<_>>().join("   "))
}

/// Words under each other behind their labels; the words of a long label stand two blanks behind it.
fn labelled(said: &Said, width: usize, signs: Signs) -> String {
    const LABEL: usize = 13;
    let line = |(label, words): &(String, String)| {
        let label = if label.len() > LABEL - 2 { format!("{label}  ") } else { format!("{label:<LABEL$}") };
        let room = width.saturating_sub(label.len() + 1);
        let lines = folded(words, room.max(20));
        let blank = " ".repeat(label.len());
        let labels = std::iter::once(&label).chain(std::iter::repeat(&blank));
        let lines = labels.zip(&lines).map(|(label, words)| format!(" {label}{words}").trim_end().to_owned());
        lines.collect::<Vec<_>>()
    };
    let lines: Vec<String> = said.iter().flat_map(line).collect();
    signs.write(&format!("{}\n", lines.join("\n"))).into_owned()
}

/// Words folded between their parts, which stand two blanks from each other; a part too long is folded by itself.
fn folded(words: &str, room: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for part in words.split("  ") {
        match lines.last_mut() {
            Some(line) if line.is_empty() && part.width() <= room => line.push_str(part),
            Some(line) if line.width() + 2 + part.width() <= room => line.extend(["  ", part]),
            _ => lines.extend(fold(part, room)),
        }
    }
    lines.retain(|line| !line.is_empty());
    if lines.is_empty() { vec![String::new()] } else { lines }
}
