//! The progress document, `barwise.progress`: what became of takes over weeks.
//!
//! Shares carry their counts and intervals, comparisons what may be said of them. `of_progress` fills it in; pages and
//! screens take their numbers from here.

pub mod picture;
pub mod rows;
pub mod text;
pub mod words;
mod written;

use crate::theory::Written;
use schemars::JsonSchema;
use serde::Serialize;

use super::number::Count;
use super::review::ShareRecord;

mod of_progress;

/// The weeks of some charts, or of one.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "barwise.progress")]
pub struct ProgressDocument {
    /// `barwise.progress`
    pub schema: &'static str,
    /// Version of the document.
    pub version: u32,
    /// The program and its version.
    pub tool: &'static str,
    /// The day it was made.
    pub today: String,
    /// The first day looked at; none where all are.
    pub since: Option<String>,
    /// Chord share of the middle half of recorded soloists: a comparison, not a target.
    pub recorded_soloists: [f64; 2],
    /// Each chart, the one played last first.
    pub charts: Vec<ChartRecord>,
    /// By kind of chord, over all these charts.
    pub kinds: Vec<GroupRecord>,
    /// By the key chords are heard in, over all these charts.
    pub keys: Vec<GroupRecord>,
    /// Positions of the neck, over every chart there is.
    pub positions: PositionsRecord,
    /// The trend over all these charts; none under six days.
    pub lift: Option<LiftRecord>,
    /// What a tone mix is and is not.
    pub caution: &'static str,
    /// Whose names are shown; documents are in concert pitch and do not say so.
    #[serde(skip)]
    pub written: Written,
}

/// One chart.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ChartRecord {
    /// Its title; empty where there is none.
    pub title: String,
    /// SHA-256 of its form, the same in every key, in hexadecimal.
    pub form_sha256: String,
    /// The key signatures it was played in, the last one first.
    pub keys: Vec<String>,
    /// The feel of the last take.
    pub feel: Option<String>,
    /// What was played of it in all.
    pub played: PlayedRecord,
    /// Slowest and fastest tempo of the takes that are compared.
    pub tempi_compared: Option<[f64; 2]>,
    /// Takes left aside because their tempo is more than a tenth away from the last one's.
    pub other_tempi: Vec<TempoRecord>,
    /// Takes set aside because too much was misread: nothing counts against the player.
    pub set_aside: Vec<SetAsideRecord>,
    /// How takes were counted. Shares counted in different ways are never compared; the last way is in force.
    pub counted: Vec<WayRecord>,
    /// Chord share of running the scale over the form.
    pub running_the_scale: Option<f64>,
    /// Each week in which it was played; a week in which the way of counting changed once for each way.
    pub weeks: Vec<WeekRecord>,
    /// The last weeks against those before.
    pub changes: Vec<ChangeRecord>,
    /// Trends over days; none under six days.
    pub trends: Vec<TrendRecord>,
    /// By kind of chord.
    pub kinds: Vec<GroupRecord>,
    /// By the key chords are heard in.
    pub regions: Vec<GroupRecord>,
    /// Every tempo of whole takes, slowest first.
    pub tempi: Vec<TempoRecord>,
    /// Whether bands were asked for; without them no take is met.
    pub bands_asked: bool,
    /// Tempi with two takes met; where no bands were asked for, with two takes.
    pub climbed: Vec<f64>,
    /// Register, density and rests.
    pub line: Option<LineRecord>,
}

/// How much was played, loops and all.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PlayedRecord {
    /// Takes of the whole form.
    pub takes: usize,
    /// Takes of some bars again and again.
    pub loops: usize,
    /// Seconds of both.
    pub seconds: f64,
    /// Days with a take.
    pub days: usize,
    /// Weeks with a take.
    pub weeks: usize,
    /// The first day.
    pub first: String,
    /// The last day.
    pub last: String,
}

/// A tempo.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TempoRecord {
    /// Quarter notes a minute.
    pub tempo: f64,
    /// Takes at it.
    pub takes: usize,
    /// Of these, takes that met every band; none where no bands were asked for.
    pub met: Option<usize>,
}

/// A take set aside.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SetAsideRecord {
    /// Its number.
    pub take: u32,
    /// The misread part of its notes.
    pub ghosts: f64,
}

/// A way of counting.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WayRecord {
    /// The number of the counting rules.
    pub rules: u32,
    /// `strict` or `lenient`.
    pub counting: &'static str,
    /// SHA-256 of all settings that decide how notes are counted.
    pub settings_sha256: String,
    /// The day of its first take.
    pub from: String,
    /// Takes counted in it.
    pub takes: usize,
}

/// A week.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WeekRecord {
    /// Its Monday.
    pub monday: String,
    /// Which of `counted` it was counted in, from 0.
    pub counted_as: usize,
    /// Takes.
    pub takes: usize,
    /// Notes counted.
    pub counted: Count,
    /// Chord tones.
    pub chord: ShareRecord,
    /// Scale tones; with those of another scale when counted leniently.
    pub scale: ShareRecord,
    /// Outside notes.
    pub outside: ShareRecord,
    /// Outside notes that resolved.
    pub resolved: ShareRecord,
    /// Outside notes that did not.
    pub open: ShareRecord,
    /// Changes landed on.
    pub landings: LandingsOverTakes,
}

/// Landings over several takes.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LandingsOverTakes {
    /// Changes landed on.
    pub n: Count,
    /// Changes met with a note.
    pub of: Count,
    /// Their share.
    pub share: Option<f64>,
    /// Lower end of its interval.
    pub low: Option<f64>,
    /// Upper end of its interval.
    pub high: Option<f64>,
    /// Thirds and sevenths among all counted notes.
    pub baseline: Option<f64>,
}

/// The last weeks against those before.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ChangeRecord {
    /// `chord`, `landings` or `open`.
    pub measure: &'static str,
    /// Weeks on each side.
    pub weeks: usize,
    /// The Mondays on which the sides begin.
    pub from: [String; 2],
    /// Whether these weeks and the present one follow each other without a gap; else they are the last weeks played.
    pub in_a_row: bool,
    /// Takes before, takes now.
    pub takes: [usize; 2],
    /// Before.
    pub before: SideRecord,
    /// Now.
    pub now: SideRecord,
    /// The share now less the share before.
    pub difference: f64,
    /// Lower end of its interval.
    pub low: f64,
    /// Upper end of its interval.
    pub high: f64,
    /// `change` where the interval excludes 0, else `no clear change`.
    pub finding: &'static str,
}

impl ChangeRecord {
    /// Whether a change may be said.
    pub fn is_change(&self) -> bool {
        self.finding == CHANGE
    }
}

/// The words for a difference whose interval excludes 0, and for any other.
pub(super) const CHANGE: &str = "change";
pub(super) const NO_CLEAR_CHANGE: &str = "no clear change";

/// One side of a comparison.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SideRecord {
    /// Notes (or landings) of the kind.
    pub n: Count,
    /// Of so many.
    pub of: Count,
    /// Their share.
    pub share: Option<f64>,
    /// For landings: thirds and sevenths among all counted notes.
    pub baseline: Option<f64>,
}

/// A trend of one measure.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TrendRecord {
    /// `chord`, `landings` or `open`.
    pub measure: &'static str,
    /// Days it is told from.
    pub days: usize,
    /// Change of share a week.
    pub a_week: f64,
    /// Lower end of its interval.
    pub low: f64,
    /// Upper end of its interval.
    pub high: f64,
    /// `change` where the interval excludes 0, else `no clear change`.
    pub finding: &'static str,
}

/// The trend over charts: of the logit of the chord share less the logit of running the scale over the same chart.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LiftRecord {
    /// Days it is told from.
    pub days: usize,
    /// Charts it is told from.
    pub charts: usize,
    /// The lift of the last day.
    pub last: f64,
    /// Its change a week.
    pub a_week: f64,
    /// Lower end of its interval.
    pub low: f64,
    /// Upper end of its interval.
    pub high: f64,
    /// `change` where the interval excludes 0, else `no clear change`.
    pub finding: &'static str,
}

/// One kind of chord, or one key.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct GroupRecord {
    /// Its name.
    pub name: String,
    /// Takes it was met in.
    pub takes: usize,
    /// Notes counted over it.
    pub counted: Count,
    /// Chord tones.
    pub chord: ShareRecord,
    /// Outside notes left open.
    pub open: ShareRecord,
    /// Changes to it.
    pub landings: LandingsOverTakes,
}

/// Positions of three notes a string.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PositionsRecord {
    /// Whether any take tells the strings it was played on.
    pub strings_known: bool,
    /// Positions there are: 12 keys by 7.
    pub of: usize,
    /// Those heard, the one heard longest ago first.
    pub heard: Vec<PositionRecord>,
}

/// One position.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PositionRecord {
    /// Tonic of its major key, or of the relative major.
    pub key: String,
    /// The note it begins with on the lowest string.
    pub start: String,
    /// The last day it was heard.
    pub last: String,
    /// Days since then.
    pub days_ago: i32,
    /// Takes it was heard in.
    pub takes: usize,
}

/// How the line lies.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LineRecord {
    /// Lowest MIDI key.
    pub lowest: u8,
    /// The middle half of the notes, as MIDI keys.
    pub middle: [u8; 2],
    /// Highest MIDI key.
    pub highest: u8,
    /// Notes a bar.
    pub notes_a_bar: f64,
    /// Beats of rest, as a part of all.
    pub rests: f64,
    /// The longest stretch without a rest, in beats.
    pub longest_run_beats: f64,
}
