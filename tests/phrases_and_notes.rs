//! What is kept of a take and said of it, and the take heard again, through the program's own door.

#[path = "support/dense_line.rs"]
mod dense_line;
#[path = "support/desk.rs"]
mod desk;

use dense_line::dense_line;
use desk::Desk;
use serde_json::Value;

/// A desk with one take of two choruses of two bars.
fn played() -> Desk {
    let desk = Desk::new();
    desk.write("short.bars", b"title: Two Bars\nkey: Bb\ntempo: 400\n| Bbmaj7 | G7 |\n");
    desk.write("line.mid", &dense_line(32));
    let play = "play short.bars --midi-file line.mid --choruses 2 --no-audio --headless --json";
    desk.printed(&play.split(' ').collect::<Vec<_>>());
    desk
}

fn document(desk: &Desk, line: &str) -> Value {
    serde_json::from_str(&desk.printed(&line.split(' ').collect::<Vec<_>>())).expect("a document")
}

fn refused(desk: &Desk, line: &str, expect: &str) {
    let run = desk.command(&line.split(' ').collect::<Vec<_>>()).output().expect("it runs");
    assert_eq!(run.status.code(), Some(2), "{line}");
    let said = String::from_utf8_lossy(&run.stderr).into_owned();
    assert!(said.contains(expect), "{line}: {said}");
}

#[test]
fn a_phrase_is_kept_listed_written_and_taken_out() {
    let desk = played();
    refused(&desk, "takes phrase 1 --bars 2-2", "take 1 has choruses 1 to 2: write --chorus N");
    refused(&desk, "takes phrase 1 --bars 2-3 --chorus 1", "bars 1 to 2 were played in this take");
    desk.printed(&["takes", "phrase", "1", "--bars", "2-2", "--chorus", "1"]);
    assert_eq!(desk.printed(&["takes", "phrase", "last"]), "take 1: bar 2 of chorus 1\n");
    let phrase = &document(&desk, "takes --json")["takes"][0]["phrases"][0];
    assert_eq!((&phrase["chorus"], &phrase["bars"]["first"]), (&1.into(), &2.into()));
    assert!(desk.printed(&["review", "1"]).contains("Kept: bar 2 of chorus 1"));

    desk.printed(&["takes", "phrase", "1", "--bars", "2-2", "--chorus", "1", "-o", "phrase.mid"]);
    let of_take = document(&desk, "review 1 --json");
    let of_phrase = document(&desk, "review phrase.mid --json");
    let notes = |review: &Value, chorus: u64| -> Vec<u64> {
        let notes = review["notes"].as_array().expect("notes").iter();
        let there = notes.filter(|note| note["bar"] == 2 && note["chorus"] == chorus);
        there.map(|note| note["key"].as_u64().expect("a key")).collect()
    };
    assert!(!notes(&of_phrase, 1).is_empty());
    assert_eq!(notes(&of_phrase, 1), notes(&of_take, 1));

    desk.printed(&["takes", "phrase", "1", "--bars", "2-2", "--chorus", "1", "--out"]);
    refused(&desk, "takes phrase 1 --bars 2-2 --chorus 1 --out", "bar 2 of chorus 1: not kept");
    assert_eq!(document(&desk, "takes --json")["takes"][0].get("phrases"), None);
}

#[test]
fn a_note_to_self_stands_with_its_take_and_in_no_page() {
    let desk = played();
    desk.printed(&["takes", "note", "last", "lay back\non bar 2"]);
    assert_eq!(document(&desk, "takes --json")["takes"][0]["notes_to_self"][0], "lay back on bar 2");
    assert_eq!(document(&desk, "review 1 --json")["entered"]["notes_to_self"][0], "lay back on bar 2");
    assert!(desk.printed(&["review", "1"]).contains("Note to self: lay back on bar 2"));
    assert!(!desk.printed(&["review", "1", "--html", "-"]).contains("lay back"));
    desk.printed(&["takes", "note", "1", "--out"]);
    assert_eq!(document(&desk, "review 1 --json").get("entered"), None);
    refused(&desk, "takes note 1 --out", "there is no note to take out");
}

#[test]
fn a_take_is_heard_again_and_nothing_is_kept_of_it() {
    let desk = played();
    let replay = |flags: &str| {
        let line = format!("replay last --no-audio --headless --tempo 400{flags}");
        desk.printed(&line.split(' ').collect::<Vec<_>>())
    };
    assert_eq!(replay(""), "");
    assert_eq!(replay(" --bars 2-2 --chorus 2 --solo"), "");
    assert_eq!(document(&desk, "takes --json")["takes"].as_array().map(Vec::len), Some(1));
    let plain = "replay last --no-audio --plain --tempo 400 --bars 2-2 --chorus 1";
    let plain = desk.printed(&plain.split(' ').collect::<Vec<_>>());
    assert!(plain.contains("bar 2 G7"), "{plain}");
    refused(&desk, "replay last --no-audio --bars 9-9", "last: bars 1 to 2 were played in this take");
    refused(&desk, "replay line.mid --no-audio", "line.mid: it brings no chart");
    let run = desk.command(&["replay", "7"]).output().expect("it runs");
    assert_eq!(run.status.code(), Some(2));
}

#[test]
fn two_takes_of_one_chart_stand_beside_each_other_and_others_do_not() {
    let desk = played();
    desk.printed(&["demo", "-o", "demo.mid"]);
    desk.printed(&["takes", "phrase", "1", "--bars", "1-2", "--chorus", "2", "-o", "second.mid"]);
    let beside = document(&desk, "review 1 --beside second.mid --json");
    assert_eq!((&beside["schema"], &beside["first"]["take"]), (&"barwise.beside".into(), &1.into()));
    assert_eq!(beside["second"]["file"], "second.mid");
    let review = document(&desk, "review 1 --json");
    assert_eq!(beside["first"]["chord"], review["totals"]["chord"]);
    let plain = desk.printed(&["review", "1", "--beside", "second.mid", "--plain"]);
    assert!(plain.contains("bar 2 G7: a "), "{plain}");
    let rows = desk.printed(&["review", "1", "--beside", "second.mid"]);
    assert!(rows.starts_with("bar\tchords\ta c\t"), "{rows}");
    refused(&desk, "review 1 --beside demo.mid", "--beside demo.mid: it is over other chords");
}
