//! Stretches: the chords of every chorus laid end to end on the take's own time.

use super::Call;
use super::feel::pulse;
use crate::chart::Turn;
use crate::theory::{ChordSymbol, PitchClassSet};
use crate::time::{TickSpan, Ticks};

/// One chord within one bar, where it sounds in the take.
#[derive(Clone, Debug)]
pub(super) struct Stretch {
    /// When it starts.
    pub at: Ticks,
    /// When its bar starts.
    pub bar: Ticks,
    /// How long it lasts.
    pub length: TickSpan,
    /// The pulse of its bar.
    pub pulse: TickSpan,
    /// The chord; `None` for N.C., and where the drums are alone.
    pub chord: Option<ChordSymbol>,
    /// The scale in force, for steps.
    pub scale: PitchClassSet,
}

impl Stretch {
    pub fn end(&self) -> Ticks {
        self.at + self.length
    }

    /// Where a note may be struck: at its start, then on every pulse of the bar inside it.
    pub fn pulses(&self) -> Vec<Ticks> {
        let into_bar = (self.at - self.bar).0;
        let first = self.bar + TickSpan((into_bar / self.pulse.0 + 1) * self.pulse.0);
        let later = (0..).map(|i| first + self.pulse * i).take_while(|&at| at < self.end());
        std::iter::once(self.at).chain(later).collect()
    }

    /// Whether the chord is the same as in `other`.
    pub fn goes_on(&self, other: &Self) -> bool {
        self.chord.is_some() && self.chord == other.chord
    }
}

/// The stretches of all choruses, the first chord at `bar_one`.
pub(super) fn unfold(call: &Call, bar_one: Ticks) -> Vec<Stretch> {
    let (form, chorus) = (call.form, call.form.length());
    let scales = |i: usize| call.reading.chords.get(i).and_then(Option::as_ref);
    (0..i64::from(call.choruses))
        .flat_map(|time| {
            let (chorus_number, bars) = (time as u32 + 1, form.bars.len());
            let moved = bar_one - Ticks::ZERO + chorus * time;
            form.chords.iter().enumerate().map(move |(i, chord)| {
                let bar = &form.bars[chord.bar];
                Stretch {
                    at: chord.start + moved,
                    bar: bar.start + moved,
                    length: chord.length,
                    pulse: pulse(bar.meter),
                    chord: chord
                        .symbol
                        .filter(|_| call.turns.whose(chorus_number, chord.bar, bars) != Turn::Drums),
                    scale: scales(i).map_or(PitchClassSet::EMPTY, |reading| reading.scale.pitch_classes()),
                }
            })
        })
        .collect()
}
