//! Takes that end before the tune does: what was never played is no rest and no missed landing, and no note rings on.
#![cfg(unix)]

#[path = "support/dense_line.rs"]
mod dense_line;
#[path = "support/desk.rs"]
mod desk;

use std::io::{BufRead, BufReader};
use std::process::Stdio;

use dense_line::dense_line;
use desk::Desk;
use rustix::process::{Pid, Signal, kill_process};
use serde_json::Value;

/// A take over sixteen bars, three times, that is interrupted when bar 3 begins.
fn stopped_in_bar_3(desk: &Desk) -> Value {
    desk.write(
        "long.bars",
        "key: Bb\ntempo: 240\n| Bbmaj7 | G7 | Cm7 | F7 | Bbmaj7 | G7 | Cm7 | F7 |\n".as_bytes(),
    );
    desk.write("line.mid", &dense_line(600));
    let line = ["play", "long.bars", "--midi-file", "line.mid", "--choruses", "3", "--no-audio", "--plain"];
    let mut play = desk.command(&line);
    let mut child = play.stdout(Stdio::piped()).stderr(Stdio::null()).spawn().expect("it runs");
    let mut lines = BufReader::new(child.stdout.take().expect("a pipe")).lines().map_while(Result::ok);
    assert!(lines.any(|line| line.starts_with("bar 3 ")), "bar 3 was never printed");
    kill_process(Pid::from_child(&child), Signal::INT).expect("it runs still");
    assert!(lines.count() > 0, "the report");
    assert_eq!(child.wait().expect("it ends").code(), Some(130));
    serde_json::from_str(&desk.printed(&["review", "last", "--json"])).expect("a review")
}

#[test]
fn what_was_never_played_is_not_counted() {
    let desk = Desk::new();
    let review = stopped_in_bar_3(&desk);
    let bars = review["bars"].as_array().expect("bars");
    assert!((3..=5).contains(&bars.len()), "{} bars", bars.len());
    let of = review["totals"]["rests"]["of"].as_f64().expect("beats");
    assert!((8.0..20.0).contains(&of), "{of} beats were played");
    let rests = review["totals"]["rests"]["beats"].as_f64().expect("beats");
    assert!(rests < 1.0, "a line without a rest, {rests} beats of it");
    let two_bars = 2.0 * 1_000.0;
    for note in review["notes"].as_array().expect("notes") {
        assert!(note["duration_ms"].as_f64().expect("a length") < two_bars / 2.0, "{note}");
    }
    let warnings = review["warnings"].as_array().expect("warnings");
    assert_eq!(warnings.len(), 1, "no note was left sounding: {warnings:?}");
    let told = warnings[0]["message"].as_str().expect("words");
    assert!(told.starts_with("Stopped in bar ") && warnings[0]["code"] == "stopped", "{told}");
}
