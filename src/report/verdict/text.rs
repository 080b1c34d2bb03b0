//! A verdict over several takes as people read it: each take, the bands over the two that count together, what was found.

use crate::report::cautions::FOCUS;
use crate::report::number::percent;
use crate::report::output_form::OutputForm;
use crate::report::table::{Column, Row, Table};
use crate::report::verdict::{BandRecord, TakeStanding, VerdictDocument};

/// The text of a verdict in `form`.
pub fn page(document: &VerdictDocument, form: OutputForm) -> String {
    let mut takes = takes(document);
    let mut bands = document.table();
    if matches!(form, OutputForm::Terminal { .. }) {
        for sentence in sentences(document) {
            bands.note(sentence);
        }
        let text = |table: &Table| table.text(form).unwrap_or_default();
        let head = format!("{}\n", form.signs().write(&heading(document)));
        return [head, text(&takes), text(&bands)].join("\n");
    }
    let of_bands = document.bands.iter().map(band_sentence);
    for sentence in [heading(document)].into_iter().chain(of_bands).chain(sentences(document)) {
        takes.note(sentence);
    }
    takes.text(form).unwrap_or_default()
}

fn heading(document: &VerdictDocument) -> String {
    let Some(name) = &document.assignment else { return String::new() };
    let number = name.number.map(|number| format!("assignment {number}"));
    let due = name.due.as_ref().map(|due| format!("due {due}"));
    let parts = [Some(name.chart.clone()), name.title.clone(), number, due];
    parts.into_iter().flatten().collect::<Vec<_>>().join("   ")
}

/// The takes, a share of each for every band.
fn takes(document: &VerdictDocument) -> Table {
    let numbers = ["take", "tempo", "notes"].map(Column::numbers);
    let [take, tempo, notes] = numbers;
    let bands = document.bands.iter().map(|band| Column::numbers(band.measure));
    let columns = [take, Column::words("day"), tempo, notes].into_iter().chain(bands);
    let mut table = Table::new(columns.chain([Column::words("counts")]));
    for take in &document.takes {
        table.push(row(take, document.bands.len()));
    }
    table
}

fn row(take: &TakeStanding, bands: usize) -> Row {
    let share =
        |band: &BandRecord| band.share.map_or_else(String::new, |share| format!("{} %", percent(share)));
    let mut shares: Vec<String> = take.bands.iter().map(share).collect();
    shares.resize(bands, String::new());
    let counts = match (take.used, take.standing) {
        (true, _) => "together *",
        (false, "counts") => "yes",
        (false, other) => other,
    };
    let cells = [
        take.take.map_or_else(|| "-".to_owned(), |take| take.to_string()),
        take.day.clone().unwrap_or_else(|| "-".to_owned()),
        take.tempo.round().to_string(),
        take.counted.to_string(),
    ];
    let row = Row::new(cells.into_iter().chain(shares).chain([counts.to_owned()]).map(Into::into));
    match &take.why {
        Some(why) => row.with_note(why.as_str()),
        None => row,
    }
}

fn band_sentence(band: &BandRecord) -> String {
    let interval = band.share.zip(band.low).zip(band.high);
    let share = interval.map_or_else(String::new, |((share, low), high)| {
        format!("{} % ({}-{}), ", percent(share), percent(low), percent(high))
    });
    let asked = format!("asked {}-{}", percent(band.asked_low), percent(band.asked_high));
    format!("{}: {} of {}, {share}{asked}: {}", band.measure, band.n, band.of, band.verdict)
}

fn sentences(document: &VerdictDocument) -> Vec<String> {
    let together: Vec<String> = document
        .takes
        .iter()
        .filter(|take| take.used)
        .map(|take| match take.take {
            Some(number) => format!("take {number}"),
            None => "a file".to_owned(),
        })
        .collect();
    let together = (!together.is_empty()).then(|| {
        format!(
            "Counted together: {}. Over two takes a share is less sure than its notes alone would make it; the intervals \
             are that much wider.",
            together.join(" and ")
        )
    });
    let contested = document.contested.as_ref().map(|contested| {
        let notes = if contested.notes == 1 { "note is" } else { "notes are" };
        format!("{} {notes} contested; with all of them granted: {}", contested.notes, contested.sentence)
    });
    let free =
        (document.verdict != "met").then(|| "Attempts are free: nothing counts against you.".to_owned());
    together
        .into_iter()
        .chain([document.sentence.clone()])
        .chain(contested)
        .chain(free)
        .chain([FOCUS.to_owned()])
        .collect()
}
