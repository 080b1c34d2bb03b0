//! A chart: the bars as they stand on the page.
//!
//! A [`Chart`] keeps the text it was read from, so writing it loses nothing: comments, blanks and the way each symbol is
//! spelled stay. Only signs outside ASCII become ASCII (see [`super::ascii`]). Every change is made in the text and
//! read again, so a chart in memory is always one that a file could hold.

use std::fmt;
use std::ops::Range;

use crate::theory::chord::BareSymbols;
use crate::theory::{ChordSymbol, ScaleRequest};
use crate::time::{Meter, TickSpan};

use super::barline::Barline;
use super::form::Form;
use super::header::Header;

/// A chart, as read from its text by [`Chart::parse`].
#[derive(Clone, Debug, PartialEq)]
pub struct Chart {
    pub(super) name: String,
    pub(super) text: String,
    pub(super) bare: BareSymbols,
    pub(super) header: Header,
    pub(super) bars: Vec<WrittenBar>,
    pub(super) sections: Vec<Section>,
    pub(super) spots: Spots,
    pub(super) form: Form,
}

/// Bars under one letter in the margin.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Section {
    /// The letter; `None` for bars before the first letter.
    pub label: Option<String>,
    /// Its bars, as indices into [`Chart::bars`].
    pub bars: Range<usize>,
}

/// One bar on the page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WrittenBar {
    /// The letter in the margin, where a section begins with this bar.
    pub label: Option<String>,
    /// Whether this bar begins a line.
    pub starts_line: bool,
    /// The barline before it.
    pub before: Barline,
    /// The barline after it.
    pub after: Barline,
    /// The number of the ending that opens here.
    pub ending: Option<u8>,
    /// Its meter, whether written here or still in force.
    pub meter: Meter,
    /// What stands in it.
    pub content: BarContent,
}

/// What stands in a bar.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BarContent {
    /// Nothing: the last chord goes on.
    Hold,
    /// `%`: the bar before once more.
    RepeatBar,
    /// Chords that share the bar evenly, on beats.
    Even(Vec<WrittenChord>),
    /// One chord or `/` (`None`) a beat.
    Slots(Vec<Option<WrittenChord>>),
    /// Chords with the place of each, in order.
    Placed(Vec<(BeatPlace, WrittenChord)>),
}

/// A chord on the page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WrittenChord {
    /// The symbol exactly as written.
    pub text: String,
    /// The symbol read; `None` for N.C.
    pub symbol: Option<ChordSymbol>,
    /// The scale behind it, if one is written.
    pub scale: Option<ScaleRequest>,
}

/// A place within a bar: a beat, or half a beat later.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct BeatPlace {
    /// The beat, from 1.
    pub beat: u8,
    /// On it or after it.
    pub half: Half,
}

/// On a beat, or half a beat after it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Half {
    /// On the beat.
    On,
    /// Half a beat later (`&`).
    After,
}

impl BeatPlace {
    /// The first beat.
    pub const FIRST: Self = Self { beat: 1, half: Half::On };

    /// The place so many half beats after the barline.
    pub(super) const fn after_half_beats(half_beats: usize) -> Self {
        let half = if half_beats.is_multiple_of(2) { Half::On } else { Half::After };
        Self { beat: (half_beats / 2 + 1) as u8, half }
    }

    /// How long after the barline of a bar in `meter`.
    pub const fn offset(self, meter: Meter) -> TickSpan {
        let half = matches!(self.half, Half::After) as i64;
        TickSpan(meter.beat().0 * (self.beat as i64 - 1) + meter.beat().0 * half / 2)
    }
}

/// Prints as a chart writes it after the `@`: `2&`.
impl fmt::Display for BeatPlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let half = if self.half == Half::After { "&" } else { "" };
        write!(f, "{}{half}", self.beat)
    }
}

impl WrittenBar {
    /// The chords written in this bar, N.C. included, with how long after the barline each begins.
    pub fn chords(&self) -> Vec<(TickSpan, &WrittenChord)> {
        let beat = self.meter.beat();
        match &self.content {
            BarContent::Hold | BarContent::RepeatBar => Vec::new(),
            BarContent::Even(chords) => {
                let share = TickSpan(self.meter.bar().0 / chords.len().max(1) as i64);
                (0..).map(|i| share * i).zip(chords).collect()
            }
            BarContent::Slots(slots) => (0..)
                .map(|i| beat * i)
                .zip(slots)
                .filter_map(|(at, slot)| Some((at, slot.as_ref()?)))
                .collect(),
            BarContent::Placed(placed) => {
                placed.iter().map(|(place, chord)| (place.offset(self.meter), chord)).collect()
            }
        }
    }
}

impl Chart {
    /// The title, or the name of the file without folder and ending.
    pub fn title(&self) -> &str {
        self.header.title.as_deref().unwrap_or_else(|| {
            let file = self.name.rsplit(['/', '\\']).next().unwrap_or(&self.name);
            file.rsplit_once('.').map_or(file, |(stem, _)| stem)
        })
    }

    /// The name it was read under: a file, or `-`.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The text it was read from, signs as they were written, one line feed after each line.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// What stands above the bars.
    pub const fn header(&self) -> &Header {
        &self.header
    }

    /// The bars in the order of the page; bar 1 is the first.
    pub fn bars(&self) -> &[WrittenBar] {
        &self.bars
    }

    /// The sections in the order of the page.
    pub fn sections(&self) -> &[Section] {
        &self.sections
    }

    /// The form: once through the tune as played.
    pub fn unfold(&self) -> Form {
        self.form.clone()
    }
}

/// Where things stand in the text, in bytes: what [`super::change`] and [`super::ascii`] write over.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub(super) struct Spots {
    /// The value of the `key:` header.
    pub key: Option<Range<usize>>,
    /// The end of the last header line, its line feed included.
    pub header_end: usize,
    /// For each bar.
    pub bars: Vec<BarSpots>,
}

/// Where the parts of a bar stand in the text, in bytes.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub(super) struct BarSpots {
    /// The barline before it; where two lines meet, the one that opens a repeat.
    pub opening: Range<usize>,
    /// The barline after it.
    pub closing: Range<usize>,
    /// Its ending's number, else its content.
    pub head: Range<usize>,
    /// Its chords.
    pub content: Range<usize>,
    /// Each chord written in it, N.C. included.
    pub chords: Vec<ChordSpot>,
}

/// Where a chord stands in the text, in bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct ChordSpot {
    /// The symbol.
    pub symbol: Range<usize>,
    /// The `=` and the scale's name; empty where there is none.
    pub scale: Range<usize>,
}
