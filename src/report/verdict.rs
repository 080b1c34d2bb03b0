//! The verdict document, `barwise.verdict`: each band asked for, what was played, and what can be said of it.

pub mod text;

use schemars::JsonSchema;
use serde::Serialize;

use super::assignment::AssignmentName;
use super::number::{Count, percent};
use super::review::{Review, Source, TOOL};
use super::table::{Column, Row, Table};
use crate::practice::contests::heard_as_words;
use crate::store::journal::entry::{Contest, NoteName};
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
    /// The assignment it is for; left out where bands alone were asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub assignment: Option<AssignmentName>,
    /// Every take that was looked at, oldest first; left out where one take was judged by itself.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub takes: Vec<TakeStanding>,
    /// Notes that the player hears otherwise, and the verdict with all of them granted; left out where there are none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub contested: Option<ContestedRecord>,
}

/// What became of one take.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TakeStanding {
    /// Its number, if it is kept.
    pub take: Option<u32>,
    /// The day it was played, year-month-day.
    pub day: Option<String>,
    /// Quarter notes a minute.
    pub tempo: f64,
    /// Notes counted.
    pub counted: Count,
    /// `counts`, `set aside` or `not for this assignment`.
    pub standing: &'static str,
    /// Why it does not count.
    pub why: Option<String>,
    /// Whether it is one of those that count together.
    pub used: bool,
    /// Each band by this take alone; none where the take is not for the assignment.
    pub bands: Vec<BandRecord>,
}

/// Contested notes and what follows if the player is right.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ContestedRecord {
    /// How many notes.
    pub notes: usize,
    /// The verdict with all of them granted.
    pub verdict: &'static str,
    /// The same in a sentence.
    pub sentence: String,
    /// Each of them.
    pub contests: Vec<ContestRecord>,
}

/// One contested note.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ContestRecord {
    /// The take.
    pub take: u32,
    /// The note: its index in the review of the take, or chorus, bar and number.
    pub note: String,
    /// What it is heard as.
    pub heard_as: String,
    /// Why, in the player's words.
    pub reason: String,
}

impl ContestRecord {
    /// The record of a contest.
    pub fn of(contest: &Contest) -> Self {
        let note = match contest.note {
            NoteName::Index(index) => format!("note {index}"),
            NoteName::Place { chorus, bar, note } => format!("chorus {chorus}, note {bar}.{note}"),
        };
        let heard_as = heard_as_words(&contest.heard_as);
        Self { take: contest.take, note, heard_as, reason: contest.reason.clone() }
    }
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
            assignment: None,
            takes: Vec::new(),
            contested: None,
        }
    }

    /// The bands as rows.
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
        table
    }

    /// What the shares are of, how they differ from those of `review`, and the verdict.
    pub fn sentences(&self, review: &Review) -> Vec<String> {
        let of = if self.share_by == "count" { "all counted notes" } else { "sounding time" };
        let asks = |measure: &str| self.bands.iter().any(|band| band.measure == measure);
        let landings = if asks("landings") { ", landings of the changes met" } else { "" };
        let wider = (self.bands.len() > 1).then(|| {
            let bands = self.bands.len();
            format!(
                "{bands} bands are judged at once, so their intervals are wider than those of the report."
            )
        });
        let leaning = review.totals.other.n.0 > 0.0 && asks("scale");
        let leaning =
            leaning.then(|| "The band for scale takes in the notes of another scale (~).".to_owned());
        let of = format!("Bands are shares of {of}{landings}.");
        [of].into_iter().chain(wider).chain(leaning).chain([self.sentence.clone()]).collect()
    }
}

impl BandRecord {
    /// The record of a band that was judged.
    pub fn of(judged: &Judgement) -> Self {
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
pub fn sentence(verdict: &Verdict) -> String {
    if let Some(reason) = verdict.reason {
        return aside_sentence(reason);
    }
    match verdict.finding {
        Finding::Undecided => undecided(verdict),
        Finding::ClearlyAbove | Finding::ClearlyBelow => clearly_off(verdict),
        finding => finding.words().to_owned(),
    }
}

/// Why there is no verdict, in a sentence.
pub fn aside_sentence(reason: NoVerdict) -> String {
    match reason {
        NoVerdict::TooFew { counted, needed } => {
            format!("no verdict: {} notes, {} are needed", Count(counted), Count(needed))
        }
        NoVerdict::Ghosts { part } => {
            format!("take set aside: ghosts {} %. Nothing counts against you", percent(part))
        }
        NoVerdict::Spread { ms } => format!(
            "take set aside: how late the instrument is was measured within {} ms, 20 are needed. Nothing counts \
             against you; measure again with barwise calibrate",
            Count(ms)
        ),
        NoVerdict::FewTakes { takes, asked } => few_takes(takes, asked),
    }
}

fn few_takes(takes: usize, asked: usize) -> String {
    let said = match takes {
        0 => "no take counts yet".to_owned(),
        1 => "one take counts so far".to_owned(),
        more => format!("{more} takes count so far"),
    };
    format!("no verdict: {said}, {asked} are asked for")
}

/// Every band that an interval crosses the edge of.
fn undecided(verdict: &Verdict) -> String {
    let bands = verdict.bands.iter().filter(|band| band.finding == Finding::Undecided);
    let said: Vec<String> = bands
        .filter_map(|band| Some((band.measure.word(), ends(band)?)))
        .map(|(measure, (low, high))| format!("{measure} {low}-{high}"))
        .collect();
    let crosses = if said.len() == 1 { "crosses the band's edge" } else { "cross their bands' edges" };
    format!("undecided: {} {crosses}; another chorus may tell", said.join(", "))
}

/// Every band that is clearly not met.
fn clearly_off(verdict: &Verdict) -> String {
    let off = |band: &&Judgement| matches!(band.finding, Finding::ClearlyAbove | Finding::ClearlyBelow);
    let said = verdict.bands.iter().filter(off).filter_map(|band| {
        let (low, high) = ends(band)?;
        let (found, measure) = (band.finding.words(), band.measure.word());
        Some(format!("{found}: {measure} lies between {low} and {high} %, all of it off the band"))
    });
    said.collect::<Vec<String>>().join("; ")
}

/// The ends of the interval, in percent.
fn ends(band: &Judgement) -> Option<(i64, i64)> {
    band.interval.map(|interval| (percent(interval.low), percent(interval.high)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::statistics::Interval;
    use crate::tally::Share;
    use crate::tally::settings::ShareBy;
    use crate::tally::verdict::{Band, Measure};

    fn band(measure: Measure, found: Finding, low: f64, high: f64) -> Judgement {
        Judgement {
            measure,
            band: Band::new(0.4, 0.5).expect("a band"),
            share: Share { n: 20.0, of: 40.0, design_effect: 1.0 },
            interval: Some(Interval { low, high }),
            finding: found,
        }
    }

    fn said(finding: Finding, bands: Vec<Judgement>) -> String {
        let verdict =
            Verdict { finding, reason: None, share_by: ShareBy::Count, counted: 40.0, needed: 40.0, bands };
        sentence(&verdict)
    }

    #[test]
    fn every_band_that_decides_is_named() {
        let chord = band(Measure::Chord, Finding::ClearlyAbove, 0.6, 0.8);
        let scale = band(Measure::Scale, Finding::Undecided, 0.3, 0.6);
        let open = band(Measure::Open, Finding::ClearlyBelow, 0.1, 0.3);
        assert_eq!(
            said(Finding::ClearlyAbove, vec![chord, scale, open]),
            "clearly above: chord lies between 60 and 80 %, all of it off the band; \
             clearly below: open lies between 10 and 30 %, all of it off the band"
        );
        assert_eq!(
            said(Finding::Undecided, vec![scale]),
            "undecided: scale 30-60 crosses the band's edge; another chorus may tell"
        );
        let resolved = band(Measure::Resolved, Finding::Undecided, 0.4, 0.7);
        assert_eq!(
            said(Finding::Undecided, vec![scale, resolved]),
            "undecided: scale 30-60, resolved 40-70 cross their bands' edges; another chorus may tell"
        );
        assert_eq!(said(Finding::Met, vec![band(Measure::Chord, Finding::Met, 0.4, 0.5)]), "met");
    }
}
