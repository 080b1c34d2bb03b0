//! Positions, names and arpeggios on the neck against 287 worked tables (see `reference/README.md`).

use std::collections::BTreeMap;

use barwise::neck::{Fret, PlacedNote, Position, Tuning};
use barwise::theory::{Mode, NoteName, PitchClassSet, Scale};
use serde::Deserialize;

#[derive(Deserialize)]
struct Tables {
    tunings: BTreeMap<String, Vec<u8>>,
    positions: Vec<Row>,
}

#[derive(Deserialize)]
struct Row {
    scale: String,
    key: String,
    tuning: String,
    start_note: String,
    scale_names: Vec<String>,
    frets: Vec<Vec<u8>>,
    pitches: Vec<u8>,
    lowest: u8,
    highest: u8,
    arpeggios: BTreeMap<String, Chord>,
    tonic_triad: Vec<String>,
    other_open: Option<Open>,
}

#[derive(Deserialize)]
struct Chord {
    names: Vec<String>,
    places: Vec<String>,
}

#[derive(Deserialize)]
struct Open {
    frets: Vec<Vec<u8>>,
}

fn tables() -> Tables {
    let text = std::fs::read_to_string("tests/reference/fretboard_vectors.json").expect("the tables");
    serde_json::from_str(&text).expect("their shape")
}

fn name(text: &str) -> NoteName {
    text.parse().expect("a name")
}

/// The tuning of these open strings, given as keys of MIDI.
fn tuning(keys: &[u8]) -> Tuning {
    let letters = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"];
    let note = |key: &u8| format!("{}{}", letters[usize::from(key % 12)], i32::from(key / 12) - 1);
    keys.iter().map(note).collect::<Vec<_>>().join(" ").parse().expect("a tuning")
}

impl Row {
    fn scale(&self) -> Scale {
        let mode = match self.scale.as_str() {
            "major" => Mode::Ionian,
            "melodic_minor" => Mode::MelodicMinor,
            "harmonic_minor" => Mode::HarmonicMinor,
            other => unreachable!("a scale the tables do not have: {other}"),
        };
        mode.on(name(&self.key))
    }

    fn label(&self) -> String {
        format!("{} {} from {}, {}", self.key, self.scale, self.start_note, self.tuning)
    }
}

fn frets(position: &Position) -> Vec<Vec<u8>> {
    let string = |notes: &[PlacedNote]| notes.iter().map(|note| note.place.fret.0).collect();
    position.notes().chunks(3).map(string).collect()
}

fn places(notes: Option<Vec<PlacedNote>>) -> Vec<String> {
    notes.into_iter().flatten().map(|note| note.place.to_string()).collect()
}

fn tones(names: &[String]) -> PitchClassSet {
    names.iter().map(|text| name(text).pitch_class()).collect()
}

#[test]
fn every_position_has_the_frets_and_the_names_of_the_table() {
    let tables = tables();
    assert_eq!(tables.positions.len(), 287);
    for row in &tables.positions {
        let scale = row.scale();
        let position = Position::of(&scale, name(&row.start_note), &tuning(&tables.tunings[&row.tuning]));
        let position = position.expect("a position");
        let label = row.label();
        assert_eq!(frets(&position), row.frets, "{label}");
        assert_eq!(position.frets(), (Fret(row.lowest), Fret(row.highest)), "{label}");
        let keys: Vec<u8> = position.notes().iter().map(|note| note.pitch.key()).collect();
        assert_eq!(keys, row.pitches, "{label}");
        let names: Vec<String> = scale.names().iter().map(NoteName::to_string).collect();
        assert_eq!(names, row.scale_names, "{label}");
    }
}

#[test]
fn every_open_position_of_the_table_is_offered_and_no_other() {
    let tables = tables();
    let mut offered = 0;
    for row in &tables.positions {
        let strings = tuning(&tables.tunings[&row.tuning]);
        let open = Position::open(&row.scale(), name(&row.start_note), &strings);
        offered += usize::from(open.is_some());
        let expected = row.other_open.as_ref().map(|open| open.frets.clone());
        assert_eq!(open.as_ref().map(frets), expected, "{}", row.label());
    }
    assert!(offered > 0, "the tables have open positions");
}

#[test]
fn every_arpeggio_of_the_table_lies_where_it_says() {
    let tables = tables();
    let mut chords = 0;
    for row in &tables.positions {
        let strings = tuning(&tables.tunings[&row.tuning]);
        let position = Position::of(&row.scale(), name(&row.start_note), &strings).expect("a position");
        for (degree, chord) in &row.arpeggios {
            let found = places(position.arpeggio(tones(&chord.names)));
            assert_eq!(found, chord.places, "{}, {degree}", row.label());
            chords += 1;
        }
        let tonic =
            &row.arpeggios.iter().find(|(degree, _)| degree.starts_with("1:")).expect("a tonic").1.names;
        assert_eq!(places(position.arpeggio(tones(&tonic[..3]))), row.tonic_triad, "{}", row.label());
    }
    assert_eq!(chords, 287 * 7);
}
