//! Changes to a chart: another key, a scale behind a chord. Each is made in the text, and the text read again.

use std::ops::Range;

use crate::theory::{Key, ScaleRequest};

use super::decision::{ChordPlace, Decided, Decisions};
use super::header::key_text;
use super::model::{BarSpots, Chart, WrittenChord};
use super::shift::Shift;
use super::slip::ChartErrors;

/// Why a chart cannot be changed so.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ChangeError {
    /// No key to move away from.
    #[error("the chart names no key to move from. Write key: above its bars")]
    NoKey,
    /// No such bar.
    #[error("no bar {bar}; bars are 1 to {last}, counted on the page")]
    NoBar {
        /// The bar asked for.
        bar: usize,
        /// The last bar of the chart.
        last: usize,
    },
    /// No such chord in the bar.
    #[error("bar {bar} has no chord {chord}: {written} written in it")]
    NoChord {
        /// The bar.
        bar: usize,
        /// The chord asked for, from 1.
        chord: usize,
        /// How many chords are written in the bar.
        written: usize,
    },
    /// The changed text is past a limit of what is read.
    #[error("the chart would not read any more: {0}")]
    Unreadable(#[from] ChartErrors),
}

impl Chart {
    /// This chart in another key: the tonic of its `key:` moves to the tonic of `to`, its mode stays.
    ///
    /// # Errors
    /// [`ChangeError::NoKey`] where the chart names no key: see [`Chart::transposed_from`].
    pub fn transposed(&self, to: Key) -> Result<Self, ChangeError> {
        let from = self.header.key.ok_or(ChangeError::NoKey)?;
        self.transposed_from(from, to)
    }

    /// This chart with the tonic of `from` moved to the tonic of `to`, roots spelled by the new key, its `key:` set.
    pub fn transposed_from(&self, from: Key, to: Key) -> Result<Self, ChangeError> {
        let shift = Shift::new(from, to);
        let mut edits = vec![match self.spots.key.clone() {
            Some(span) => (span, key_text(shift.to())),
            None => {
                (self.spots.header_end..self.spots.header_end, format!("key: {}\n", key_text(shift.to())))
            }
        }];
        let in_bars = self.bars.iter().map(|bar| bar.chords().into_iter().map(|(_, chord)| chord));
        let chords: Vec<&WrittenChord> = in_bars.flatten().collect();
        let mut moved = chords.iter().zip(shift.symbols(&chords));
        for spots in &self.spots.bars {
            let of_bar = spots.chords.iter().zip(moved.by_ref());
            let edits_of_bar = of_bar.flat_map(|(spot, (chord, symbol))| {
                let scale = shift.scale_text(chord).map(|text| (spot.scale.clone(), text));
                std::iter::once((spot.symbol.clone(), symbol)).chain(scale)
            });
            edits.extend(self.keeping_barlines(edits_of_bar.collect(), spots));
        }
        let decided = |(place, decided): (ChordPlace, Decided)| (place, shift.decided(decided));
        let decisions = self.decisions().into_iter().map(decided).collect();
        self.changed(edits, &decisions)
    }

    /// This chart with `scale` behind a chord, instead of the scale that may stand there or be decided.
    ///
    /// `written_bar` counts the bars of the page from 1, `chord` the chords written in that bar from 1, N.C. not counted.
    pub fn with_scale(
        &self,
        written_bar: usize,
        chord: usize,
        scale: &ScaleRequest,
    ) -> Result<Self, ChangeError> {
        let index = written_bar.checked_sub(1).filter(|&index| index < self.bars.len());
        let index = index.ok_or(ChangeError::NoBar { bar: written_bar, last: self.bars.len() })?;
        let spots = &self.spots.bars[index];
        let written: Vec<_> = self.bars[index]
            .chords()
            .into_iter()
            .zip(&spots.chords)
            .filter(|((_, chord), _)| chord.symbol.is_some())
            .collect();
        let nth = chord.checked_sub(1).and_then(|nth| written.get(nth));
        let (_, spot) =
            nth.ok_or(ChangeError::NoChord { bar: written_bar, chord, written: written.len() })?;
        let edits = vec![(spot.scale.clone(), format!("={scale}"))];
        let mut decisions = self.decisions();
        if let Some(decided) = decisions.get_mut(&ChordPlace { bar: written_bar, chord }) {
            decided.scale = None;
        }
        self.changed(self.keeping_barlines(edits, spots), &decisions)
    }

    fn changed(
        &self,
        edits: Vec<(Range<usize>, String)>,
        decisions: &Decisions,
    ) -> Result<Self, ChangeError> {
        let text = spliced(&self.text, edits);
        let (chart, _) = Self::parse(&self.name, &text, self.bare)?;
        Ok(chart.deciding(decisions))
    }

    /// `edits` of one bar, and one more of the blanks before its closing barline so that this stays where it is, in a
    /// chart whose barlines are lined up (some bar has more than one blank there), as far as there is room.
    pub(super) fn keeping_barlines(
        &self,
        mut edits: Vec<(Range<usize>, String)>,
        spots: &BarSpots,
    ) -> Vec<(Range<usize>, String)> {
        let blanks = spots.content.end..spots.closing.start;
        let width = |text: &str| text.chars().count() as isize;
        let grown: isize =
            edits.iter().map(|(span, text)| width(text) - width(&self.text[span.clone()])).sum();
        let room = blanks.len() as isize;
        if grown != 0 && self.lines_up() && room > 0 {
            let left = (room - grown).max(1) as usize;
            edits.push((blanks, " ".repeat(left)));
        }
        edits
    }

    fn lines_up(&self) -> bool {
        let mut spots = self.spots.bars.iter();
        spots.any(|spots| !spots.chords.is_empty() && spots.closing.start > spots.content.end + 1)
    }
}

/// The text with each range replaced; ranges do not overlap.
pub(super) fn spliced(text: &str, mut edits: Vec<(Range<usize>, String)>) -> String {
    edits.sort_by_key(|(span, _)| (span.start, span.end));
    let mut result = String::with_capacity(text.len());
    let mut done = 0;
    for (span, replacement) in edits {
        result += &text[done..span.start];
        result += &replacement;
        done = span.end;
    }
    result + &text[done..]
}
