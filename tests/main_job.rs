//! The main job through the program's own doors: read, review, demo and play, on good input and on bad.

use std::path::Path;
use std::process::Output;

use assert_cmd::Command;
use serde_json::Value;
use tempfile::TempDir;

/// A folder of one's own for settings, takes and files.
struct Desk {
    folder: TempDir,
}

impl Desk {
    fn new() -> Self {
        Self { folder: tempfile::tempdir().expect("a folder") }
    }

    fn run(&self, arguments: &[&str]) -> Output {
        let mut command = Command::cargo_bin("barwise").expect("the program");
        let home = self.folder.path();
        command.current_dir(home).env("BARWISE_CONFIG_DIR", home).env("BARWISE_DATA_DIR", home.join("data"));
        command.args(arguments).output().expect("it runs")
    }

    fn write(&self, name: &str, bytes: &[u8]) {
        std::fs::write(self.folder.path().join(name), bytes).expect("a file");
    }

    fn with_demo(self) -> Self {
        assert!(self.run(&["demo", "-o", "demo.mid"]).status.success());
        self
    }

    fn json(&self, arguments: &[&str]) -> Value {
        let output = self.run(arguments);
        assert!(output.status.success(), "{}", said(&output));
        serde_json::from_slice(&output.stdout).expect("a document")
    }

    fn is_there(&self, name: &str) -> bool {
        Path::exists(&self.folder.path().join(name))
    }
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

fn printed(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("text")
}

#[test]
fn the_demo_shows_every_mark() {
    let desk = Desk::new();
    let review = desk.json(&["demo", "--json"]);
    let notes = review["notes"].as_array().expect("notes");
    for rule in ["approach", "passing", "enclosure"] {
        assert!(notes.iter().any(|note| note["rule"] == rule), "{rule}");
    }
    for (field, value) in [
        ("early", Value::from(true)),
        ("tag", "open".into()),
        ("left_out", "ghost".into()),
        ("left_out", "ornament".into()),
    ] {
        assert!(notes.iter().any(|note| note[field] == value), "{field} {value}");
    }
    let totals = &review["totals"];
    assert!(totals["landings"]["n"].as_u64() > Some(0));
    assert_eq!(totals["fits"][0]["scale"], "Bb lydian dominant");
    let text = printed(&desk.run(&["demo"]));
    assert!(text.contains("Not judged: comping, time, tone, phrasing."), "{text}");
}

#[test]
fn totals_are_the_sums_of_notes_chords_and_bars() {
    let review = Desk::new().with_demo().json(&["review", "demo.mid", "--json"]);
    let sum = |rows: &str, field: &str| -> f64 {
        review[rows].as_array().expect("rows").iter().map(|row| row[field].as_f64().expect("a number")).sum()
    };
    let count = |class: &str| {
        review["notes"].as_array().expect("notes").iter().filter(|n| n["class"] == class).count() as f64
    };
    let totals = &review["totals"];
    for class in ["chord", "outside"] {
        let n = totals[class]["n"].as_f64().expect("a number");
        for found in [sum("bars", class), sum("chords", class), count(class)] {
            assert!((found - n).abs() < 1e-9, "{class}: {found} {n}");
        }
    }
    let counted = totals["counted"].as_f64().expect("a number");
    let classes: f64 =
        ["chord", "scale", "other", "outside"].iter().map(|c| totals[c]["n"].as_f64().unwrap_or(0.0)).sum();
    assert!((classes - counted).abs() < 1e-9 && (sum("bars", "counted") - counted).abs() < 1e-9);
}

#[test]
fn a_line_played_and_its_file_reviewed_give_the_same() {
    let desk = Desk::new();
    desk.write("short.bars", b"key: Bb\ntempo: 400\n| Bbmaj7 | G7 | Cm7 | F7 |\n");
    desk.write("line.mid", &line_over_four_bars());
    let played =
        desk.json(&["play", "short.bars", "--midi-file", "line.mid", "--no-audio", "--headless", "--json"]);
    let reviewed = desk.json(&["review", "line.mid", "--chart", "short.bars", "--json"]);
    assert_eq!(played["totals"], reviewed["totals"]);
    let told = |review: &Value| -> Vec<String> {
        let notes = review["notes"].as_array().expect("notes");
        let fields = ["key", "bar", "beat", "chord", "class", "tag", "rule", "early", "left_out"];
        notes.iter().map(|note| fields.map(|field| note[field].to_string()).join(" ")).collect()
    };
    assert_eq!(told(&played), told(&reviewed));
    assert_eq!(told(&played).len(), 16);
    assert!(desk.is_there("data/takes/take-0001.mid"));
}

/// Sixteen notes over four bars at 400 quarters a minute, some of them early, some outside.
fn line_over_four_bars() -> Vec<u8> {
    use barwise::take::{ChannelMessage, TakeFile, writer::writable};
    use barwise::time::{TempoMap, TickSpan, Ticks};
    let tempo = writable(&TempoMap::at_bpm(400.0));
    let mut solo = Vec::new();
    for (index, key) in
        [70, 74, 72, 69, 71, 74, 77, 73, 72, 75, 79, 76, 77, 81, 79, 78].into_iter().enumerate()
    {
        let early = if index % 4 == 0 && index > 0 { 5_000 } else { 0 };
        let at = Ticks::ZERO + TickSpan::quarters(index as i64) - TickSpan(early);
        let message = |wire: [u8; 3]| ChannelMessage::from_wire(&wire).expect("a message");
        solo.push((tempo.nanos(at), message([0x90, key, 90])));
        solo.push((tempo.nanos(at + TickSpan(14_000)), message([0x80, key, 0])));
    }
    TakeFile { tempo, solo, ..TakeFile::default() }.to_bytes()
}

#[test]
fn several_files_keep_their_order_and_a_bad_one_costs_only_its_line() {
    let desk = Desk::new().with_demo();
    desk.write("noise.mid", &[0x5A; 4096]);
    let output = desk.run(&["review", "demo.mid", "noise.mid", "demo.mid", "--json-lines", "--totals"]);
    assert_eq!(output.status.code(), Some(2));
    let lines: Vec<Value> =
        printed(&output).lines().map(|l| serde_json::from_str(l).expect("a document")).collect();
    assert_eq!(lines.len(), 3);
    assert_eq!(lines[0], lines[2]);
    assert_eq!(lines[0]["schema"], "barwise.review");
    assert!(lines[0].get("notes").is_none());
    assert_eq!(lines[1]["file"], "noise.mid");
    assert!(lines[1]["error"].as_str().expect("words").contains("not a MIDI file"));
}

#[test]
fn a_check_ends_by_what_it_found() {
    let desk = Desk::new().with_demo();
    let check = |bands: &str| {
        desk.write("asked.toml", bands.as_bytes());
        let output = desk.run(&["review", "demo.mid", "--check", "asked.toml", "--json"]);
        let verdict: Value = serde_json::from_slice(&output.stdout).expect("a document");
        assert_eq!(verdict["schema"], "barwise.verdict");
        (output.status.code(), verdict["verdict"].as_str().expect("a word").to_owned())
    };
    assert_eq!(check("chord = \"60-80\""), (Some(0), "met".to_owned()));
    assert_eq!(check("chord = \"30-50\""), (Some(1), "clearly above".to_owned()));
    assert_eq!(check("chord = \"90-\""), (Some(1), "clearly below".to_owned()));
    assert_eq!(check("chord = \"55-70\""), (Some(5), "undecided".to_owned()));
    assert_eq!(check("chord = \"60-80\"\nneeds = 500"), (Some(5), "no verdict".to_owned()));
}

#[test]
fn one_note_is_explained_by_chord_rule_and_neighbour() {
    let output = Desk::new().with_demo().run(&["review", "demo.mid", "--why", "1.6"]);
    let text = printed(&output);
    assert!(text.contains("bar 1, note 6 of 7: A4 on beat 3.62, #11 of Ebmaj7"), "{text}");
    assert!(text.contains("resolves a semitone to Bb4, a chord tone (approach)"), "{text}");
}

#[test]
fn every_place_of_the_listing_can_be_asked_why() {
    let desk = Desk::new().with_demo();
    let listed = printed(&desk.run(&["review", "demo.mid", "--notes", "--bar", "2"]));
    let rows: Vec<Vec<&str>> = listed.lines().skip(1).map(|line| line.split('\t').collect()).collect();
    let column = |name: &str| listed.lines().next().expect("headings").split('\t').position(|h| h == name);
    let [place, chorus, bar, note] = ["place", "chorus", "bar", "note"].map(|name| column(name).expect(name));
    let of_first_chorus: Vec<&Vec<&str>> = rows.iter().filter(|row| row[chorus] == "1").collect();
    assert_eq!(of_first_chorus.len(), 7);
    for row in &of_first_chorus {
        let why = printed(&desk.run(&["review", "demo.mid", "--why", row[place]]));
        let (_, number) = row[place].split_once('.').expect("a bar and a number");
        let expect = format!("chorus 1, bar 2, note {number} of 7: {} on beat", row[note]);
        assert!(why.contains(&expect), "{why}");
    }
    let push = of_first_chorus[0];
    assert_eq!((push[place], push[bar]), ("2.1", "1"), "struck in bar 1, counted in bar 2");
    let why = printed(&desk.run(&["review", "demo.mid", "--why", "2.1"]));
    assert!(why.contains("Cb5 on beat 4.62 of bar 1 (struck early), b3 of Abm7"), "{why}");
}

#[test]
fn each_chorus_has_its_line_in_the_plain_form() {
    let desk = Desk::new().with_demo();
    let plain = |flags: &[&str]| printed(&desk.run(&[&["review", "demo.mid", "--plain"], flags].concat()));
    let of_bar_9: Vec<String> = plain(&["--bar", "9"])
        .lines()
        .filter(|line| line.starts_with("chorus ") || line.starts_with("bar "))
        .map(|line| line.split(':').next().unwrap_or_default().to_owned())
        .collect();
    assert_eq!(of_bar_9, ["chorus 1", "bar 9 Am7", "chorus 2", "bar 9 Am7"]);
    assert_eq!(plain(&[]).lines().filter(|line| line.starts_with("chorus ")).count(), 2);
}

#[test]
fn a_chart_is_read_with_a_scale_that_was_set() {
    let desk = Desk::new();
    let output = desk.run(&["read", "bus-shelter", "--set", "6.1=altered", "-o", "mine.bars"]);
    assert!(output.status.success(), "{}", said(&output));
    let reading = desk.json(&["read", "mine.bars", "--bar", "6", "--json"]);
    let chord =
        reading["chords"].as_array().expect("chords").iter().find(|c| c["bar"] == 6).expect("bar 6").clone();
    assert_eq!((&chord["scale"]["name"], &chord["overridden"]), (&"altered".into(), &true.into()));
    let rows = printed(&desk.run(&["read", "mine.bars", "--bar", "2"]));
    assert!(
        rows.contains("2\tDb7\tEb\tbVII7 (backdoor)\tDb lydian dominant\tbackdoor dominant\tmixolydian\t"),
        "{rows}"
    );
}

/// Bad input: exit 2 (a device: 3), a message that names the place and the remedy, nothing on stdout, no file written.
#[test]
fn bad_input_is_refused_with_its_place_and_what_to_do() {
    let desk = Desk::new().with_demo();
    let whole = std::fs::read(desk.folder.path().join("demo.mid")).expect("the demo");
    desk.write("cut.mid", &whole[..whole.len() - 400]);
    desk.write("empty.mid", b"");
    desk.write("noise.mid", &vec![0x5A; 10 << 20]);
    desk.write("bare.mid", &line_over_four_bars());
    desk.write("slips.bars", b"tempo: 9999\nkey: H\n| Cmj7 | Dm7=dorain | C F G |\n");
    std::fs::create_dir(desk.folder.path().join("folder")).expect("a folder");
    let check = |arguments: &[&str], code: i32, parts: &[&str]| {
        let output = desk.run(arguments);
        let said = said(&output);
        assert_eq!(output.status.code(), Some(code), "{arguments:?}: {said}");
        assert_eq!(printed(&output), "", "{arguments:?}");
        for part in parts {
            assert!(said.contains(part), "{arguments:?} should say {part:?}:\n{said}");
        }
    };
    check(&["review", "missing.mid"], 2, &["missing.mid: there is no such file; check its name"]);
    check(&["review", "folder"], 2, &["folder: is a folder; name a file in it"]);
    check(&["review", "empty.mid"], 2, &["empty.mid: the file is empty", "export it again"]);
    check(&["review", "noise.mid"], 2, &["noise.mid: not a MIDI file", "byte 0", "export it"]);
    check(&["review", "cut.mid"], 2, &["cut.mid: track 3 (byte", "export it again"]);
    check(
        &["review", "bare.mid"],
        2,
        &["bare.mid: the file says no chords: name the chart with --chart CHART"],
    );
    check(&["read", "bare.mid"], 2, &["bare.mid: the file says no chords: it has no chord text. Write"]);
    check(&["review", "demo.mid", "--bar", "0"], 2, &["--bar <N>", "counted 1, 2, 3"]);
    check(&["review", "demo.mid", "--bar", "17"], 2, &["--bar 17", "bars 1 to 16"]);
    check(&["review", "demo.mid", "--why", "99.1"], 2, &["--why 99.1", "bars 1 to 16"]);
    check(&["review", "demo.mid", "--track", "nix"], 2, &["no track \"nix\"", "3 \"Solo\""]);
    check(&["read", "tune.musicxml"], 2, &["tune.musicxml: MusicXML is not read yet"]);
    let slips = [
        "slips.bars:1:8:",
        "slips.bars:2:6:",
        "slips.bars:3:3:",
        "slips.bars:3:14:",
        "slips.bars:3:23:",
        "^^^^",
    ];
    check(&["read", "slips.bars"], 2, &slips);
    check(&["play", "slips.bars"], 2, &slips);
    check(&["play", "bus-shelter", "--tempo", "0"], 2, &["--tempo <BPM>", "20 to 400"]);
    check(&["play", "bus-shelter", "--bars", "9-4"], 2, &["--bars", "4-9"]);
    check(&["play", "bus-shelter", "--bars", "9-44"], 2, &["bars 9-44", "bars 1 to 16"]);
    check(&["play", "bus-shelter", "--midi-from", "no such input"], 3, &["\"no such input\"", "--midi-file"]);
    #[cfg(feature = "live")]
    check(
        &["play", "bus-shelter", "--audio-host", "gramophone"],
        3,
        &["\"gramophone\"; there are:", "--no-audio"],
    );
    #[cfg(feature = "live")]
    check(
        &["play", "bus-shelter", "--audio-device", "no such box"],
        3,
        &["\"no such box\" on", "--no-audio"],
    );
    assert!(!desk.is_there("data"), "nothing is written");
}
