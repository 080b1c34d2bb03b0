//! Worked takes from `scenarios/`: notes in, judgements out, through the same door as every take.

use barwise::chart::Chart;
use barwise::harmony::Overrides;
use barwise::judge::{Answer, Choices, ChordSource, Question, judge};
use barwise::report::review::{Detail, NoteRecord, Review};
use barwise::take::{ChannelMessage, TakeFile};
use barwise::tally::Counting;
use barwise::theory::NoteName;
use barwise::theory::chord::BareSymbols;
use barwise::time::{Meter, Nanos, TempoMap, Ticks};
use serde::Deserialize;
use std::collections::BTreeMap;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Scenarios {
    chart: String,
    take: Vec<Scenario>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Scenario {
    name: String,
    #[serde(default)]
    counting: String,
    #[serde(default)]
    unit: String,
    notes: Vec<String>,
    found: Vec<String>,
    #[serde(default)]
    fits: Vec<String>,
    duration: Option<BTreeMap<String, f64>>,
    landings: Option<Vec<String>>,
}

/// Where the chords come from that a take is judged by.
#[derive(Clone, Copy, PartialEq)]
enum By {
    Chart,
    ChordText,
}

const MILLI: f64 = 1e6;
const BEAT_MILLIS: f64 = 500.0;

/// `B4` as a MIDI key.
fn key(text: &str) -> u8 {
    let (name, octave) = text.split_at(text.len() - 1);
    let name: NoteName = name.parse().expect("a note name");
    let octave: i32 = octave.parse().expect("an octave");
    u8::try_from((octave + 1) * 12 + name.letter.semitones() + i32::from(name.alter)).expect("a MIDI key")
}

/// Notes as key, onset and end in milliseconds.
fn notes(scenario: &Scenario) -> Vec<(u8, f64, f64)> {
    let scale = if scenario.unit == "beats" { BEAT_MILLIS } else { 1.0 };
    // Two thirds of a beat are written .667.
    let time = |text: &str| {
        let value: f64 = text.parse().expect("a time");
        let thirds = (value * 3.0).round() / 3.0;
        scale * if scale > 1.0 && (value - thirds).abs() < 2e-3 { thirds } else { value }
    };
    let read: Vec<(u8, f64, Option<f64>)> = scenario
        .notes
        .iter()
        .map(|note| {
            let (name, span) = note.split_once(' ').expect("a name and a time");
            let (on, off) = span.split_once('-').map_or((span, None), |(on, off)| (on, Some(off)));
            (key(name), time(on), off.map(time))
        })
        .collect();
    let onsets: Vec<f64> = read.iter().map(|note| note.1).collect();
    let end = |index: usize| onsets.get(index + 1).copied().unwrap_or(onsets[index] + 250.0);
    read.iter()
        .enumerate()
        .map(|(index, &(key, on, off))| (key, on, off.unwrap_or_else(|| end(index))))
        .collect()
}

/// The scenario's take as a file, with the chords of the form as chord text where a chord begins.
fn file(scenario: &Scenario, chords: &ChordSource) -> Vec<u8> {
    let nanos = |millis: f64| Nanos((millis * MILLI).round() as i64);
    let mut solo: Vec<(Nanos, ChannelMessage)> = Vec::new();
    for (key, on, off) in notes(scenario) {
        let message =
            |status, velocity| ChannelMessage::from_wire(&[status, key, velocity]).expect("a message");
        solo.push((nanos(on), message(0x90, 80)));
        solo.push((nanos(off), message(0x80, 0)));
    }
    solo.sort_by_key(|&(at, message)| (at, message.wire()[0]));
    let meters = vec![(Ticks::ZERO, Meter::FOUR_FOUR)];
    let mut chords: Vec<_> =
        chords.form.chords.iter().map(|chord| (chord.start, chord.text.clone())).collect();
    chords.dedup_by(|later, earlier| later.1 == earlier.1);
    TakeFile { tempo: TempoMap::at_bpm(120.0), meters, solo, chords, ..TakeFile::default() }.to_bytes()
}

/// The ways of counting that a scenario is about: both, unless it names one.
fn countings(scenario: &Scenario) -> &'static [Counting] {
    match scenario.counting.as_str() {
        "strict" => &[Counting::Strict],
        "lenient" => &[Counting::Lenient],
        _ => &[Counting::Strict, Counting::Lenient],
    }
}

fn answer(chords: (&ChordSource, By), scenario: &Scenario, counting: Counting) -> Answer {
    let (chords, by) = chords;
    let chart = (by == By::Chart).then_some(chords);
    let mut choices = Choices::default();
    choices.tally.counting = counting;
    let question = Question { choices: &choices, chart, track: None, detail: Detail::Notes, bands: None };
    judge(&file(scenario, chords), None, question).expect("a take")
}

/// A note as the scenarios write it: `Dm7 outside approach`, `G7 chord early`, `ornament`.
fn judged(note: &NoteRecord) -> String {
    let words = [
        note.left_out.is_none().then(|| note.chord.clone()),
        note.left_out.is_none().then(|| note.class.to_owned()),
        note.rule.or(note.tag).map(str::to_owned),
        (note.early && note.counted).then(|| "early".to_owned()),
        note.left_out.map(str::to_owned),
    ];
    words.into_iter().flatten().collect::<Vec<_>>().join(" ")
}

fn landings(review: &Review) -> Vec<String> {
    let chords = review.chords.iter().flatten();
    let met = chords.filter_map(|chord| {
        let landing = chord.landing.as_ref().filter(|landing| landing.hit == Some(true))?;
        let step = if landing.seven_to_three == Some(true) { " seven-to-three" } else { "" };
        Some(format!("{} {}{step}", chord.symbol, landing.degree.as_deref().unwrap_or_default()))
    });
    met.collect()
}

/// What differs from the scenario, in words.
fn differences(chords: (&ChordSource, By), scenario: &Scenario, counting: Counting) -> Vec<String> {
    let review = answer(chords, scenario, counting).review;
    let mut wrong = Vec::new();
    let mut compare = |what: &str, found: Vec<String>, expected: &[String]| {
        if found != expected {
            wrong.push(format!(
                "{} ({}): {what}: found {found:?}, expected {expected:?}",
                scenario.name,
                counting.word()
            ));
        }
    };
    compare("notes", review.notes.iter().flatten().map(judged).collect(), &scenario.found);
    let fits = review.totals.fits.iter();
    let fits = fits.map(|fit| format!("{} {} {} {}", fit.symbol, fit.function, fit.scale, fit.notes_more));
    compare("fits", fits.collect(), &scenario.fits);
    if let Some(expected) = &scenario.landings {
        compare("landings", landings(&review), expected);
    }
    if let Some(expected) = &scenario.duration {
        let all: f64 = expected.values().sum();
        let by = &review.totals.by_duration;
        for (class, share) in
            [("chord", by.chord), ("scale", by.scale), ("other", by.other), ("outside", by.outside)]
        {
            let shown = |share: f64| vec![format!("{class} {share:.4}")];
            compare("duration", shown(share), &shown(expected[class] / all));
        }
    }
    wrong
}

/// Every scenario of a file that comes out otherwise, and how many there are.
fn wrong(text: &str) -> (Vec<String>, usize) {
    let scenarios: Scenarios = toml::from_str(text).expect("scenarios");
    let (chart, _) = Chart::parse("scenarios", &scenarios.chart, BareSymbols::default()).expect("a chart");
    let chart = &ChordSource::of_chart(&chart, &Overrides::default());
    let judged = scenarios.take.iter().flat_map(|scenario| {
        countings(scenario).iter().flat_map(move |&counting| {
            [By::Chart, By::ChordText]
                .into_iter()
                .flat_map(move |by| differences((chart, by), scenario, counting))
        })
    });
    (judged.collect(), scenarios.take.len())
}

#[test]
fn every_worked_take_is_judged_as_on_paper() {
    assert_eq!(wrong(include_str!("scenarios/two_five_one.toml")), (Vec::new(), 26));
}

#[test]
fn a_chord_pushed_before_the_barline_is_landed_on_from_the_push_on() {
    assert_eq!(wrong(include_str!("scenarios/pushed_chord.toml")), (Vec::new(), 3));
}

/// Which notes of a line over `chart`, at 120 quarters a minute, "could be either chord".
fn either(chart: &str, notes: &[&str]) -> Vec<bool> {
    let (chart, _) = Chart::parse("either", chart, BareSymbols::default()).expect("a chart");
    let chords = ChordSource::of_chart(&chart, &Overrides::default());
    let scenario = Scenario {
        name: "either".to_owned(),
        counting: String::new(),
        unit: String::new(),
        notes: notes.iter().map(|&note| note.to_owned()).collect(),
        found: Vec::new(),
        fits: Vec::new(),
        duration: None,
        landings: None,
    };
    let review = answer((&chords, By::Chart), &scenario, Counting::Strict).review;
    review.notes.iter().flatten().map(|note| note.why.contains("could be either chord")).collect()
}

#[test]
fn a_note_could_be_either_chord_only_where_it_rings_into_the_next() {
    let check =
        |chart: &str, note: &str, expect: bool| assert_eq!(either(chart, &[note]), [expect], "{note}");
    let two_five = "| Dm7 | G7 | Cmaj7 | % |";
    check(two_five, "B4 1600-2000", false);
    check(two_five, "B4 1600-2020", false);
    check(two_five, "B4 1600-2120", true);
    check(two_five, "B4 1600-1900", false);
    check("| Dm7 | N.C. | Cmaj7 | % |", "F4 1600-2120", false);
}
