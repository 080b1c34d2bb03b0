//! The review document, `barwise.review`: what was found about one line, note by note, bar by bar, and in all.
//!
//! Within version 1 fields are added, never renamed or re-meant. Times are milliseconds; beats count from 1 within a bar;
//! MIDI keys are 0 to 127. `of_tally` fills it in.

pub mod chorus_words;
pub mod contests_granted;
pub mod notes;
pub mod other_scales;
pub mod page;
pub mod text;

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::band::BandRecord;
use super::number::Count;
use super::takes::EnteredRecord;
use crate::theory::Written;

mod choruses;
mod of_tally;
mod next;
mod places;

pub use choruses::ChorusRecord;
pub use next::NextRecord;
pub use of_tally::Found;
pub use places::{KeyRecord, LayerCounts, PlaceRecord, PlacesRecord, StringRecord};

/// The name and version of the program, as every document carries it.
pub const TOOL: &str = concat!("barwise ", env!("CARGO_PKG_VERSION"));

/// A whole review.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "barwise.review")]
pub struct Review {
    /// `barwise.review`
    pub schema: &'static str,
    /// Version of the document.
    pub version: u32,
    /// The program and its version.
    pub tool: &'static str,
    /// The number of the counting rules.
    pub rules: u32,
    /// What was judged.
    pub source: Source,
    /// What it was judged by.
    pub chart: ChartId,
    /// What the player said of the take, and keeps of it; none where nothing was entered.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub entered: Option<EnteredRecord>,
    /// How the band played; none where the take does not say.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub band: Option<BandRecord>,
    /// Every setting that could change a figure.
    pub settings: SettingsUsed,
    /// Every note-on of the judged track, in the order they came; left out with `--totals`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub notes: Option<Vec<NoteRecord>>,
    /// Every sounding of every chord.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub chords: Option<Vec<ChordRecord>>,
    /// Every bar of every chorus.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bars: Option<Vec<BarRecord>>,
    /// Every chorus by itself.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub choruses: Option<Vec<ChorusRecord>>,
    /// Where the counted notes were played.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub places: Option<PlacesRecord>,
    /// The whole take.
    pub totals: Totals,
    /// What to practise next, at most three things; none where nothing stands out.
    pub next: Vec<NextRecord>,
    /// What was odd about the input.
    pub warnings: Vec<WarningRecord>,
}

/// What was judged.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Source {
    /// Number of the take, if it is one.
    pub take: Option<u32>,
    /// The file, as it was named.
    pub file: Option<String>,
    /// The judged track.
    pub track: Option<String>,
    /// SHA-256 of the file, in hexadecimal.
    pub sha256: Option<String>,
}

/// What stands beside names that are not in concert pitch: `written for Bb`.
pub fn written_for(written: Written) -> Option<String> {
    (!written.is_concert()).then(|| format!("written for {written}"))
}

/// Which chart, and how it was played.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ChartId {
    /// The title; empty where there is none.
    pub title: String,
    /// SHA-256 of the chart's text (or of its chord text in a MIDI file), in hexadecimal.
    pub sha256: String,
    /// Bars of one time through.
    pub bars: usize,
    /// The number of the first of them: 1, but where bars of the form are played by themselves.
    pub first_bar: usize,
    /// The first meter.
    pub meter: String,
    /// Quarter notes a minute at the start.
    pub tempo: f64,
    /// The key signature, where one is written; that of the first chorus, where the tune goes through keys.
    pub key: Option<String>,
    /// The key of each chorus, where the tune goes through keys; behind the last of them the first come again.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub keys: Option<Vec<String>>,
    /// The instrument whose player reads the names here; documents are in concert pitch and do not say so.
    #[serde(skip)]
    pub written: Written,
}

impl ChartId {
    /// What stands beside title or key where names are not in concert pitch: `written for Bb`.
    pub fn written_for(&self) -> Option<String> {
        written_for(self.written)
    }

    /// The key of a chorus (from 1), where the tune goes through keys.
    pub fn key_of_chorus(&self, chorus: u32) -> Option<&str> {
        let keys = self.keys.as_deref()?;
        let before = usize::try_from(chorus.saturating_sub(1)).ok()?;
        Some(keys.get(before.checked_rem(keys.len())?)?)
    }

    /// The number of the last bar; the one before the first where there is none.
    pub const fn last_bar(&self) -> usize {
        self.first_bar + self.bars - 1
    }

    /// Whether a bar has this number.
    pub fn has_bar(&self, number: usize) -> bool {
        (self.first_bar..=self.last_bar()).contains(&number)
    }
}

/// The settings that a review was made with.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SettingsUsed {
    /// `strict` or `lenient`.
    pub counting: &'static str,
    /// Every other setting by its name.
    #[serde(flatten)]
    pub others: BTreeMap<String, serde_json::Value>,
}

/// One note.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct NoteRecord {
    /// Its number from 0, left-out notes included.
    pub index: usize,
    /// When it was struck.
    pub onset_ms: f64,
    /// How long it was held.
    pub duration_ms: f64,
    /// The same in beats, as they are where it was struck.
    pub beats: f64,
    /// Times through, from 1.
    pub chorus: u32,
    /// Bar of the form it was struck in, from 1; 0 and below are the count-in.
    pub bar: i64,
    /// Beat it was struck on.
    pub beat: f64,
    /// MIDI key, bends taken in.
    pub key: u8,
    /// The pitch, spelled over its chord.
    pub name: String,
    /// String, 1 the highest; none where the channel does not tell.
    pub string: Option<u8>,
    /// Fret on that string.
    pub fret: Option<u8>,
    /// MIDI velocity.
    pub velocity: u8,
    /// The symbol it belongs to, as written; empty where no chord is known.
    pub chord: String,
    /// Number of that chord in the form, from 1.
    pub chord_index: Option<usize>,
    /// Times through of that chord.
    pub chord_chorus: Option<u32>,
    /// Bar of that chord: the bar the note counts in.
    pub chord_bar: Option<usize>,
    /// The scale in force over it.
    pub scale: Option<String>,
    /// Its degree over that chord.
    pub degree: Option<String>,
    /// `chord`, `scale`, `other`, `outside`, or `none` when it is not counted.
    pub class: &'static str,
    /// For an outside note: `resolved`, `open` or `held-outside`.
    pub tag: Option<&'static str>,
    /// The device that resolved it.
    pub rule: Option<&'static str>,
    /// Whether it was struck before its chord began.
    pub early: bool,
    /// Whether it counts.
    pub counted: bool,
    /// Why it does not.
    pub left_out: Option<&'static str>,
    /// The reason in one line.
    pub why: String,
}

/// One sounding of a chord.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ChordRecord {
    /// Number of the chord in the form, from 1.
    pub chord_index: usize,
    /// Times through, from 1.
    pub chorus: u32,
    /// Bar of the form, from 1.
    pub bar: usize,
    /// Beat it begins on.
    pub beat: Count,
    /// Beats it lasts.
    pub beats: Count,
    /// The symbol as written.
    pub symbol: String,
    /// The scale in force; none over N.C.
    pub scale: Option<String>,
    /// Pitch classes of the chord tones it is judged by, from C; none over N.C.
    pub chord_tones: Vec<u8>,
    /// Those of its third and seventh, or what stands for them.
    pub guide_tones: Vec<u8>,
    /// Chord tones counted.
    pub chord: Count,
    /// Scale tones counted.
    pub scale_notes: Count,
    /// Notes of another scale.
    pub other: Count,
    /// Outside notes.
    pub outside: Count,
    /// Outside notes left open.
    pub open: Count,
    /// How the change was met; none where the chord did not change.
    pub landing: Option<LandingRecord>,
    /// Why nothing is counted here: `head` in the tune, `not-yours` where the drums are alone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kept_out: Option<&'static str>,
}

/// How a change was met.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LandingRecord {
    /// Degree of the first note, or none where no note came in the first beat.
    pub degree: Option<String>,
    /// Whether it is the third or seventh, or what stands for them.
    pub hit: Option<bool>,
    /// Index of that note.
    pub note: Option<usize>,
    /// Whether the old chord's seventh stepped to the new chord's third.
    pub seven_to_three: Option<bool>,
}

/// One bar.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BarRecord {
    /// Times through, from 1.
    pub chorus: u32,
    /// Bar of the form, from 1.
    pub bar: usize,
    /// Beats it lasts.
    pub beats: Count,
    /// Notes counted.
    pub counted: Count,
    /// Chord tones.
    pub chord: Count,
    /// Scale tones.
    pub scale: Count,
    /// Notes of another scale.
    pub other: Count,
    /// Outside notes.
    pub outside: Count,
    /// Outside notes that resolved.
    pub resolved: Count,
    /// Outside notes that did not.
    pub open: Count,
}

/// The whole take.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Totals {
    /// Notes counted.
    pub counted: Count,
    /// Chord tones.
    pub chord: ShareRecord,
    /// Scale tones.
    pub scale: ShareRecord,
    /// Notes of another scale.
    pub other: ShareRecord,
    /// Outside notes.
    pub outside: ShareRecord,
    /// Outside notes that resolved.
    pub resolved: ShareRecord,
    /// Outside notes that did not.
    pub open: ShareRecord,
    /// The classes by sounding time.
    pub by_duration: DurationRecord,
    /// Chord share of running the scale over this form.
    pub running_the_scale: Option<f64>,
    /// Chord share of the middle half of recorded soloists.
    pub recorded_soloists: [f64; 2],
    /// Design effect of the chord share.
    pub design_effect: f64,
    /// Changes landed on.
    pub landings: LandingsRecord,
    /// Other scales the whole line fits better.
    pub fits: Vec<FitRecord>,
    /// Silences.
    pub rests: RestsRecord,
    /// Notes left out, by reason.
    pub left_out: LeftOutRecord,
}

/// A share with its count and its 95 % interval.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ShareRecord {
    /// Notes of the kind.
    pub n: Count,
    /// Their share of the counted notes; none when nothing is counted.
    pub share: Option<f64>,
    /// Lower end of the interval.
    pub low: Option<f64>,
    /// Upper end of the interval.
    pub high: Option<f64>,
    /// Design effect the interval was made with.
    pub design_effect: f64,
}

/// Shares by sounding time.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DurationRecord {
    /// Chord tones.
    pub chord: f64,
    /// Scale tones.
    pub scale: f64,
    /// Notes of another scale.
    pub other: f64,
    /// Outside notes.
    pub outside: f64,
}

/// Landings of the whole take.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LandingsRecord {
    /// Changes landed on.
    pub n: usize,
    /// Changes that a note met.
    pub of: usize,
    /// Their share.
    pub share: Option<f64>,
    /// Lower end of the interval.
    pub low: Option<f64>,
    /// Upper end of the interval.
    pub high: Option<f64>,
    /// Thirds and sevenths among all counted notes.
    pub baseline: Option<f64>,
}

/// A scale that the line over a chord fits better than the one in force.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FitRecord {
    /// The symbol.
    pub symbol: String,
    /// The chord's function in full.
    pub function: String,
    /// The scale.
    pub scale: String,
    /// Notes it explains less notes the scale in force explains.
    pub notes_more: Count,
}

/// Silences of half a beat or more.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RestsRecord {
    /// Beats of silence.
    pub beats: f64,
    /// Beats of the form as played.
    pub of: Count,
    /// Longest stretch without a silence.
    pub longest_run_beats: f64,
}

/// Notes left out, by reason.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LeftOutRecord {
    /// Misread notes.
    pub ghost: usize,
    /// Grace notes.
    pub ornament: usize,
    /// The same key struck again at once.
    pub retrigger: usize,
    /// Pitches between two semitones.
    pub between: usize,
    /// Where no chord sounds.
    pub no_chord: usize,
    /// Before bar 1.
    pub count_in: usize,
    /// In choruses kept for the tune.
    pub head: usize,
    /// In the bars of the other player.
    pub not_yours: usize,
}

/// Something odd about the input.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WarningRecord {
    /// A word for it that stays the same.
    pub code: String,
    /// What it was.
    pub message: String,
    /// Where, if it is about a bar.
    pub bar: Option<usize>,
}

impl WarningRecord {
    /// The word for a stretch in which notes may be missing.
    pub const GAP: &str = "gap";
    /// The word for a take that was stopped before its end.
    pub const STOPPED: &str = "stopped";

    /// The code of what says which scales the player keeps for the chart.
    pub const KEPT: &str = "kept-scales";

    /// Whether it bears upon the figures, so that it stands beside them in every report.
    pub fn is_beside_figures(&self) -> bool {
        [Self::GAP, Self::STOPPED, Self::KEPT].contains(&self.code.as_str())
    }
}

/// How much of a review is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Detail {
    /// Notes, chords, bars and totals.
    Notes,
    /// The totals alone.
    Totals,
}
