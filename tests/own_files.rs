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
