//! The charts that ship: each is part of the program, reads without a remark and is written as it is in its file; and
//! together they hold what there is to practise, found in their forms, not in their titles.

use std::collections::BTreeSet;
use std::path::Path;

use barwise::chart::{Backing, Barline, Chart, Feel, Form, FormChord};
use barwise::theory::chord::{Arpeggio, BareSymbols};
use barwise::theory::{ChordSymbol, KeyMode, Mode, PitchClass, PitchClassSet};
use barwise::time::Meter;

fn charts() -> Vec<Chart> {
    let read = |backing: &Backing| {
        let (chart, warnings) =
            Chart::parse(backing.stem, backing.text, BareSymbols::default()).expect(backing.stem);
        assert_eq!(warnings, [], "{}", backing.stem);
        chart
    };
    Backing::ALL.iter().map(read).collect()
}

#[test]
fn every_file_is_part_of_the_program_and_every_part_is_a_file() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("backing");
    let files: BTreeSet<String> = std::fs::read_dir(folder)
        .expect("the folder of charts")
        .map(|entry| entry.expect("a file").file_name().to_string_lossy().into_owned())
        .collect();
    let shipped = Backing::ALL.iter().map(|chart| format!("{}.bars", chart.stem)).collect();
    assert_eq!(files, shipped);
}

#[test]
fn every_chart_is_written_as_it_is_in_its_file() {
    for (chart, backing) in charts().iter().zip(Backing::ALL) {
        assert_eq!(chart.to_string(), backing.text, "{}", backing.stem);
    }
}

#[test]
fn every_chart_says_first_what_it_is_good_for_and_has_a_title_of_its_own() {
    for backing in Backing::ALL {
        assert!(backing.text.starts_with("; "), "{}", backing.stem);
    }
    let charts = charts();
    let titles: BTreeSet<_> = charts.iter().map(Chart::title).collect();
    assert_eq!(titles.len(), charts.len());
    assert!(charts.iter().all(|chart| chart.header().title.is_some()));
}

#[test]
fn charts_are_found_by_the_stem_of_their_file() {
    assert_eq!(Backing::find("two-lamps").map(|chart| chart.stem), Some("two-lamps"));
    assert_eq!(Backing::find("no-such-chart"), None);
}

#[test]
fn keys_tempos_and_feels_are_many() {
    let charts = charts();
    let keys: BTreeSet<_> = charts.iter().filter_map(|chart| chart.header().key).collect();
    assert!(keys.len() >= 8, "{keys:?}");
    let tempos = charts.iter().map(|chart| chart.header().tempo.get());
    let (slowest, fastest) =
        tempos.fold((f64::MAX, 0.0_f64), |(low, high), tempo| (low.min(tempo), high.max(tempo)));
    assert!(slowest <= 60.0 && fastest >= 180.0, "{slowest} to {fastest}");
    for feel in Feel::ALL {
        assert!(charts.iter().any(|chart| chart.header().feel == feel), "{feel}");
    }
}

/// Whether some chart that ships has this property.
fn some_chart(property: impl Fn(&Chart, &Form) -> bool) -> bool {
    charts().iter().any(|chart| property(chart, &chart.unfold()))
}

/// The chords of a form with a symbol, a chord that goes on once.
fn changes(form: &Form) -> Vec<ChordSymbol> {
    let mut symbols: Vec<ChordSymbol> = form.chords.iter().filter_map(|chord| chord.symbol).collect();
    symbols.dedup();
    symbols
}

/// Whether two neighbours of a form, last and first among them, are such a pair.
fn some_pair(form: &Form, pair: impl Fn(ChordSymbol, ChordSymbol) -> bool) -> bool {
    let changes = changes(form);
    let next = changes.iter().cycle().skip(1);
    changes.iter().zip(next).any(|(&first, &second)| pair(first, second))
}

/// Semitones up from the root of one chord to the root of the next.
fn move_up(first: ChordSymbol, second: ChordSymbol) -> u8 {
    second.root.pitch_class().above(first.root.pitch_class())
}

fn is_dominant(symbol: ChordSymbol) -> bool {
    let set = symbol.quality.arpeggio.set();
    set.has_semitone(4) && set.has_semitone(10)
}

fn is_major(symbol: ChordSymbol) -> bool {
    let set = symbol.quality.arpeggio.set();
    set.has_semitone(4) && !set.has_semitone(10)
}

fn is_minor(symbol: ChordSymbol) -> bool {
    let set = symbol.quality.arpeggio.set();
    set.has_semitone(3) && set.has_semitone(7)
}

fn is_half_diminished(symbol: ChordSymbol) -> bool {
    symbol.quality.arpeggio == Arpeggio::HalfDiminished
}

/// Degree of a chord's root above the tonic of the chart's key, in semitones.
fn degree(chart: &Chart, symbol: ChordSymbol) -> Option<u8> {
    let tonic = chart.header().key?.tonic.pitch_class();
    Some(symbol.root.pitch_class().above(tonic))
}

/// The first symbol of each bar.
fn by_bar(form: &Form) -> Vec<Option<ChordSymbol>> {
    let first = |bar: usize| form.chords.iter().find(|chord| chord.bar == bar);
    (0..form.bars.len()).map(|bar| first(bar).and_then(|chord| chord.symbol)).collect()
}

/// Whether the form is a 12-bar blues: the chord of the tonic in bar 1, the one a fourth above in bar 5, both of one kind.
fn is_blues(chart: &Chart, form: &Form, kind: fn(ChordSymbol) -> bool) -> bool {
    let bars = by_bar(form);
    let (Some(&Some(first)), Some(&Some(fifth))) = (bars.first(), bars.get(4)) else {
        return false;
    };
    bars.len() == 12
        && kind(first)
        && kind(fifth)
        && degree(chart, first) == Some(0)
        && move_up(first, fifth) == 5
}

/// The letters of the quarters of a form of 32 bars, a quarter named after the first that begins with the same six bars.
fn quarters(form: &Form) -> Option<String> {
    let bars = by_bar(form);
    let starts: Vec<_> = bars.chunks(8).map(|quarter| &quarter[..quarter.len().min(6)]).collect();
    let mut kinds: Vec<&[Option<ChordSymbol>]> = Vec::new();
    let letters = starts.iter().map(|start| {
        let kind = kinds.iter().position(|kind| kind == start).unwrap_or_else(|| {
            kinds.push(start);
            kinds.len() - 1
        });
        char::from(b'A' + kind as u8)
    });
    let letters = letters.collect();
    (bars.len() == 32).then_some(letters)
}

fn has_cadence(form: &Form) -> bool {
    some_pair(form, |first, second| is_dominant(first) && move_up(first, second) == 5)
}

#[test]
fn there_is_a_blues_in_major_and_one_in_minor() {
    assert!(some_chart(|chart, form| is_blues(chart, form, is_dominant)));
    assert!(some_chart(|chart, form| is_blues(chart, form, is_minor)));
}

#[test]
fn there_are_forms_of_32_bars_one_with_a_bridge_of_dominants_one_without_cadences() {
    let bridge = |form: &Form| by_bar(form)[16..24].iter().flatten().all(|&symbol| is_dominant(symbol));
    assert!(some_chart(|_, form| quarters(form).as_deref() == Some("AABA") && bridge(form)));
    assert!(some_chart(|_, form| quarters(form).as_deref() == Some("AABA") && !has_cadence(form)));
    assert!(some_chart(|_, form| quarters(form).as_deref() == Some("ABAC") && has_cadence(form)));
}

#[test]
fn there_are_tonal_forms_of_16_bars_in_major_and_minor() {
    for mode in [KeyMode::Major, KeyMode::Minor] {
        assert!(some_chart(|chart, form| {
            form.bars.len() == 16
                && has_cadence(form)
                && chart.header().key.is_some_and(|key| key.mode == mode)
        }));
    }
}

#[test]
fn there_is_a_waltz_and_a_change_of_meter() {
    let three_four = Meter::new(3, 4).expect("a meter");
    assert!(some_chart(|_, form| form.bars.iter().all(|bar| bar.meter == three_four)));
    assert!(some_chart(|_, form| form.bars.windows(2).any(|pair| pair[0].meter != pair[1].meter)));
}

#[test]
fn there_are_first_and_second_endings_and_a_count_of_times() {
    let has_ending = |chart: &Chart, number| chart.bars().iter().any(|bar| bar.ending == Some(number));
    assert!(some_chart(|chart, _| has_ending(chart, 1) && has_ending(chart, 2)));
    let counted = |times: Option<u8>| times.is_some_and(|times| times > 2);
    assert!(some_chart(|chart, _| chart.bars().iter().any(|bar| counted(Barline::closes(bar.after)))));
}

#[test]
fn there_are_a_backdoor_a_tritone_substitute_and_passing_diminished_chords() {
    let to_tonic = |chart: &Chart, symbol| is_major(symbol) && degree(chart, symbol) == Some(0);
    assert!(some_chart(|chart, form| some_pair(form, |first, second| {
        is_dominant(first) && degree(chart, first) == Some(10) && to_tonic(chart, second)
    })));
    assert!(some_chart(|chart, form| some_pair(form, |first, second| {
        is_dominant(first) && move_up(first, second) == 11 && to_tonic(chart, second)
    })));
    for step in [1, 11] {
        assert!(some_chart(|_, form| some_pair(form, |first, second| {
            first.quality.arpeggio == Arpeggio::Diminished7 && move_up(first, second) == step
        })));
    }
}

#[test]
fn there_are_minor_two_fives_into_several_keys_of_one_chart() {
    assert!(some_chart(|_, form| {
        let changes = changes(form);
        let targets: BTreeSet<PitchClass> = changes
            .windows(3)
            .filter(|three| is_half_diminished(three[0]) && is_dominant(three[1]) && is_minor(three[2]))
            .filter(|three| move_up(three[0], three[1]) == 5 && move_up(three[1], three[2]) == 5)
            .map(|three| three[2].root.pitch_class())
            .collect();
        targets.len() >= 2
    }));
}

#[test]
fn there_is_a_key_a_third_away() {
    let cadences = |form: &Form| -> Vec<PitchClass> {
        let changes = changes(form);
        let cadence = |three: &&[ChordSymbol]| {
            is_minor(three[0])
                && is_dominant(three[1])
                && is_major(three[2])
                && move_up(three[0], three[1]) == 5
                && move_up(three[1], three[2]) == 5
        };
        changes.windows(3).filter(cadence).map(|three| three[2].root.pitch_class()).collect()
    };
    assert!(some_chart(|chart, form| {
        let Some(home) = chart.header().key else {
            return false;
        };
        cadences(form).iter().any(|key| matches!(key.above(home.tonic.pitch_class()), 3 | 4 | 8 | 9))
    }));
}

#[test]
fn there_is_a_vamp_on_one_chord() {
    assert!(some_chart(|_, form| form.bars.len() >= 8 && changes(form).len() == 1));
}

#[test]
fn there_is_one_scale_under_many_chords() {
    assert!(some_chart(|chart, form| {
        let symbols: BTreeSet<String> =
            form.chords.iter().map(|chord: &FormChord| chord.text.clone()).collect();
        let notes =
            changes(form).iter().fold(PitchClassSet::EMPTY, |notes, symbol| notes | symbol.tone_set());
        let scale = chart.header().key.map(|key| Mode::Ionian.on(key.tonic).pitch_classes());
        symbols.len() >= 6 && scale.is_some_and(|scale| scale.holds(notes))
    }));
}

#[test]
fn there_is_a_cycle_of_dominants() {
    assert!(some_chart(|_, form| {
        let links = |four: &[ChordSymbol]| four.windows(2).all(|two| move_up(two[0], two[1]) == 5);
        let changes = changes(form);
        let mut cycles = changes.windows(8);
        cycles.any(|eight| eight.iter().all(|&symbol| is_dominant(symbol)) && links(eight))
    }));
}

#[test]
fn there_is_a_push_on_the_half_beat() {
    assert!(some_chart(|_, form| {
        form.chords.iter().any(|chord| form.beat_and_beats(chord).0.fract() > 0.0)
    }));
}
