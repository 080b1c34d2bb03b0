//! The takes that are kept, `barwise.take`: a row each.

use std::collections::BTreeSet;
use std::fmt;

use schemars::JsonSchema;
use serde::Serialize;

use super::band::BandRecord;
use super::number::{Count, percent};
use super::output_form::OutputForm;
use super::review::{ShareRecord, TOOL};
use super::table::{Column, Row, Table};

/// The takes that are kept.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "barwise.take")]
pub struct TakesDocument {
    /// `barwise.take`
    pub schema: &'static str,
    /// Version of the document.
    pub version: u32,
    /// The program and its version.
    pub tool: &'static str,
    /// The takes, by number.
    pub takes: Vec<TakeRecord>,
}

/// One take.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TakeRecord {
    /// Its number.
    pub take: u32,
    /// Its file.
    pub file: String,
    /// When its file was written, with the offset of the local zone (RFC 3339); none where the system does not say.
    pub kept_at: Option<String>,
    /// Title of the chart.
    pub chart: String,
    /// Key signature of the chart; that of the first chorus, where it was taken through keys.
    pub key: Option<String>,
    /// The key of each chorus, where the chart was taken through keys.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub keys: Option<Vec<String>>,
    /// Quarter notes a minute.
    pub tempo: f64,
    /// The bars of the form that were played again and again (`play --bars`); none where it was the whole form.
    pub bars: Option<BarsRecord>,
    /// How the band played; none where the take does not say.
    pub band: Option<BandRecord>,
    /// Times through.
    pub choruses: u32,
    /// Notes counted.
    pub counted: Count,
    /// The share of chord tones.
    pub chord: ShareRecord,
    /// Seconds of the line, from its first note to the end of its last.
    pub played_s: f64,
    /// What the player said of it and keeps of it.
    #[serde(flatten)]
    pub entered: EnteredRecord,
}

/// What a player said of a take, and keeps of it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct EnteredRecord {
    /// The notes to self, oldest first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub notes_to_self: Vec<String>,
    /// The bars that are kept, to hear and to drill.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub phrases: Vec<PhraseRecord>,
}

/// Bars of a take that are kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct PhraseRecord {
    /// Times through, from 1.
    pub chorus: u32,
    /// The bars.
    pub bars: BarsRecord,
}

/// Prints `bars 12-13 of chorus 2`.
impl fmt::Display for PhraseRecord {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let s = if self.bars.first == self.bars.last { "" } else { "s" };
        write!(f, "bar{s} {} of chorus {}", self.bars, self.chorus)
    }
}

impl EnteredRecord {
    /// What was entered, in words: the phrases together, each note by itself.
    pub fn words(&self) -> Vec<String> {
        let kept: Vec<String> = self.phrases.iter().map(PhraseRecord::to_string).collect();
        let kept = (!kept.is_empty()).then(|| format!("kept: {}", kept.join(", ")));
        let notes = self.notes_to_self.iter().map(|note| format!("note to self: {note}"));
        kept.into_iter().chain(notes).collect()
    }
}

/// Neighbouring bars of the form, from 1; the last one is included.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct BarsRecord {
    /// The first.
    pub first: usize,
    /// The last.
    pub last: usize,
}

/// Prints `5-8`, or `5` for one bar alone.
impl fmt::Display for BarsRecord {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.first == self.last { self.first.fmt(f) } else { write!(f, "{}-{}", self.first, self.last) }
    }
}

impl TakesDocument {
    /// The document of these takes.
    pub const fn new(takes: Vec<TakeRecord>) -> Self {
        Self { schema: "barwise.take", version: 1, tool: TOOL, takes }
    }

    /// The takes as rows. Where a terminal is too narrow for them, the day is without its year and long titles are cut.
    pub fn table(&self, form: OutputForm) -> Table {
        let full = self.rows(Words::Full);
        if full.fits(form) { full } else { self.rows(Words::Short) }
    }

    fn rows(&self, words: Words) -> Table {
        let times = if words == Words::Full { "choruses" } else { "times" };
        let numbers = ["tempo", times, "notes"].map(Column::numbers);
        let columns = ["kept", "chart", "key", "bars"].map(Column::words);
        let columns = [Column::numbers("take")].into_iter().chain(columns).chain(numbers);
        let mut table = Table::new(columns.chain([Column::words("chord share")]));
        for take in &self.takes {
            table.push(row(take, words));
        }
        table
    }
}

/// How a row is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Words {
    Full,
    Short,
}

/// Most characters of a title in a short row: with the other columns at their widest in use it fits 80 columns.
const SHORT_TITLE: usize = 18;

fn row(take: &TakeRecord, words: Words) -> Row {
    let share = take.chord.share.zip(take.chord.low).zip(take.chord.high);
    let share = share.map_or_else(String::new, |((share, low), high)| {
        format!("{} % ({}-{})", percent(share), percent(low), percent(high))
    });
    // To the minute: `2026-11-25T18:04:09+01:00` is shown as `2026-11-25 18:04`, or without its year.
    let from = if words == Words::Full { 0 } else { 5 };
    let kept = take.kept_at.as_deref().and_then(|at| at.get(from..16)).unwrap_or_default().replace('T', " ");
    let title = if words == Words::Full { take.chart.clone() } else { short_title(&take.chart) };
    let row = Row::new([
        take.take.to_string().into(),
        kept.into(),
        title.into(),
        key(take).into(),
        take.bars.map_or_else(|| "all".to_owned(), |bars| bars.to_string()).into(),
        Count(take.tempo).to_string().into(),
        take.choruses.to_string().into(),
        take.counted.to_string().into(),
        share.into(),
    ]);
    let mut words = take.band.as_ref().map(BandRecord::words).unwrap_or_default();
    words.extend(take.entered.words());
    if words.is_empty() { row } else { row.with_note(words.join("; ")) }
}

/// The key, or how many different ones.
fn key(take: &TakeRecord) -> String {
    match &take.keys {
        Some(keys) => format!("{} keys", keys.iter().collect::<BTreeSet<_>>().len()),
        None => take.key.clone().unwrap_or_else(|| "-".to_owned()),
    }
}

/// A title as a short row has it.
pub(super) fn short_title(title: &str) -> String {
    if title.chars().count() <= SHORT_TITLE {
        return title.to_owned();
    }
    let kept: String = title.chars().take(SHORT_TITLE - 1).collect();
    format!("{}…", kept.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::{Ink, Signs};

    fn take(chart: &str, key: &str) -> TakeRecord {
        TakeRecord {
            take: 112,
            file: String::new(),
            kept_at: Some("2026-11-25T18:04:09+01:00".to_owned()),
            chart: chart.to_owned(),
            key: Some(key.to_owned()),
            tempo: 116.0,
            keys: None,
            bars: Some(BarsRecord { first: 9, last: 12 }),
            band: None,
            choruses: 12,
            counted: Count(212.5),
            chord: ShareRecord {
                n: Count(117.0),
                share: Some(0.55),
                low: Some(0.421),
                high: Some(0.672),
                design_effect: 1.0,
            },
            played_s: 60.0,
            entered: EnteredRecord::default(),
        }
    }

    #[test]
    fn rows_fit_a_terminal_of_80_columns() {
        let takes = TakesDocument::new(vec![
            take("Bus Shelter, Rain", "Eb"),
            take("A Title of More Words than Most", "F blues"),
            take("Cellar Stairs", "F#m"),
        ]);
        let text = |width| {
            let form = OutputForm::Terminal { width, ink: Ink::Plain, signs: Signs::Unicode };
            takes.table(form).text(form).expect("rows")
        };
        assert!(text(80).lines().all(|line| line.chars().count() <= 80), "{}", text(80));
        assert!(text(80).contains(" 112 11-25 18:04 A Title of More W… F blues"), "{}", text(80));
        assert!(
            text(120).contains("2026-11-25 18:04  A Title of More Words than Most  F blues"),
            "{}",
            text(120)
        );
    }

    #[test]
    fn what_was_entered_stands_below_its_row() {
        let phrase = |first, last| PhraseRecord { chorus: 2, bars: BarsRecord { first, last } };
        let entered = EnteredRecord {
            notes_to_self: vec!["lay back".to_owned()],
            phrases: vec![phrase(12, 13), phrase(9, 9)],
        };
        let takes = TakesDocument::new(vec![TakeRecord { entered, ..take("Cellar Stairs", "F#m") }]);
        let form = OutputForm::Terminal { width: 120, ink: Ink::Plain, signs: Signs::Unicode };
        let text = takes.table(form).text(form).expect("rows");
        let said = "kept: bars 12-13 of chorus 2, bar 9 of chorus 2; note to self: lay back";
        assert!(text.contains(said), "{text}");
    }

    #[test]
    fn bars_are_printed_as_they_are_asked_for() {
        assert_eq!(BarsRecord { first: 5, last: 8 }.to_string(), "5-8");
        assert_eq!(BarsRecord { first: 5, last: 5 }.to_string(), "5");
    }
}
