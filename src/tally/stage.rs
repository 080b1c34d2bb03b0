//! The stage: a form and its reading laid on the time of a take.

use std::sync::Arc;

use crate::chart::{Form, FormBar, FormChord, Turn, Turns};
use crate::harmony::{Changes, ChordReading, Reading};
use crate::take::LeftOut;
use crate::theory::{Key, PitchClass, PitchClassSet};
use crate::time::near::partition_point_near;
use crate::time::{NanoSpan, Nanos, TICKS_PER_QUARTER, TempoMap, TickSpan, Ticks};

use super::judged::Class;
use super::settings::{NamedColours, Settings};

/// A chord struck exactly at the instant asked for counts, also when rounding put it this much later: quantised files
/// meet this case.
const TOLERANCE: NanoSpan = NanoSpan::millis(1);

/// A form laid on time: from where, at which tempo, how many times through.
#[derive(Clone, Copy, Debug)]
pub struct Laid<'a> {
    /// The form.
    pub form: &'a Form,
    /// What its chords mean.
    pub reading: &'a Reading,
    /// The same in the key of each chorus, where the tune goes through keys; none where it stays in one.
    pub keys: &'a [Arc<Changes>],
    /// The tempo map of the take, from its first tick.
    pub tempo: &'a TempoMap,
    /// The tick of the take on which bar 1 begins (after the count-in).
    pub start: Ticks,
    /// Times through, at least 1.
    pub choruses: u32,
    /// The tick of the take at which it was stopped, if it was; nothing behind it was played.
    pub until: Option<Ticks>,
    /// Whose bars are whose: those that are not the player's count nowhere.
    pub turns: Turns,
}

impl<'a> Laid<'a> {
    /// The form in a chorus (from 1), and what its chords mean there.
    fn changes(&self, chorus: u32) -> (Option<Key>, &'a Form, &'a Reading) {
        let here = Changes::of_chorus(self.keys, chorus);
        here.map_or((None, self.form, self.reading), |here| (Some(here.key), &here.form, &here.reading))
    }

    /// How many choruses differ in key, until the first comes again.
    fn different(&self) -> u32 {
        let keys = u32::try_from(self.keys.len()).unwrap_or(u32::MAX);
        keys.min(self.choruses).max(1)
    }
}

/// One sounding of one chord: the chord of the form, in which chorus, from when.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Visit {
    /// Times through, from 1.
    pub chorus: u32,
    /// Index of the chord in the form.
    pub chord: usize,
    /// When it begins.
    pub on: Nanos,
    /// Whether another chord sounded before it; the first chord of all is no change.
    pub change: bool,
}

/// The notes a chord is judged by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Layers {
    /// The chord tones.
    pub chord: PitchClassSet,
    /// The scale in force, chord tones included.
    pub scale: PitchClassSet,
    /// Third and seventh, or what stands for them.
    pub guide: PitchClassSet,
}

impl Layers {
    /// The layer of a note; its octave does not matter.
    pub fn class_of(&self, pitch_class: PitchClass) -> Class {
        if self.chord.has(pitch_class) {
            Class::Chord
        } else if self.scale.has(pitch_class) {
            Class::Scale
        } else {
            Class::Outside
        }
    }
}

/// A chord of the form in one of the keys that come.
#[derive(Clone, Copy, Debug)]
pub struct Seen<'a> {
    /// The key of its chorus, where the tune goes through keys.
    pub key: Option<Key>,
    /// The chord.
    pub chord: &'a FormChord,
    /// What it means there; `None` for N.C.
    pub read: Option<&'a Arc<ChordReading>>,
    /// What it is judged by; `None` for N.C.
    pub layers: Option<Layers>,
}

/// Where a note was struck.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Times through, from 1.
    pub chorus: u32,
    /// The bar's number in the form, from 1; those of the count-in lie below the first bar played.
    pub bar: i64,
    /// Beat within the bar, from 1.0, in beats of its meter.
    pub beat: f64,
}

/// An instant in the form.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Where it lies.
    pub place: Place,
    /// How long a beat lasts there.
    pub beat: NanoSpan,
    /// How long a bar lasts there.
    pub bar: NanoSpan,
}

/// Where the last answers were found, kept by who asks in order of time; they change no answer.
#[derive(Clone, Copy, Debug, Default)]
pub struct Hints {
    tempo: usize,
    bar: usize,
    visit: usize,
}

/// A laid form, ready to be asked which chord sounds when.
#[derive(Debug)]
pub struct Stage<'a> {
    laid: Laid<'a>,
    visits: Vec<Visit>,
    /// The chords of the form in each key that comes, one key after the other.
    seen: Vec<Seen<'a>>,
    length: TickSpan,
}

impl<'a> Stage<'a> {
    /// Lays the form out. A form without chords or bars has no stage.
    pub fn new(laid: Laid<'a>, settings: &Settings) -> Option<Self> {
        let length = laid.form.length();
        if laid.form.chords.is_empty() || length <= TickSpan::ZERO {
            return None;
        }
        let seen = (1..=laid.different()).flat_map(|chorus| seen(&laid, chorus, settings)).collect();
        Some(Self { laid, visits: visits(laid, length), seen, length })
    }

    /// What was laid out.
    pub const fn laid(&self) -> &Laid<'a> {
        &self.laid
    }

    /// Every sounding of every chord, in order.
    pub fn visits(&self) -> &[Visit] {
        &self.visits
    }

    /// The chords of the form in each key that comes, one key after the other.
    pub fn seen(&self) -> &[Seen<'a>] {
        &self.seen
    }

    /// Which of them a visit is to.
    pub fn seen_in(&self, visit: usize) -> usize {
        let Visit { chorus, chord, .. } = self.visits[visit];
        let key = (chorus - 1) % self.laid.different();
        key as usize * self.laid.form.chords.len() + chord
    }

    /// The chord of a visit, in the key that sounds.
    pub fn chord(&self, visit: usize) -> &Seen<'a> {
        &self.seen[self.seen_in(visit)]
    }

    /// What a visit's chord is judged by; `None` for N.C.
    pub fn layers(&self, visit: usize) -> Option<&Layers> {
        self.chord(visit).layers.as_ref()
    }

    /// Why notes of a visit are kept out of every count; `None` in the player's own bars.
    pub fn kept_out(&self, visit: usize) -> Option<LeftOut> {
        let Visit { chorus, chord, .. } = self.visits[visit];
        self.bar_kept_out(chorus, self.laid.form.chords[chord].bar)
    }

    fn bar_kept_out(&self, chorus: u32, index: usize) -> Option<LeftOut> {
        match self.laid.turns.whose(chorus, index, self.laid.form.bars.len()) {
            Turn::Yours => None,
            Turn::Tune => Some(LeftOut::Head),
            Turn::Drums => Some(LeftOut::NotYours),
        }
    }

    /// Index of the visit sounding at `at`; `None` before the first. After the last change the last chord stays.
    pub fn visit_at(&self, at: Nanos, hints: &mut Hints) -> Option<usize> {
        partition_point_near(&self.visits, &mut hints.visit, |visit| visit.on <= at + TOLERANCE)
            .checked_sub(1)
    }

    /// Whether two visits sound the same chord without another between them.
    pub fn same_chord(&self, earlier: usize, later: usize) -> bool {
        self.visits[earlier + 1..=later].iter().all(|visit| !visit.change)
    }

    /// Index of the next visit after `visit` that is a change.
    pub fn next_change(&self, visit: usize) -> Option<usize> {
        (visit + 1..self.visits.len()).find(|&next| self.visits[next].change)
    }

    /// Where an instant lies in the form, and how long beats and bars are there.
    pub fn spot(&self, at: Nanos, hints: &mut Hints) -> Spot {
        let tempo = self.laid.tempo;
        // One nanosecond on, as instants are rounded down: a note on a barline belongs behind it.
        let (tick, quarter) = tempo.ticks_and_quarter(at + NanoSpan(1), &mut hints.tempo);
        let since_start = tick - self.laid.start;
        let last = i64::from(self.laid.choruses) - 1;
        let chorus = since_start.0.div_euclid(self.length.0).clamp(0, last);
        let within = Ticks::ZERO + since_start - self.length * chorus;
        let bars = &self.laid.form.bars;
        let bar = partition_point_near(bars, &mut hints.bar, |bar| bar.start <= within).saturating_sub(1);
        let meter = bars[bar].meter;
        let lasting = |span: TickSpan| quarter.scaled(span.0, TICKS_PER_QUARTER);
        let place = place(within, &bars[bar], chorus as u32 + 1);
        Spot { place, beat: lasting(meter.beat()), bar: lasting(meter.bar()) }
    }

    /// When bar 1 of the first chorus begins, and when the last bar of the last chorus ends, or the take was stopped.
    pub fn bounds(&self) -> (Nanos, Nanos) {
        (self.laid.tempo.nanos(self.laid.start), self.laid.tempo.nanos(self.end()))
    }

    fn end(&self) -> Ticks {
        let end = self.laid.start + self.length * i64::from(self.laid.choruses);
        self.laid.until.map_or(end, |until| until.clamp(self.laid.start, end))
    }

    /// When each bar of each chorus begins, with its beats as far as they were played; those that are not the player's
    /// have none.
    pub fn beats_of_bars(&self) -> impl Iterator<Item = (Nanos, f64)> {
        let end = self.end();
        (0..self.laid.choruses).flat_map(move |chorus| {
            let start = self.laid.start + self.length * i64::from(chorus);
            let bars = self.laid.form.bars.iter().enumerate();
            let bars = bars.map(move |(index, bar)| (index, bar.meter, start + (bar.start - Ticks::ZERO)));
            bars.take_while(move |&(_, _, at)| at < end).map(move |(index, meter, at)| {
                let is_yours = self.bar_kept_out(chorus + 1, index).is_none();
                let played = (end - at).min(meter.bar());
                let beats = if is_yours { played.0 as f64 / meter.beat().0 as f64 } else { 0.0 };
                (self.laid.tempo.nanos(at), beats)
            })
        })
    }
}

/// The place `within` a chorus, in `bar`; before the first bar they count down.
fn place(within: Ticks, bar: &FormBar, chorus: u32) -> Place {
    let meter = bar.meter;
    let into = within - bar.start;
    let back = if within < Ticks::ZERO { into.0.div_euclid(meter.bar().0) } else { 0 };
    let into = into - meter.bar() * back;
    Place { chorus, bar: bar.number as i64 + back, beat: 1.0 + into.0 as f64 / meter.beat().0 as f64 }
}

fn visits(laid: Laid<'_>, length: TickSpan) -> Vec<Visit> {
    let chords = &laid.form.chords;
    let symbol = |chorus: u32, index: usize| laid.changes(chorus).1.chords[index].symbol;
    let mut visits = Vec::with_capacity(chords.len() * laid.choruses as usize);
    for chorus in 1..=laid.choruses {
        let start = laid.start + length * i64::from(chorus - 1);
        for (index, chord) in chords.iter().enumerate() {
            let at = start + (chord.start - Ticks::ZERO);
            if laid.until.is_some_and(|until| at >= until) {
                break;
            }
            let before = match index {
                0 => (chorus > 1).then(|| (chorus - 1, chords.len() - 1)),
                _ => Some((chorus, index - 1)),
            };
            let change = before.is_some_and(|(of, before)| symbol(of, before) != symbol(chorus, index));
            let on = laid.tempo.nanos(at);
            visits.push(Visit { chorus, chord: index, on, change });
        }
    }
    visits
}

/// The chords of a chorus.
fn seen<'a>(laid: &Laid<'a>, chorus: u32, settings: &Settings) -> impl Iterator<Item = Seen<'a>> {
    let (key, form, reading) = laid.changes(chorus);
    form.chords.iter().zip(&reading.chords).map(move |(chord, read)| {
        let read = read.as_ref();
        Seen { key, chord, read, layers: read.and_then(|read| layers(chord, read, settings)) }
    })
}

fn layers(chord: &FormChord, read: &ChordReading, settings: &Settings) -> Option<Layers> {
    let symbol = chord.symbol.as_ref()?;
    let colours = match settings.named_colours {
        NamedColours::ChordTones => symbol.named_colours(),
        NamedColours::Scale => PitchClassSet::EMPTY,
    };
    let chord = symbol.tone_set() | colours;
    let guide = symbol.guide_tones().into_iter().collect();
    Some(Layers { chord, scale: read.scale.pitch_classes() | chord, guide })
}
