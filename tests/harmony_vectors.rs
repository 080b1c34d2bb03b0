//! Readings against a table computed by a reference implementation of the same rules.

#[path = "support/forms.rs"]
mod forms;
#[path = "support/moved.rs"]
mod moved;

use barwise::chart::form::Form;
use barwise::harmony::{Centre, ChordReading, Overrides, Reading, read};
use barwise::theory::{PitchClassSet, Scale};
use barwise::time::{Meter, TickSpan};
use serde::Deserialize;

#[derive(Deserialize)]
struct Table {
    progressions: Vec<Row>,
}

#[derive(Deserialize)]
struct Row {
    name: String,
    meter: String,
    r#loop: bool,
    home: String,
    functional_pairs: String,
    regions: Vec<RegionRow>,
    chords: Vec<ChordRow>,
}

#[derive(Deserialize)]
struct RegionRow {
    key: String,
    from: usize,
    to: usize,
}

#[derive(Deserialize)]
struct ChordRow {
    symbol: String,
    beats: i64,
    key: String,
    function: String,
    scale: String,
    scale_pcs: Vec<u8>,
    also: Vec<String>,
    chord_pcs: Vec<u8>,
}

fn table() -> Vec<Row> {
    let table: Table =
        serde_json::from_str(include_str!("reference/harmony_vectors.json")).expect("the table reads");
    table.progressions
}

fn form_of(row: &Row) -> Form {
    let meter: Meter = row.meter.parse().expect("a meter");
    let chords: Vec<(String, TickSpan)> =
        row.chords.iter().map(|chord| (chord.symbol.clone(), TickSpan::quarters(chord.beats))).collect();
    forms::form(meter, &chords, row.r#loop)
}

/// The table writes `none (modal)` for a form or chord without a key.
fn key_text(key: Option<String>) -> String {
    key.unwrap_or_else(|| "none (modal)".to_owned())
}

fn centre_text(centre: Centre) -> String {
    key_text(match centre {
        Centre::Key(key) => Some(key.to_string()),
        Centre::Modal => None,
    })
}

/// The name as it is printed: lower case, but a note keeps its capital.
fn printed(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// The table names the chord behind `(modal)`.
fn function_text(function: &str) -> &str {
    if function.starts_with("(modal)") { "(modal)" } else { function }
}

/// Collects differences, so that one run shows them all.
#[derive(Default)]
struct Differences(Vec<String>);

impl Differences {
    fn check<T: PartialEq + std::fmt::Debug>(&mut self, place: &str, what: &str, found: &T, expected: &T) {
        if found != expected {
            self.0.push(format!("{place}: {what}: found {found:?}, expected {expected:?}"));
        }
    }

    fn none(self) {
        assert!(self.0.is_empty(), "{} differences\n{}", self.0.len(), self.0.join("\n"));
    }
}

fn compare(differences: &mut Differences, row: &Row, form: &Form, reading: &Reading) {
    let place = row.name.as_str();
    let home = key_text(reading.home.map(|key| key.to_string()));
    differences.check(place, "home", &home, &row.home);
    differences.check(place, "functional pairs", &reading.moves.to_string(), &row.functional_pairs);
    let regions = reading.regions.iter().map(|r| (centre_text(r.centre), r.first + 1, r.last + 1));
    let expected = row.regions.iter().map(|r| (r.key.clone(), r.from, r.to));
    differences.check(place, "regions", &regions.collect::<Vec<_>>(), &expected.collect::<Vec<_>>());
    for (index, (chord, expected)) in reading.chords.iter().zip(&row.chords).enumerate() {
        let place = format!("{place}, chord {} {}", index + 1, expected.symbol);
        let chord = chord.as_ref().expect("every chord of the table has a symbol");
        let tones = form.chords[index].symbol.expect("a symbol").tone_set();
        compare_chord(differences, &place, chord, tones, expected);
    }
    differences.check(place, "chords", &reading.chords.len(), &row.chords.len());
}

fn compare_chord(
    differences: &mut Differences,
    place: &str,
    chord: &ChordReading,
    tones: PitchClassSet,
    expected: &ChordRow,
) {
    differences.check(place, "key", &centre_text(chord.centre), &expected.key);
    differences.check(place, "function", &chord.function.as_str(), &function_text(&expected.function));
    differences.check(place, "scale", &chord.scale.name(), &printed(&expected.scale));
    let notes = chord.scale.pitch_classes();
    differences.check(place, "notes", &notes, &PitchClassSet::of(&expected.scale_pcs));
    let also: Vec<String> = chord.alternatives.iter().map(Scale::name).collect();
    let expected_also: Vec<String> = expected.also.iter().map(|name| printed(name)).collect();
    differences.check(place, "alternatives", &also, &expected_also);
    differences.check(place, "chord tones", &tones, &PitchClassSet::of(&expected.chord_pcs));
}

#[test]
fn every_row_of_the_table_is_read_as_expected() {
    let mut differences = Differences::default();
    for row in &table() {
        let form = form_of(row);
        compare(&mut differences, row, &form, &read(&form, &Overrides::default()));
    }
    differences.none();
}

/// What must not change with the key, and the notes counted from the key moved to.
fn told(reading: &Reading, semitones: i32) -> Vec<(String, String, PitchClassSet, Vec<PitchClassSet>)> {
    let chords = reading.chords.iter().flatten();
    chords
        .map(|chord| {
            let nameless = |name: String| name.split(" of ").next().map(str::to_owned).unwrap_or_default();
            let also = chord.alternatives.iter().map(|s| s.pitch_classes().up(semitones));
            (
                chord.function.clone(),
                nameless(chord.scale.name()),
                chord.scale.pitch_classes().up(semitones),
                also.collect(),
            )
        })
        .collect()
}

#[test]
fn every_row_reads_the_same_in_twelve_keys() {
    let mut differences = Differences::default();
    for row in &table() {
        let form = form_of(row);
        let here = read(&form, &Overrides::default());
        for semitones in 0..12 {
            let there = read(&moved::moved(&form, semitones, 1, 1), &Overrides::default());
            let place = format!("{} up {semitones}", row.name);
            differences.check(&place, "reading", &told(&there, 0), &told(&here, semitones));
        }
    }
    differences.none();
}

#[test]
fn every_row_reads_the_same_at_double_and_half_length() {
    let mut differences = Differences::default();
    for row in &table() {
        let form = form_of(row);
        let here = read(&form, &Overrides::default());
        for (times, over) in [(2, 1), (1, 2)] {
            let there = read(&moved::moved(&form, 0, times, over), &Overrides::default());
            let place = format!("{} times {times}/{over}", row.name);
            differences.check(&place, "reading", &told(&there, 0), &told(&here, 0));
        }
    }
    differences.none();
}
