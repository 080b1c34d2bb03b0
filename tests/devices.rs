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

/// A file of notes on `key`, each so many milliseconds after a click, from the beats of `starts` on.
fn played_along(rounds: &[(i64, u8, f64)]) -> Vec<u8> {
    use barwise::take::{ChannelMessage, TakeFile};
    use barwise::time::Nanos;
    let mut solo = Vec::new();
    for &(start, key, late_ms) in rounds {
        for beat in start..start + 20 {
            let at = |ms: f64| Nanos(((beat as f64 * 60_000.0 / 90.0 + ms) * 1e6) as i64);
            let message = |wire: [u8; 3]| ChannelMessage::from_wire(&wire).expect("a message");
            let wobble = (beat % 3 - 1) as f64 * 2.0;
            solo.push((at(late_ms + wobble), message([0x90, key, 90])));
            solo.push((at(late_ms + wobble + 100.0), message([0x80, key, 0])));
        }
    }
    TakeFile { solo, ..TakeFile::default() }.to_bytes()
}

#[test]
fn an_offset_is_measured_kept_for_its_device_and_moved() {
    let desk = Desk::new();
    desk.write("keys.mid", &played_along(&[(0, 60, 24.0)]));
    let measured = |arguments: &[&str]| -> Value {
        let output = desk.run(&[&["calibrate", "--json"], arguments].concat());
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
        serde_json::from_str(&printed(&output)).expect("a document")
    };
    let nobodys = measured(&["--midi-file", "keys.mid", "--no-audio"]);
    assert!((nobodys["offset_ms"].as_f64().expect("a number") - 24.0).abs() < 0.1, "{nobodys}");
    assert!((nobodys["spread_ms"].as_f64().expect("a number") - 2.0).abs() < 0.1, "{nobodys}");
    assert!(nobodys["stored"].is_null());
    let unheard = desk.run(&["calibrate", "--midi-file", "keys.mid", "--midi-from", "Pad"]);
    let said = String::from_utf8_lossy(&unheard.stderr).into_owned();
    assert!(said.contains("Kept unheard. To confirm it by ear") && said.contains("--nudge-ms"), "{said}");
    std::fs::remove_dir_all(desk.folder.path().join("data")).expect("it was kept");
    assert!(!desk.folder.path().join("data").exists(), "what belongs to nobody is not kept");

    let kept = measured(&["--midi-file", "keys.mid", "--no-audio", "--midi-from", "Keys"]);
    assert_eq!((&kept["device"], &kept["notes"], &kept["of"]), (&"Keys".into(), &16.into(), &16.into()));
    let offset = kept["offset_ms"].as_f64().expect("a number");
    let moved = measured(&["--nudge-ms", "-4"]);
    assert!((moved["offset_ms"].as_f64().expect("a number") - (offset - 4.0)).abs() < 1e-9);
    let file = std::fs::read_to_string(desk.folder.path().join("data/devices.toml")).expect("the file");
    assert!(file.contains("[device.Keys]") && file.contains("offset_periods = 0.0"), "{file}");
}

#[test]
fn two_strings_tell_what_the_pitch_adds() {
    let desk = Desk::new();
    // Two periods of E2 and of E4 are 24.27 and 6.07 ms; beside them 9 ms.
    desk.write("guitar.mid", &played_along(&[(0, 40, 9.0 + 24.27), (24, 64, 9.0 + 6.07)]));
    let output =
        desk.run(&["calibrate", "--guitar", "--midi-file", "guitar.mid", "--midi-from", "Guitar", "--json"]);
    let document: Value = serde_json::from_str(&printed(&output)).expect("a document");
    assert!((document["offset_ms"].as_f64().expect("a number") - 9.0).abs() < 0.1, "{document}");
    assert_eq!((&document["offset_periods"], &document["of"]), (&2.0.into(), &32.into()));
}

#[test]
fn what_cannot_be_measured_is_not_kept() {
    let desk = Desk::new();
    desk.write("few.mid", &played_along(&[(15, 60, 20.0)]));
    desk.write("once.mid", &played_along(&[(0, 60, 20.0), (24, 60, 20.0)]));
    let check = |arguments: &[&str], code: i32, expect: &str| {
        let output = desk.run(&[&["calibrate"], arguments].concat());
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(code), "{said}");
        assert!(said.contains(expect), "{said}");
    };
    let from = ["--midi-from", "Keys", "--midi-file"];
    check(&[from.as_slice(), &["few.mid"]].concat(), 5, "no verdict: 5 notes with the clicks");
    check(&[from.as_slice(), &["once.mid", "--guitar"]].concat(), 5, "the lowest open string first");
    check(&["--midi-file", "none.mid"], 2, "none.mid: there is no such file");
    check(&["--no-audio"], 2, "the clicks must be heard");
    check(&["--nudge-ms", "3"], 2, "no offset is kept yet");
    assert!(!desk.folder.path().join("data").exists());
    std::fs::create_dir(desk.folder.path().join("data")).expect("a folder");
    desk.write("data/devices.toml", b"[device");
    check(&["--nudge-ms", "3"], 4, "devices.toml: not understood at line 1");
}

/// A file of these messages, each at its millisecond.
fn messages(sent: &[(i64, [u8; 3])]) -> Vec<u8> {
    use barwise::take::{ChannelMessage, TakeFile};
    use barwise::time::Nanos;
    let message = |&(ms, wire): &(i64, [u8; 3])| {
        (Nanos(ms * 1_000_000), ChannelMessage::from_wire(&wire).expect("a message"))
    };
    TakeFile { solo: sent.iter().map(message).collect(), ..TakeFile::default() }.to_bytes()
}

#[test]
fn what_is_heard_is_a_row_a_note() {
    let desk = Desk::new();
    let notes = [(100, [0x90, 58, 90]), (400, [0x80, 58, 0]), (500, [0x90, 60, 70]), (900, [0x80, 60, 0])];
    desk.write("line.mid", &messages(&notes));
    let output = desk.run(&["soundcheck", "--listen", "--midi-file", "line.mid"]);
    assert_eq!(output.status.code(), Some(0));
    let expect = "ms\tchannel\tstring\tfret\tnote\tvelocity\tcents\tleft out\n100\t1\t-\t-\tBb3\t90\t0\n500\t1\t-\t-\tC4\t70\t0\n";
    assert_eq!(printed(&output), expect);
    assert_eq!(desk.run(&["soundcheck", "--midi-file", "line.mid"]).status.code(), Some(2));
    assert_eq!(
        desk.run(&["soundcheck", "--listen", "--json", "--midi-file", "line.mid"]).status.code(),
        Some(2)
    );
}

#[test]
fn a_foot_switch_is_learnt_by_a_press() {
    let desk = Desk::new();
    desk.write("foot.mid", &messages(&[(100, [0xb1, 66, 127]), (300, [0xb1, 66, 0])]));
    desk.write("none.mid", &messages(&[(100, [0x90, 66, 127]), (300, [0x80, 66, 0])]));
    let learn =
        |file: &str| desk.run(&["soundcheck", "--learn-foot", "--midi-from", "Guitar", "--midi-file", file]);
    let nothing = learn("none.mid");
    assert_eq!(nothing.status.code(), Some(3), "{}", String::from_utf8_lossy(&nothing.stderr));
    let learnt = learn("foot.mid");
    let said = String::from_utf8_lossy(&learnt.stderr).into_owned();
    assert_eq!(learnt.status.code(), Some(0), "{said}");
    assert!(said.contains("Learnt for Guitar: controller 66 on channel 2."), "{said}");
    let file = std::fs::read_to_string(desk.folder.path().join("data/devices.toml")).expect("the file");
    assert!(file.contains("[device.Guitar.foot]") && file.contains("controller = 66"), "{file}");
}

#[test]
fn a_low_note_is_learnt_by_striking_it_twice_and_forgotten_when_asked() {
    let desk = Desk::new();
    let twice = |key: u8, apart: i64| {
        messages(&[(100, [0x95, key, 90]), (250, [0x85, key, 0]), (100 + apart, [0x95, key, 90])])
    };
    desk.write("low.mid", &twice(40, 600));
    desk.write("slow.mid", &twice(40, 1_500));
    desk.write("high.mid", &twice(64, 600));
    let learn = |file: &str| {
        desk.run(&["soundcheck", "--learn-low-note", "--midi-from", "Guitar", "--midi-file", file])
    };
    let said = |output: &Output| String::from_utf8_lossy(&output.stderr).into_owned();
    let slow = learn("slow.mid");
    assert_eq!(slow.status.code(), Some(3), "{}", said(&slow));
    let high = learn("high.mid");
    assert!(high.status.code() == Some(5) && said(&high).contains("E4 is no low note"), "{}", said(&high));
    assert!(!desk.folder.path().join("data").exists(), "nothing is kept of either");
    let learnt = learn("low.mid");
    assert_eq!(learnt.status.code(), Some(0), "{}", said(&learnt));
    assert!(said(&learnt).contains("Learnt for Guitar: E2, struck twice"), "{}", said(&learnt));
    let facts = || std::fs::read_to_string(desk.folder.path().join("data/devices.toml")).expect("the file");
    assert!(facts().contains("[device.Guitar.low_note]\nkey = 40"), "{}", facts());
    let forgotten = desk.run(&["soundcheck", "--forget-low-note"]);
    assert!(said(&forgotten).contains("on Guitar."), "{}", said(&forgotten));
    assert!(!facts().contains("low_note"), "{}", facts());
    assert!(said(&desk.run(&["soundcheck", "--forget-low-note"])).contains("nothing is changed"));
}

#[test]
fn takes_that_wait_for_a_cue_need_one() {
    let desk = Desk::new();
    let check = |arguments: &[&str], expect: &str| {
        let output = desk.run(&[&["play", "bus-shelter", "--no-audio", "--wait"], arguments].concat());
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{said}");
        assert!(said.contains(expect), "{said}");
    };
    check(&[], "there is no terminal, and no cue was learnt");
    check(&["--json"], "--wait plays several takes, and --json prints one document");
}

#[test]
fn strings_are_learnt_by_plucking_them() {
    let desk = Desk::new();
    let pluck = |at: i64, channel: u8, key: u8| {
        [(at, [0x90 | channel, key, 90]), (at + 300, [0x80 | channel, key, 0])]
    };
    let keys = [40, 45, 50, 55, 59, 64];
    let plucked = |channels: [u8; 6]| {
        let each = (0..6).flat_map(|i| pluck(i as i64 * 500, channels[i], keys[i]));
        messages(&each.collect::<Vec<_>>())
    };
    desk.write("mono.mid", &plucked([5, 4, 3, 2, 1, 0]));
    desk.write("poly.mid", &plucked([0; 6]));
    let learn = |file: &str| {
        desk.run(&["soundcheck", "--learn-strings", "--midi-from", "Guitar", "--midi-file", file])
    };
    let poly = learn("poly.mid");
    assert_eq!(poly.status.code(), Some(5));
    assert!(String::from_utf8_lossy(&poly.stderr).contains("one channel a string (mono mode"), "{poly:?}");
    assert_eq!(learn("mono.mid").status.code(), Some(0));
    let file = std::fs::read_to_string(desk.folder.path().join("data/devices.toml")).expect("the file");
    assert!(file.contains("first_channel = 1") && file.contains("order = \"high-first\""), "{file}");
}
