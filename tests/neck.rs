//! The pictures of neck and keys through the program's own door.

use assert_cmd::Command;

fn barwise(arguments: &[&str]) -> (String, String, i32) {
    let mut command = Command::cargo_bin("barwise").expect("the program");
    let home = tempfile::tempdir().expect("a folder");
    let output =
        command.args(arguments).env("XDG_CONFIG_HOME", home.path()).env("XDG_DATA_HOME", home.path());
    let output = output.output().expect("it runs");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (text(&output.stdout), text(&output.stderr), output.status.code().unwrap_or(-1))
}

#[test]
fn a_chord_of_a_chart_stands_on_the_neck() {
    let (picture, _, code) = barwise(&["neck", "bus-shelter:5", "--next", "Bb7"]);
    assert_eq!(code, 0);
    insta::assert_snapshot!(picture);
}

#[test]
fn a_position_shows_its_arpeggio() {
    let (picture, _, _) = barwise(&["neck", "Gm7", "--position", "Bb", "--names"]);
    insta::assert_snapshot!(picture);
}

#[test]
fn keys_show_the_same_in_ascii() {
    let (picture, _, _) = barwise(&["keys", "D7b9", "--next", "Gm7", "--ascii"]);
    insta::assert_snapshot!(picture);
}

#[test]
fn the_document_has_the_places_of_a_position_lowest_first() {
    let (json, _, _) = barwise(&["neck", "Gm7", "--position", "Bb", "--json"]);
    let document: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    assert_eq!(document["schema"], "barwise.neck");
    assert_eq!(document["scale"], "G dorian");
    let places = document["places"].as_array().expect("places");
    assert_eq!(places.len(), 18);
    assert_eq!(
        (&places[0]["string"], &places[0]["fret"], &places[0]["layer"]),
        (&6.into(), &6.into(), &"chord".into())
    );
}

#[test]
fn what_cannot_be_shown_says_what_to_write() {
    let (_, said, code) = barwise(&["neck", "Gm7", "--position", "B"]);
    assert_eq!(code, 2);
    assert!(said.contains("B is not in G dorian: start a position from G A Bb C D E F"), "{said}");
}
