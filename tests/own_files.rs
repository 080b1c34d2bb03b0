//! The player's own files in trouble, through the program's own door: takes and settings that cannot be read, and places
//! that cannot be written to. What is wrong is said with its place and the way out, and the exit code tells whose it is.

use std::fs;
use std::path::PathBuf;

use assert_cmd::Command;
use serde_json::Value;
use tempfile::TempDir;

/// A folder of one's own for settings, takes and files.
struct Desk {
    folder: TempDir,
}

/// What a run gave.
struct Run {
    code: i32,
    stdout: String,
    stderr: String,
}

impl Desk {
    fn new() -> Self {
        Self { folder: tempfile::tempdir().expect("a folder") }
    }

    fn run(&self, line: &[&str]) -> Run {
        let home = self.folder.path();
        let mut command = Command::new(assert_cmd::cargo::cargo_bin!("barwise"));
        command.env_clear().current_dir(home);
        command.env("BARWISE_CONFIG_DIR", home).env("BARWISE_DATA_DIR", home.join("data"));
        let output = command.args(line).output().expect("the program runs");
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
        Run {
            code: output.status.code().expect("an exit code"),
            stdout: text(output.stdout),
            stderr: text(output.stderr),
        }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn write(&self, name: &str, text: &str) {
        fs::write(self.path(name), text).expect("a file");
    }

    /// Keeps the take of the demo under a number.
    fn with_take(self, number: u32) -> Self {
        fs::create_dir_all(self.path("data/takes")).expect("a folder");
        let file = format!("data/takes/take-{number:04}.mid");
        assert_eq!(self.run(&["demo", "-o", &file]).code, 0);
        self
    }

    /// Runs `line`, which is to end with `code`, print nothing and say every part.
    fn check_refused(&self, line: &[&str], code: i32, parts: &[&str]) {
        let run = self.run(line);
        assert_eq!((run.code, run.stdout.as_str()), (code, ""), "{line:?}: {}", run.stderr);
        for part in parts {
            assert!(run.stderr.contains(part), "{line:?} should say {part:?}:\n{}", run.stderr);
        }
        assert!(!run.stderr.contains("os error"), "{line:?}: {}", run.stderr);
    }
}

fn numbers_listed(run: &Run) -> Vec<Option<u64>> {
    let document: Value = serde_json::from_str(&run.stdout).expect("a document");
    document["takes"].as_array().expect("takes").iter().map(|take| take["take"].as_u64()).collect()
}

#[test]
fn a_folder_of_takes_that_is_not_there_is_an_empty_one() {
    let desk = Desk::new();
    let run = desk.run(&["takes", "--json"]);
    assert_eq!((run.code, run.stderr.as_str()), (0, ""));
    assert_eq!(numbers_listed(&run), []);
    desk.check_refused(&["review", "last"], 2, &["no take is kept yet"]);
}

#[test]
fn takes_that_cannot_be_read_are_store_trouble_and_never_no_takes() {
    let desk = Desk::new();
    desk.write("data", "a file where the folder should be");
    let said = ["data/takes: the takes in it cannot be read", "a file, not a folder", "set BARWISE_DATA_DIR"];
    for line in
        [&["takes"][..], &["takes", "--json"], &["takes", "drop", "1"], &["review", "last"], &["review", "1"]]
    {
        desk.check_refused(line, 4, &said);
    }
}

#[test]
fn a_take_that_does_not_read_costs_only_its_row_and_is_said() {
    let desk = Desk::new().with_take(1).with_take(3);
    desk.write("data/takes/take-0002.mid", "no MIDI file");
    fs::create_dir(desk.path("data/takes/take-0004.mid")).expect("a folder under the name of a take");
    let run = desk.run(&["takes", "--json"]);
    assert_eq!(numbers_listed(&run), [Some(1), Some(3)]);
    assert_eq!(run.code, 4, "the list is not whole");
    assert!(run.stderr.contains("take 2 is not listed: "), "{}", run.stderr);
    assert!(run.stderr.contains("take-0002.mid: not a MIDI file"), "{}", run.stderr);
    assert!(run.stderr.contains("take-0004.mid: is a folder"), "{}", run.stderr);
}

const TROUBLED: &str = "# mine\nswing = \"much\"\ncounting = \"loose\"\nascii = true\nfuture-key = 1\n";

#[test]
fn a_bad_value_stops_every_command_and_names_the_one_that_mends_it() {
    let desk = Desk::new();
    desk.write("settings.toml", TROUBLED);
    let said = [
        "settings.toml:2:9: swing is a number from 0 to 1, not \"much\". To take it out: barwise settings swing --reset",
        "settings.toml:3:12: counting is strict, lenient, not \"loose\". To take it out: barwise settings counting --reset",
    ];
    for line in [&["settings"][..], &["settings", "ascii"], &["takes"], &["demo"], &["read", "bus-shelter"]] {
        desk.check_refused(line, 2, &said);
    }
}

#[test]
fn a_settings_file_is_mended_from_inside_line_by_line() {
    let desk = Desk::new();
    desk.write("settings.toml", TROUBLED);
    let mend = |line: &[&str], text: &str, still: &[&str]| {
        let run = desk.run(line);
        assert_eq!((run.code, run.stdout.as_str()), (0, ""), "{line:?}: {}", run.stderr);
        assert_eq!(fs::read_to_string(desk.path("settings.toml")).expect("settings"), text);
        let told: Vec<&str> = run
            .stderr
            .lines()
            .filter_map(|line| line.split_once("settings.toml:"))
            .map(|(_, slip)| slip)
            .collect();
        assert_eq!(told.len(), still.len(), "{line:?}: {}", run.stderr);
        for (told, still) in told.iter().zip(still) {
            assert!(told.starts_with(still), "{told} is not {still}");
        }
    };
    mend(
        &["settings", "swing", "0.4"],
        "# mine\nswing = 0.4\ncounting = \"loose\"\nascii = true\nfuture-key = 1\n",
        &["3:12: counting", "5:1: no setting"],
    );
    mend(
        &["settings", "--reset", "counting"],
        "# mine\nswing = 0.4\nascii = true\nfuture-key = 1\n",
        &["4:1: no setting"],
    );
    mend(&["settings", "future-key", "--reset"], "# mine\nswing = 0.4\nascii = true\n", &[]);
    desk.check_refused(&["settings", "future-key", "--reset"], 2, &["no setting \"future-key\""]);
    assert_eq!(desk.run(&["settings"]).stderr, "");
}

#[test]
fn a_setting_of_a_newer_version_is_passed_over_with_a_word() {
    let desk = Desk::new();
    desk.write("settings.toml", "future-key = 1\ncountign = \"lenient\"\n[section]\nswing = 0.2\n");
    let run = desk.run(&["read", "bus-shelter", "--json"]);
    assert_eq!(run.code, 0, "{}", run.stderr);
    let said: Vec<&str> =
        run.stderr.lines().map(|line| line.rsplit_once('/').map_or(line, |(_, line)| line)).collect();
    let passed_over = |slip: &str, key: &str| {
        format!(
            "settings.toml:{slip} The line is passed over. To take it out: barwise settings {key} --reset"
        )
    };
    let expect = [
        passed_over("1:1: no setting \"future-key\".", "future-key"),
        passed_over("2:1: no setting \"countign\". Did you mean counting?", "countign"),
        passed_over("3:2: no setting \"section\".", "section"),
    ];
    assert_eq!(said, expect);
}

#[test]
fn the_remedy_names_the_file_that_was_named_and_works_as_it_is_said() {
    let desk = Desk::new();
    desk.write("mine.toml", "swing = 9\n");
    let run = desk.run(&["takes", "--config", "mine.toml"]);
    let (_, remedy) = run.stderr.trim_end().rsplit_once("To take it out: barwise ").expect("a remedy");
    assert_eq!(remedy, "settings swing --reset --config mine.toml");
    let line: Vec<&str> = remedy.split(' ').collect();
    assert_eq!(desk.run(&line).code, 0);
    assert_eq!(desk.run(&["takes", "--config", "mine.toml"]).code, 0);
}

#[test]
fn what_is_no_toml_is_not_changed_and_the_place_is_named() {
    let desk = Desk::new();
    desk.write("settings.toml", "ascii = true\nswing = much\n");
    for line in [&["settings", "swing", "0.4"][..], &["settings", "swing", "--reset"], &["takes"]] {
        desk.check_refused(
            line,
            2,
            &["settings.toml:2:9: this is no setting (", "Mend the line", "move the file away"],
        );
    }
    assert_eq!(
        fs::read_to_string(desk.path("settings.toml")).expect("settings"),
        "ascii = true\nswing = much\n"
    );
}

#[test]
fn a_take_or_a_day_that_is_none_is_met_with_what_to_write() {
    let desk = Desk::new().with_take(1).with_take(2);
    for (line, said) in [
        (&["takes", "--since", "foo"][..], "write a day as year-month-day, as in 2026-11-25"),
        (&["takes", "drop", "first"], "write one, as in 14, or last"),
        (&["takes", "drop", "99999999999"], "write one, as in 14, or last"),
        (&["takes", "drop", "7"], "no take 7; the last one is 2"),
    ] {
        desk.check_refused(line, 2, &[said]);
    }
    let run = desk.run(&["takes", "drop", "last"]);
    assert_eq!(run.code, 0, "{}", run.stderr);
    assert!(run.stderr.contains("take 2 is in the bin"), "{}", run.stderr);
    assert_eq!(numbers_listed(&desk.run(&["takes", "--json"])), [Some(1)]);
}

#[test]
fn a_file_of_bands_that_does_not_read_is_met_with_what_to_write() {
    let desk = Desk::new().with_take(1);
    let check = |text: &str, said: &[&str]| {
        desk.write("asked.toml", text);
        desk.check_refused(&["review", "1", "--check", "asked.toml"], 2, said);
    };
    check("chord = 55", &["asked.toml:1:9: 55 is no band", "as in chord = \"55-70\""]);
    check("kord = \"55-70\"", &["asked.toml:1:1: ", "\"kord\". Did you mean chord?"]);
    check("chord", &["asked.toml:1:6: this is no line of bands", "as in chord = \"55-70\""]);
    let take = "data/takes/take-0001.mid";
    let said = ["take-0001.mid: byte", "a file of bands is plain text, as in chord = \"55-70\""];
    desk.check_refused(&["review", "1", "--check", take], 2, &said);
}

#[test]
fn a_slip_in_the_path_of_an_output_makes_no_folder() {
    let desk = Desk::new();
    let said = ["there is no folder", "check the path, or make the folder first"];
    desk.check_refused(&["demo", "-o", "tpyo/demo.mid"], 4, &said);
    desk.check_refused(&["read", "bus-shelter", "-o", "tpyo/a/mine.bars"], 4, &said);
    assert!(!desk.path("tpyo").exists());
    desk.write("file", "");
    desk.check_refused(
        &["demo", "-o", "file/demo.mid"],
        4,
        &["file/demo.mid: a part of this path is a file"],
    );
    assert_eq!(desk.run(&["demo", "-o", "demo.mid"]).code, 0, "a bare name needs no folder");
}

#[test]
fn a_chart_is_never_written_over_what_is_no_chart() {
    let desk = Desk::new().with_take(1);
    let take = "data/takes/take-0001.mid";
    desk.write("notes.bars", "not a chart");
    desk.write("chart.txt", "| Dm7 |\n");
    for (name, why) in [
        (take, "its name does not end in .bars"),
        ("chart.txt", "its name does not end in .bars"),
        ("notes.bars", "it does not read as a chart"),
    ] {
        let before = fs::read(desk.path(name)).expect("a file");
        let said = [name, "this file is there already", why, "Write to a new name ending in .bars"];
        desk.check_refused(&["read", "bus-shelter", "-o", name], 2, &said);
        assert_eq!(fs::read(desk.path(name)).expect("still there"), before);
    }
    for _ in 0..2 {
        assert_eq!(desk.run(&["read", "bus-shelter", "-o", "mine.bars"]).code, 0, "a chart over a chart");
    }
    assert_eq!(desk.run(&["read", "bus-shelter", "-o", "new.txt"]).code, 0, "nothing is there");
}

#[test]
fn the_folder_of_the_settings_is_made() {
    let desk = Desk::new();
    let line = ["settings", "ascii", "on", "--config", "new/folder/settings.toml"];
    assert_eq!(desk.run(&line).code, 0);
    assert_eq!(
        fs::read_to_string(desk.path("new/folder/settings.toml")).expect("settings"),
        "ascii = true\n"
    );
}

#[test]
fn no_result_is_written_over_a_take_or_over_a_file_of_another_kind() {
    let desk = Desk::new().with_take(1);
    desk.write("bands.toml", "chord = \"55-70\"\n");
    let take = fs::read(desk.path("data/takes/take-0001.mid")).expect("a take");
    let kept = "in which takes are kept is not written over";
    desk.check_refused(&["demo", "-o", "data/takes/take-0001.mid"], 2, &[kept]);
    desk.check_refused(&["render", "bus-shelter", "-o", "data/takes/take-0001.mid"], 2, &[kept]);
    desk.check_refused(&["demo", "--html", "data/takes/take-0001.mid"], 2, &[kept]);
    desk.check_refused(&["demo", "--html", "bands.toml"], 2, &["it is no .html"]);
    desk.check_refused(&["demo", "-o", "bands.toml"], 2, &["it is no .mid"]);
    assert_eq!(fs::read(desk.path("data/takes/take-0001.mid")).expect("a take"), take);
    assert_eq!(fs::read(desk.path("bands.toml")).expect("bands"), b"chord = \"55-70\"\n");
}
