//! Scales that a player keeps for chords of a chart, through the program's own door.

use std::path::Path;

use assert_cmd::Command;
use serde_json::Value;

/// A player with folders of their own.
struct Player(tempfile::TempDir);

struct Run {
    code: Option<i32>,
    stdout: String,
    stderr: String,
}

impl Player {
    fn new() -> Self {
        let player = Self(tempfile::tempdir().expect("a folder"));
        assert_eq!(player.run(&["demo", "-o", "demo.mid"]).code, Some(0));
        player
    }

    fn folder(&self) -> &Path {
        self.0.path()
    }

    fn run(&self, line: &[&str]) -> Run {
        let mut command = Command::new(assert_cmd::cargo::cargo_bin!("barwise"));
        command.env_clear().env("BARWISE_CONFIG_DIR", self.folder());
        command.env("BARWISE_DATA_DIR", self.folder()).current_dir(self.folder());
        let output = command.args(line).output().expect("the program runs");
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
        Run { code: output.status.code(), stdout: text(output.stdout), stderr: text(output.stderr) }
    }

    fn document(&self, line: &[&str]) -> Value {
        let run = self.run(&[line, &["--json"]].concat());
        assert_eq!(run.code, Some(0), "{}", run.stderr);
        serde_json::from_str(&run.stdout).expect("one JSON document")
    }

    /// The scale over the chord that begins bar 6, as a reading, the neck, a review and a take just played say it.
    fn everywhere(&self) -> [String; 4] {
        let reading = self.document(&["read", "bus-shelter"]);
        let read = reading["chords"].as_array().expect("chords").iter().find(|chord| chord["bar"] == 6);
        let read = read.expect("bar 6")["scale"]["name"].as_str().expect("a scale").to_owned();
        let in_review = |review: Value| {
            let chords = review["chords"].as_array().expect("chords").clone();
            let chord = chords.into_iter().find(|chord| chord["bar"] == 6).expect("bar 6");
            chord["scale"].as_str().expect("a scale").to_owned()
        };
        let neck = self.document(&["neck", "bus-shelter:6"])["scale"].as_str().expect("a scale").to_owned();
        let play = "play bus-shelter --bars 6-6 --tempo 400 --count-in 1 --headless --no-audio --midi-file demo.mid \
                    --choruses 1";
        let play: Vec<&str> = play.split_whitespace().collect();
        let reviewed = in_review(self.document(&["review", "demo.mid"]));
        [read, neck, reviewed, in_review(self.document(&play))]
    }
}

#[test]
fn a_scale_that_is_kept_wins_wherever_the_chart_is_read_until_it_is_taken_out() {
    let player = Player::new();
    let usual = player.everywhere();
    assert_eq!(usual, ["mixolydian", "Bb mixolydian", "Bb mixolydian", "Bb mixolydian"]);
    let kept = player.run(&["read", "bus-shelter", "--keep", "6.1=altered", "--bar", "6"]);
    assert_eq!(kept.code, Some(0), "{}", kept.stderr);
    assert!(kept.stderr.contains("Bus Shelter, Rain: 6.1 Bb7: altered is kept"), "{}", kept.stderr);
    assert!(kept.stdout.contains("Bb altered"), "{}", kept.stdout);
    assert_eq!(player.everywhere(), ["altered", "Bb altered", "Bb altered", "Bb altered"]);
    let review = player.run(&["review", "demo.mid"]);
    let said = "Counted by what you keep for this chart: 6.1 Bb7: altered.";
    assert!(review.stdout.contains(said), "{}", review.stdout);
    let gone = player.run(&["read", "bus-shelter", "--forget", "6.1"]);
    assert!(gone.stderr.contains("6.1 Bb7: altered is taken out"), "{}", gone.stderr);
    assert_eq!(player.everywhere(), usual);
    let again = player.run(&["read", "bus-shelter", "--forget", "all"]);
    assert_eq!((again.code, again.stdout.as_str()), (Some(2), ""));
    assert!(again.stderr.contains("--forget all: nothing is kept for Bus Shelter, Rain"), "{}", again.stderr);
}

#[test]
fn a_key_that_is_kept_says_what_the_chord_does_there() {
    let player = Player::new();
    let reading = player.document(&["read", "bus-shelter", "--keep-key", "9.1=D"]);
    let chord = reading["chords"].as_array().expect("chords").iter().find(|chord| chord["bar"] == 9);
    let chord = chord.expect("bar 9");
    assert_eq!((&chord["key"], &chord["function"]), (&"D major".into(), &"ii-7/IV".into()));
    assert_eq!(chord["overridden"], true);
}

#[test]
fn a_look_is_not_kept_and_wins_over_what_is() {
    let player = Player::new();
    let scale = |line: &[&str]| player.document(line)["chords"][0]["scale"]["name"].clone();
    assert_eq!(scale(&["read", "bus-shelter", "--set", "1.1=lydian"]), "lydian");
    assert_eq!(scale(&["read", "bus-shelter"]), "ionian");
    assert_eq!(scale(&["read", "bus-shelter", "--keep", "1.1=lydian"]), "lydian");
    assert_eq!(scale(&["read", "bus-shelter", "--set", "1.1=ionian"]), "ionian");
}

#[test]
fn a_chart_that_was_edited_keeps_what_still_stands_there_and_says_what_does_not() {
    let player = Player::new();
    let chart = player.folder().join("tune.bars");
    let written = |text: &str| std::fs::write(&chart, format!("title: Tune\n{text}")).expect("a chart");
    written("| Dm7 | G7 |\n");
    let kept = player.run(&["read", "tune.bars", "--keep", "1.1=phrygian", "--keep", "2.1=altered"]);
    assert_eq!(kept.code, Some(0), "{}", kept.stderr);
    written("tempo: 90\n| Dm7 | Db7 |\n");
    let read = player.run(&["read", "tune.bars"]);
    assert!(
        read.stdout.contains("D phrygian") && read.stdout.contains("Db lydian dominant"),
        "{}",
        read.stdout
    );
    let said = "kept for Tune: 2.1 G7: altered. It does not win here, as Db7 stands there now. \
                To take it out: --forget 2.1";
    assert!(read.stderr.contains(said), "{}", read.stderr);
}

#[test]
fn what_cannot_be_kept_says_why_and_nothing_is_kept() {
    let check = |line: &[&str], expect: &str| {
        let player = Player::new();
        let run = player.run(&[&["read"], line].concat());
        assert_eq!((run.code, run.stdout.as_str()), (Some(2), ""), "{}", run.stderr);
        assert!(run.stderr.contains(expect), "{}", run.stderr);
        assert!(!player.folder().join("journal.jsonl").exists());
    };
    check(
        &["bus-shelter", "--keep", "1.1=altered", "--keep", "99.1=altered"],
        "--keep 99.1: the page has bars 1 to 16",
    );
    check(&["bus-shelter", "--keep", "2.3=altered"], "--keep 2.3: bar 2 has 2 chords");
    check(
        &["bus-shelter", "--keep-key", "12.1=G"],
        "no chord is written in bar 12; name the bar it is held from",
    );
    check(&["demo.mid", "--keep", "1.1=altered"], "name a .bars file");
}
