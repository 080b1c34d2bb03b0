//! Assignments that are read, written and refused.

use super::*;

#[test]
fn bands_are_read_as_they_are_written() {
    let text = "chord = \"55-70\"\nopen = \"-5\"\nlandings = \"50-\"\nneeds = 60\ncounting = \"lenient\"\n";
    let assignment = Assignment::parse("a.toml", text).expect("an assignment");
    let bands: Vec<_> = assignment.bands.bands.iter().map(|(m, b)| (m.word(), b.low(), b.high())).collect();
    assert_eq!(bands, [("chord", 0.55, 0.7), ("open", 0.0, 0.05), ("landings", 0.5, 1.0)]);
    assert!((assignment.bands.needs - 60.0).abs() < 1e-9);
    assert_eq!(assignment.counting, Some(Counting::Lenient));
}

#[test]
fn a_slip_is_told_with_its_place_and_what_to_write() {
    let check = |text: &str, expect: &str| {
        let message = Assignment::parse("a.toml", text).expect_err("a slip").to_string();
        assert!(message.contains(expect), "{message}");
    };
    check("chord = \"70-55\"", "a.toml:1:9: \"70-55\" is no band: write percent from low to high");
    check("chord = \"55-70\"\nneeds = 0", "a.toml:2:9: needs is a number of notes");
    check(
        "chord = \"55-70\"\ncounting = \"mild\"",
        "a.toml:2:12: counting is \"strict\" or \"lenient\", as in counting = \"lenient\"",
    );
    check("named_colours = true", "a.toml:1:17: named_colours is \"scale\" or \"chord\"");
    check(
        "kord = \"55-70\"",
        "a.toml:1:1: nothing that can be asked for is called \"kord\". Did you mean chord?",
    );
    check("colour = \"blue\"", "There are: chord, scale, outside, resolved, open, landings, needs, counting");
    check("", "a.toml:1:1: no band is asked for. Write one, as in chord = \"55-70\"");
    check(
        "chord = 55",
        "a.toml:1:9: 55 is no band: write percent from low to high in quotes, as in chord = \"55-70\"",
    );
    check("open = [0, 5]", "a.toml:1:8: [0, 5] is no band");
    check(
        "chord = \"55-70\"\nneeds = \"many\"",
        "a.toml:2:9: needs is a number of notes, 1 to 100000, as in needs",
    );
    check("[chord]\nlow = 55", "is no band: write percent");
    check("chord = 55-70", "a.toml:1:9: this is no line of bands (");
    check("chord = \"1-2\"\nkord = 1\nbord = 1", "a.toml:2:1: ");
}
