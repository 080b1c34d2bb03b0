//! What a reading says in words, and how the player's choices and the symbols win over it.

#[path = "support/bars.rs"]
mod bars;

use bars::bars;
use barwise::chart::form::Form;
use barwise::harmony::{Centre, ChordReading, Overrides, Reading, assume_sevenths, read};
use barwise::theory::{Key, Mode, PitchClassSet, ScaleRequest};
use proptest::prelude::*;

fn read_bars(text: &str) -> Reading {
    read(&bars(text, true), &Overrides::default())
}

fn chord(reading: &Reading, index: usize) -> &ChordReading {
    reading.chords[index].as_ref().expect("a chord, not N.C.")
}

/// Function and reason of the chord at `index` of a loop.
fn check(text: &str, index: usize, function: &str, why: &str) {
    let reading = read_bars(text);
    let chord = chord(&reading, index);
    assert_eq!((chord.function.as_str(), chord.why.as_str()), (function, why), "{text}");
}

/// The label keeps to its rules; the words beside it say where the chord goes all the same.
#[test]
fn a_reason_is_true_of_where_a_dominant_goes() {
    let half_diminished = "Em7b5|A7|Dm7b5|G7b9|Cmaj7|Cmaj7";
    check(half_diminished, 1, "V7/ii (unresolved)", "dominant of Dm, which comes as Dm7b5");
    let falling = "Bbmaj7|Gm7 Gb7|Fm7 E7|Ebmaj7|Cm7|F7";
    check(falling, 2, "bVI7", "borrowed in Bb major, a half step above Fm7");
    check(falling, 4, "subV7/IV", "tritone substitute, down a half step");
    check("Cmaj7|Bb7|Am7|Dm7 G7", 1, "bVII7", "bVII7, a half step above Am7");
    let elsewhere = "tritone substitute for V7, but goes elsewhere";
    check("Cmaj7|Dm7|Db7|G7|Cmaj7|Dm7 G7", 2, "subV7/I", elsewhere);
}

#[test]
fn every_function_has_its_label_and_its_reason() {
    for (text, index, function, why) in [
        ("Ebmaj7|Fm7 Bb7|Ebmaj7", 0, "Imaj7", "tonic of Eb major"),
        ("Ebmaj7|Fm7 Bb7|Ebmaj7", 1, "ii-7", "diatonic in Eb major"),
        ("Cmaj7|Fm7 Bb7|Cmaj7|Cmaj7", 1, "iv-7", "borrowed in C major"),
        ("Cmaj7|Fm7 Bb7|Cmaj7|Cmaj7", 2, "bVII7 (backdoor)", "backdoor dominant"),
        ("C|E|Am|D|G|C", 4, "V", "diatonic in C major"),
        ("C|E|Am|D|G|C", 1, "V/vi", "dominant of the next chord, Am"),
        ("Cmaj7 A7|Dm7 G7", 1, "V7/ii", "dominant of the next chord, Dm7"),
        ("Cmaj7|D7|Dm7|G7", 1, "V7/V (unresolved)", "dominant of G, but goes elsewhere"),
        ("Cmaj7 A7|Ebmaj7 Dm7|G7|Cmaj7", 1, "V7/ii (unresolved)", "dominant of Dm, but goes elsewhere"),
        ("Fm7|E7|Ebmaj7|Ebmaj7", 1, "subV7/I", "tritone substitute, down a half step"),
        ("Ebmaj7|Bbm7 Eb7|Abmaj7|Fm7 Bb7", 1, "ii-7/IV", "ii of the dominant that follows"),
        ("Cmaj7|Bbm7 Eb7|Dm7|G7", 1, "ii-7/subV", "ii of the dominant that follows"),
        (
            "Fmaj7|Fmaj7|Am7 D7|Gm7 C7",
            2,
            "iii-7 = ii-7/ii",
            "diatonic in F major, ii of the dominant that follows",
        ),
        ("Fmaj7 F#dim7|Gm7 C7", 1, "#I°7", "passes up to Gm7"),
        ("Cmaj7|Em7 Ebdim7|Dm7|G7", 2, "bIII°7", "passes down to Dm7"),
        ("Gmaj7|Gdim7|Gmaj7|Am7 D7", 1, "I°7 (common tone)", "colours Gmaj7"),
        ("Cmaj7|Dm7 G7|Cmaj7|Gbmaj7|Cmaj7|Dm7 G7|Cmaj7", 4, "#IVmaj7", "not explained, check"),
        ("C7|F7|C7|Bb7|F7|C7|G7|C7", 3, "bVII7", "as in major"),
        ("Dm7|G7b9|Cmaj7|Cmaj7", 1, "V7", "altered V of C major, set by the symbol"),
        ("Am7|Am7|Bm7b5|E7b9", 3, "V7", "diatonic in A minor"),
        ("Dm7 x4|Ebm7 x4", 0, "(modal)", "too little to hear a key by: 0 of 2 changes lead on as in a key"),
    ] {
        check(text, index, function, why);
    }
}

#[test]
fn a_dominant_is_diatonic_where_all_that_its_symbol_names_is() {
    for (text, index, why) in [
        ("Dm7|G7|Cmaj7|Cmaj7", 1, "diatonic in C major"),
        ("Dm7|G13|Cmaj7|Cmaj7", 1, "diatonic in C major"),
        ("Dm7|G7alt|Cmaj7|Cmaj7", 1, "altered V of C major, set by the symbol"),
        ("Dm7|G7sus4b9|Cmaj7|Cmaj7", 1, "altered V of C major, set by the symbol"),
        ("Cm7|Dm7b5|G7b9|Cm7", 2, "diatonic in C minor"),
        ("Cm7|Dm7b5|G7alt|Cm7", 2, "altered V of C minor, set by the symbol"),
        ("Cm7|Dm7b5|G9|Cm7", 2, "V of C minor, set by the symbol"),
        ("F7|Bb7|F7|F7|Bb7|Bb7|F7|F7|C7|Bb7|F7|C7#5", 11, "altered V of F blues, set by the symbol"),
        ("F7|Bb7|F7|F7|Bb7|Bb7|F7|F7|C7|Bb7|F7|C7#5", 9, "diatonic in F blues"),
    ] {
        assert_eq!(chord(&read_bars(text), index).why, why, "{text}");
    }
}

#[test]
fn a_chain_of_dominants_that_leaves_the_key_says_so() {
    check("Am7|Am7|C#7 F#7|B7 E7|Am7|Bm7b5 E7b9", 2, "V7/VI (chain)", "dominant of the next dominant");
}

#[test]
fn a_narrow_column_names_a_major_key_by_its_tonic() {
    let reading = read_bars("Ebmaj7|Abm7 Db7|Ebmaj7|Fm7 Bb7");
    assert_eq!(chord(&reading, 1).why, "borrowed in Eb major");
    assert_eq!(chord(&reading, 1).short_why(), "borrowed in Eb");
}

#[test]
fn regions_are_named_by_their_cadence() {
    for (text, why) in [
        ("Ebmaj7|Fm7 Bb7|Ebmaj7", "ii-V-I in Eb"),
        ("Am7|Am7|Bm7b5|E7b9", "ii-V-i in A minor"),
        ("C|F|G|C", "V-I in C"),
        ("Dm7|Db7|Cmaj7|Cmaj7", "subV-I in C"),
        ("C|G|Am|F", "no cadence confirms it"),
        ("Dm7|G7|Dm7|G7", "ii-V in C, D Dorian vamp"),
        ("Em7 x8", "too little to hear a key by: one chord"),
    ] {
        assert_eq!(read_bars(text).regions[0].why, why, "{text}");
    }
}

#[test]
fn a_region_that_goes_on_around_the_loop_is_named_by_the_cadence_across_it() {
    let reading = read_bars("Amaj7|Am7|D7|Gmaj7|Gm7|C7|Fmaj7|Bm7|E7");
    let reasons: Vec<&str> = reading.regions.iter().map(|region| region.why.as_str()).collect();
    assert_eq!(reasons, ["ii-V-I in A", "ii-V-I in G", "ii-V-I in F", "ii-V-I in A"]);
}

#[test]
fn no_chord_is_passed_over() {
    let reading = read_bars("N.C.|Dm7|N.C.|G7|Cmaj7|N.C.");
    assert_eq!(reading.chords[0], None);
    assert_eq!(chord(&reading, 1).function, "ii-7");
    assert_eq!(reading.regions.len(), 1);
    assert_eq!((reading.regions[0].first, reading.regions[0].last), (1, 4));
}

#[test]
fn a_form_without_any_chord_has_nothing_to_read() {
    let reading = read_bars("N.C.|N.C.");
    assert_eq!(reading.home, None);
    assert_eq!(reading.regions, []);
    assert_eq!(reading.chords, [None, None]);
    assert_eq!(read(&bars("N.C.", false), &Overrides::default()).home, None);
}

#[test]
fn a_form_with_an_end_does_not_lead_back() {
    let text = "Cmaj7|Dm7|G7|Cmaj7|A7";
    let last = |loops: bool| read(&bars(text, loops), &Overrides::default()).moves;
    assert_eq!(last(true).pairs, 5);
    assert_eq!(last(false).pairs, 4);
}

fn written(mut form: Form, index: usize, scale: &str) -> Form {
    form.chords[index].scale = Some(scale.parse().expect("a scale"));
    form
}

#[test]
fn a_scale_written_in_the_chart_wins_and_the_players_own_wins_over_it() {
    let form = written(bars("Dm7|G7|Cmaj7|Cmaj7", true), 1, "altered");
    let reading = read(&form, &Overrides::default());
    let g7 = chord(&reading, 1);
    assert!(g7.overridden);
    assert_eq!(g7.scale.name(), "altered", "a dominant may lack its natural fifth");
    assert_eq!(g7.why, "diatonic in C major, scale written in the chart");
    assert_eq!(g7.alternatives[0].name(), "mixolydian", "the default stays in use");

    let mut overrides = Overrides::default();
    overrides.scales.insert(1, ScaleRequest::Mode(Mode::LydianDominant));
    let reading = read(&form, &overrides);
    let g7 = chord(&reading, 1);
    assert_eq!(g7.scale.name(), "lydian dominant");
    assert_eq!(g7.why, "diatonic in C major, scale set by the player");
    assert!(g7.alternatives.iter().all(|scale| scale.name() != "lydian dominant"));
    assert!(!chord(&reading, 0).overridden);
}

#[test]
fn a_key_set_by_the_player_gives_its_chords_new_functions_and_scales() {
    let key: Key = "Gm".parse().expect("a key");
    let mut overrides = Overrides::default();
    overrides.keys.extend([(2, key), (3, key)]);
    let reading = read(&bars("Fmaj7|Gm7 C7|Fmaj7|Gm7 C7", true), &overrides);
    let functions: Vec<&str> = reading.chords.iter().flatten().map(|c| c.function.as_str()).collect();
    assert_eq!(functions, ["Imaj7", "ii-7", "V7/bVII", "bVIImaj7", "ii-7", "V7"]);
    assert_eq!(chord(&reading, 2).centre, Centre::Key(key));
    assert_eq!(chord(&reading, 2).scale.name(), "mixolydian");
    assert!(chord(&reading, 2).overridden);
    let regions: Vec<_> = reading.regions.iter().map(|r| (r.centre.to_string(), r.first, r.last)).collect();
    assert_eq!(
        regions,
        [("F major".to_owned(), 0, 1), ("G minor".to_owned(), 2, 3), ("F major".to_owned(), 4, 5)]
    );
}

#[test]
fn a_bass_joins_scale_and_chord() {
    let reading = read_bars("Cmaj7|Dm7 G7|C/Bb|F|Dm7 G7");
    let over_b_flat = chord(&reading, 3);
    let b_flat = "Bb".parse::<Key>().expect("a key").tonic.pitch_class();
    assert!(over_b_flat.scale.pitch_classes().has(b_flat));
}

#[test]
fn the_tonic_of_a_blues_has_the_blue_third_whatever_its_colour() {
    for (symbol, scale) in [
        ("C7", "mixolydian + b3 of key"),
        ("C9", "mixolydian + b3 of key"),
        ("C13", "mixolydian + b3 of key"),
    ] {
        let reading =
            read_bars(&format!("{symbol}|F7|{symbol}|{symbol}|F7|F7|{symbol}|{symbol}|G7|F7|{symbol}|G7"));
        assert_eq!(chord(&reading, 0).scale.name(), scale, "{symbol}");
    }
}

#[test]
fn sevenths_are_put_on_triads_by_their_function() {
    let symbols = |text: &str| -> Vec<String> {
        let form = assume_sevenths(&bars(text, true));
        form.chords.iter().map(|c| c.symbol.expect("a symbol").to_string()).collect()
    };
    assert_eq!(symbols("C|E|Am|D|G|C"), ["Cmaj7", "E7", "Am7", "D7", "G7", "Cmaj7"]);
    assert_eq!(symbols("C|F/A|Dm7/G|G|C6"), ["Cmaj7", "Fmaj7/A", "Dm7/G", "G7", "C6"]);
    assert_eq!(symbols("C|Bm(b5)|F/G|G|C"), ["Cmaj7", "Bdim7", "F/G", "G7", "Cmaj7"]);
    let form = assume_sevenths(&bars("C|G|C", true));
    assert_eq!(form.chords[1].text, "G", "the text stays as written");
}

/// Symbols of every class, with colours and basses, as bars of one to three chords.
fn charts() -> impl Strategy<Value = String> {
    let root =
        prop::sample::select(vec!["C", "Db", "D", "Eb", "E", "F", "F#", "Gb", "G", "Ab", "A", "Bb", "B"]);
    let quality = prop::sample::select(vec![
        "",
        "5",
        "6",
        "add9",
        "maj7",
        "maj7#5",
        "maj7b5",
        "maj7sus4",
        "maj9#11",
        "m",
        "m7",
        "m9",
        "m7#5",
        "m(b6)",
        "m6",
        "mMaj7",
        "m7b5",
        "dim7",
        "m(b5)",
        "dim(maj7)",
        "7",
        "9",
        "13",
        "7b9",
        "7#9",
        "13b9",
        "7#11",
        "7b13",
        "7#5",
        "7b5",
        "7alt",
        "aug",
        "7sus4",
        "7susb9",
        "sus4",
        "sus2",
    ]);
    let bass = prop::sample::select(vec!["", "", "", "/C", "/F#", "/Bb"]);
    let chord = (root, quality, bass).prop_map(|(root, quality, bass)| format!("{root}{quality}{bass}"));
    let chord = prop_oneof![9 => chord, 1 => Just("N.C.".to_owned())];
    let bar = prop::collection::vec(chord, 1..=3).prop_map(|chords| chords.join(" "));
    prop::collection::vec(bar, 1..12).prop_map(|bars| bars.join("|"))
}

fn keys() -> impl Strategy<Value = Key> {
    prop::sample::select(vec!["C", "Gb", "F#m", "Bb blues", "C#m"])
        .prop_map(|key| key.parse().expect("a key"))
}

fn requests() -> impl Strategy<Value = ScaleRequest> {
    prop::sample::select(vec![
        "altered",
        "whole-tone",
        "harmonic-minor-of-G",
        "1,b2,5",
        "mixolydian-+-b3-of-key",
    ])
    .prop_map(|scale| scale.parse().expect("a scale"))
}

proptest! {
    #[test]
    fn every_chord_tone_is_in_the_scale_whatever_is_played_and_set(
        chart in charts(),
        loops in any::<bool>(),
        keys in prop::collection::btree_map(0usize..20, keys(), 0..4),
        scales in prop::collection::btree_map(0usize..20, requests(), 0..4),
    ) {
        let form = bars(&chart, loops);
        let overrides = Overrides { scales, keys };
        let reading = read(&form, &overrides);
        prop_assert_eq!(reading.chords.len(), form.chords.len());
        for (index, (chord, read)) in form.chords.iter().zip(&reading.chords).enumerate() {
            prop_assert_eq!(chord.symbol.is_some(), read.is_some());
            let (Some(symbol), Some(read)) = (chord.symbol, read) else { continue };
            let fifth = PitchClassSet::single(symbol.heard().root.pitch_class().up(7));
            let may_lack = if read.overridden { fifth } else { PitchClassSet::EMPTY };
            let needed = symbol.tone_set() - may_lack;
            prop_assert!(read.scale.pitch_classes().holds(needed), "{} {}", chord.text, read.scale);
            let set = overrides.keys.get(&index).map(|&key| Centre::Key(key));
            prop_assert!(set.is_none_or(|set| set == read.centre));
            let region = reading.regions.iter().filter(|r| (r.first..=r.last).contains(&index));
            prop_assert!(region.map(|r| r.centre).eq([read.centre]), "one region holds each chord");
        }
    }
}
