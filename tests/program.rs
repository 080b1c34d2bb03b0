//! The program through its own door: arguments in; exit code, stdout and stderr out. Each test has a settings folder of
//! its own and an environment that holds nothing else.

use std::fs;
use std::path::PathBuf;

use assert_cmd::Command;
use tempfile::TempDir;

/// A settings folder of its own and the program that reads it.
struct Bench {
    folder: TempDir,
}

/// What a run gave.
struct Run {
    code: i32,
    stdout: String,
    stderr: String,
}

impl Bench {
    fn new() -> Self {
        Self { folder: tempfile::tempdir().expect("a temporary folder") }
    }

    fn with_settings(text: &str) -> Self {
        let bench = Self::new();
        fs::write(bench.settings(), text).expect("a settings file");
        bench
    }

    fn settings(&self) -> PathBuf {
        self.folder.path().join("settings.toml")
    }

    fn settings_text(&self) -> String {
        fs::read_to_string(self.settings()).expect("a settings file")
    }

    fn run(&self, line: &[&str]) -> Run {
        self.run_in(&[], line)
    }

    fn run_in(&self, environment: &[(&str, &str)], line: &[&str]) -> Run {
        let mut command = Command::new(assert_cmd::cargo::cargo_bin!("barwise"));
        command.env_clear().env("BARWISE_CONFIG_DIR", self.folder.path()).current_dir(self.folder.path());
        let output = command.envs(environment.iter().copied()).args(line).output().expect("the program runs");
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
        Run {
            code: output.status.code().expect("an exit code"),
            stdout: text(output.stdout),
            stderr: text(output.stderr),
        }
    }

    fn document(&self, line: &[&str]) -> serde_json::Value {
        serde_json::from_str(&self.run(line).stdout).expect("one JSON document")
    }
}

/// The row of a piped table that begins with `key`, by cells.
fn row(run: &Run, key: &str) -> Vec<String> {
    let found = run.stdout.lines().find(|line| line.split('\t').next() == Some(key));
    found.expect("a row").split('\t').map(str::to_owned).collect()
}

fn check_refused(line: &[&str], expect: &str) {
    let run = Bench::new().run(line);
    assert_eq!((run.code, run.stdout.as_str()), (2, ""), "{}", run.stderr);
    assert!(run.stderr.contains(expect), "{}", run.stderr);
}

#[test]
fn without_a_command_a_pipe_gets_short_help_on_stderr_and_exit_2() {
    let run = Bench::new().run(&[]);
    assert_eq!((run.code, run.stdout.as_str()), (2, ""));
    assert!(run.stderr.contains("Usage: barwise") && run.stderr.contains("barwise demo"));
}

#[test]
fn help_and_version_are_results() {
    let help = Bench::new().run(&["--help"]);
    assert_eq!((help.code, help.stderr.as_str()), (0, ""));
    assert!(help.stdout.contains("130  interrupted") && help.stdout.contains("--color <WHEN>"));
    let version = Bench::new().run(&["--version"]);
    assert_eq!(version.stdout, format!("barwise {}\n", env!("CARGO_PKG_VERSION")));
}

#[test]
fn usage_errors_exit_2_and_say_what_to_type() {
    check_refused(&["setings"], "'settings'");
    check_refused(&["settings", "--colour"], "--color");
    check_refused(&["settings", "--color", "mauve"], "possible values: auto, always, never");
    check_refused(&["completions", "csh"], "possible values: bash");
    check_refused(&["settings", "countign"], "Did you mean counting?");
    check_refused(&["settings", "counting", "loose"], "counting is strict, lenient, not \"loose\"");
    check_refused(&["settings", "schema", "setings"], "Did you mean settings?");
    check_refused(&["settings", "--config", "none.toml"], "none.toml: no such settings file");
}

#[test]
fn settings_are_rows_under_one_header_with_their_origin() {
    let run = Bench::with_settings("swing = 0.5\n")
        .run_in(&[("BARWISE_COUNTING", "lenient")], &["settings", "--ascii"]);
    assert_eq!(run.code, 0, "{}", run.stderr);
    assert!(run.stdout.starts_with("setting\tvalue\torigin\ttakes\tnote\n"));
    assert_eq!(row(&run, "counting")[1..3], ["lenient", "BARWISE_COUNTING"]);
    assert_eq!(row(&run, "ascii")[1..3], ["on", "--ascii"]);
    assert_eq!(row(&run, "run-share")[1..3], ["0.7", "default"]);
    let swing = row(&run, "swing");
    assert!(swing[1] == "0.5" && swing[2].ends_with("settings.toml"));
}

#[test]
fn one_setting_is_shown_alone() {
    let run = Bench::new().run(&["settings", "tuning"]);
    assert_eq!(run.stdout.lines().count(), 2);
    assert_eq!(row(&run, "tuning")[1..3], ["standard", "default"]);
}

#[test]
fn a_setting_is_written_and_comments_stay() {
    let bench = Bench::with_settings("# for the loud guitar\noffset-ms = 10.0 # measured\n");
    let run = bench.run(&["settings", "offset-ms", "-20"]);
    assert_eq!((run.code, run.stdout.as_str()), (0, ""), "{}", run.stderr);
    assert_eq!(bench.settings_text(), "# for the loud guitar\noffset-ms = -20.0 # measured\n");
    assert_eq!(row(&bench.run(&["settings"]), "offset-ms")[1], "-20");
}

#[test]
fn a_first_setting_makes_the_file_and_a_reset_takes_it_out() {
    let bench = Bench::new();
    assert_eq!(bench.run(&["settings", "ascii", "on"]).code, 0);
    assert_eq!(bench.settings_text(), "ascii = true\n");
    assert_eq!(bench.run(&["settings", "ascii", "--reset"]).code, 0);
    assert_eq!(bench.settings_text(), "");
}

#[test]
fn a_setting_that_the_environment_overrules_is_written_with_a_word_about_it() {
    let run = Bench::new().run_in(&[("BARWISE_SWING", "0.2")], &["settings", "swing", "0.5"]);
    assert_eq!(run.code, 0);
    assert!(run.stderr.contains("BARWISE_SWING is stronger and still gives 0.2"), "{}", run.stderr);
}

#[test]
fn a_file_named_on_the_command_line_is_read_and_written_in_place_of_the_usual_one() {
    let bench = Bench::with_settings("swing = 0.1\n");
    assert_eq!(bench.run(&["settings", "swing", "0.3", "--config", "other.toml"]).code, 0);
    assert_eq!(bench.settings_text(), "swing = 0.1\n");
    assert_eq!(row(&bench.run(&["settings", "--config", "other.toml"]), "swing")[1], "0.3");
}

#[test]
fn a_bad_settings_file_is_shown_by_line_and_column() {
    let bench = Bench::with_settings("# mine\ncounting = \"loose\"\n");
    let run = bench.run(&["settings"]);
    assert_eq!((run.code, run.stdout.as_str()), (2, ""));
    assert!(run.stderr.contains("settings.toml:2:12: counting is strict, lenient"), "{}", run.stderr);
}

#[test]
fn a_bad_variable_is_named() {
    let run = Bench::new().run_in(&[("BARWISE_BEND_RANGE", "wide")], &["settings"]);
    assert_eq!(run.code, 2);
    assert!(
        run.stderr.contains("BARWISE_BEND_RANGE: bend-range is auto, or a whole number from 1 to 96"),
        "{}",
        run.stderr
    );
}

#[test]
fn a_settings_file_that_cannot_be_read_or_written_is_store_trouble() {
    let bench = Bench::new();
    fs::write(bench.folder.path().join("file"), "").expect("a file");
    let inside_a_file = ["settings", "ascii", "on", "--config", "file/settings.toml"];
    let run = bench.run(&inside_a_file);
    assert_eq!((run.code, run.stdout.as_str()), (4, ""), "{}", run.stderr);
    assert!(run.stderr.contains("file/settings.toml: cannot be"), "{}", run.stderr);
}

#[test]
fn the_settings_document_keeps_to_its_published_schema() {
    let bench = Bench::new();
    let document = bench.document(&["settings", "--json"]);
    let schema = bench.document(&["settings", "schema", "settings"]);
    assert_eq!(document["schema"], "barwise.settings");
    assert_eq!(document["version"], 1);
    assert_eq!(document["tool"], format!("barwise {}", env!("CARGO_PKG_VERSION")));
    for field in document.as_object().expect("an object").keys() {
        assert!(schema["properties"].get(field).is_some(), "{field} is not in the schema");
    }
    let row = &schema["$defs"]["SettingRow"]["properties"];
    for setting in document["settings"].as_array().expect("rows") {
        for field in setting.as_object().expect("an object").keys() {
            assert!(row.get(field).is_some(), "{field} is not in the schema");
        }
    }
}

#[test]
fn colour_is_printed_only_where_it_is_asked_for() {
    let bench = Bench::new();
    let escape = '\u{1b}';
    assert!(!bench.run(&["settings"]).stdout.contains(escape));
    assert!(bench.run(&["settings", "--color", "always"]).stdout.contains(escape));
    let quiet = bench.run_in(&[("BARWISE_COLOR", "always")], &["settings", "--color", "never"]);
    assert!(!quiet.stdout.contains(escape));
}

#[test]
fn every_shell_gets_completions_that_name_every_command() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let run = Bench::new().run(&["completions", shell]);
        assert_eq!(run.code, 0, "{shell}: {}", run.stderr);
        for command in ["settings", "completions", "man"] {
            assert!(run.stdout.contains(command), "{shell}: {command}");
        }
    }
}

#[test]
fn the_manual_has_a_page_for_the_program_and_for_each_command() {
    let run = Bench::new().run(&["man"]);
    assert_eq!(run.code, 0, "{}", run.stderr);
    for title in [".TH barwise 1", ".TH barwise-settings 1", ".TH barwise-completions 1"] {
        assert!(run.stdout.contains(title), "{title}");
    }
    let environment = run.stdout.split(".SH ENVIRONMENT").nth(1).expect("what the environment can say");
    for variable in ["BARWISE_RUN_SHARE", "BARWISE_CONFIG_DIR", "BARWISE_DATA_DIR", "NO_COLOR"] {
        assert!(environment.contains(&format!(".TP\n{variable}\n")), "{variable}");
    }
    assert!(run.stdout.contains("EXIT STATUS"));
}

#[cfg(unix)]
#[test]
fn a_reader_that_had_enough_ends_the_run_quietly() {
    use std::process::{Command, Stdio};
    let mut child = Command::new(assert_cmd::cargo::cargo_bin!("barwise"));
    child.env_clear().args(["completions", "bash", "--config", "/dev/null"]);
    let (reader, writer) = std::io::pipe().expect("a pipe");
    drop(reader);
    let output =
        child.stdout(writer).stderr(Stdio::piped()).spawn().and_then(std::process::Child::wait_with_output);
    let output = output.expect("the program runs");
    assert_eq!(output.status.code(), Some(0));
    assert!(output.stderr.is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
}
