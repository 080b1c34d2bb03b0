//! The scales put forward over each function, as a list: the default, then the alternatives that agree with the symbol.

use super::*;
use crate::harmony::local::local_cost;
use crate::harmony::reduce::Progression;

fn names(key: &str, chords: &str, sixth: Sixth) -> String {
    let key: Key = key.parse().expect(key);
    let progression = Progression::of_symbols(chords, false);
    let context = progression.context(0);
    let tonality = Tonality::of(key);
    let placed = Placed {
        chord: InKey::new(context, tonality),
        key,
        function: local_cost(context, tonality).function,
        sixth,
    };
    let symbol = chords.split(' ').next().expect("a chord").parse().expect("a symbol");
    let choice = in_key(symbol, &placed);
    let all = std::iter::once(choice.default).chain(choice.alternatives);
    all.map(|scale| scale.name()).collect::<Vec<_>>().join(", ")
}

/// The scales over the first of `chords`, the others following.
fn check(key: &str, chords: &str, expected: &str) {
    assert_eq!(names(key, chords, Sixth::Flat), expected, "{chords} in {key}");
}

#[test]
fn dominants_in_major_take_scales_by_where_they_lead() {
    for (chords, scales) in [
        ("A7 Dm7", "phrygian dominant, mixolydian b13, altered, mixolydian"),
        ("A7 D7", "mixolydian, lydian dominant, mixolydian b13, phrygian dominant"),
        ("E7 Am7", "phrygian dominant, mixolydian b9 #9 b13, altered, mixolydian b13"),
        ("E7 Fmaj7", "phrygian dominant, mixolydian b9 #9 b13, altered, mixolydian b13"),
        ("C7 Fmaj7", "mixolydian, lydian dominant"),
        ("C7 Gmaj7", "mixolydian, lydian dominant"),
        ("D7 Dm7", "mixolydian, lydian dominant"),
        ("D7 Fmaj7", "lydian dominant, mixolydian"),
        ("D7", "mixolydian, lydian dominant"),
        ("F7 Cmaj7", "lydian dominant, mixolydian"),
        ("Bb7 Cmaj7", "lydian dominant, mixolydian"),
        ("Ab7 G7", "lydian dominant, mixolydian, altered, half-whole diminished"),
        ("Eb7 Ab7", "mixolydian, lydian dominant, mixolydian b13, phrygian dominant"),
        ("F#7 Bm7b5", "lydian dominant, mixolydian"),
    ] {
        check("C", chords, scales);
    }
}

#[test]
fn dominants_in_minor_take_scales_by_where_they_lead() {
    for (chords, scales) in [
        ("Db7 Cm7", "lydian dominant, mixolydian, altered, half-whole diminished"),
        ("E7 A7", "mixolydian, lydian dominant, mixolydian b13, phrygian dominant"),
        ("F7 Cm7", "mixolydian, lydian dominant"),
        ("Bb7 Ebmaj7", "mixolydian, lydian dominant"),
        ("Ab7 G7", "lydian dominant, mixolydian, altered"),
        ("Ab7 Cm7", "lydian dominant, mixolydian, altered"),
        ("D7 G7", "phrygian dominant, mixolydian b13, mixolydian, lydian dominant"),
        ("D7 Ab7", "lydian dominant, mixolydian"),
        ("C7 Fm7", "phrygian dominant, altered, mixolydian b13, mixolydian"),
        ("C7 Fmaj7", "mixolydian, lydian dominant"),
        ("A7 Dm7b5", "phrygian dominant, altered, mixolydian b13"),
        ("Eb7 Abmaj7", "mixolydian, lydian dominant, mixolydian b13"),
        ("Eb7 Cm7", "lydian dominant, mixolydian"),
    ] {
        check("Cm", chords, scales);
    }
}

#[test]
fn other_chords_take_scales_by_their_degree() {
    for (key, chords, scales) in [
        ("C", "Fm7", "dorian"),
        ("C", "Dm6", "dorian, melodic minor"),
        ("C", "Fm6", "melodic minor, dorian"),
        ("C", "Ebmaj7", "lydian, ionian"),
        ("C", "Gm7 C7", "dorian, aeolian"),
        ("Cm", "Ebmaj7", "ionian, lydian"),
        ("Cm", "Ebmaj7#5", "lydian augmented, harmonic minor of C"),
        ("Cm", "Gm7", "dorian, aeolian, phrygian"),
        ("Cm", "Bb", "lydian, ionian, mixolydian"),
        ("Cm", "Bdim7", "whole-half diminished, harmonic minor 7th mode"),
    ] {
        check(key, chords, scales);
    }
}

#[test]
fn the_sixth_of_the_stretch_decides_over_a_minor_tonic() {
    assert_eq!(names("Cm", "Cm7", Sixth::Flat), "aeolian, dorian, phrygian");
    assert_eq!(names("Cm", "Cm7", Sixth::Natural), "dorian, aeolian, phrygian");
}

#[test]
fn a_stretch_holds_the_flat_sixth_in_four_ways() {
    let minor = Tonality::of("Cm".parse().expect("a key"));
    let holds = |symbol: &str| holds_flat_sixth(symbol.parse().expect(symbol), minor);
    let with = ["Dm7b5", "Fm7", "Abmaj7", "Ab7", "G7b9", "G7alt", "G7susb9"];
    let without = ["Dm7", "Fm6", "F7", "G7", "G7#9", "Cm7", "Abm7"];
    assert_eq!(with.map(holds), [true; 7]);
    assert_eq!(without.map(holds), [false; 7]);
}
