//! What every arrangement must keep, whatever the chart and the seed.

use proptest::prelude::*;

use super::*;
use std::sync::Arc;

use crate::chart::{FormBar, FormChord, Sevenths, Trade, Turns};
use crate::harmony::{Centre, ChordReading, FunctionalMoves};
use crate::theory::{ChordSymbol, Mode};
use crate::time::{Meter, TICKS_PER_QUARTER};

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

fn arranged(form: &Form, feel: Feel, choruses: u16, seed: u64) -> Arrangement {
    let call = Call {
        form,
        reading: &reading(form),
        choruses,
        feel,
        swing_percent: feel::USUAL_SWING_PERCENT,
        quarter: NanoSpan(500_000_000),
        click: &ClickOn::EveryPulse,
        seed: Seed(seed),
        turns: Turns::default(),
    };
    arrange(&call)
}

fn bass(arrangement: &Arrangement) -> Vec<&BandNote> {
    arrangement.notes.iter().filter(|note| note.part == Part::Bass).collect()
}

fn bass_keys(arrangement: &Arrangement) -> Vec<u8> {
    bass(arrangement).iter().map(|note| note.key.key()).collect()
}

#[test]
fn the_textbook_line_is_one_the_bass_plays() {
    // Dm7 D2 F2 A2 Ab2 | G7 G2 B2 D3 Db3 | C: roots on 1, chord tones up, approaches a semitone above. Worked by hand.
    let form = form("Dm7 | G7 | Cmaj7");
    let wanted = [38, 41, 45, 44, 43, 47, 50, 49, 48];
    let played = (0..5000).any(|seed| bass_keys(&arranged(&form, Feel::Swing, 1, seed))[..9] == wanted);
    assert!(played, "no seed of 5000 walks it");
}

#[test]
fn a_bar_with_two_chords_is_root_and_approach_twice() {
    let arrangement = arranged(&form("Gm7 C7 | Fmaj7"), Feel::Swing, 1, 3);
    let keys = bass_keys(&arrangement);
    assert_eq!([keys[0] % 12, keys[2] % 12, keys[4] % 12], [7, 0, 5]);
}

#[test]
fn a_chord_that_goes_on_starts_its_second_bar_on_another_chord_tone() {
    let keys = bass_keys(&arranged(&form("Dm7 | Dm7 | Dm7 | G7"), Feel::Swing, 1, 11));
    assert_eq!(keys[0] % 12, 2);
    assert!([9, 5].contains(&(keys[4] % 12)), "fifth or third, not {}", keys[4]);
    assert_eq!(keys[8] % 12, 2);
}

#[test]
fn the_take_closes_on_the_tonic_held_from_beat_1() {
    let arrangement = arranged(&form("Fm7 | Bb7 | Ebmaj7 | C7"), Feel::Swing, 2, 5);
    let last = *bass(&arrangement).last().expect("a bass note");
    let bars = TickSpan(Meter::FOUR_FOUR.bar().0 * 8);
    assert_eq!(arrangement.end, Ticks::ZERO + arrangement.count_in + bars);
    assert_eq!((last.at, last.length), (arrangement.end, Meter::FOUR_FOUR.bar()));
    assert_eq!(last.key.key() % 12, 5, "without a home key, the root of the first chord");
}

#[test]
fn no_chord_leaves_the_bass_silent() {
    let arrangement = arranged(&form("Dm7 | N.C. | G7"), Feel::Swing, 1, 1);
    let bar =
        |note: &&BandNote| ((note.at - Ticks::ZERO - arrangement.count_in).0) / Meter::FOUR_FOUR.bar().0;
    assert!(bass(&arrangement).iter().all(|note| bar(note) != 1));
}

#[test]
fn the_drums_are_alone_in_their_bars_and_nowhere_else() {
    let form = form("Dm7 | G7 | Cmaj7 | A7");
    let call = Call {
        form: &form,
        reading: &reading(&form),
        choruses: 2,
        feel: Feel::Swing,
        swing_percent: feel::USUAL_SWING_PERCENT,
        quarter: NanoSpan(500_000_000),
        click: &ClickOn::CountInOnly,
        seed: Seed(4),
        turns: Turns { head: None, trade: Trade::of(2) },
    };
    let arrangement = arrange(&call);
    let bar = |note: &BandNote| (note.at - Ticks::ZERO - arrangement.count_in).0 / Meter::FOUR_FOUR.bar().0;
    let bars_of = |part: Part| -> std::collections::BTreeSet<i64> {
        let notes = arrangement.notes.iter().filter(|note| note.part == part && note.at < arrangement.end);
        notes.map(bar).collect()
    };
    assert_eq!(bars_of(Part::Bass).into_iter().collect::<Vec<_>>(), [0, 1, 4, 5]);
    assert_eq!(bars_of(Part::Ride).len(), 8, "the drums go on");
}

#[test]
fn an_empty_form_is_silence() {
    let empty = Form { bars: Vec::new(), chords: Vec::new(), loops: true, sevenths: Sevenths::AsWritten };
    assert!(arranged(&empty, Feel::Swing, 3, 1).notes.is_empty());
}

#[test]
fn muting_is_no_reason_to_play_otherwise() {
    let form = form("Dm7 | G7 | Cmaj7 | A7");
    let with = |click: &ClickOn| {
        let reading = reading(&form);
        let call = Call {
            form: &form,
            reading: &reading,
            choruses: 1,
            feel: Feel::Swing,
            swing_percent: feel::USUAL_SWING_PERCENT,
            quarter: NanoSpan(500_000_000),
            click,
            seed: Seed(4),
            turns: Turns::default(),
        };
        let arrangement = arrange(&call);
        bass_keys(&arrangement)
    };
    assert_eq!(with(&ClickOn::CountInOnly), with(&ClickOn::Pulses(vec![2, 4])));
}

const SYMBOLS: [&str; 14] = [
    "Cmaj7", "Dm7", "G7", "Ebmaj7/G", "Am7b5", "D7alt", "F#dim7", "Bb7sus4", "Ab6", "C5", "Gm", "N.C.",
    "E7b9", "Db/C",
];

fn any_form() -> impl Strategy<Value = Form> {
    let bar = prop::collection::vec(prop::sample::select(&SYMBOLS[..]), 1..3);
    let meter = prop::sample::select(vec![(4, 4), (3, 4), (6, 8), (5, 4), (7, 8), (2, 2)]);
    (prop::collection::vec(bar, 1..17), meter).prop_map(|(bars, (beats, unit))| {
        let text: Vec<String> = bars.iter().map(|bar| bar.join(" ")).collect();
        form_in(Meter::new(beats, unit).expect("a meter"), &text.join("|"))
    })
}

proptest! {
    #[test]
    fn the_bass_keeps_its_range_and_its_roots(form in any_form(), seed: u64, feel in prop::sample::select(&Feel::ALL[..])) {
        let arrangement = arranged(&form, feel, 2, seed);
        let bass = bass(&arrangement);
        prop_assert!(bass.iter().all(|note| (28..=55).contains(&note.key.key())));
        prop_assert!(bass.iter().all(|note| note.length.0 > 0));
        prop_assert!(bass.windows(2).all(|pair| pair[0].at + pair[0].length <= pair[1].at));
        for (i, chord) in form.chords.iter().enumerate() {
            let Some(symbol) = chord.symbol else { continue };
            let goes_on = i > 0 && form.chords[i - 1].symbol == chord.symbol;
            let at = chord.start + arrangement.count_in;
            let struck = bass.iter().find(|note| note.at == at);
            prop_assert!(struck.is_some(), "nothing on {} at {at:?}", chord.text);
            let root = symbol.heard().bass_or_root().pitch_class();
            if !goes_on {
                prop_assert_eq!(struck.map(|note| note.key.pitch_class()), Some(root));
            }
        }
    }

    #[test]
    fn the_last_pulse_of_a_chord_is_never_the_next_root(form in any_form(), seed: u64) {
        let arrangement = arranged(&form, Feel::Swing, 1, seed);
        let bass = bass(&arrangement);
        for pair in form.chords.windows(2).filter(|pair| pair[0].symbol != pair[1].symbol) {
            let (Some(_), Some(next)) = (pair[0].symbol, pair[1].symbol) else { continue };
            let pulses = pair[0].length.0 / feel::pulse(form.bars[pair[0].bar].meter).0;
            let next_at = pair[1].start + arrangement.count_in;
            let last = bass.iter().rfind(|note| note.at < next_at);
            if pulses >= 2 {
                let root = next.heard().bass_or_root().pitch_class();
                prop_assert_ne!(last.map(|note| note.key.pitch_class()), Some(root));
            }
        }
    }

    #[test]
    fn walking_notes_never_repeat_and_leap_only_to_roots(form in any_form(), seed: u64) {
        let arrangement = arranged(&form, Feel::Swing, 2, seed);
        let landings: Vec<Ticks> = (0..2)
            .flat_map(|time| form.chords.iter().map(move |chord| (time, chord)))
            .map(|(time, chord)| chord.start + form.length() * time + arrangement.count_in)
            .collect();
        for pair in bass(&arrangement).windows(2).filter(|pair| pair[1].at < arrangement.end) {
            if !landings.contains(&pair[1].at) {
                let leap = pair[1].key.semitones_above(pair[0].key).abs();
                prop_assert!((1..=7).contains(&leap), "{pair:?}");
            }
        }
    }

    #[test]
    fn the_same_seed_plays_the_same_notes(form in any_form(), seed: u64, feel in prop::sample::select(&Feel::ALL[..])) {
        let first = arranged(&form, feel, 2, seed);
        prop_assert_eq!(&first, &arranged(&form, feel, 2, seed));
        prop_assert!(first.notes.is_sorted_by_key(|note| note.at));
        prop_assert!(first.notes.iter().all(|note| (1..=127).contains(&note.velocity) && note.at >= Ticks::ZERO));
        prop_assert!(first.notes.iter().all(|note| note.at <= first.end));
    }

    #[test]
    fn every_pulse_has_its_click(form in any_form(), seed: u64) {
        let arrangement = arranged(&form, Feel::Swing, 1, seed);
        let clicks = |from: Ticks, until: Ticks| {
            let in_time = |note: &&BandNote| note.part == Part::Click && (from..until).contains(&note.at);
            arrangement.notes.iter().filter(in_time).count() as i64
        };
        let bar_one = Ticks::ZERO + arrangement.count_in;
        let pulse = feel::pulse(form.bars[0].meter);
        prop_assert_eq!(clicks(bar_one, arrangement.end), form.length().0 / pulse.0);
        prop_assert!(clicks(Ticks::ZERO, bar_one) >= 2);
        prop_assert!(arrangement.count_in.0 % TICKS_PER_QUARTER == 0 || form.bars[0].meter.unit() == 8);
    }
}
