//! Stretches: the chords of every chorus laid end to end on the take's own time.

use super::Call;
use super::bars::Bar;
use crate::theory::{ChordSymbol, PitchClassSet};
use crate::time::{TickSpan, Ticks};

/// One chord within one bar, where it sounds in the take.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stretch {
    /// When it starts: for a chord pushed over the barline before its bar does.
    pub at: Ticks,
    /// Its bar.
    pub bar: Bar,
    /// How long it lasts.
    pub length: TickSpan,
    /// The chord; `None` for N.C.
    pub chord: Option<ChordSymbol>,
    /// The scale in force, for steps.
    pub scale: PitchClassSet,
}

impl Stretch {
    pub fn end(&self) -> Ticks {
        self.at + self.length
    }

    /// Where a note may be struck: at its start, then on every pulse of the bar inside it. A chord pushed over the
    /// barline is not struck again on beat 1.
    pub fn pulses(&self) -> Vec<Ticks> {
        let later = (0..self.bar.pulses()).map(|i| self.bar.on_pulse(i));
        let from_bar = self.at.max(self.bar.at);
        std::iter::once(self.at).chain(later.filter(|&at| at > from_bar && at < self.end())).collect()
    }

    /// Whether it lasts less than two pulses: too short for more than its root.
    pub fn is_short(&self) -> bool {
        self.length.0 < 2 * self.bar.pulse.0
    }

    /// Whether the chord is the same as in `other`.
    pub fn goes_on(&self, other: &Self) -> bool {
        self.chord.is_some() && self.chord == other.chord
    }

    /// Whether it is pushed: it begins between two pulses, perhaps before its bar.
    pub fn is_pushed(&self) -> bool {
        self.at < self.bar.at || (self.at - self.bar.at).0 % self.bar.pulse.0 != 0
    }

    /// Whether it is but the push into `next`: behind the last pulse of its bar, the chord of the next one.
    fn leads_into(&self, next: &Self) -> bool {
        let behind_last_pulse = self.at > self.bar.end() - self.bar.pulse;
        let one_band = self.bar.playing == next.bar.playing;
        behind_last_pulse && next.goes_on(self) && next.at == self.bar.end() && one_band
    }
}

/// The stretches of all choruses on these bars.
pub(super) fn unfold(call: &Call, bars: &[Bar]) -> Vec<Stretch> {
    let mut stretches: Vec<Stretch> = Vec::new();
    for chorus in bars.chunks(call.form.bars.len().max(1)) {
        let (form, reading) = call.changes(chorus[0].chorus);
        let scale = |i: usize| {
            let read = reading.chords.get(i).and_then(Option::as_ref);
            read.map_or(PitchClassSet::EMPTY, |reading| reading.scale.pitch_classes())
        };
        for (i, chord) in form.chords.iter().enumerate() {
            let bar = chorus[chord.bar];
            let written = bar.at + (chord.start - form.bars[chord.bar].start);
            let at = bar.played(written);
            let length = bar.played(written + chord.length) - at;
            push(&mut stretches, Stretch { at, bar, length, chord: chord.symbol, scale: scale(i) });
        }
    }
    stretches
}

/// Adds a stretch; one that was pushed before its bar becomes one with what sounds already, as if tied.
fn push(stretches: &mut Vec<Stretch>, next: Stretch) {
    let tied = stretches.pop_if(|last| last.leads_into(&next));
    let at = tied.map_or(next.at, |pushed| pushed.at);
    stretches.push(Stretch { at, length: next.end() - at, ..next });
}
