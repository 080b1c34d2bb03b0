//! Positions against what every position has, and against worked examples.
//!
//! The worked fret tables are in `tests/fretboard.rs`.

use super::*;
use crate::theory::{ChordSymbol, Mode};

fn name(text: &str) -> NoteName {
    text.parse().expect("a name")
}

fn standard() -> Tuning {
    Tuning::standard()
}

fn position(mode: Mode, root: &str, start: &str) -> Position {
    Position::of(&mode.on(name(root)), name(start), &standard()).expect("a position")
}

fn frets(position: &Position) -> String {
    let string = |notes: &[PlacedNote]| {
        notes.iter().map(|note| note.place.fret.to_string()).collect::<Vec<_>>().join(" ")
    };
    position.notes().chunks(position.per_string()).map(string).collect::<Vec<_>>().join("|")
}

fn places(notes: &[PlacedNote]) -> String {
    notes.iter().map(|note| note.place.to_string()).collect::<Vec<_>>().join(" ")
}

fn tunings() -> impl Iterator<Item = Tuning> {
    Tuning::names().map(|name| name.parse().expect("a tuning"))
}

fn roots() -> [NoteName; 12] {
    ["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"].map(name)
}

#[test]
fn pentatonics_lie_two_a_string() {
    // Common practice: the box of A minor at the fifth fret.
    assert_eq!(frets(&position(Mode::MinorPentatonic, "A", "A")), "5 8|5 7|5 7|5 7|5 8|5 8");
}

#[test]
fn a_start_below_the_nut_moves_up_an_octave() {
    let high = position(Mode::MelodicMinor, "F", "E");
    assert_eq!(frets(&high), "12 13 15|11 13 15|12 14 15|12 13 15|13 15 17|13 15 16");
    assert_eq!(Position::open(&Mode::MelodicMinor.on(name("F")), name("E"), &standard()), None);
}

#[test]
fn an_open_position_is_offered_where_it_fits() {
    let open = Position::open(&Mode::Ionian.on(name("C")), name("E"), &standard()).expect("a position");
    assert_eq!(frets(&open), "0 1 3|0 2 3|0 2 3|0 2 4|1 3 5|1 3 5");
    assert_eq!(Position::open(&Mode::Ionian.on(name("C")), name("F"), &standard()), None);
}

#[test]
fn arpeggios_are_the_chord_tones_of_a_position() {
    let c_from_f = position(Mode::Ionian, "C", "F");
    let tones = |symbol: &str| symbol.parse::<ChordSymbol>().expect("a symbol").tone_set();
    let found = c_from_f.arpeggio(tones("Dm7")).expect("all its tones");
    assert_eq!(places(&found), "6/1 6/5 5/3 5/5 4/3 3/2 3/5 2/3 2/6 1/5");
    assert_eq!(c_from_f.arpeggio(tones("E7")), None, "no G sharp in C");
    let minor = c_from_f.over(&Mode::HarmonicMinor.on(name("A")), &standard());
    assert_eq!(frets(&minor), "1 4 5|2 3 5|2 3 6|2 4 5|3 5 6|4 5 7");
    let found = minor.arpeggio(tones("E7")).expect("all its tones");
    assert_eq!(places(&found), "6/4 5/2 5/5 4/2 4/6 3/4 2/3 2/5 1/4 1/7");
}

#[test]
fn a_mode_of_the_same_notes_keeps_the_position() {
    let ionian = position(Mode::Ionian, "C", "F");
    assert_eq!(ionian.over(&Mode::Dorian.on(name("D")), &standard()), ionian);
}

#[test]
fn chords_stack_in_thirds_through_one_octave() {
    let c_from_c = position(Mode::Ionian, "C", "C");
    let sevenths: Vec<String> =
        (0..7).map(|index| places(&c_from_c.stacked(index, 4).expect("in the position"))).collect();
    assert_eq!(
        sevenths,
        [
            "6/8 6/12 5/10 4/9",
            "6/10 5/8 5/12 4/10",
            "6/12 5/10 4/9 4/12",
            "5/8 5/12 4/10 3/9",
            "5/10 4/9 4/12 3/10",
            "5/12 4/10 3/9 3/12",
            "4/9 4/12 3/10 2/10",
        ]
    );
    assert_eq!(c_from_c.stacked(12, 4), None);
}

#[test]
fn every_c_below_the_twelfth_fret_is_found() {
    let found = places_of(PitchClass::C, Fret(11), &standard());
    let printed: Vec<String> = found.iter().map(Place::to_string).collect();
    assert_eq!(printed, ["6/8", "5/3", "4/10", "3/5", "2/1", "1/8"]);
}

#[test]
fn what_is_no_position_says_what_to_write() {
    let refused = |mode: Mode, start: &str| {
        Position::of(&mode.on(name("C")), name(start), &standard()).expect_err("no position").to_string()
    };
    assert_eq!(refused(Mode::Ionian, "F#"), "F# is not in C ionian: start a position from C D E F G A B");
    let few = Scale::of_degrees(vec!["1".parse().expect("1"), "5".parse().expect("5")], name("C"));
    let refusal = Position::of(&few, name("C"), &standard()).expect_err("too few");
    assert_eq!(refusal.to_string(), "C 1,5 has 2 notes: a position needs at least 5");
}

#[test]
fn every_position_of_every_scale_of_seven_notes_has_each_pitch_once() {
    for tuning in tunings() {
        for mode in Mode::ALL.iter().filter(|mode| mode.set().len() == 7) {
            for root in roots() {
                let scale = mode.on(root);
                for start in scale.names() {
                    check_position(&scale, start, &tuning);
                }
            }
        }
    }
}

fn check_position(scale: &Scale, start: NoteName, tuning: &Tuning) {
    let position = Position::of(scale, start, tuning).expect("a position");
    let notes = position.notes();
    let of = format!("{scale} from {start}, {tuning}");
    assert_eq!(notes.len(), 3 * tuning.strings().len(), "{of}");
    assert_eq!(notes[0].name, start, "{of}");
    for pair in notes.windows(2) {
        assert!(pair[0].pitch < pair[1].pitch, "{of}: ascending");
        let between = (pair[0].pitch.key() + 1..pair[1].pitch.key()).filter_map(Pitch::new);
        let skipped = between.filter(|pitch| scale.pitch_classes().has(pitch.pitch_class())).count();
        assert_eq!(skipped, 0, "{of}: no pitch of the scale is left out");
    }
    for note in notes {
        assert_eq!(tuning.pitch_at(note.place), Some(note.pitch), "{of}");
        assert_eq!(note.name.pitch_class(), note.pitch.pitch_class(), "{of}");
    }
    let above = Position::of(scale, next_name(scale, start), tuning).expect("a position");
    let per_octave = |position: &Position| -> Vec<(u8, u8)> {
        let place = |note: &PlacedNote| (note.place.string.number(), note.place.fret.0 % 12);
        position.notes().iter().map(place).collect()
    };
    let own = per_octave(&position);
    let shared = per_octave(&above).iter().filter(|place| own.contains(place)).count();
    assert_eq!(shared, 2 * tuning.strings().len(), "{of}: neighbours share two notes a string");
}

fn next_name(scale: &Scale, start: NoteName) -> NoteName {
    let names = scale.names();
    let at = names.iter().position(|name| *name == start).expect("in the scale");
    names[(at + 1) % names.len()]
}

#[test]
fn positions_fit_a_hand() {
    // Frets from the lowest to the highest by tuning: counted here, no source says them.
    let within = |tuning: &str| if matches!(tuning, "dadgad" | "open-g") { 8 } else { 6 };
    let four = [Mode::Ionian, Mode::MelodicMinor, Mode::HarmonicMinor, Mode::HarmonicMajor];
    for tuning in ["standard", "drop-d", "fourths", "seven-string", "dadgad", "open-g"] {
        let strings: Tuning = tuning.parse().expect("a tuning");
        for (mode, root) in four.iter().flat_map(|mode| roots().map(|root| (mode, root))) {
            for position in Position::all(&mode.on(root), &strings) {
                let (lowest, highest) = position.frets();
                assert!(
                    highest.above(lowest) <= within(tuning),
                    "{mode} on {root}, {tuning}: {}",
                    frets(&position)
                );
                for string in position.notes().chunks(3) {
                    assert!(string[2].place.fret.above(string[0].place.fret) <= 4);
                }
            }
        }
    }
}
