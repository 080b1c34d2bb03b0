//! A take that travels: in an assignment as its model, in a hand-in as what was played.
//!
//! It holds what a verdict needs and nothing else: the notes on their ticks, where bar 1 begins, how often the form was
//! played, and what belongs to the instrument. No time of day, no name, no path, no sound, no text of the player's: what
//! has no field here does not travel. The chart is the assignment's.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::take::line_text::{self, NoLine};
use crate::take::{ChannelMessage, Imprint, MidiFile, TakeFile};
use crate::time::{Meter, NanoSpan, Nanos, TempoMap, TickSpan, Ticks};

/// The settings that belong to an instrument and go with its takes; all others are the assignment's.
pub const OF_THE_INSTRUMENT: [&str; 6] =
    ["tuning", "first-string-channel", "string-order", "bend-range", "offset-ms", "offset-periods"];

/// The most choruses that a take may say it has.
const MOST_CHORUSES: u32 = 999;

/// The longest quarter a MIDI file can hold, in microseconds.
const LONGEST_QUARTER_US: i64 = 0xFF_FFFF;

/// The most stretches that an input may have been gone for.
const MOST_GAPS: usize = 1_000;

/// The latest tick of a take: the longest MIDI file that is read.
const LATEST: i64 = 1_000_000 * crate::time::TICKS_PER_QUARTER;

/// The longest text that is taken from a file for a value of a setting, in characters.
const LONGEST_VALUE: usize = 100;

/// The marker that keeps the end of a take where it was.
const END: &str = "end";

/// A take on its way.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct SentTake {
    /// Its number where it was played.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub take: Option<u32>,
    /// The day it was played, year-month-day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub day: Option<String>,
    /// Which of the assignment's keys it was played in, from 0 in their order; 0 where there is one.
    #[serde(skip_serializing_if = "is_zero")]
    pub key: usize,
    /// How long a quarter note lasts, in microseconds.
    pub quarter_us: i64,
    /// Ticks before bar 1, 20,160 to the quarter note.
    pub count_in_ticks: i64,
    /// Times through.
    pub choruses: u32,
    /// The tick at which it was stopped, where that was before its end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stopped: Option<i64>,
    /// The last chorus of the tune, where the first and the last are the tune.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub head: Option<u32>,
    /// How many bars were traded at a time.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub trade: Option<u8>,
    /// How the band moved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub feel: Option<String>,
    /// How surely the lateness of the instrument is known, in milliseconds (median absolute deviation).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spread_ms: Option<f64>,
    /// The last tick.
    pub end_ticks: i64,
    /// Stretches in which notes may be missing, first and last tick of each.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub gaps: Vec<(i64, i64)>,
    /// The messages, as [`line_text`] writes them.
    pub notes: String,
    /// The settings of the instrument.
    #[serde(skip_serializing_if = "serde_json::Map::is_empty")]
    pub settings: serde_json::Map<String, serde_json::Value>,
}

/// Says why a take cannot travel, or cannot be taken for one.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotSent {
    /// It says nothing of itself: it was not played with this program.
    #[error(
        "it carries no chart and no settings of its own: play it with barwise play, or compare it by barwise review FILE --chart CHART --check F"
    )]
    NoImprint,
    /// Its tempo changes.
    #[error("its tempo changes on the way; a take that is sent has one tempo")]
    TempoChanges,
    /// Its notes do not read.
    #[error(transparent)]
    Line(#[from] NoLine),
    /// A number is none that there can be.
    #[error("{name} is {value}: no take has that")]
    Value {
        /// Its name.
        name: &'static str,
        /// What is written.
        value: i64,
    },
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands references over")]
const fn is_zero(number: &usize) -> bool {
    *number == 0
}

impl SentTake {
    /// What of a kept take travels. `gaps` are stretches in which notes may be missing.
    pub fn of(midi: &MidiFile, imprint: &Imprint, gaps: &[(Ticks, Ticks)]) -> Result<Self, NotSent> {
        let mut changes = midi.tempo.changes();
        let quarter = midi.tempo.quarter(Ticks::ZERO);
        if changes.any(|(_, other)| other != quarter) {
            return Err(NotSent::TempoChanges);
        }
        let solo = midi.solo_track(None).map_err(|_| NotSent::NoImprint)?;
        let settings = imprint.settings.iter().filter(|(name, _)| OF_THE_INSTRUMENT.contains(&name.as_str()));
        Ok(Self {
            quarter_us: quarter.0 / 1_000,
            count_in_ticks: imprint.count_in_ticks,
            choruses: imprint.choruses,
            stopped: imprint.stopped,
            head: imprint.head,
            trade: imprint.trade,
            feel: imprint.feel.clone().filter(|feel| feel.parse::<crate::chart::Feel>().is_ok()),
            spread_ms: imprint.spread_ms.filter(|ms| ms.is_finite()),
            end_ticks: midi.end_ticks.0,
            gaps: gaps.iter().map(|(from, until)| (from.0, until.0)).collect(),
            notes: line_text::write(&midi.tracks[solo].messages),
            settings: settings.map(|(name, value)| (name.clone(), value.clone())).collect(),
            ..Self::default()
        })
    }

    /// The take, if its numbers are some that a take can have. What a newer program or a stranger put among its settings
    /// is left out.
    pub fn checked(mut self) -> Result<Self, NotSent> {
        let within = |name, value: i64, low: i64, high: i64| {
            if (low..=high).contains(&value) { Ok(()) } else { Err(NotSent::Value { name, value }) }
        };
        within("quarter_us", self.quarter_us, 1, LONGEST_QUARTER_US)?;
        within("count_in_ticks", self.count_in_ticks, 0, LATEST)?;
        within("choruses", self.choruses.into(), 1, MOST_CHORUSES.into())?;
        within("end_ticks", self.end_ticks, 0, LATEST)?;
        within("stopped", self.stopped.unwrap_or(0), 0, LATEST)?;
        within("gaps", self.gaps.len() as i64, 0, MOST_GAPS as i64)?;
        for &(from, until) in &self.gaps {
            within("gaps", from, 0, until)?;
            within("gaps", until, from, LATEST)?;
        }
        self.day = self.day.filter(|day| Date::strptime("%Y-%m-%d", day).is_ok());
        self.settings.retain(|name, value| {
            let short = value.as_str().is_none_or(|text| text.chars().count() <= LONGEST_VALUE);
            OF_THE_INSTRUMENT.contains(&name.as_str()) && short
        });
        line_text::read(&self.notes)?;
        Ok(self)
    }

    /// The day it was played.
    pub fn played_on(&self) -> Option<Date> {
        Date::strptime("%Y-%m-%d", self.day.as_deref()?).ok()
    }

    /// The tempo, in quarter notes a minute, to a thousandth.
    pub fn bpm(&self) -> f64 {
        (60e9 / self.quarter_us as f64).round() / 1e3
    }

    /// Whole choruses that are the player's, of a form of this length.
    pub fn whole_choruses(&self, form: TickSpan) -> u32 {
        let played = self.stopped.map_or(i64::from(self.choruses), |stopped| {
            (stopped - self.count_in_ticks).max(0) / form.0.max(1)
        });
        let played = u32::try_from(played).unwrap_or(0).min(self.choruses);
        let tune = self.head.map_or(0, |last| 1 + u32::from(played >= last));
        played.saturating_sub(tune)
    }

    /// What the take says about itself, over this chart and these of its bars.
    pub fn imprint(&self, chart: &str, chart_name: &str, bars: Option<(usize, usize)>) -> Imprint {
        Imprint {
            version: 1,
            chart: chart.to_owned(),
            chart_name: chart_name.to_owned(),
            count_in_ticks: self.count_in_ticks,
            choruses: self.choruses,
            bars,
            stopped: self.stopped,
            head: self.head,
            trade: self.trade,
            feel: self.feel.clone(),
            spread_ms: self.spread_ms,
            settings: self.settings.clone(),
        }
    }

    /// Its tempo.
    pub fn tempo(&self) -> TempoMap {
        TempoMap::constant(NanoSpan(self.quarter_us * 1_000))
    }

    /// What was played, from the start of the take.
    pub fn line(&self) -> Result<Vec<(Nanos, ChannelMessage)>, NoLine> {
        let tempo = self.tempo();
        let messages = line_text::read(&self.notes)?;
        Ok(messages.into_iter().map(|(at, message)| (tempo.nanos(at), message)).collect())
    }

    /// The markers around stretches in which notes may be missing, with the words that `before` and `behind` them are.
    pub fn gaps(&self) -> impl Iterator<Item = (Ticks, Ticks)> {
        self.gaps.iter().map(|&(from, until)| (Ticks(from), Ticks(until)))
    }

    /// The take as a file to be judged by an assignment's own chart, whose meters are `meters`; it carries no chart.
    pub fn to_judge(
        &self,
        meters: Vec<(Ticks, Meter)>,
        bars: Option<(usize, usize)>,
    ) -> Result<TakeFile, NoLine> {
        Ok(TakeFile {
            tempo: self.tempo(),
            meters,
            markers: vec![(Ticks(self.end_ticks), END.to_owned())],
            solo: self.line()?,
            texts: vec![self.imprint("", "", bars).to_text()],
            ..TakeFile::default()
        })
    }
}
