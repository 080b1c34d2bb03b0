//! The verdict document, `barwise.verdict`: each band asked for, what was played, and what can be said of it.

use schemars::JsonSchema;
use serde::Serialize;

use super::number::{Count, percent};
use super::review::{Source, TOOL};
use super::table::{Column, Row, Table};
use crate::tally::verdict::{Finding, Judgement, NoVerdict, Verdict};

/// A whole verdict.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "barwise.verdict")]
pub struct VerdictDocument {
    /// `barwise.verdict`
    pub schema: &'static str,
    /// Version of the document.
    pub version: u32,
    /// The program and its version.
    pub tool: &'static str,
    /// What was judged.
    pub source: Source,
    /// `met`, `clearly above`, `clearly below`, `undecided` or `no verdict`.
    pub verdict: &'static str,
    /// The same in a sentence.
    pub sentence: String,
    /// Whether shares of counted notes or of sounding time were judged.
    pub share_by: &'static str,
    /// Notes counted.
    pub counted: Count,
    /// Notes needed.
    pub needed: Count,
    /// Each band.
    pub bands: Vec<BandRecord>,
}

/// One band.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BandRecord {
    /// What it is about.
    pub measure: &'static str,
    /// Lower end asked.
    pub asked_low: f64,
    /// Upper end asked.
    pub asked_high: f64,
    /// Notes (or landings) of the kind.
    pub n: Count,
    /// Of so many.
    pub of: Count,
    /// Their share; none when nothing was counted.
    pub share: Option<f64>,
    /// Lower end of the interval, widened for the number of bands.
    pub low: Option<f64>,
    /// Upper end of the interval.
    pub high: Option<f64>,
    /// What was found.
    pub verdict: &'static str,
}

impl VerdictDocument {
    /// The document of a verdict.
    pub fn new(source: Source, verdict: &Verdict) -> Self {
        Self {
            schema: "barwise.verdict",
            version: 1,
            tool: TOOL,
            source,
            verdict: verdict.finding.words(),
            sentence: sentence(verdict),
            share_by: verdict.share_by.word(),
            counted: Count(verdict.counted),
            needed: Count(verdict.needed),
            bands: verdict.bands.iter().map(BandRecord::of).collect(),
        }
    }

    /// The bands as rows, the verdict below them.
    pub fn table(&self) -> Table {
        let words = ["asked", "share", "found"].map(Column::words);
        let columns = [Column::words("band"), Column::words("notes")].into_iter().chain(words);
        let mut table = Table::new(columns);
        for band in &self.bands {
            let asked = format!("{}-{}", percent(band.asked_low), percent(band.asked_high));
            let interval = band.share.zip(band.low).zip(band.high);
            let share = interval.map_or_else(String::new, |((share, low), high)| {
                format!("{} % ({}-{})", percent(share), percent(low), percent(high))
            });
            let notes = format!("{} of {}", band.n, band.of);
            table.push(Row::new([
                band.measure.into(),
                notes.into(),
                asked.into(),
                share.into(),
                band.verdict.into(),
            ]));
        }
        table.note(format!(
            "Shares are of {}.",
            if self.share_by == "count" { "counted notes" } else { "sounding time" }
        ));
        table.note(self.sentence.clone());
        table
    }
}

impl BandRecord {
    fn of(judged: &Judgement) -> Self {
        Self {
            measure: judged.measure.word(),
            asked_low: judged.band.low(),
            asked_high: judged.band.high(),
            n: Count(judged.share.n),
            of: Count(judged.share.of),
            share: judged.share.share(),
            low: judged.interval.map(|i| i.low),
            high: judged.interval.map(|i| i.high),
            verdict: judged.finding.words(),
        }
    }
}

/// The verdict in a sentence; never a reproach.
fn sentence(verdict: &Verdict) -> String {
    match verdict.reason {
        Some(NoVerdict::TooFew { counted, needed }) => {
            return format!("no verdict: {} notes, {} are needed", Count(counted), Count(needed));
        }
        Some(NoVerdict::Ghosts { part }) => {
            return format!("take set aside: ghosts {} %. Nothing counts against you", percent(part));
        }
        None => {}
    }
    let decisive = verdict.bands.iter().find(|band| band.finding == verdict.finding);
    let ends = decisive.and_then(|band| band.interval.map(|i| (band.measure.word(), i)));
    match (verdict.finding, ends) {
        (Finding::Undecided, Some((measure, interval))) => format!(
            "undecided: {measure} {}-{} crosses the band's edge; another chorus may tell",
            percent(interval.low),
            percent(interval.high)
        ),
        (finding @ (Finding::ClearlyAbove | Finding::ClearlyBelow), Some((measure, interval))) => format!(
            "{}: {measure} lies between {} and {} %, all of it off the band",
            finding.words(),
            percent(interval.low),
            percent(interval.high)
        ),
        (finding, _) => finding.words().to_owned(),
    }
}
