//! The assignment document, `barwise.assignment`: what is asked, what stands beside it, how often luck alone decides.

pub mod text;

use jiff::civil::Date;
use schemars::JsonSchema;
use serde::Serialize;

use super::number::Count;
use super::review::TOOL;
use crate::judge::assigned::Assigned;
use crate::practice::Assignment;
use crate::practice::odds::{Odds, in_words};
use crate::tally::verdict::{BETWEEN_TAKES, Band, FEWEST_NOTES, Measure};
use crate::tally::{Counting, NamedColours, RECORDED_SOLOISTS};

/// Share of changes that recorded soloists land on their third or seventh (Weimar Jazz Database, 456 solos, our own count:
/// 22.7 % and 22.3 % in the two halves of the data).
pub const RECORDED_LANDINGS: f64 = 0.23;

/// An assignment by name, as other documents carry it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct AssignmentName {
    /// What it is called, if it is called anything.
    pub title: Option<String>,
    /// Its number in the term.
    pub number: Option<u32>,
    /// The day it is to be handed in, year-month-day.
    pub due: Option<String>,
    /// Title of its chart.
    pub chart: String,
    /// SHA-256 of its rule, in hexadecimal: of all that decides a verdict, not of its words.
    pub rule_sha256: String,
}

/// A whole assignment.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "barwise.assignment")]
pub struct AssignmentDocument {
    /// `barwise.assignment`
    pub schema: &'static str,
    /// Version of the document.
    pub version: u32,
    /// The program and its version.
    pub tool: &'static str,
    /// What it is called.
    pub assignment: AssignmentName,
    /// The keys it may be played in; empty: the chart's own.
    pub keys: Vec<String>,
    /// The bars asked for, first and last; none: all.
    pub bars: Option<(usize, usize)>,
    /// The slowest and the fastest tempo asked for, in quarter notes a minute.
    pub tempo: Option<(f64, f64)>,
    /// The feel asked for.
    pub feel: Option<&'static str>,
    /// The fewest whole choruses of a take.
    pub choruses: Option<u32>,
    /// Fewest counted notes of a take.
    pub needs: Count,
    /// `strict` or `lenient`.
    pub counting: &'static str,
    /// Whether a 9, 11 or 13 named in a symbol counts as `scale` or `chord`.
    pub named_colours: &'static str,
    /// Which takes are looked at.
    pub takes: &'static str,
    /// Each band.
    pub bands: Vec<AskedBand>,
    /// Chord share of running the scale over the bars asked for.
    pub running_the_scale: Option<f64>,
    /// Chord share of the middle half of recorded soloists.
    pub recorded_soloists: [f64; 2],
    /// What to practise beside the bands; not counted.
    pub focus: Option<String>,
    /// What to listen for.
    pub question: Option<String>,
    /// More from the teacher.
    pub comment: Option<String>,
    /// Whether a take of the teacher's travels with it.
    pub has_model: bool,
    /// What the teacher may want to change.
    pub cautions: Vec<String>,
}

/// One band that is asked for.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AskedBand {
    /// What it is about.
    pub measure: &'static str,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Whether its ends stand closer than 15 points.
    pub narrow: bool,
    /// How often luck alone decides.
    pub odds: Vec<OddsRecord>,
}

/// What two takes are told whose player truly plays one share. Exact: a sum over the binomial, of notes over the design
/// effect.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct OddsRecord {
    /// The true share.
    pub share: f64,
    /// Notes (or changes) of both takes together.
    pub notes: Count,
    /// The design effect they are divided by.
    pub design_effect: f64,
    /// How often the band is met.
    pub met: f64,
    /// How often nothing can be said.
    pub undecided: f64,
    /// How often it is said to be clearly below.
    pub clearly_below: f64,
    /// How often it is said to be clearly above.
    pub clearly_above: f64,
    /// The same in a sentence.
    pub sentence: String,
}

impl AssignmentName {
    /// The name of an assignment.
    pub fn of(assigned: &Assigned) -> Self {
        let words = &assigned.assignment.words;
        Self {
            title: words.title.clone(),
            number: words.number,
            due: words.due.map(|due| due.to_string()),
            chart: assigned.chart().title().to_owned(),
            rule_sha256: assigned.rule_sha256.clone(),
        }
    }
}

impl AssignmentDocument {
    /// The document of an assignment; `running_the_scale` is the chord share of running the scale over its bars.
    pub fn new(assigned: &Assigned, running_the_scale: Option<f64>) -> Self {
        let assignment = &assigned.assignment;
        let task = &assignment.task;
        let changes = changes_met(assigned);
        let colours = assignment.named_colours.unwrap_or(NamedColours::Scale);
        let bands: Vec<AskedBand> = assignment
            .bands
            .bands
            .iter()
            .map(|&(measure, band)| AskedBand::of(measure, band, assignment, running_the_scale, changes))
            .collect();
        Self {
            schema: "barwise.assignment",
            version: 1,
            tool: TOOL,
            assignment: AssignmentName::of(assigned),
            keys: task.keys.iter().map(|&key| crate::chart::header::key_text(key)).collect(),
            bars: task.bars,
            tempo: task.tempo.map(|tempo| (tempo.low(), tempo.high())),
            feel: task.feel.map(crate::chart::Feel::name),
            choruses: task.choruses,
            needs: Count(assignment.bands.needs.max(FEWEST_NOTES)),
            counting: assignment.counting.unwrap_or(Counting::Strict).word(),
            named_colours: if colours == NamedColours::Scale { "scale" } else { "chord" },
            takes: assignment.takes.words(),
            cautions: cautions(&bands, running_the_scale),
            bands,
            running_the_scale,
            recorded_soloists: [RECORDED_SOLOISTS.0, RECORDED_SOLOISTS.1],
            focus: assignment.words.focus.clone(),
            question: assignment.words.question.clone(),
            comment: assignment.words.comment.clone(),
            has_model: assignment.model.is_some(),
        }
    }
}

/// Changes of one take that a note can meet: of the choruses asked for, each once.
fn changes_met(assigned: &Assigned) -> f64 {
    let form = &assigned.chords().form;
    let symbols: Vec<_> = form.chords.iter().map(|chord| chord.symbol).collect();
    let changes = symbols.windows(2).filter(|pair| pair[0] != pair[1] && pair[1].is_some()).count();
    (changes * assigned.assignment.task.choruses.unwrap_or(1) as usize) as f64
}

impl AskedBand {
    fn of(measure: Measure, band: Band, assignment: &Assignment, running: Option<f64>, changes: f64) -> Self {
        let needs = assignment.bands.needs.max(FEWEST_NOTES);
        let notes = if measure == Measure::Landings { changes } else { needs };
        let bands = assignment.bands.bands.len();
        let middle = f64::midpoint(band.low(), band.high());
        let runner = running.filter(|_| measure == Measure::Chord);
        let shares = [runner, Some(middle)].into_iter().flatten();
        let odds = shares
            .filter(|_| notes >= 1.0)
            .map(|share| OddsRecord::of(measure, Odds::of(band, share, notes, bands), runner == Some(share)));
        Self {
            measure: measure.word(),
            low: band.low(),
            high: band.high(),
            narrow: Assignment::is_narrow(band),
            odds: odds.collect(),
        }
    }
}

impl OddsRecord {
    fn of(measure: Measure, odds: Odds, is_running: bool) -> Self {
        Self {
            share: odds.share,
            notes: Count(odds.notes),
            design_effect: BETWEEN_TAKES,
            met: odds.met,
            undecided: odds.undecided,
            clearly_below: odds.below,
            clearly_above: odds.above,
            sentence: odds_sentence(measure, odds, is_running),
        }
    }
}

fn odds_sentence(measure: Measure, odds: Odds, is_running: bool) -> String {
    let what = if is_running {
        format!("running the scale, {} %,", (odds.share * 100.0).round())
    } else {
        format!("a true share of {} %", (odds.share * 1e3).round() / 10.0)
    };
    let (word, clear) = if odds.below > odds.above { ("below", odds.below) } else { ("above", odds.above) };
    let clear = if odds.missed() < SELDOM {
        String::new()
    } else {
        format!("; \"clearly {word}\" in {}", in_words(clear))
    };
    format!("{}: {what} misses this band in {}{clear}.", measure.word(), in_words(odds.missed()))
}

/// What happens less often than this needs no more words.
const SELDOM: f64 = 0.001;

/// What a teacher may want to change.
fn cautions(bands: &[AskedBand], running: Option<f64>) -> Vec<String> {
    let percent = |share: f64| (share * 100.0).round();
    let narrow = bands.iter().filter(|band| band.narrow).map(|band| {
        let (low, high) = (percent(band.low), percent(band.high));
        format!(
            "The band for {}, {low} to {high} %, is narrower than 15 points: luck decides often. Make it wider.",
            band.measure
        )
    });
    let chord = bands.iter().find(|band| band.measure == Measure::Chord.word());
    let runs = chord.zip(running).filter(|(band, running)| (band.low..=band.high).contains(running));
    let runs = runs.map(|(_, running)| {
        format!(
            "Running the scale, {} %, lies in the band for chord: it can be met without a choice of notes.",
            percent(running)
        )
    });
    let full = chord.filter(|band| band.low >= 0.9);
    let full = full.map(|_| "100 % chord tones is an arpeggio exercise.".to_owned());
    narrow.chain(runs).chain(full).collect()
}

/// A day as people say it: `Thu 3 Dec`.
pub fn day_words(day: Date) -> String {
    day.strftime("%a %-d %b").to_string()
}

/// A band in words: `55 to 70 %`, `at most 5 %`, `at least 50 %`.
pub fn band_words(low: f64, high: f64) -> String {
    let percent = |share: f64| (share * 1e3).round() / 10.0;
    match (percent(low), percent(high)) {
        (low, high) if low <= 0.0 => format!("at most {high} %"),
        (low, high) if high >= 100.0 => format!("at least {low} %"),
        (low, high) => format!("{low} to {high} %"),
    }
}
