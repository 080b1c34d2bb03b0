//! Assignments: what a teacher or a player asks of takes, as a TOML file that people can read and mail.
//!
//! ```toml
//! chart = '''
//! title: Two Bars
//! | F7 | Bb7 |
//! '''
//! tempo = "100-120"    # quarter notes a minute
//! choruses = 2         # at least so many in a take
//! chord = "55-70"      # percent of the counted notes
//! open = "0-5"
//! landings = "50-"     # an open end goes to 100, an open start begins at 0
//! needs = 60           # fewest counted notes of a take
//! counting = "lenient"
//! ```
//!
//! Bands alone are enough to check one take by. What decides a verdict is the [`rule`](Assignment::rule); the rest is
//! words, and a model take that may travel in the file.

mod read;
mod write;

use std::fmt;

use jiff::civil::Date;

use crate::chart::Feel;
use crate::tally::verdict::Bands;
use crate::tally::{Counting, NamedColours};
use crate::theory::Key;

use super::sent_take::SentTake;

pub use read::{NoAssignment, read_band, read_tempo};

/// The largest assignment that is read, in bytes: one with a model take of dense bends in it.
pub const LARGEST: usize = 4 << 20;

/// A two-sided band narrower than this is more often missed by luck than by playing (our own bound).
pub const NARROW: f64 = 0.15;

/// What a teacher or a player asks.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Assignment {
    /// The bands and the fewest notes.
    pub bands: Bands,
    /// How another scale's notes count, where the assignment says.
    pub counting: Option<Counting>,
    /// How named colours count, where the assignment says.
    pub named_colours: Option<NamedColours>,
    /// What is to be played.
    pub task: Task,
    /// Which takes are looked at.
    pub takes: TakesAsked,
    /// What it says in words.
    pub words: Words,
    /// Other settings of counting that it goes by, by their names; those that are not named have their defaults.
    pub settings: serde_json::Map<String, serde_json::Value>,
    /// A take of the teacher's, to hear and to compare with.
    pub model: Option<SentTake>,
}

/// What is to be played.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Task {
    /// The text of the chart; none where any chart will do.
    pub chart: Option<String>,
    /// The keys it may be played in; none: the chart's own.
    pub keys: Vec<Key>,
    /// The bars of the form, first and last from 1; none: all.
    pub bars: Option<(usize, usize)>,
    /// The tempos it may be played at.
    pub tempo: Option<TempoBand>,
    /// How the band moves.
    pub feel: Option<Feel>,
    /// The fewest whole choruses of a take.
    pub choruses: Option<u32>,
}

/// Tempos, ends included, in quarter notes a minute. Prints `116-132`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TempoBand {
    low: f64,
    high: f64,
}

/// A tempo is met within this much, in quarter notes a minute: files hold it rounded.
const TEMPO_TOLERANCE: f64 = 0.05;

impl TempoBand {
    /// From `low` to `high`, 20 to 400; `None` for none of these.
    pub fn new(low: f64, high: f64) -> Option<Self> {
        let is_tempo = |bpm: f64| (20.0..=400.0).contains(&bpm);
        (is_tempo(low) && is_tempo(high) && low <= high).then_some(Self { low, high })
    }

    /// The slowest.
    pub const fn low(self) -> f64 {
        self.low
    }

    /// The fastest.
    pub const fn high(self) -> f64 {
        self.high
    }

    /// Whether a tempo lies in it.
    pub fn has(self, bpm: f64) -> bool {
        (self.low - TEMPO_TOLERANCE..=self.high + TEMPO_TOLERANCE).contains(&bpm)
    }
}

impl fmt::Display for TempoBand {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.low >= self.high {
            write!(f, "{}", self.low)
        } else {
            write!(f, "{}-{}", self.low, self.high)
        }
    }
}

/// Which takes are looked at. Two of them count together; practice itself is free.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum TakesAsked {
    /// The best two of the last five that count.
    #[default]
    TwoOfTheLastFive,
    /// Any two.
    AnyTwo,
}

impl TakesAsked {
    /// How many takes count together.
    pub const TOGETHER: usize = 2;

    /// Both.
    pub const ALL: [Self; 2] = [Self::TwoOfTheLastFive, Self::AnyTwo];

    /// The words that files and reports use.
    pub const fn words(self) -> &'static str {
        match self {
            Self::TwoOfTheLastFive => "two of the last five",
            Self::AnyTwo => "any two",
        }
    }

    /// Of how many takes, counted from the last one, the best two are sought; none: of all.
    pub const fn of_last(self) -> Option<usize> {
        match self {
            Self::TwoOfTheLastFive => Some(5),
            Self::AnyTwo => None,
        }
    }
}

/// What an assignment says in words; none of it changes a verdict.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Words {
    /// What it is called: `Thursday, room 4`.
    pub title: Option<String>,
    /// Its number in the term.
    pub number: Option<u32>,
    /// The day it is to be handed in.
    pub due: Option<Date>,
    /// What to practise beside the bands: a position, a pentatonic, pushes. Not counted.
    pub focus: Option<String>,
    /// What to listen for.
    pub question: Option<String>,
    /// More from the teacher.
    pub comment: Option<String>,
}

impl Assignment {
    /// Everything that decides a verdict, a line each: two assignments with the same rule judge alike, whatever their
    /// words.
    pub fn rule(&self) -> String {
        let lines = self.rule_lines().into_iter().map(|(key, value)| format!("{key} = {value}"));
        lines.collect::<Vec<String>>().join("\n")
    }

    /// The settings of counting that it goes by, by their names.
    pub fn counts_by(&self) -> serde_json::Map<String, serde_json::Value> {
        let counting = self.counting.map(|counting| ("counting".to_owned(), counting.word().into()));
        let colours = self
            .named_colours
            .map(|colours| ("named-colours".to_owned(), (colours == NamedColours::ChordTones).into()));
        let others = self.settings.iter().map(|(name, value)| (name.clone(), value.clone()));
        others.chain(counting).chain(colours).collect()
    }

    /// Whether a band lies between two edges that stand close together.
    pub fn is_narrow(band: crate::tally::verdict::Band) -> bool {
        band.low() > 0.0 && band.high() < 1.0 && band.high() - band.low() < NARROW - 1e-9
    }
}

#[cfg(test)]
mod tests;
