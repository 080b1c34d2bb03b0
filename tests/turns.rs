//! The tune at both ends, and bars traded with the drums: what is not the player's is kept and counted nowhere.

#[path = "support/dense_line.rs"]
mod dense_line;
#[path = "support/desk.rs"]
mod desk;

use dense_line::dense_line;
use desk::Desk;
use serde_json::Value;

/// Plays a line over four bars at 400, a sixteenth a note, and gives its review.
fn played(desk: &Desk, flags: &[&str]) -> Value {
    desk.write("four.bars", b"key: Bb\ntempo: 400\n| Bbmaj7 | G7 | Cm7 | F7 |\n");
    desk.write("line.mid", &dense_line(190));
    let line = ["play", "four.bars", "--midi-file", "line.mid", "--no-audio", "--headless", "--json"];
    serde_json::from_str(&desk.printed(&[&line, flags].concat())).expect("a review")
}

/// Notes counted in each bar, by chorus.
fn counted(review: &Value) -> Vec<Vec<u64>> {
    let mut choruses: Vec<Vec<u64>> = Vec::new();
    for bar in review["bars"].as_array().expect("bars") {
        if bar["bar"] == 1 {
            choruses.push(Vec::new());
        }
        let notes = bar["counted"].as_f64().expect("a count") as u64;
        choruses.last_mut().expect("a chorus").push(notes);
    }
    choruses
}

fn left_out(review: &Value, reason: &str) -> u64 {
    review["totals"]["left_out"][reason].as_u64().expect("a count")
}

#[test]
fn the_first_and_the_last_chorus_are_kept_and_not_counted() {
    let desk = Desk::new();
    let review = played(&desk, &["--head"]);
    let counted = counted(&review);
    let each: Vec<u64> = counted.iter().map(|bars| bars.iter().sum()).collect();
    assert_eq!((each.len(), each[0], each[2]), (3, 0, 0), "three choruses unless asked otherwise: {each:?}");
    assert!(each[1] > 50, "{each:?}");
    assert!(left_out(&review, "head") > 50);
    assert_eq!(review["totals"]["rests"]["of"], 16);
    let changes =
        review["chords"].as_array().expect("chords").iter().filter(|chord| !chord["landing"].is_null());
    assert!(changes.into_iter().all(|chord| chord["chorus"] == 2), "nothing to land on in the tune");
    assert_eq!(desk.printed(&["review", "last", "--json"]), desk.printed(&["review", "1", "--json"]));
    let again: Value = serde_json::from_str(&desk.printed(&["review", "last", "--json"])).expect("a review");
    assert_eq!(again["totals"], review["totals"], "the take remembers which choruses were the tune");
}

#[test]
fn the_bars_of_the_drums_are_not_counted() {
    let desk = Desk::new();
    let review = played(&desk, &["--trade", "2", "--choruses", "2"]);
    for bars in counted(&review) {
        assert!(bars[0] > 0 && bars[1] > 0 && bars[2] == 0 && bars[3] == 0, "{bars:?}");
    }
    assert!(left_out(&review, "not_yours") > 50);
    assert_eq!(review["totals"]["rests"]["of"], 16, "half of two choruses");
    let plain = desk.printed(&["review", "last", "--plain"]);
    assert!(plain.contains("bar 3 Cm7: drums, not counted"), "{plain}");
}

#[test]
fn a_head_without_a_chorus_between_is_refused() {
    let desk = Desk::new();
    let run = desk.command(&["play", "bus-shelter", "--head", "--choruses", "2", "--no-audio"]).output();
    let run = run.expect("it runs");
    let told = String::from_utf8_lossy(&run.stderr);
    assert_eq!(run.status.code(), Some(2), "{told}");
    assert!(told.contains("write --choruses 3 or more"), "{told}");
    assert!(!desk.folder.path().join("data/takes").exists(), "nothing is written");
}
