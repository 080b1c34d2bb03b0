//! Changes to a chart: another key, a scale behind a chord. Each is made in the text, and the text read again.

use std::ops::Range;

use crate::theory::spelling::{Accidental, NoteName, read_note_name};
use crate::theory::{Key, Mode, ScaleRequest};

use super::header::key_text;
use super::model::{BarSpots, Chart, WrittenChord};
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
            Some(span) => (span, key_text(shift.to)),
            None => (self.spots.header_end..self.spots.header_end, format!("key: {}\n", key_text(shift.to))),
        }];
        for (bar, spots) in self.bars.iter().zip(&self.spots.bars) {
            let chords = bar.chords().into_iter().map(|(_, chord)| chord);
            let moved = chords.zip(&spots.chords).flat_map(|(chord, spot)| {
                let symbol = (spot.symbol.clone(), shift.symbol_text(chord));
                let scale = shift.scale_text(chord).map(|text| (spot.scale.clone(), text));
                std::iter::once(symbol).chain(scale)
            });
            edits.extend(self.keeping_barlines(moved.collect(), spots));
        }
        self.changed(edits)
    }

    /// This chart with `scale` behind a chord, instead of the scale that may stand there.
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
        self.changed(self.keeping_barlines(edits, spots))
    }

    fn changed(&self, edits: Vec<(Range<usize>, String)>) -> Result<Self, ChangeError> {
        let text = spliced(&self.text, edits);
        let (chart, _) = Self::parse(&self.name, &text, self.bare)?;
        Ok(chart)
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

/// A move from one key to another.
#[derive(Clone, Copy)]
struct Shift {
    from: NoteName,
    to: Key,
}

/// Sharps or flats of the signatures in use.
const MOST_SIGNS: i8 = 7;

impl Shift {
    fn new(from: Key, to: Key) -> Self {
        let as_asked = Key { tonic: to.tonic, mode: from.mode };
        let to = if as_asked.fifths().abs() <= MOST_SIGNS {
            as_asked
        } else {
            Key::new(to.tonic.pitch_class(), from.mode)
        };
        Self { from: from.tonic, to }
    }

    /// The note as far above the new tonic as it was above the old one, by letters too. Where that takes two signs, or
    /// one for a white key outside the new key, it takes its plain name, with the sign of the new key's signature.
    fn note(self, note: NoteName) -> NoteName {
        let steps = note.letter as i32 - self.from.letter as i32;
        let semitones = note.pitch_class().above(self.from.pitch_class());
        let moved = self.to.tonic.up(steps, i32::from(semitones));
        let sign = if self.to.fifths() > 0 { Accidental::Sharp } else { Accidental::Flat };
        let plain = NoteName::plain(moved.pitch_class(), sign);
        let of_white_key = moved.alter != 0 && plain.alter == 0;
        if moved.alter.abs() > 1 || (of_white_key && !self.in_key(moved)) { plain } else { moved }
    }

    fn in_key(self, note: NoteName) -> bool {
        Mode::Ionian.on(self.relative_major()).names().contains(&note)
    }

    fn relative_major(self) -> NoteName {
        let up = self.to.relative_major().above(self.to.tonic.pitch_class());
        let steps = if up == 0 { 0 } else { 2 };
        self.to.tonic.up(steps, i32::from(up))
    }

    /// The symbol with root and bass moved and all between them as written.
    fn symbol_text(self, chord: &WrittenChord) -> String {
        let read = chord.symbol.zip(read_note_name(&chord.text));
        let Some((symbol, (root, rest))) = read else {
            return chord.text.clone();
        };
        let root = self.note(root);
        match (symbol.bass, rest.rsplit_once('/')) {
            (Some(bass), Some((quality, _))) => format!("{root}{quality}/{}", self.note(bass)),
            _ => format!("{root}{rest}"),
        }
    }

    /// The scale where it names a note of its own, with that note moved.
    fn scale_text(self, chord: &WrittenChord) -> Option<String> {
        match chord.scale {
            Some(ScaleRequest::HarmonicMinorOf(tonic)) => {
                Some(format!("={}", ScaleRequest::HarmonicMinorOf(self.note(tonic))))
            }
            _ => None,
        }
    }
}
