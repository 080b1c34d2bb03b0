//! The bars of every chorus laid end to end on the take's own time, each with who plays in it.

use super::Call;
use super::accompaniment::{BarsBefore, Playing};
use super::feel::{is_dotted, lasts, pulse};
use crate::time::{Meter, TickSpan, Ticks};

/// One bar of the take.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Bar {
    /// When it starts.
    pub at: Ticks,
    /// Its meter.
    pub meter: Meter,
    /// The pulse that players count in it.
    pub pulse: TickSpan,
    /// Where the off-beat of a pulse falls, from the start of the pulse.
    pub off_beat: TickSpan,
    /// Which time through it belongs to, from 1.
    pub chorus: u32,
    /// What was played before it.
    pub before: BarsBefore,
    /// Who plays in it.
    pub playing: Playing,
}

impl Bar {
    pub fn end(&self) -> Ticks {
        self.at + self.meter.bar()
    }

    /// How many pulses it has.
    pub fn pulses(&self) -> i64 {
        self.meter.bar().0 / self.pulse.0
    }

    /// When pulse `i` (from 0) is struck.
    pub fn on_pulse(&self, i: i64) -> Ticks {
        self.at + self.pulse * i
    }

    /// When the off-beat behind pulse `i` (from 0) is struck.
    pub fn off_pulse(&self, i: i64) -> Ticks {
        self.on_pulse(i) + self.off_beat
    }

    /// Where a place that is written exactly half a pulse late is played: on the off-beat, as the feel has it. Other
    /// places are played as written, and so is all in bars whose pulse divides in three.
    pub fn played(&self, written: Ticks) -> Ticks {
        let into_pulse = TickSpan((written - self.at).0 % self.pulse.0);
        if into_pulse * 2 == self.pulse && !is_dotted(self.pulse) {
            written - into_pulse + self.off_beat
        } else {
            written
        }
    }
}

/// The bars of all choruses, the first at `bar_one`.
pub(super) fn unfold(call: &Call, bar_one: Ticks) -> Vec<Bar> {
    let (form, chorus_length) = (call.form, call.form.length());
    let bar = |chorus: u32, index: usize| {
        let bar = &form.bars[index];
        let before = BarsBefore::of(chorus, index, form.bars.len());
        let pulse = pulse(bar.meter);
        Bar {
            at: bar.start + (bar_one - Ticks::ZERO) + chorus_length * i64::from(chorus - 1),
            meter: bar.meter,
            pulse,
            off_beat: call.feel.off_beat(pulse, lasts(pulse, call.quarter), call.swing_percent),
            chorus,
            before,
            playing: call.accompaniment.playing(before, call.turns.whose(chorus, index, form.bars.len())),
        }
    };
    (1..=u32::from(call.choruses))
        .flat_map(|chorus| (0..form.bars.len()).map(move |index| (chorus, index)))
        .map(|(chorus, index)| bar(chorus, index))
        .collect()
}
