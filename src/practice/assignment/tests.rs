//! Assignments that are read, written and refused.

use proptest::prelude::*;

use super::*;
use crate::tally::verdict::{Band, FEWEST_NOTES, Measure};

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

/// An assignment that says everything.
fn whole() -> Assignment {
    Assignment {
        bands: Bands {
            bands: vec![
                (Measure::Chord, Band::new(0.55, 0.705).expect("a band")),
                (Measure::Landings, Band::new(0.5, 1.0).expect("a band")),
            ],
            needs: 60.0,
        },
        counting: Some(Counting::Lenient),
        named_colours: Some(NamedColours::ChordTones),
        task: Task {
            chart: Some("title: It's \"two\" bars\n| F7 | Bb7 |\n".to_owned()),
            keys: ["F", "Eb"].map(|key| key.parse().expect("a key")).to_vec(),
            bars: Some((1, 2)),
            tempo: TempoBand::new(116.0, 132.5),
            feel: Some(Feel::Bossa),
            choruses: Some(2),
        },
        takes: TakesAsked::AnyTwo,
        words: Words {
            title: Some("Thursday, \"room\" 4".to_owned()),
            number: Some(5),
            due: Some(Date::constant(2026, 12, 3)),
            focus: Some("frets 5 to 9".to_owned()),
            question: Some("Does bar 2 turn?".to_owned()),
            comment: Some("two\nlines".to_owned()),
        },
        settings: [("sus".to_owned(), "sus2".into()), ("run-share".to_owned(), 0.6.into())]
            .into_iter()
            .collect(),
        model: Some(SentTake {
            quarter_us: 500_000,
            choruses: 1,
            end_ticks: 40_320,
            notes: "0/903c54 5040/803c00".to_owned(),
            ..SentTake::default()
        }),
    }
}

#[test]
fn what_is_written_is_read() {
    let seen = ["what the student sees".to_owned(), String::new()];
    let text = whole().to_text(&seen);
    assert!(text.starts_with("# what the student sees\n#\n"), "{text}");
    assert_eq!(Assignment::parse("a.toml", &text), Ok(whole()), "{text}");
}

#[test]
fn the_rule_is_what_decides_and_words_are_not() {
    let mut other = whole();
    (other.words, other.model) = (Words::default(), None);
    assert_eq!(other.rule(), whole().rule());
    let changes: [fn(&mut Assignment); 6] = [
        |other| other.bands.needs = 61.0,
        |other| other.counting = Some(Counting::Strict),
        |other| other.task.tempo = None,
        |other| other.takes = TakesAsked::TwoOfTheLastFive,
        |other| other.task.chart = Some("| F7 |\n".to_owned()),
        |other| other.settings.clear(),
    ];
    for change in changes {
        let mut other = whole();
        change(&mut other);
        assert_ne!(other.rule(), whole().rule());
    }
}

#[test]
fn the_rule_is_written_the_same_for_good() {
    // Hand-ins carry its fingerprint: another text here would make those of an older program foreign.
    let expect = "chart = '''
title: It's \"two\" bars
| F7 | Bb7 |
'''
key = \"F, Eb\"
bars = \"1-2\"
tempo = \"116-132.5\"
feel = \"bossa\"
choruses = 2
chord = \"55-70.5\"
landings = \"50-\"
needs = 60
counting = \"lenient\"
named_colours = \"chord\"
takes = \"any two\"
settings.sus = \"sus2\"
settings.run-share = 0.6";
    assert_eq!(whole().rule(), expect);
}

#[test]
fn slips_in_what_is_to_be_played_say_what_to_write() {
    let check = |line: &str, expect: &str| {
        let text = format!("chord = \"55-70\"\n{line}\n");
        let message = Assignment::parse("a.toml", &text).expect_err("a slip").to_string();
        assert!(message.starts_with("a.toml:2:") && message.contains(expect), "{message}");
    };
    check(
        "tempo = \"132-116\"",
        "quarter notes a minute from slowest to fastest, 20 to 400, as in \"116-132\"",
    );
    check("bars = \"9-4\"", "is not bars, as in \"9-12\"");
    check("choruses = 0", "choruses is a number of choruses, 1 to 99, as in choruses = 2");
    check("feel = \"swung\"", "Did you mean swing?");
    check("due = \"soon\"", "due: \"soon\" is not a day as year-month-day, as in due = 2026-12-03");
    check("key = \"H\"", "key: ");
    check("takes = \"all\"", "takes is \"two of the last five\" or \"any two\"");
    check("settings = 5", "settings: 5 is not a table of settings");
    check("model = 5", "model: this is no take");
    check("model = { choruses = 0 }", "model: quarter_us is 0: no take has that");
    check(
        &format!("question = \"{}\"", "x".repeat(2_001)),
        "question has 2001 characters, 2000 are the most",
    );
    check("tempos = 5", "Did you mean tempo?");
}

#[test]
fn a_tempo_alone_is_a_band_of_one() {
    let text = "chord = \"55-70\"\ntempo = 120\ndue = \"2026-12-03\"\n";
    let read = Assignment::parse("a.toml", text).expect("an assignment");
    let tempo = read.task.tempo.expect("a tempo");
    assert!(tempo.has(120.0) && tempo.has(120.04) && !tempo.has(121.0));
    assert_eq!((tempo.to_string().as_str(), read.words.due), ("120", Some(Date::constant(2026, 12, 3))));
    assert!((read.bands.needs - FEWEST_NOTES).abs() < 1e-9);
}

#[test]
fn a_band_between_two_near_edges_is_narrow() {
    let check = |low, high, expect| {
        let band = Band::new(low, high).expect("a band");
        assert_eq!(Assignment::is_narrow(band), expect, "{low}-{high}");
    };
    check(0.55, 0.65, true);
    check(0.55, 0.70, false);
    check(0.0, 0.05, false);
    check(0.95, 1.0, false);
}

proptest! {
    #[test]
    fn any_words_are_written_so_that_they_are_read(title in ".{0,60}", comment in any::<String>(), chart in any::<String>()) {
        let mut assignment = whole();
        assignment.words.title = Some(title.trim().to_owned());
        assignment.words.comment = Some(comment.chars().take(2_000).collect::<String>().trim().to_owned());
        // Line ends are those of the file: what a chart has of others is read as one.
        assignment.task.chart = Some(chart.replace('\r', ""));
        let text = assignment.to_text(&[]);
        prop_assert_eq!(Assignment::parse("a.toml", &text), Ok(assignment), "{}", text);
    }

    #[test]
    fn any_text_is_an_assignment_or_refused(text in ".{0,200}") {
        let _ = Assignment::parse("a.toml", &text);
    }
}
