//! Commands about devices, through the program's own door, on any machine: with sound left out and notes from files.

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
        command.env("LC_ALL", "C.UTF-8").args(arguments).output().expect("it runs")
    }

    fn write(&self, name: &str, bytes: &[u8]) {
        std::fs::write(self.folder.path().join(name), bytes).expect("a file");
    }
}

fn printed(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("text")
}

/// One check of a sound check as JSON.
fn check(document: &Value, name: &str) -> Value {
    let checks = document["checks"].as_array().expect("checks");
    checks.iter().find(|check| check["check"] == name).expect("a check").clone()
}

#[test]
fn a_sound_check_without_devices_says_what_is_there_and_ends_well() {
    let desk = Desk::new();
    let output = desk.run(&["soundcheck", "--no-audio", "--json"]);
    assert_eq!(output.status.code(), Some(0));
    let document: Value = serde_json::from_str(&printed(&output)).expect("a document");
    assert_eq!(document["schema"], "barwise.soundcheck");
    assert_eq!(check(&document, "sound-out")["found"], "left out: --no-audio");
    assert_eq!(check(&document, "terminal")["facts"]["utf8"], true);
    assert_eq!(check(&document, "store")["result"], "ok");
    assert_eq!(check(&document, "settings")["facts"]["there"], false);
    assert!(check(&document, "clock")["facts"]["step_ns"].as_i64() > Some(0));
    assert!(!desk.folder.path().join("data").exists(), "nothing is written");
    let rows = printed(&desk.run(&["soundcheck", "--no-audio"]));
    let names: Vec<&str> = rows.lines().filter_map(|row| row.split('\t').next()).collect();
    assert_eq!(names, ["check", "notes-in", "sound-out", "terminal", "store", "settings", "clock"]);
}

#[test]
fn what_was_asked_for_by_name_fails_where_it_is_not_there() {
    let desk = Desk::new();
    assert_eq!(
        desk.run(&["soundcheck", "--no-audio", "--midi-from", "no such input"]).status.code(),
        Some(3)
    );
    let output = desk.run(&["soundcheck", "--silent", "--audio-host", "gramophone"]);
    assert_eq!(output.status.code(), Some(3));
    assert!(printed(&output).contains("sound-out\tfail\t"), "{}", printed(&output));
}

#[test]
fn a_store_that_cannot_be_written_is_store_trouble() {
    let desk = Desk::new();
    desk.write("data", b"a file in the way");
    let output = desk.run(&["soundcheck", "--no-audio"]);
    assert_eq!(output.status.code(), Some(4));
    assert!(printed(&output).contains("set BARWISE_DATA_DIR"), "{}", printed(&output));
}

#[test]
fn slips_in_the_settings_file_are_a_caution() {
    let desk = Desk::new();
    desk.write("settings.toml", b"countign = 3\nswing = 7\n");
    let output = desk.run(&["soundcheck", "--no-audio"]);
    assert_eq!(output.status.code(), Some(0));
    assert!(
        printed(&output).contains("settings.toml: 2 of its lines not understood"),
        "{}",
        printed(&output)
    );
}
