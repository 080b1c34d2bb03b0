//! The form: the bars of a tune in the order they are played, repeats and endings unfolded, each chord at its place.

use super::decision::{ChordPlace, Decided};
use crate::theory::{ChordSymbol, ScaleRequest};
use crate::time::{BarGrid, Meter, TickSpan, Ticks};

/// One time through a tune, as played.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Form {
    /// The bars in the order they are played.
    pub bars: Vec<FormBar>,
    /// Every chord in the order it is played. Each bar begins a chord of its own, also where the last one goes on.
    pub chords: Vec<FormChord>,
    /// Whether the last bar leads back to the first (charts do; the chord text of a MIDI file is one long form).
    pub loops: bool,
    /// Whether triads are heard as seventh chords. The symbols here stay as written: it takes the key to know.
    pub sevenths: Sevenths,
}

/// What a plain triad stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub enum Sevenths {
    /// The triad itself.
    #[default]
    AsWritten,
    /// The seventh chord players make of it: V and V/x get 7, other major triads maj7, minor m7, dim dim7.
    Assume,
}

/// One bar of a form.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FormBar {
    /// Its number in the form, from 1, every repeat counted. Bars that are played by themselves keep theirs.
    pub number: usize,
    /// The bar on the page, from 1.
    pub written: usize,
    /// The letter of its section, where a section begins with this bar.
    pub label: Option<String>,
    /// Its meter.
    pub meter: Meter,
    /// Its start within the form.
    pub start: Ticks,
}

/// One chord of a form.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FormChord {
    /// Index of its bar in [`Form::bars`].
    pub bar: usize,
    /// Its start within the form.
    pub start: Ticks,
    /// How long it lasts.
    pub length: TickSpan,
    /// The symbol exactly as written (`N.C.` where there is none).
    pub text: String,
    /// The symbol read; `None` for N.C.
    pub symbol: Option<ChordSymbol>,
    /// The scale written behind it (`=lydian`), if any.
    pub scale: Option<ScaleRequest>,
    /// Where it is written on the page, the same for each of its repeats; none for N.C. and without a page.
    pub place: Option<ChordPlace>,
    /// What the player decided about it.
    pub decided: Decided,
}

impl Form {
    /// The grid of bars.
    pub fn grid(&self) -> BarGrid {
        BarGrid::new(self.bars.iter().map(|bar| bar.meter))
    }

    /// How long one time through lasts.
    pub fn length(&self) -> TickSpan {
        self.bars.last().map_or(TickSpan::ZERO, |bar| bar.start + bar.meter.bar() - Ticks::ZERO)
    }

    /// The meters of a form that begins at `start`, from each change of meter on; the first holds before it, too.
    pub fn meters_from(&self, start: Ticks) -> Vec<(Ticks, Meter)> {
        let mut meters: Vec<(Ticks, Meter)> = Vec::new();
        for bar in &self.bars {
            if meters.last().is_none_or(|&(_, meter)| meter != bar.meter) {
                let at = if meters.is_empty() { Ticks::ZERO } else { start + (bar.start - Ticks::ZERO) };
                meters.push((at, bar.meter));
            }
        }
        meters
    }

    /// Index of the chord sounding at `at` within one time through; the first before it begins, the last after its end.
    pub fn chord_at(&self, at: Ticks) -> Option<usize> {
        let after = self.chords.partition_point(|chord| chord.start <= at);
        (!self.chords.is_empty()).then(|| after.saturating_sub(1))
    }

    /// The beat a chord starts on, from 1.0, and how many beats it lasts, in beats of its bar's meter.
    pub fn beat_and_beats(&self, chord: &FormChord) -> (f64, f64) {
        let bar = &self.bars[chord.bar];
        let beat = bar.meter.beat().0 as f64;
        (1.0 + (chord.start - bar.start).0 as f64 / beat, chord.length.0 as f64 / beat)
    }
}
