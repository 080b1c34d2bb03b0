//! What every arrangement must keep, whatever the chart and the seed.

mod comping;
mod drums;
mod played;
mod practising;
mod random_charts;
mod rules_of_all;
mod rules_of_comping;
mod rules_of_the_bass;
mod rules_of_the_cymbals;
mod rules_of_walking;
mod through_keys;
mod walking;

use super::*;
use std::sync::Arc;

use crate::chart::{Decided, FormBar, FormChord, Sevenths, Turns};
use crate::harmony::{Centre, ChordReading, FunctionalMoves};
use crate::theory::{ChordSymbol, Mode};
use crate::time::Meter;

/// A form in one meter, written as bars of chords that share them evenly: `Dm7 | G7 | Cmaj7`.
pub(crate) fn form_in(meter: Meter, text: &str) -> Form {
    let mut form = Form { bars: Vec::new(), chords: Vec::new(), loops: true, sevenths: Sevenths::AsWritten };
    for (i, bar) in text.split('|').enumerate() {
        let start = Ticks::ZERO + meter.bar() * i as i64;
        form.bars.push(FormBar { number: i + 1, written: i + 1, label: None, meter, start });
        let symbols: Vec<&str> = bar.split_whitespace().collect();
        let length = TickSpan(meter.bar().0 / symbols.len() as i64);
        for (place, text) in symbols.into_iter().enumerate() {
            form.chords.push(FormChord {
                bar: i,
                start: start + length * place as i64,
                length,
                text: text.to_owned(),
                symbol: text.parse().ok(),
                scale: None,
                place: None,
                decided: Decided::default(),
            });
        }
    }
    form
}

/// A form in 4/4.
pub(crate) fn form(text: &str) -> Form {
    form_in(Meter::FOUR_FOUR, text)
}

/// A reading in which every chord stands alone with an obvious scale on its root.
pub(crate) fn reading(form: &Form) -> Reading {
    let read = |symbol: ChordSymbol| {
        let mode = [Mode::Ionian, Mode::Dorian, Mode::Mixolydian, Mode::Locrian, Mode::Lydian]
            .into_iter()
            .find(|mode| mode.on(symbol.root).pitch_classes().holds(symbol.tone_set()))
            .unwrap_or(Mode::WholeHalfDiminished);
        ChordReading {
            centre: Centre::Modal,
            function: "I".to_owned(),
            scale: mode.on(symbol.root),
            alternatives: Vec::new(),
            why: String::new(),
            overridden: false,
        }
    };
    Reading {
        home: None,
        regions: Vec::new(),
        chords: form.chords.iter().map(|chord| chord.symbol.map(read).map(Arc::new)).collect(),
        moves: FunctionalMoves { halves: 0, pairs: 0 },
    }
}

/// The bars of a form in one meter with nothing in them, once through.
pub(super) fn some_bars(beats: u8, unit: u8, bars: usize) -> Vec<Bar> {
    let form = form_in(Meter::new(beats, unit).expect("a meter"), &vec!["N.C."; bars].join("|"));
    bars::unfold(&call(&form, &reading(&form)), Ticks::ZERO)
}

/// One swung chorus of a form at 120.
fn call<'a>(form: &'a Form, reading: &'a Reading) -> Call<'a> {
    Call {
        form,
        reading,
        keys: &[],
        choruses: 1,
        feel: Feel::Swing,
        swing_percent: feel::USUAL_SWING_PERCENT,
        quarter: NanoSpan(500_000_000),
        accompaniment: Accompaniment::default(),
        seed: Seed(4),
        turns: Turns::default(),
    }
}

fn arranged(form: &Form, feel: Feel, choruses: u16, seed: u64) -> Arrangement {
    arrange(&Call { feel, choruses, seed: Seed(seed), ..call(form, &reading(form)) })
}

fn of_part(arrangement: &Arrangement, part: Part) -> Vec<BandNote> {
    arrangement.notes.iter().copied().filter(|note| note.part == part).collect()
}

fn bass_keys(arrangement: &Arrangement) -> Vec<u8> {
    of_part(arrangement, Part::Bass).iter().map(|note| note.key.key()).collect()
}

/// The quarters from bar 1 at which a part is struck, in hundredths.
fn struck(arrangement: &Arrangement, part: Part) -> Vec<i64> {
    let bar_one = Ticks::ZERO + arrangement.count_in;
    let hundredths = |note: &BandNote| ((note.at - bar_one).in_quarters() * 100.0).round() as i64;
    of_part(arrangement, part).iter().filter(|note| note.at >= bar_one).map(hundredths).collect()
}

#[test]
fn the_take_closes_on_the_tonic_held_from_beat_1() {
    let arrangement = arranged(&form("Fm7 | Bb7 | Ebmaj7 | C7"), Feel::Swing, 2, 5);
    let last = *of_part(&arrangement, Part::Bass).last().expect("a bass note");
    let bars = TickSpan(Meter::FOUR_FOUR.bar().0 * 8);
    assert_eq!(arrangement.end, Ticks::ZERO + arrangement.count_in + bars);
    assert_eq!((last.at, last.length), (arrangement.end, Meter::FOUR_FOUR.bar()));
    assert_eq!(last.key.key() % 12, 5, "without a home key, the root of the first chord");
}

#[test]
fn an_empty_form_is_silence() {
    let empty = Form { bars: Vec::new(), chords: Vec::new(), loops: true, sevenths: Sevenths::AsWritten };
    assert!(arranged(&empty, Feel::Swing, 3, 1).notes.is_empty());
}

#[test]
fn a_click_is_no_reason_to_play_otherwise() {
    let form = form("Dm7 | G7 | Cmaj7 | A7");
    let with = |click: ClickOn| {
        let accompaniment = Accompaniment { click, ..Accompaniment::default() };
        bass_keys(&arrange(&Call { accompaniment, ..call(&form, &reading(&form)) }))
    };
    assert_eq!(with(ClickOn::CountInOnly), with(ClickOn::EveryPulse));
}
