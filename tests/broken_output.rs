//! A take whose lines nobody can read any longer: it stops, says why, and what was played is kept.
#![cfg(target_os = "linux")]

use std::fs::{self, File};
use std::io::{BufRead, BufReader, Read};
use std::process::{Command, Stdio};

use tempfile::TempDir;

const FAST: &str = "key: Bb\ntempo: 400\n| Bbmaj7 | G7 |\n";

fn play(home: &TempDir) -> Command {
    fs::write(home.path().join("fast.bars"), FAST).expect("a chart");
    let mut command = Command::new(env!("CARGO_BIN_EXE_barwise"));
    command
        .current_dir(home.path())
        .env("BARWISE_CONFIG_DIR", home.path())
        .env("BARWISE_DATA_DIR", home.path());
    command.args(["play", "fast.bars", "--choruses", "50", "--no-audio", "--plain"]).stdin(Stdio::null());
    command
}

#[test]
fn a_full_disk_behind_the_lines_stops_the_take_and_is_told() {
    let home = tempfile::tempdir().expect("a folder");
    let full = File::options().write(true).open("/dev/full").expect("the device of full disks");
    let done = play(&home).stdout(full).output().expect("it runs");
    let told = String::from_utf8_lossy(&done.stderr);
    assert_eq!(done.status.code(), Some(4), "{told}");
    assert!(told.contains("The take could no longer be shown (the disk is full): stopped."), "{told}");
}

#[test]
fn a_reader_that_has_enough_stops_the_take_quietly_and_it_is_kept() {
    let home = tempfile::tempdir().expect("a folder");
    let mut child = play(&home).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("it runs");
    let lines = BufReader::new(child.stdout.take().expect("a pipe")).lines();
    let bar = lines.map_while(Result::ok).find(|line| line.starts_with("bar 2 "));
    assert!(bar.is_some(), "bar 2 was never printed");
    let mut told = String::new();
    child.stderr.take().expect("a pipe").read_to_string(&mut told).expect("words");
    assert_eq!(child.wait().expect("it ends").code(), Some(0), "{told}");
    assert!(told.contains("could no longer be shown (nobody reads it any more): stopped."), "{told}");
    assert!(home.path().join("takes/take-0001.mid").exists(), "{told}");
}
