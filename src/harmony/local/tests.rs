//! Every rule on one chord, by what follows it.

use super::*;
use crate::harmony::reduce::Progression;
use crate::theory::Key;

/// The first of `chords`, the others following, in `key`.
fn check(key: &str, chords: &str, function: Function, cost: u32) {
    let key = Tonality::of(key.parse::<Key>().expect(key));
    let progression = Progression::of_symbols(chords, false);
    let found = local_cost(progression.context(0), key);
    assert_eq!(found, Local { function, cost }, "{chords} in {key:?}");
}

#[test]
fn chords_listed_for_a_mode_cost_what_the_list_says() {
    for (key, chords, cost) in [
        ("C", "Cmaj7", 0),
        ("C", "Abmaj7", 600),
        ("C", "Fm7", 500),
        ("C", "Fm6", 400),
        ("C", "Cm7", 1100),
        ("C", "F#m7b5", 450),
        ("C", "F#dim7", 300),
        ("C", "F7", 700),
        ("C", "C7", 800 + 100),
        ("C", "G7sus4", 0),
        ("Cm", "Abmaj7", 100),
        ("Cm", "Dm7", 400),
        ("Cm", "Fm6", 200),
        ("Cm", "Am7b5", 300),
        ("Cm", "Bdim7", 100),
        ("Cm", "G7sus4", 100),
        ("Cm", "F7", 400),
        ("Cm", "Bb", 300),
        ("C blues", "C7", 100),
        ("C blues", "Ab7", 400),
        ("C blues", "Em7b5", 400),
        ("C blues", "F#dim7", 200),
        ("C blues", "G7sus4", 200),
    ] {
        check(key, chords, Function::Listed, cost);
    }
}

#[test]
fn a_plain_triad_on_the_fifth_degree_is_a_dominant() {
    check("C", "G", Function::DominantTriad, 0);
    check("Cm", "G", Function::DominantTriad, 100);
    check("C blues", "G", Function::DominantTriad, 100);
    check("C", "Gmaj7", Function::Unexplained, 3200);
}

#[test]
fn chromatic_dominants_in_major_cost_by_where_they_go() {
    for (chords, function, cost) in [
        ("Bb7 Cmaj7", Function::FlatSeven, 500),
        ("Bb7 Em7", Function::FlatSeven, 500),
        ("Bb7 A7", Function::FlatSeven, 500),
        ("Bb7 Ebmaj7", Function::FlatSeven, 2000),
        ("Bb7 Fmaj7", Function::FlatSeven, 1000),
        ("Db7 Cmaj7", Function::SubFive, 500),
        ("Db7 Fmaj7", Function::SubFive, 1200),
        ("Ab7 Cmaj7", Function::FlatSix, 600),
        ("Ab7 Dm7", Function::FlatSix, 600),
        ("Ab7 G7", Function::SubOf, 500),
        ("Ab7 Fmaj7", Function::FlatSix, 1300),
    ] {
        check("C", chords, function, cost);
    }
}

#[test]
fn the_sixth_degree_of_a_blues_leads_to_the_second() {
    check("C blues", "A7 Dm7", Function::Secondary, 300);
    check("C blues", "A7 Dmaj7", Function::Unresolved, 300);
    check("C blues", "A7 F7", Function::Unresolved, 300);
}

#[test]
fn secondary_dominants_lead_to_a_chord_of_the_key() {
    for (key, chords, function, cost) in [
        ("C", "A7 Dm7", Function::Secondary, 350),
        ("C", "A7sus4 Dm7", Function::Secondary, 350),
        ("C", "E7 A7", Function::Secondary, 350),
        ("C", "E Am", Function::Secondary, 350),
        ("C", "Cadd9 F", Function::Listed, 0),
        ("C", "E7 Fmaj7", Function::Unresolved, 800),
        ("C", "A7 Dmaj7", Function::Unresolved, 800),
        ("C", "C7 Fm7", Function::Listed, 900),
        ("C", "Eb7 Ab7", Function::Chain, 500),
        ("Cm", "E7 A7", Function::Chain, 500),
        ("Cm", "F Bb", Function::Unexplained, 3200),
        ("Cm", "C7 Fm7", Function::Secondary, 350),
        ("Cm", "C7 Gm7", Function::Unexplained, 3200),
        ("C blues", "F#7 Bmaj7", Function::AsMajor, 500),
    ] {
        check(key, chords, function, cost);
    }
}

#[test]
fn a_two_belongs_to_the_dominant_that_follows() {
    for (key, chords, function, cost) in [
        ("C", "Gm7 C7", Function::Two, 450),
        ("C", "Gm7 C7sus4", Function::Two, 450),
        ("C", "Em7b5 A7", Function::Two, 450),
        ("C", "Em7 A7", Function::Listed, 100),
        ("C", "Bbm7 Eb7 Dm7", Function::TwoOfSub, 600),
        ("C", "Ebm7 Ab7 Cmaj7", Function::TwoOfSub, 600),
        ("C", "Am7b5 Ab7 G7", Function::TwoOfSub, 550),
        ("C", "Bbm7 Eb7 Gm7", Function::Unexplained, 3200),
    ] {
        check(key, chords, function, cost);
    }
}

#[test]
fn diminished_chords_pass_or_colour() {
    for (key, chords, function, cost) in [
        ("C", "C#dim7 Dm7", Function::PassesUp, 350),
        ("C", "Ebdim7 Dm7", Function::PassesDown, 400),
        ("C", "C#dim7 Cmaj7", Function::PassesDown, 400),
        ("C", "Cdim7 Fmaj7", Function::CommonTone, 500),
        ("C", "C#dim7 Fmaj7", Function::Unexplained, 3200),
        ("C", "Abdim7 Gbmaj7", Function::Unexplained, 3200),
    ] {
        check(key, chords, function, cost);
    }
}

#[test]
fn a_blues_borrows_from_its_major_key() {
    check("C blues", "Bb7 F7", Function::AsMajor, 500);
    check("C blues", "Cmaj7", Function::AsMajor, 500);
    check("C blues", "Gbmaj7", Function::Unexplained, 3200);
    check("C blues", "E7 Fmaj7", Function::AsMajor, 500);
}
