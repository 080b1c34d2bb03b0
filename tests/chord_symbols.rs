//! Chord symbols against two general-purpose libraries, and properties of the parser.

use barwise::theory::chord::{Arpeggio, Colour, Colours, GREATEST_LENGTH, Quality};
use barwise::theory::{ChordSymbol, Degree, NoteName, PitchClass, PitchClassSet};
use proptest::prelude::*;
use serde::Deserialize;

/// A row of `reference/chord_reference.csv` (`mir_eval` 0.8.2 and music21 10.5.1; see the README beside it).
#[derive(Deserialize)]
struct Row {
    symbol: String,
    root_pc: u8,
    core_pcs: String,
    all_pcs: String,
    bass_pc: u8,
    tier: String,
    alt_core: String,
    opt_pcs: String,
}

fn set(pcs: &str) -> PitchClassSet {
    pcs.split_whitespace().map(|p| PitchClass::from_semitones(p.parse().expect("a pitch class"))).collect()
}

/// What is wrong with the reading of a row, or nothing.
fn difference(row: &Row, chord: ChordSymbol) -> Option<String> {
    let core = chord.tone_set();
    let all = core | chord.named_colours();
    let core_ok = core == set(&row.core_pcs) || (!row.alt_core.is_empty() && core == set(&row.alt_core));
    let optional = set(&row.opt_pcs) | set(&row.core_pcs);
    let all_ok = all - optional == set(&row.all_pcs) - optional;
    let root_ok = chord.root.pitch_class().semitones() == row.root_pc;
    let bass_ok = chord.bass_or_root().pitch_class().semitones() == row.bass_pc;
    (!(core_ok && all_ok && root_ok && bass_ok))
        .then(|| format!("{}: core {core:?}, all {all:?}", row.symbol))
}

#[test]
fn symbols_agree_with_independent_libraries() {
    let mut reader = csv::Reader::from_path("tests/reference/chord_reference.csv").expect("the table");
    let rows: Vec<Row> = reader.deserialize().collect::<Result<_, _>>().expect("rows");
    assert_eq!(rows.len(), 150);
    let mut wrong = Vec::new();
    let mut refused = Vec::new();
    for row in &rows {
        match row.symbol.parse::<ChordSymbol>() {
            Ok(chord) => wrong.extend(difference(row, chord)),
            Err(error) if row.tier == "must" => wrong.push(format!("{}: {error}", row.symbol)),
            Err(error) => refused.push(error.to_string()),
        }
    }
    assert!(wrong.is_empty(), "{} of {}: {wrong:#?}", wrong.len(), rows.len());
    assert_eq!(refused, Vec::<String>::new(), "every `should` row is read today; say so if one is given up");
}

#[test]
fn every_arpeggio_alone_reads_back() {
    for &arpeggio in Arpeggio::ALL {
        let text = format!("Eb{}", Quality::plain(arpeggio));
        let chord: ChordSymbol = text.parse().unwrap_or_else(|error| panic!("{text}: {error}"));
        assert_eq!(chord.quality, Quality::plain(arpeggio), "{text}");
    }
}

fn note_name() -> impl Strategy<Value = NoteName> {
    "[A-G](b|#|bb|##)?".prop_map(|text| text.parse().expect("a note name"))
}

/// Symbols made of the pieces that symbols are made of, most of them nonsense.
fn plausible() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        Just("m"),
        Just("maj"),
        Just("7"),
        Just("9"),
        Just("13"),
        Just("6"),
        Just("/"),
        Just("sus"),
        Just("4"),
        Just("b"),
        Just("#"),
        Just("5"),
        Just("11"),
        Just("("),
        Just(")"),
        Just("alt"),
        Just("dim"),
        Just("ø"),
        Just("Δ"),
        Just("-"),
        Just("+"),
        Just("add"),
        Just("♭"),
        Just("♯"),
        Just("°"),
        Just(","),
        Just("A"),
    ];
    ("[A-H]", prop::collection::vec(piece, 0..6)).prop_map(|(root, pieces)| root + &pieces.concat())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 20_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_text_makes_the_parser_panic(text in "\\PC{0,40}") {
        let _ = text.parse::<ChordSymbol>();
    }

    #[test]
    fn what_is_read_prints_and_reads_back_the_same(text in plausible()) {
        if let Ok(chord) = text.parse::<ChordSymbol>() {
            let printed = chord.to_string();
            prop_assert!(printed.is_ascii());
            prop_assert_eq!(printed.parse::<ChordSymbol>().ok(), Some(chord), "{} -> {}", text, printed);
        }
    }

    #[test]
    fn every_chord_prints_and_reads_back_the_same(
        root in note_name(),
        arpeggio in prop::sample::select(Arpeggio::ALL),
        colours in prop::sample::subsequence(Colour::ALL.to_vec(), 0..4),
        bass in prop::option::of(note_name()),
    ) {
        let sounding = arpeggio.set();
        let colours: Vec<Colour> = colours.into_iter().filter(|c| !sounding.has_semitone(c.semitones())).collect();
        let quality = Quality { arpeggio, colours: Colours::of(&colours) };
        let printed = ChordSymbol { root, quality, bass }.to_string();
        // Not every combination has a symbol (a power chord has no colour); one that reads must read as itself.
        if let Ok(read) = printed.parse::<ChordSymbol>() {
            let again = read.to_string();
            prop_assert_eq!(again.parse::<ChordSymbol>().ok(), Some(read), "{} -> {}", printed, again);
        }
    }

    #[test]
    fn longer_than_the_greatest_length_is_refused(text in "C[79b#]{32,200}") {
        prop_assert!(text.chars().count() > GREATEST_LENGTH && text.parse::<ChordSymbol>().is_err());
    }

    #[test]
    fn a_degree_names_the_note_it_is(root in note_name(), semitones in 0u8..12, arpeggio in prop::sample::select(Arpeggio::ALL)) {
        let degree = Degree::in_chord(semitones, arpeggio.set());
        prop_assert_eq!(degree.semitones(), semitones);
        prop_assert_eq!(degree.above(root).pitch_class(), root.pitch_class().up(i32::from(semitones)));
    }
}
