//! Short progressions that have gone wrong before or that players agree about, each with its keys and scales.
//!
//! Readings are those of common practice; each is checked in twelve keys and at double and half length.

#[path = "support/bars.rs"]
mod bars;
#[path = "support/moved.rs"]
mod moved;

use bars::bars;
use barwise::chart::form::Form;
use barwise::harmony::{Centre, Overrides, Reading, read};
use barwise::theory::{Key, Mode};

/// Bars, keys by chord number (counting from 1), scales with repeats of a chord listed once; one scale alone is that of
/// every chord.
const ROWS: &[(&str, &str, &str)] = &[
    ("Dm7|G7|Cmaj7|Cmaj7", "C", "Dor Mix Ion"),
    ("Bm7b5|E7b9|Am7|Am7", "Am", "Loc PD Aeo"),
    ("Cmaj7 A7|Dm7 G7|Em7 A7|Dm7 G7", "C", "Ion PD Dor Mix Phr PD Dor Mix"),
    (
        "Gmaj7|Gm7 C7|Fmaj7|Fm7 Bb7|Ebmaj7|Am7b5 D7b9|Gmaj7|Am7 D7",
        "G1 F2-4 Eb5-7 G8-12",
        "Ion Dor Mix Ion Dor Mix Ion Loc PD Ion Dor Mix",
    ),
    ("Cmaj7|Fm7 Bb7|Cmaj7|Cmaj7", "C", "Ion Dor LD Ion"),
    ("Fm7|Bb7|Ebmaj7|Ebmaj7", "Eb", "Dor Mix Ion"),
    ("D7|D7|G7|G7|C7|C7|F7|F7|Bbmaj7|Bbmaj7", "Bb", "Mix Mix Mix Mix Ion"),
    (
        "F7|Bb7|F7|Cm7 F7|Bb7|Bdim7|F7|Am7b5 D7b9|Gm7|C7|F7 D7|Gm7 C7",
        "F blues",
        "Mix+b3 Mix Mix+b3 Dor Mix+b3 Mix WH Mix+b3 Loc PD Dor Mix Mix+b3 PD Dor Mix",
    ),
    ("Cm7 x4|Fm7 x2|Cm7 x2|Ab7|G7|Cm7|Dm7b5 G7b9", "Cm", "Aeo Dor Aeo LD PD Aeo Loc PD"),
    ("Dm7 x16|Ebm7 x8|Dm7 x8", "none", "Dor"),
    ("Dm7|Db7|Cmaj7|Cmaj7", "C", "Dor LD Ion"),
    ("Cmaj7 Eb7|Abmaj7 B7|Emaj7 G7|Cmaj7", "C1 Ab2-3 E4-5 C6-7", "Ion Mix Ion Mix Ion Mix Ion"),
    ("Cm7|F7|Bbmaj7|Ebmaj7|Am7b5|D7|Gm6|Gm6", "Bb1-4 Gm5-8", "Dor Mix Ion Lyd Loc PD MM"),
    ("Cmaj7 C#dim7|Dm7 D#dim7|Em7 A7|Dm7 G7", "C", "Ion WH Dor WH Phr PD Dor Mix"),
    ("Cmaj7|F#m7b5 B7b9|Em7 A7|Dm7 G7", "C", "Ion Loc PD Phr PD Dor Mix"),
    (
        "Cmaj7|Bm7b5 E7b9|Am7|Gm7 C7|Fmaj7|Fm7 Bb7|Em7 A7|Dm7 G7",
        "C1 Am2-4 C5-13",
        "Ion Loc PD Aeo Dor Mix Lyd Dor LD Phr PD Dor Mix",
    ),
    ("Fmaj7#11 x2|Ebmaj7#11 x2|Dbmaj7#11 x2|Fmaj7#11 x2", "none", "Lyd"),
    (
        "Ebmaj7|Abm7 Db7|Ebmaj7|Dm7 G7|Cm7|F7|Fm7|Bb7",
        "Eb1-4 Cm5-8 Eb9-10",
        "Ion Dor LD Ion Dor PD Dor Mix Dor Mix",
    ),
    ("Dm7|G7|Dm7|G7", "C", "Dor Mix Dor Mix"),
];

/// The short names of scales in the rows.
const SHORT: &[(&str, Mode)] = &[
    ("Ion", Mode::Ionian),
    ("Dor", Mode::Dorian),
    ("Phr", Mode::Phrygian),
    ("Lyd", Mode::Lydian),
    ("Mix", Mode::Mixolydian),
    ("Aeo", Mode::Aeolian),
    ("Loc", Mode::Locrian),
    ("MM", Mode::MelodicMinor),
    ("PD", Mode::PhrygianDominant),
    ("LD", Mode::LydianDominant),
    ("WH", Mode::WholeHalfDiminished),
];

fn scale_name(short: &str) -> &'static str {
    if short == "Mix+b3" {
        return "mixolydian + b3 of key";
    }
    let found = SHORT.iter().find(|(name, _)| *name == short);
    found.expect(short).1.name()
}

/// The keys of a row: `G1 F2-4` by chord number, or one key for all; `none` where no key is assumed.
fn keys(text: &str, chords: usize) -> Vec<(String, usize, usize)> {
    let whole = text.parse::<Key>().ok();
    if let Some(key) = whole {
        return vec![(key.to_string(), 1, chords)];
    }
    if text == "none" {
        return (1..=chords).map(|i| ("modal".to_owned(), i, i)).collect();
    }
    let stretch = |word: &str| {
        let digit = word.find(|c: char| c.is_ascii_digit()).expect("a chord number");
        let (key, numbers) = word.split_at(digit);
        let (first, last) = numbers.split_once('-').unwrap_or((numbers, numbers));
        let number = |n: &str| n.parse().expect("a number");
        (key.parse::<Key>().expect("a key").to_string(), number(first), number(last))
    };
    text.split_whitespace().map(stretch).collect()
}

fn found_keys(reading: &Reading, form: &Form) -> Vec<(String, usize, usize)> {
    assert_eq!(reading.chords.len(), form.chords.len());
    let regions = reading.regions.iter();
    regions.map(|r| (r.centre.to_string(), r.first + 1, r.last + 1)).collect()
}

/// The name of each chord's scale, a chord that is repeated only once.
fn found_scales(reading: &Reading, form: &Form) -> Vec<String> {
    let chords = form.chords.iter().zip(&reading.chords);
    let mut named: Vec<(&str, String)> = chords
        .map(|(chord, read)| (chord.text.as_str(), read.as_ref().expect("a reading").scale.name()))
        .collect();
    named.dedup();
    named.into_iter().map(|(_, scale)| scale).collect()
}

fn expected_scales(text: &str, chords: usize) -> Vec<String> {
    let names: Vec<String> = text.split_whitespace().map(|s| scale_name(s).to_owned()).collect();
    match &names[..] {
        [only] => vec![only.clone(); chords],
        _ => names,
    }
}

#[test]
fn rows_read_as_players_read_them() {
    for (text, expected_keys, scales) in ROWS {
        let form = bars(text, true);
        let reading = read(&form, &Overrides::default());
        assert_eq!(found_keys(&reading, &form), keys(expected_keys, form.chords.len()), "{text}");
        let found = found_scales(&reading, &form);
        assert_eq!(found, expected_scales(scales, found.len()), "{text}");
    }
}

#[test]
fn rows_read_the_same_in_twelve_keys_and_at_other_lengths() {
    let functions = |reading: &Reading| -> Vec<String> {
        let chords = reading.chords.iter().flatten();
        chords.map(|chord| chord.function.clone()).collect()
    };
    let tonics = |reading: &Reading, up: i32| -> Vec<_> {
        let tonic = |centre| match centre {
            Centre::Key(key) => Some((key.tonic.pitch_class().up(up), key.mode)),
            Centre::Modal => None,
        };
        reading.regions.iter().map(|r| (tonic(r.centre), r.first, r.last)).collect()
    };
    for (text, ..) in ROWS {
        let form = bars(text, true);
        let here = read(&form, &Overrides::default());
        for (semitones, times, over) in (0..12).flat_map(|up| [(up, 1, 1), (up, 2, 1), (up, 1, 2)]) {
            let other = moved::moved(&form, semitones, times, over);
            let there = read(&other, &Overrides::default());
            let place = format!("{text} up {semitones}, times {times}/{over}");
            assert_eq!(functions(&there), functions(&here), "{place}");
            assert_eq!(tonics(&there, 0), tonics(&here, semitones), "{place}");
            assert_eq!(found_scales(&there, &other), found_scales(&here, &form), "{place}");
        }
    }
}
