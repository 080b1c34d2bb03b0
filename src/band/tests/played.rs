//! Charts at random as they are played, and what they ask for.
//!
//! What a chart asks for is worked out here once more from the form, in plain sight, not taken from the arranger.

use super::random_charts::{CHARTS, Case};
use super::*;
use crate::time::TICKS_PER_QUARTER;

/// A pulse that divides in three: in it nothing swings.
pub(super) const DOTTED_QUARTER: TickSpan = TickSpan(TICKS_PER_QUARTER * 3 / 2);

/// Where a chord sounds in the take, and in which bar it is written.
pub(super) struct Sounding {
    pub at: Ticks,
    pub end: Ticks,
    pub symbol: Option<ChordSymbol>,
    pub place: Place,
}

/// A bar of the take.
#[derive(Clone, Copy)]
pub(super) struct Place {
    pub chorus: u32,
    pub at: Ticks,
    pub end: Ticks,
    pub pulse: TickSpan,
    pub off_beat: TickSpan,
    pub playing: Playing,
}

impl Place {
    pub fn pulses(&self) -> i64 {
        (self.end - self.at).0 / self.pulse.0
    }

    pub fn hat_pulses(&self) -> Vec<Ticks> {
        let is_hat = |&i: &i64| if self.pulses() == 3 { i != 0 } else { i % 2 == 1 };
        (0..self.pulses()).filter(is_hat).map(|i| self.at + self.pulse * i).collect()
    }
}

impl Sounding {
    pub fn root(&self) -> Option<PitchClass> {
        self.symbol.map(|symbol| symbol.heard().bass_or_root().pitch_class())
    }

    pub fn lasts(&self) -> TickSpan {
        self.end - self.at
    }

    /// Whether it begins after the last pulse of its bar.
    pub fn is_behind_the_bar(&self) -> bool {
        self.at > self.place.end - self.place.pulse
    }

    pub fn is_off_the_pulses(&self) -> bool {
        (self.at - self.place.at).0 % self.place.pulse.0 != 0
    }
}

/// A case, what it asks for, and what is played.
pub(super) struct Played {
    pub case: Case,
    pub bars: Vec<Place>,
    pub chords: Vec<Sounding>,
    pub arrangement: Arrangement,
}

impl Played {
    pub fn new(number: u64) -> Self {
        let case = Case::new(number);
        let arrangement = arrange(&case.call());
        let (mut bars, mut chords) = (Vec::new(), Vec::new());
        for chorus in 1..=u32::from(case.choruses) {
            let start = Ticks::ZERO + arrangement.count_in + case.form.length() * i64::from(chorus - 1);
            let moved = |at: Ticks| start + (at - Ticks::ZERO);
            for (index, bar) in case.form.bars.iter().enumerate() {
                let pulse = feel::pulse(bar.meter);
                let off_beat =
                    case.feel.off_beat(pulse, feel::lasts(pulse, case.quarter), case.swing_percent);
                let playing = case.playing(chorus, index);
                let (at, end) = (moved(bar.start), moved(bar.start) + bar.meter.bar());
                bars.push(Place { chorus, at, end, pulse, off_beat, playing });
            }
            let places = &bars[bars.len() - case.form.bars.len()..];
            for chord in &case.form.chords {
                let place = places[chord.bar];
                let played = |written: Ticks| {
                    let behind = TickSpan((written - place.at).0 % place.pulse.0);
                    if behind * 2 == place.pulse && place.pulse != DOTTED_QUARTER {
                        written - behind + place.off_beat
                    } else {
                        written
                    }
                };
                let (at, end) = (moved(chord.start), moved(chord.start) + chord.length);
                chords.push(Sounding { at: played(at), end: played(end), symbol: chord.symbol, place });
            }
        }
        Self { case, bars, chords, arrangement }
    }

    pub fn part(&self, part: Part) -> Vec<BandNote> {
        let before_the_end = |note: &BandNote| note.at < self.arrangement.end;
        of_part(&self.arrangement, part).into_iter().filter(before_the_end).collect()
    }

    pub fn plays(&self) -> bool {
        !matches!(self.case.accompaniment.click, ClickOn::Alone(_))
    }

    pub fn every_bar_is_the_bands(&self) -> bool {
        self.bars.iter().all(|bar| bar.playing == Playing::Band)
    }

    /// Whether the bass walks in a chorus: quarters, in no special pattern.
    pub fn walks_in(&self, chorus: u32) -> bool {
        let in_two = self.case.accompaniment.opening == Opening::TwoFeel && chorus == 1;
        matches!(self.case.feel, Feel::Swing | Feel::Straight) && !in_two
    }

    pub fn chord_at(&self, at: Ticks) -> Option<&Sounding> {
        self.chords.iter().find(|chord| (chord.at..chord.end).contains(&at))
    }

    /// Whether a chord is the push into the next one: that begins with it, half a pulse before its bar.
    pub fn is_tied(&self, i: usize) -> bool {
        let (Some(push), Some(next)) = (self.chords.get(i), self.chords.get(i + 1)) else { return false };
        push.is_behind_the_bar()
            && push.symbol.is_some()
            && push.symbol == next.symbol
            && push.place.playing == next.place.playing
    }

    pub fn tell(&self) -> String {
        let chords: Vec<&str> = self.case.form.chords.iter().map(|chord| chord.text.as_str()).collect();
        format!("chart {}, {}, {chords:?}, {:?}", self.case.number, self.case.feel, self.case.accompaniment)
    }
}

/// Holds a rule against every chart; it counts what it looked at, so that it cannot pass by looking at nothing.
pub(super) fn for_every_chart(at_least: u64, rule: impl Fn(&Played) -> u64) {
    let mut charts = 0;
    let looked_at: u64 = (0..CHARTS)
        .map(|number| {
            charts += 1;
            rule(&Played::new(number))
        })
        .sum();
    assert_eq!(charts, 10_000);
    assert!(looked_at >= at_least, "{looked_at} cases of the rule");
}
