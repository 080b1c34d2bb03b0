//! The page of a take: what every page keeps to, and its figures against the document that `--json` prints.

#[path = "support/page.rs"]
mod support_page;

use assert_cmd::Command;
use barwise::chart::Chart;
use barwise::harmony::Overrides;
use barwise::judge::{Answer, Choices, ChordSource, Question, judge};
use barwise::practice::Assignment;
use barwise::report::html::take::TakePage;
use barwise::report::review::{Detail, Review};
use barwise::report::verdict::VerdictDocument;
use barwise::take::{ChannelMessage, TakeFile};
use barwise::theory::chord::BareSymbols;
use barwise::time::{Nanos, TempoMap};
use proptest::prelude::*;
use serde_json::Value;
use support_page::{check, tables};

const CHART: &str =
    "title: Two Doors\nkey: G\n| Am7 | D7 | Gmaj7 Em7 | C#m7b5 F#7b9 |\n| Bm7 | Bbdim7 | Am7 D7 | Gmaj7 |\n";

/// A note: channel, MIDI key, then when it is struck and let go, in milliseconds at 120 quarters a minute.
type Note = (u8, u8, i64, i64);

fn answer(chart: &str, notes: &[Note], asked: Option<&Assignment>) -> Answer {
    let (chart, _) = Chart::parse("chart.bars", chart, BareSymbols::default()).expect("a chart");
    let chords = ChordSource::of_chart(&chart, &Overrides::default());
    let mut solo: Vec<(Nanos, ChannelMessage)> = Vec::new();
    for &(channel, key, on, off) in notes {
        let message = |wire: [u8; 3]| ChannelMessage::from_wire(&wire).expect("a message");
        solo.push((Nanos(on * 1_000_000), message([0x90 | channel, key, 80])));
        solo.push((Nanos(off * 1_000_000), message([0x80 | channel, key, 0])));
    }
    solo.sort_by_key(|&(at, message)| (at, message.wire()[0]));
    let take = TakeFile { tempo: TempoMap::at_bpm(120.0), solo, ..TakeFile::default() };
    let choices = Choices::default();
    let bands = asked.map(|asked| &asked.bands);
    let question =
        Question { choices: &choices, chart: Some(&chords), track: None, detail: Detail::Notes, bands };
    judge(&take.to_bytes(), None, question).expect("a take")
}

fn page(review: &Review) -> String {
    TakePage { review, verdict: None, weeks: None }.write()
}

/// Eighths up and down a scale that is not always that of the chord, twice through the chart.
fn eighths(count: i64) -> Vec<Note> {
    let degrees = [0, 2, 3, 5, 7, 8, 10, 12, 10, 9, 7, 4];
    let note = |index: i64| {
        let key = 60 + degrees[index as usize % degrees.len()] as u8 + (index / 40 % 3) as u8;
        (0, key, index * 250, index * 250 + 230)
    };
    (0..count).map(note).collect()
}

/// The same line on four strings, each on a channel of its own, the highest first.
fn on_strings() -> Vec<Note> {
    let opens = [64u8, 59, 55, 50];
    let string = |key: u8| opens.iter().position(|&open| key >= open && key <= open + 6).unwrap_or(0);
    eighths(120).into_iter().map(|(_, key, on, off)| (string(key - 10) as u8, key - 10, on, off)).collect()
}

fn percent(share: &Value) -> String {
    share.as_f64().map_or_else(String::new, |share| ((share * 100.0).round() as i64).to_string())
}

fn count(number: &Value) -> String {
    ((number.as_f64().expect("a number") * 10.0).round() / 10.0).to_string()
}

fn text(value: &Value) -> String {
    value.as_str().unwrap_or_default().to_owned()
}

fn list<'a>(document: &'a Value, name: &str) -> &'a [Value] {
    document[name].as_array().map(Vec::as_slice).unwrap_or_default()
}

/// Name, count, share and interval of a share of the totals; nothing behind the count where nothing is counted.
fn share_cells(name: &str, share: &Value) -> Vec<String> {
    let known = !share["share"].is_null();
    let part = known.then(|| format!("{} %", percent(&share["share"])));
    let interval = known.then(|| format!("{}–{}", percent(&share["low"]), percent(&share["high"])));
    vec![name.to_owned(), count(&share["n"]), part.unwrap_or_default(), interval.unwrap_or_default()]
}

fn expected_mix(document: &Value) -> Vec<Vec<String>> {
    let totals = &document["totals"];
    let with = |mut cells: Vec<String>, beside: String| {
        cells.push(beside);
        cells
    };
    let soloists: Vec<String> = list(totals, "recorded_soloists").iter().map(percent).collect();
    let chord = format!(
        "running the scale {}; recorded soloists {}",
        percent(&totals["running_the_scale"]),
        soloists.join("–")
    );
    let landings = &totals["landings"];
    let mut landed = share_cells("landings", landings);
    landed[1] = format!("{} of {}", landings["n"], landings["of"]);
    let baseline = percent(&landings["baseline"]);
    let baseline = if baseline.is_empty() {
        baseline
    } else {
        format!("thirds and sevenths among all notes: {baseline} %")
    };
    let rests = &totals["rests"];
    let rested = format!("{} of {}", count(&rests["beats"]), count(&rests["of"]));
    let longest =
        format!("beats; the longest stretch without a rest: {}", count(&rests["longest_run_beats"]));
    let mut rows = vec![
        with(share_cells("chord", &totals["chord"]), chord),
        with(share_cells("scale", &totals["scale"]), String::new()),
        with(share_cells("outside", &totals["outside"]), String::new()),
        with(share_cells("outside, resolved", &totals["resolved"]), String::new()),
        with(share_cells("outside, open", &totals["open"]), String::new()),
        with(landed, baseline),
        vec!["rests".to_owned(), rested, String::new(), String::new(), longest],
    ];
    if totals["other"]["n"].as_f64() > Some(0.0) {
        let leaning = format!("{} of another scale (~)", count(&totals["other"]["n"]));
        rows.insert(2, with(share_cells("another scale", &totals["other"]), leaning));
    }
    rows
}

fn expected_bars(document: &Value, chorus: u64) -> Vec<Vec<String>> {
    let bars = list(document, "bars").iter().filter(|bar| bar["chorus"] == chorus);
    let fields = ["bar", "counted", "chord", "scale", "other", "outside", "resolved", "open"];
    bars.map(|bar| fields.map(|field| count(&bar[field])).to_vec()).collect()
}

fn mark(note: &Value) -> String {
    let degree = text(&note["degree"]);
    let early = if note["early"] == true { "<" } else { "" };
    match (note["class"].as_str(), note["tag"].as_str()) {
        (Some("chord"), _) => format!("{early}[{degree}]"),
        (Some("scale"), _) => format!("{early}{degree}"),
        (Some("other"), _) => format!("{early}{degree}~"),
        (_, Some("resolved")) => format!("{early}{degree}>"),
        _ => format!("{early}{degree}?"),
    }
}

fn expected_line(document: &Value, chorus: u64) -> Vec<Vec<String>> {
    let chords = list(document, "chords").iter().filter(|chord| chord["chorus"] == chorus);
    let row = |chord: &Value| {
        let over = |note: &&Value| {
            note["counted"] == true
                && note["chord_index"] == chord["chord_index"]
                && note["chord_chorus"] == chord["chorus"]
        };
        let marks: Vec<String> = list(document, "notes").iter().filter(over).map(mark).collect();
        let inside = chord["scale_notes"].as_f64().unwrap_or(0.0) + chord["other"].as_f64().unwrap_or(0.0);
        let landing = &chord["landing"];
        let landed = match (landing["hit"].as_bool(), landing.is_null()) {
            (Some(true), _) => format!("* {}", text(&landing["degree"])),
            (Some(false), _) => format!("  {}", text(&landing["degree"])),
            (None, false) => "  none".to_owned(),
            (None, true) if chord["chord_index"] == 1 && chorus == 1 => String::new(),
            (None, true) => "same".to_owned(),
        };
        vec![
            count(&chord["bar"]),
            text(&chord["symbol"]),
            text(&chord["scale"]),
            marks.join(" "),
            count(&chord["chord"]),
            count(&inside.into()),
            count(&chord["outside"]),
            landed,
        ]
    };
    chords.map(row).collect()
}

fn expected_notes(document: &Value) -> Vec<Vec<String>> {
    let mut counted = std::collections::HashMap::new();
    let row = |note: &Value| {
        let place = (note["counted"] == true).then(|| {
            let bar = (note["chord_chorus"].to_string(), note["chord_bar"].to_string());
            let number = counted.entry(bar.clone()).or_insert(0);
            *number += 1;
            format!("{}.{number}", bar.1)
        });
        let mut cells = vec![place.unwrap_or_default()];
        cells.extend(["index", "chorus", "bar"].map(|field| note[field].to_string()));
        cells.push(format!("{:.3}", note["beat"].as_f64().expect("a beat")));
        cells.extend(["chord", "name", "degree", "class", "tag", "rule"].map(|field| text(&note[field])));
        cells.push(if note["early"] == true { "early" } else { "" }.to_owned());
        cells.push(text(&note["left_out"]));
        cells.push(text(&note["why"]));
        cells
    };
    list(document, "notes").iter().map(row).collect()
}

fn layer_cells(counts: &Value) -> Vec<String> {
    let number = |field: &str| counts[field].as_u64().expect("a number");
    let scale = number("scale") + number("other");
    [number("notes"), number("chord"), scale, number("outside")].map(|count| count.to_string()).to_vec()
}

fn expected_keys(document: &Value) -> Vec<Vec<String>> {
    let keys = list(&document["places"], "keys").iter().rev();
    keys.map(|key| [vec![text(&key["name"])], layer_cells(key)].concat()).collect()
}

fn expected_strings(document: &Value) -> Vec<Vec<String>> {
    let row = |string: &Value| {
        let name = format!("{} ({})", string["string"], text(&string["open"]));
        let frets = match (string["lowest_fret"].as_u64(), string["highest_fret"].as_u64()) {
            (Some(low), Some(high)) if low == high => low.to_string(),
            (Some(low), Some(high)) => format!("{low}–{high}"),
            _ => "–".to_owned(),
        };
        [vec![name], layer_cells(string), vec![frets]].concat()
    };
    list(&document["places"], "strings").iter().map(row).collect()
}

fn expected_settings(document: &Value) -> Vec<Vec<String>> {
    let mut settings: Vec<(String, Value)> =
        document["settings"].as_object().expect("settings").clone().into_iter().collect();
    settings.sort_by_key(|(name, _)| (name != "counting", name.clone()));
    let row = |(name, value): (String, Value)| {
        let value = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
        vec![name.replace('_', "-"), value]
    };
    settings.into_iter().map(row).collect()
}

/// Compares every table of a page with the document; returns the ids of the tables that there are.
fn compare(html: &str, document: &Value) -> Vec<String> {
    let found = tables(html);
    for (id, rows) in &found {
        let chorus = || id.rsplit('-').next().and_then(|number| number.parse().ok()).expect("a chorus");
        let expect = match id.split('-').next().unwrap_or_default() {
            "mix" => expected_mix(document),
            "bars" => expected_bars(document, chorus()),
            "line" => expected_line(document, chorus()),
            "notes" => expected_notes(document),
            "keys" => expected_keys(document),
            "strings" => expected_strings(document),
            "settings" => expected_settings(document),
            other => {
                assert_eq!(other, "", "there is no comparison for this table");
                Vec::new()
            }
        };
        assert_eq!(rows, &expect, "{id}");
    }
    found.into_keys().collect()
}

#[test]
fn every_number_of_the_tables_is_that_of_the_json_document() {
    let run = |flags: &[&str]| {
        let run = Command::cargo_bin("barwise").expect("the program").arg("demo").args(flags).output();
        String::from_utf8(run.expect("a run").stdout).expect("text")
    };
    let (html, json) = (run(&["--html", "-"]), run(&["--json"]));
    let document: Value = serde_json::from_str(&json).expect("a document");
    check(&html);
    let ids = compare(&html, &document);
    assert_eq!(ids, ["bars-1", "bars-2", "keys", "line-1", "line-2", "mix", "notes", "settings"]);
    let totals = &document["totals"];
    let sentences = [
        format!("{} of {} notes were chord tones", totals["chord"]["n"], totals["counted"]),
        format!("{} resolved, {} stayed open", totals["resolved"]["n"], totals["open"]["n"]),
        format!("{} of {} changes were landed", totals["landings"]["n"], totals["landings"]["of"]),
        format!("rested for {} of {} beats", count(&totals["rests"]["beats"]), totals["rests"]["of"]),
    ];
    for sentence in sentences {
        assert!(html.contains(&sentence), "{sentence}");
    }
    for next in list(&document, "next") {
        let what = text(&next["what"]);
        assert!(html.contains(&what), "{what}");
    }
}

#[test]
fn a_line_on_strings_is_shown_on_the_neck_with_its_strings() {
    let review = answer(CHART, &on_strings(), None).review;
    let html = page(&review);
    check(&html);
    let document = serde_json::to_value(&review).expect("a document");
    let ids = compare(&html, &document);
    let counted = list(&document, "notes").iter().filter(|note| note["counted"] == true).count() as u64;
    for places in ["on_strings", "strings", "keys"] {
        let played = list(&document["places"], places).iter().map(|place| place["notes"].as_u64());
        assert_eq!(played.sum::<Option<u64>>(), Some(counted), "{places}");
    }
    assert!(ids.contains(&"strings".to_owned()) && !ids.contains(&"keys".to_owned()), "{ids:?}");
    assert!(html.contains("On the neck"));
}

#[test]
fn a_take_without_a_counted_note_has_a_page_that_says_so() {
    let review = answer("| N.C. | N.C. |", &[(0, 60, 0, 400)], None).review;
    let html = page(&review);
    check(&html);
    assert!(html.contains("No note of this take counts."));
    assert!(html.contains("There is nothing to show.") && html.contains("No note counts here."));
}

#[test]
fn what_was_asked_stands_beside_what_was_played() {
    let asked = Assignment::parse("asked.toml", "chord = \"50-100\"\nopen = \"-20\"\n").expect("bands");
    let answer = answer(CHART, &eighths(120), Some(&asked));
    let verdict = VerdictDocument::new(answer.review.source.clone(), &answer.verdict.expect("a verdict"));
    let html = TakePage { review: &answer.review, verdict: Some(&verdict), weeks: None }.write();
    check(&html);
    let mix = &tables(&html)["mix"];
    let row = |name: &str| mix.iter().find(|row| row[0] == name).expect("a row");
    assert_eq!(row("chord")[5..], ["at least 50".to_owned(), verdict.bands[0].verdict.to_owned()]);
    assert_eq!(row("outside, open")[5], "at most 20");
    assert_eq!(row("scale")[5..], ["any", ""]);
    assert!(html.contains(&verdict.sentence));
}

#[test]
fn hostile_titles_and_symbols_stay_words() {
    let hostile = "</title><script>alert(1)</script><img src=x onerror=alert(1)> &amp; \"'";
    let chart = format!("title: {hostile}\n| F7 | Bb7 |\n");
    let mut review = answer(&chart, &eighths(8), None).review;
    review.source.file = Some(format!("{hostile}\u{1b}[31m\u{fffe}"));
    review.chart.title.push('\u{7}');
    for chord in review.chords.iter_mut().flatten() {
        chord.symbol = hostile.to_owned();
    }
    review.next.clear();
    let html = page(&review);
    check(&html);
    assert!(html.contains("&lt;script&gt;") && !html.contains('\u{1b}'));
}

#[test]
fn the_head_of_a_small_page_looks_like_this() {
    let review = answer("title: Two Bars\n| F7 | Bb7 |\n", &eighths(8), None).review;
    let html = page(&review);
    let body = html.split("<main>").nth(1).expect("a body");
    let until_the_line = body.split("<section><h2>The line over").next().expect("sections");
    let lines = until_the_line.replace("><", ">\n<");
    insta::assert_snapshot!("the_head_of_a_small_page", lines);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn any_line_has_a_page_with_the_figures_of_its_document(
        notes in proptest::collection::vec((0u8..4, 40u8..90, 0i64..16_000, 30i64..900), 1..120),
    ) {
        let notes: Vec<Note> = notes.into_iter().map(|(channel, key, on, length)| (channel, key, on, on + length)).collect();
        let review = answer(CHART, &notes, None).review;
        let html = page(&review);
        check(&html);
        compare(&html, &serde_json::to_value(&review).expect("a document"));
    }
}
