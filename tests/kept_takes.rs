//! Takes are kept whatever happens: the same document afterwards, and whole but for a second after a kill.

#[path = "support/dense_line.rs"]
mod dense_line;
#[path = "support/desk.rs"]
mod desk;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

use dense_line::dense_line;
use desk::Desk;
use serde_json::{Value, json};

#[test]
fn a_take_reviewed_later_is_the_same_to_the_byte_even_if_settings_have_changed() {
    let desk = Desk::new();
    desk.write("short.bars", b"key: Bb\ntempo: 400\n| Bbmaj7 | G7 |\n");
    desk.write("line.mid", &dense_line(32));
    let played = desk.printed(&[
        "play",
        "short.bars",
        "--midi-file",
        "line.mid",
        "--no-audio",
        "--headless",
        "--json",
    ]);
    assert_eq!(desk.printed(&["review", "last", "--json"]), played);
    assert_eq!(desk.printed(&["review", "1", "--json"]), played);
    assert_eq!(desk.printed(&["review", "data/takes/take-0001.mid", "--json"]), played);
    desk.printed(&["settings", "run-share", "0.2"]);
    assert_eq!(desk.printed(&["review", "last", "--json"]), played, "a take keeps the settings of its day");
    let lenient: Value =
        serde_json::from_str(&desk.printed(&["review", "last", "--lenient", "--json"])).expect("json");
    assert_eq!(lenient["settings"]["counting"], "lenient", "but a flag wins");

    // The file of the take, played again as if by hand, is the same take.
    let file = desk.folder.path().join("data/takes").join("take-0001.mid");
    let file = file.to_str().expect("a path");
    desk.printed(&["settings", "run-share", "--reset"]);
    let again =
        desk.printed(&["play", "short.bars", "--midi-file", file, "--no-audio", "--headless", "--json"]);
    let document = |text: &str| -> Value { serde_json::from_str(text).expect("a document") };
    let (first, again) = (document(&played), document(&again));
    assert_eq!(first["totals"], again["totals"]);
    assert_eq!(first["notes"], again["notes"]);
}

#[test]
fn takes_are_listed_and_dropped() {
    let desk = Desk::new();
    desk.write("short.bars", b"title: Two Bars\nkey: Bb\ntempo: 400\n| Bbmaj7 | G7 |\n");
    desk.write("line.mid", &dense_line(16));
    for _ in 0..2 {
        desk.printed(&[
            "play",
            "short.bars",
            "--midi-file",
            "line.mid",
            "--no-audio",
            "--headless",
            "--json",
        ]);
    }
    let takes = |arguments: &[&str]| -> Vec<Value> {
        let document: Value = serde_json::from_str(&desk.printed(arguments)).expect("a document");
        assert_eq!(document["schema"], "barwise.take");
        document["takes"].as_array().expect("takes").clone()
    };
    let all = takes(&["takes", "--json"]);
    assert_eq!(all.iter().map(|take| take["take"].as_u64()).collect::<Vec<_>>(), [Some(1), Some(2)]);
    assert_eq!((&all[0]["chart"], &all[0]["counted"]), (&"Two Bars".into(), &16.into()));
    assert_eq!(takes(&["takes", "--json", "--chart", "no such"]), Vec::<Value>::new());
    assert_eq!(takes(&["takes", "--json", "--since", "2999-01-01"]), Vec::<Value>::new());
    desk.printed(&["takes", "drop", "1"]);
    assert!(desk.folder.path().join("data/takes").join("bin/take-0001.mid").exists());
    assert_eq!(takes(&["takes", "--json"]).len(), 1);
    let gone = desk.command(&["review", "1"]).output().expect("it runs");
    assert_eq!(gone.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&gone.stderr).contains("no take 1; the last one is 2"));
}

#[test]
fn the_list_says_which_bars_were_played() {
    let desk = Desk::new();
    desk.write("short.bars", b"key: Bb\ntempo: 400\n| Bbmaj7 | G7 | Cm7 | F7 |\n");
    desk.write("line.mid", &dense_line(16));
    let play = ["play", "short.bars", "--midi-file", "line.mid", "--no-audio", "--headless", "--json"];
    desk.printed(&play);
    for bars in ["2-3", "4"] {
        desk.printed(&[&play[..], &["--bars", bars]].concat());
    }
    let listed: Value = serde_json::from_str(&desk.printed(&["takes", "--json"])).expect("a document");
    let takes = listed["takes"].as_array().expect("takes");
    let expect = [Value::Null, json!({ "first": 2, "last": 3 }), json!({ "first": 4, "last": 4 })];
    assert_eq!(takes.iter().map(|take| take["bars"].clone()).collect::<Vec<_>>(), expect);
    let rows = desk.printed(&["takes"]);
    let cells = |row: &str| row.split('\t').nth(4).expect("a fifth cell").to_owned();
    assert_eq!(rows.lines().map(cells).collect::<Vec<_>>(), ["bars", "all", "2-3", "4"]);
}

#[test]
fn a_take_says_how_the_band_played() {
    let desk = Desk::new();
    desk.write("short.bars", b"key: Bb\ntempo: 400\n| Bbmaj7 | G7 | Cm7 | F7 |\n");
    desk.write("line.mid", &dense_line(16));
    let play = ["play", "short.bars", "--midi-file", "line.mid", "--no-audio", "--headless", "--json"];
    let played = [&["--band-out", "1/4", "--two-feel", "--seed", "7"][..], &["--click", "2,4"], &[]];
    let reviews = played.map(|flags| desk.printed(&[&play, flags].concat()));
    let listed: Value = serde_json::from_str(&desk.printed(&["takes", "--json"])).expect("a document");
    let band = |index: usize, name: &str| listed["takes"][index]["band"][name].clone();
    assert_eq!(
        (band(0, "band_out"), band(0, "two_feel"), band(0, "seed")),
        (json!("1/4"), json!(true), json!(7))
    );
    assert_eq!((band(1, "click"), band(1, "band_out")), (json!("2,4"), Value::Null));
    assert_eq!((band(2, "feel"), band(2, "swing_percent")), (json!("swing"), json!(70)));
    let rows = desk.printed(&["takes"]);
    let notes: Vec<&str> = rows.lines().map(|row| row.rsplit('\t').next().unwrap_or_default()).collect();
    assert_eq!(notes, ["note", "band out 1/4; two-feel", "click 2,4", ""]);
    let review: Value = serde_json::from_str(&reviews[0]).expect("a review");
    assert_eq!(review["band"], listed["takes"][0]["band"]);
    let text = desk.printed(&["review", "1"]);
    assert!(text.contains("How it was played: band out 1/4; two-feel."), "{text}");
}

#[cfg(unix)]
#[test]
fn a_take_whose_folder_is_gone_at_its_end_is_kept_elsewhere_and_that_is_said() {
    use std::io::{BufRead, BufReader};
    let desk = Desk::new();
    desk.write("short.bars", b"key: Bb\ntempo: 400\n| Bbmaj7 | G7 | Cm7 | F7 |\n");
    desk.write("line.mid", &dense_line(16));
    let home = desk.folder.path();
    fs::create_dir(home.join("elsewhere")).expect("a folder");
    let mut play = desk.command(&["play", "short.bars", "--midi-file", "line.mid", "--no-audio", "--plain"]);
    let play = play.env("TMPDIR", home.join("elsewhere")).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = play.spawn().expect("it runs");
    let mut lines = BufReader::new(child.stdout.take().expect("a pipe")).lines().map_while(Result::ok);
    assert!(lines.any(|line| line.starts_with("bar 2 ")), "bar 2 was never printed");
    fs::rename(home.join("data/takes"), home.join("moved")).expect("moved away");
    fs::write(home.join("data/takes"), b"").expect("a file in its place");
    assert!(lines.count() > 0, "the report is printed all the same");
    let output = child.wait_with_output().expect("it ends");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(4), "{said}");
    let kept = home.join("elsewhere/barwise-take-0001-1.mid");
    assert!(said.contains(&format!("The whole take is kept in {}", kept.display())), "{said}");
    let kept = kept.to_str().expect("a path");
    let review: Value = serde_json::from_str(&desk.printed(&["review", kept, "--json"])).expect("a document");
    assert_eq!(review["notes"].as_array().expect("notes").len(), 16);
}

/// A play that is killed a while after its log has grown to a given number of lines.
struct Doomed {
    child: Child,
    desk: Desk,
    lines: usize,
    wait: Duration,
    grown: Option<Instant>,
    /// How old the last word of the log was when the program was killed: what a kill costs at most.
    unwritten: Duration,
}

impl Doomed {
    fn start(lines: usize, wait: Duration) -> Self {
        let desk = Desk::new();
        desk.write("short.bars", b"key: Bb\ntempo: 400\n| Bbmaj7 | G7 | Cm7 | F7 |\n");
        desk.write("line.mid", &dense_line(2_000));
        let arguments =
            ["play", "short.bars", "--midi-file", "line.mid", "--choruses", "99", "--no-audio", "--headless"];
        let child =
            desk.command(&arguments).stdout(Stdio::null()).stderr(Stdio::null()).spawn().expect("it starts");
        Self { child, desk, lines, wait, grown: None, unwritten: Duration::ZERO }
    }

    fn log(&self) -> PathBuf {
        self.desk.folder.path().join("data/takes").join("take-0001.playing")
    }

    /// Kills it when its moment has come; false before.
    fn kill_if_due(&mut self) -> bool {
        if self.grown.is_none() && lines_in(&self.log()) >= self.lines {
            self.grown = Some(Instant::now());
        }
        if self.grown.is_none_or(|grown| grown.elapsed() < self.wait) {
            return false;
        }
        self.child.kill().expect("it still runs");
        let written = fs::metadata(self.log()).and_then(|log| log.modified()).expect("the log");
        self.unwritten = written.elapsed().unwrap_or_default();
        self.child.wait().expect("it is gone");
        true
    }
}

fn lines_in(path: &Path) -> usize {
    fs::read_to_string(path).map_or(0, |text| text.matches('\n').count())
}

#[test]
fn twenty_kills_cost_no_take_and_no_line_of_a_log() {
    // Moments drawn with a seeded generator (splitmix64): lines of the log, and up to a second more.
    let mut state = 20_261_125u64;
    let mut draw = |most: usize| {
        state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (z ^ (z >> 31)) as usize % most
    };
    let mut doomed: Vec<Doomed> =
        (0..20).map(|_| Doomed::start(2 + draw(250), Duration::from_millis(draw(1_000) as u64))).collect();
    let mut dead = Vec::new();
    let began = Instant::now();
    while !doomed.is_empty() {
        assert!(began.elapsed() < Duration::from_mins(2), "{} plays never came so far", doomed.len());
        let (killed, alive): (Vec<_>, Vec<_>) =
            doomed.into_iter().map(|mut d| (d.kill_if_due(), d)).partition(|d| d.0);
        dead.extend(killed.into_iter().map(|d| d.1));
        doomed = alive.into_iter().map(|d| d.1).collect();
        std::thread::yield_now();
    }
    for killed in &dead {
        // Every message is written as it comes; the rest is what twenty programs on a few cores take to get their turn.
        assert!(killed.unwritten < Duration::from_secs(1), "{:?} of a take unwritten", killed.unwritten);
        let logged = fs::read_to_string(killed.log()).expect("the log");
        let struck = logged.lines().filter(|line| line.ends_with(" .") && line.contains(" 90")).count();
        let listed: Value =
            serde_json::from_str(&killed.desk.printed(&["takes", "--json"])).expect("a document");
        let takes = listed["takes"].as_array().expect("takes");
        let played = logged.lines().skip(1).any(|line| line.ends_with(" ."));
        if takes.is_empty() {
            assert!(
                struck == 0,
                "{struck} notes were logged and no take was made of them (anything: {played})"
            );
            continue;
        }
        let review: Value =
            serde_json::from_str(&killed.desk.printed(&["review", "1", "--json"])).expect("a document");
        assert_eq!(review["notes"].as_array().expect("notes").len(), struck, "every note that was logged");
        assert!(!killed.log().exists(), "the log is finished");
    }
}
