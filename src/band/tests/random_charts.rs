//! Small charts at random, each with a way to play it: what the rules are held against.
//!
//! They have everything that charts can have: several meters, chords on and off the beat, slash chords, power chords,
//! N.C., bars that hold or repeat a chord. Drawn from a seed of their own, so that a chart that breaks a rule is found
//! again by its number.

use super::*;
use crate::chart::{Decided, Trade};

/// How many charts each rule is held against.
pub(super) const CHARTS: u64 = 10_000;

const SYMBOLS: [&str; 16] = [
    "Cmaj7",
    "Dm7",
    "G7",
    "Ebmaj7/G",
    "Am7b5",
    "D7alt",
    "F#dim7",
    "Bb7sus4",
    "Ab6",
    "C5",
    "Gm",
    "G+",
    "E7b9",
    "Db/C",
    "Bbm(maj7)",
    "N.C.",
];

/// One chart and how it is played.
pub(super) struct Case {
    /// Which of the charts it is.
    pub number: u64,
    pub form: Form,
    pub reading: Reading,
    pub choruses: u16,
    pub feel: Feel,
    pub swing_percent: u8,
    pub quarter: NanoSpan,
    pub accompaniment: Accompaniment,
    pub turns: Turns,
}

impl Case {
    /// The chart of this number.
    pub fn new(number: u64) -> Self {
        let mut chance = Chance::new(Seed(number), Part::Line);
        let form = any_form(&mut chance);
        let accompaniment = any_accompaniment(&mut chance);
        Self {
            number,
            reading: reading(&form),
            form,
            choruses: 1 + chance.below(2) as u16,
            feel: one_of(&Feel::ALL, &mut chance),
            swing_percent: chance.below(101) as u8,
            quarter: NanoSpan(i64::from(150 + chance.below(1000)) * 1_000_000),
            accompaniment,
            turns: any_turns(accompaniment, &mut chance),
        }
    }

    /// Who plays in a bar.
    pub fn playing(&self, chorus: u32, index: usize) -> Playing {
        let bars = self.form.bars.len();
        self.accompaniment.playing(BarsBefore::of(chorus, index, bars), self.turns.whose(chorus, index, bars))
    }

    pub fn call(&self) -> Call<'_> {
        Call {
            form: &self.form,
            reading: &self.reading,
            keys: &[],
            choruses: self.choruses,
            feel: self.feel,
            swing_percent: self.swing_percent,
            quarter: self.quarter,
            accompaniment: self.accompaniment,
            seed: Seed(self.number),
            turns: self.turns,
        }
    }
}

fn one_of<T: Copy>(choices: &[T], chance: &mut Chance) -> T {
    choices[chance.below(choices.len() as u32) as usize]
}

/// Bars traded now and then; with a click that is alone there are no drums to trade with.
fn any_turns(accompaniment: Accompaniment, chance: &mut Chance) -> Turns {
    let drums = !matches!(accompaniment.click, ClickOn::Alone(_));
    let trade = if drums && chance.percent(25) { Trade::of(1 + chance.below(3) as u8) } else { None };
    Turns { head: None, trade }
}

fn any_accompaniment(chance: &mut Chance) -> Accompaniment {
    let all_bars = Accompaniment::default();
    let alone = |text: &str| ClickOn::Alone(text.parse().expect("beats"));
    let accompaniment = match chance.below(8) {
        0 | 1 => Accompaniment { band_out: BandOut::of(1 + chance.below(2) as u8, 3), ..all_bars },
        4 => Accompaniment { click: alone(one_of(&["1", "2,4", "2,4/2", "3/3"], chance)), ..all_bars },
        _ => all_bars,
    };
    Accompaniment {
        opening: one_of(&[Opening::AsTheOthers, Opening::TwoFeel], chance),
        count_in: one_of(&[CountInBars::ByTempo, CountInBars::One, CountInBars::Two], chance),
        ..accompaniment
    }
}

/// One to seven bars; the meter changes now and then.
fn any_form(chance: &mut Chance) -> Form {
    let mut form = Form { bars: Vec::new(), chords: Vec::new(), loops: true, sevenths: Sevenths::AsWritten };
    let mut meter = any_meter(chance);
    let mut at = Ticks::ZERO;
    for bar in 0..=chance.below(7) as usize {
        if chance.percent(15) {
            meter = any_meter(chance);
        }
        form.bars.push(FormBar { number: bar + 1, written: bar + 1, label: None, meter, start: at });
        let places = any_places(meter, chance);
        let ends = places.iter().skip(1).copied().chain([meter.bar()]);
        for (&place, end) in places.iter().zip(ends) {
            let held = form.chords.last().map(|chord| chord.text.clone()).filter(|_| chance.percent(30));
            let text = held.unwrap_or_else(|| one_of(&SYMBOLS, chance).to_owned());
            let symbol = text.parse().ok();
            form.chords.push(FormChord {
                bar,
                start: at + place,
                length: end - place,
                text,
                symbol,
                scale: None,
                place: None,
                decided: Decided::default(),
            });
        }
        at += meter.bar();
    }
    form
}

fn any_meter(chance: &mut Chance) -> Meter {
    let meters = [(4, 4), (4, 4), (4, 4), (3, 4), (3, 4), (2, 4), (6, 8), (5, 4), (7, 8), (2, 2), (1, 4)];
    let (beats, unit) = one_of(&meters, chance);
    Meter::new(beats, unit).expect("a meter")
}

/// Where the chords of a bar begin: on 1, and now and then on a later half beat.
fn any_places(meter: Meter, chance: &mut Chance) -> Vec<TickSpan> {
    let half_beat = TickSpan(meter.beat().0 / 2);
    let halves = i64::from(meter.beats()) * 2;
    let mut places = vec![TickSpan::ZERO];
    match chance.below(6) {
        0 | 1 => places.push(half_beat * (halves / 2)),
        2 => places.push(half_beat * (halves - 1)),
        3 => places.extend((1..halves).filter(|_| chance.percent(25)).map(|half| half_beat * half)),
        _ => {}
    }
    places
}
