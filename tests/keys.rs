//! A tune taken through keys: each chorus is heard, shown and judged in its own.

#[path = "support/dense_line.rs"]
mod dense_line;
#[path = "support/desk.rs"]
mod desk;

use barwise::chart::header::key_text;
use barwise::chart::{Chart, Form};
use barwise::judge::kept::{Line, take_file};
use barwise::judge::through_keys::key_of;
use barwise::judge::{Choices, Question, judge};
use barwise::report::review::{Detail, Review};
use barwise::take::{ChannelMessage, Imprint, MidiFile};
use barwise::tally::Counting;
use barwise::theory::chord::BareSymbols;
use barwise::theory::{Key, KeyMode, PitchClass};
use barwise::time::{TempoMap, TickSpan, Ticks};
use dense_line::dense_line;
use desk::Desk;
use proptest::prelude::*;
use serde_json::{Value, json};

const TWO_BARS: &[u8] = b"title: Two Bars\nkey: Bb\ntempo: 400\n| Cm7 F7 | Bbmaj7 |\n";

fn desk() -> Desk {
    let desk = Desk::new();
    desk.write("two.bars", TWO_BARS);
    desk.write("line.mid", &dense_line(90));
    desk
}

const PLAY: [&str; 8] =
    ["play", "two.bars", "--midi-file", "line.mid", "--no-audio", "--keys", "fourths", "--choruses"];

/// The symbols of each chorus in a review, one of each that follow one another.
fn symbols(review: &Value) -> Vec<(u64, String)> {
    let chords = review["chords"].as_array().expect("chords").iter();
    let symbol = |chord: &Value| (chord["chorus"].as_u64().expect("a chorus"), chord["symbol"].to_string());
    chords.map(symbol).map(|(chorus, symbol)| (chorus, symbol.replace('"', ""))).collect()
}

#[test]
fn a_take_is_judged_chorus_by_chorus_and_says_in_which_keys() {
    let desk = desk();
    let played = desk.printed(&[&PLAY[..], &["3", "--headless", "--json"]].concat());
    assert_eq!(desk.printed(&["review", "last", "--json"]), played, "the take remembers its keys");
    let review: Value = serde_json::from_str(&played).expect("a review");
    assert_eq!(review["chart"]["keys"], json!(["Bb", "Eb", "Ab"]));
    let expect = [(1, "Cm7"), (1, "F7"), (1, "Bbmaj7"), (2, "Fm7"), (2, "Bb7"), (2, "Ebmaj7"), (3, "Bbm7")];
    let found = symbols(&review);
    assert_eq!(found[..7], expect.map(|(chorus, symbol)| (chorus, symbol.to_owned())));
    for note in review["notes"].as_array().expect("notes").iter().filter(|note| note["counted"] == true) {
        let chorus = note["chord_chorus"].as_u64().expect("a chorus");
        let of_chorus = found.iter().any(|(of, symbol)| *of == chorus && note["chord"] == **symbol);
        assert!(of_chorus, "{note}");
    }
    let takes: Value = serde_json::from_str(&desk.printed(&["takes", "--json"])).expect("takes");
    assert_eq!(takes["takes"][0]["keys"], json!(["Bb", "Eb", "Ab"]));
    assert!(desk.printed(&["takes"]).contains("\t3 keys\t"));
    let by_one = desk.command(&["review", "last", "--chart", "two.bars"]).output().expect("it runs");
    let told = String::from_utf8_lossy(&by_one.stderr);
    assert!(told.contains("went through keys and is judged by chords that stay in one"), "{told}");
    let file = std::fs::read(desk.folder.path().join("data/takes/take-0001.mid")).expect("the take");
    let midi = MidiFile::parse(&file).expect("a MIDI file");
    let texts: Vec<String> = midi.chord_texts().into_iter().map(|(_, text)| text).collect();
    assert_eq!(texts, ["Cm7", "F7", "Bbmaj7", "Fm7", "Bb7", "Ebmaj7", "Bbm7", "Eb7", "Abmaj7"]);
}

#[test]
fn each_chorus_and_the_key_that_comes_are_told_in_plain_words() {
    let desk = desk();
    let printed = desk.printed(&[&PLAY[..], &["2", "--plain"]].concat());
    let lines: Vec<&str> = printed.lines().take(7).collect();
    let expect = [
        "count-in",
        "chorus 1 of 2  key Bb",
        "bar 1 Cm7, C dorian; F7, F mixolydian, next Bbmaj7",
        "bar 2 Bbmaj7, Bb ionian, next Fm7, then key Eb",
        "chorus 2 of 2  key Eb",
        "bar 1 Fm7, F dorian; Bb7, Bb mixolydian, next Ebmaj7",
        "bar 2 Ebmaj7, Eb ionian, next the last note",
    ];
    assert_eq!(lines, expect);
}

#[test]
fn the_backing_goes_through_all_twelve_keys() {
    let desk = desk();
    desk.printed(&["render", "two.bars", "-o", "b.mid", "--keys", "semitones", "--first-key", "B"]);
    let file = std::fs::read(desk.folder.path().join("b.mid")).expect("a file");
    let midi = MidiFile::parse(&file).expect("a MIDI file");
    let texts: Vec<String> = midi.chord_texts().into_iter().map(|(_, text)| text).collect();
    assert_eq!(texts[..6], ["C#m7", "F#7", "Bmaj7", "Dm7", "G7", "Cmaj7"]);
    assert_eq!(texts.len(), 36);
    let markers = midi.tracks.iter().flat_map(|track| &track.texts).map(|text| text.text.as_str());
    assert!(markers.into_iter().any(|marker| marker == "chorus 12, key Bb"));
}

#[test]
fn a_take_that_is_stopped_keeps_the_keys_it_came_to() {
    let chart = String::from_utf8(TWO_BARS.to_vec()).expect("text");
    let keys = ["Bb", "Eb", "Ab"].map(str::to_owned).to_vec();
    let imprint = Imprint { chart, keys, choruses: 2, ..Imprint::default() };
    let review = reviewed(&imprint, &[], Counting::Strict);
    assert_eq!(review.chart.keys, Some(vec!["Bb".to_owned(), "Eb".to_owned()]));
    assert_eq!(review.chords.map(|chords| chords.len()), Some(6));
}

const FOUR_BARS: &str = "key: Bb\n| Cm7 F7 | Bbmaj7 Bb7#11 | Ebm6 Am7b5 D7 Gm7 | C7 N.C. |\n";
/// Eighths of a chorus in which notes begin: the last two beats and a half are empty, so that no line goes over the seam.
const EIGHTHS: i64 = 27;

/// A note: the eighth it begins on, its key, how much of the eighth it lasts in quarters.
type Struck = (i64, u8, i64);

fn line(choruses: &[Vec<Struck>], form: &Form, tempo: &TempoMap) -> Line {
    let eighth = TickSpan(TickSpan::quarters(1).0 / 2);
    let mut solo = Vec::new();
    for (chorus, notes) in choruses.iter().enumerate() {
        let start = Ticks::ZERO + form.length() * chorus as i64;
        for &(place, key, quarters) in notes {
            let on = start + eighth * place;
            let off = on + TickSpan(eighth.0 * quarters / 4);
            for (at, wire) in [(on, [0x90, key, 90]), (off, [0x80, key, 0])] {
                let message = ChannelMessage::from_wire(&wire).expect("a message");
                solo.push((tempo.nanos(at), message));
            }
        }
    }
    Line { solo, gaps: Vec::new() }
}

fn reviewed(imprint: &Imprint, choruses: &[Vec<Struck>], counting: Counting) -> Review {
    let tempo = TempoMap::at_bpm(120.0);
    let (chart, _) =
        Chart::parse(&imprint.chart_name, &imprint.chart, BareSymbols::default()).expect("a chart");
    let line = line(choruses, &chart.unfold(), &tempo);
    let file = take_file(imprint, &tempo, BareSymbols::default(), line).expect("a take");
    let mut choices = Choices::default();
    choices.tally.counting = counting;
    let question =
        Question { choices: &choices, chart: None, track: None, detail: Detail::Notes, bands: None };
    judge(&file.to_bytes(), None, question).expect("a review").review
}

/// A document without what says when and in which chorus.
fn timeless(record: &impl serde::Serialize, left_out: &[&str]) -> Value {
    let mut value = serde_json::to_value(record).expect("json");
    let fields = value.as_object_mut().expect("an object");
    fields.retain(|name, _| !left_out.contains(&name.as_str()));
    value
}

fn struck() -> impl Strategy<Value = Vec<Struck>> {
    let note = (48u8..84, 1i64..5);
    prop::collection::vec(prop::option::weighted(0.6, note), EIGHTHS as usize).prop_map(|places| {
        let at = |(place, note): (usize, Option<(u8, i64)>)| note.map(|(key, q)| (place as i64, key, q));
        places.into_iter().enumerate().filter_map(at).collect()
    })
}

fn three_keys() -> impl Strategy<Value = Vec<Key>> {
    prop::sample::subsequence((0..12).collect::<Vec<i32>>(), 3).prop_shuffle().prop_map(|tonics| {
        tonics.into_iter().map(|tonic| Key::new(PitchClass::from_semitones(tonic), KeyMode::Major)).collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn each_chorus_has_the_figures_of_a_take_in_its_key(
        keys in three_keys(),
        played in prop::collection::vec(struck(), 3),
        lenient in any::<bool>(),
    ) {
        let counting = if lenient { Counting::Lenient } else { Counting::Strict };
        let (chart, _) = Chart::parse("four.bars", FOUR_BARS, BareSymbols::default()).expect("a chart");
        let of = |chart: &Chart, keys: Vec<String>, choruses| Imprint {
            chart: chart.text().to_owned(), chart_name: "four.bars".to_owned(), keys, choruses, ..Imprint::default()
        };
        let texts = keys.iter().copied().map(key_text).collect();
        let whole = reviewed(&of(&chart, texts, 3), &played, counting);
        let (mut notes, mut bars, mut chords) =
            (whole.notes.iter().flatten(), whole.bars.iter().flatten(), whole.chords.iter().flatten());
        let (mut counted, mut fits) = (0.0, Vec::new());
        for (chorus, (&key, played)) in keys.iter().zip(&played).enumerate() {
            let own = key_of(&chart).expect("a key");
            let moved = if key == own { chart.clone() } else { chart.transposed_from(own, key).expect("moved") };
            let alone = reviewed(&of(&moved, Vec::new(), 1), std::slice::from_ref(played), counting);
            let times = ["index", "onset_ms", "chorus", "chord_chorus"];
            for note in alone.notes.iter().flatten() {
                prop_assert_eq!(timeless(note, &times), timeless(notes.next().expect("a note"), &times));
            }
            for bar in alone.bars.iter().flatten() {
                prop_assert_eq!(timeless(bar, &["chorus"]), timeless(bars.next().expect("a bar"), &["chorus"]));
            }
            for (index, chord) in alone.chords.iter().flatten().enumerate() {
                let in_whole = chords.next().expect("a chord");
                let seam = chorus > 0 && index == 0;
                // Where a chorus went before, its first chord is a change.
                prop_assert!(!seam || chord.landing.is_none() && in_whole.landing.is_some());
                let unlike: &[&str] = &["chorus", "landing"];
                prop_assert_eq!(timeless(chord, unlike), timeless(in_whole, unlike));
                let landed = |landing: &Option<barwise::report::review::LandingRecord>| {
                    landing.as_ref().map(|landing| timeless(landing, &["note"]))
                };
                prop_assert!(seam || landed(&chord.landing) == landed(&in_whole.landing));
            }
            counted += alone.totals.counted.0;
            fits.extend(alone.totals.fits.clone());
            let running = alone.totals.running_the_scale.zip(whole.totals.running_the_scale);
            prop_assert!(running.is_some_and(|(alone, whole)| (alone - whole).abs() < 1e-9));
        }
        prop_assert!((whole.totals.counted.0 - counted).abs() < 1e-9);
        prop_assert_eq!(&whole.totals.fits, &fits);
        prop_assert_eq!((notes.next(), bars.next(), chords.next()), (None, None, None));
    }
}
