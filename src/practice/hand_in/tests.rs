//! Hand-ins that are written, read, damaged and refused; texts of strangers made tame.

use proptest::prelude::*;

use super::*;
use crate::store::journal::entry::NoteName;

fn take(number: u32) -> SentTake {
    SentTake {
        take: Some(number),
        day: Some("2026-12-01".to_owned()),
        quarter_us: 500_000,
        choruses: 2,
        end_ticks: 90_000,
        spread_ms: Some(3.5),
        gaps: vec![(5, 9)],
        notes: "0/903c54 5040/803c00".to_owned(),
        settings: [("offset-ms".to_owned(), 12.5.into())].into_iter().collect(),
        ..SentTake::default()
    }
}

fn contest(heard_as: HeardAs) -> Contest {
    let note = NoteName::Place { chorus: 1, bar: 9, note: 4 };
    Contest { take: 14, note, heard_as, reason: "the band plays it".to_owned() }
}

fn hand_in() -> HandIn {
    HandIn {
        name: None,
        day: Some("2026-12-02".to_owned()),
        note: Some("Bar 9 was hard".to_owned()),
        assignment: ForAssignment {
            title: Some("Thursday, \"room\" 4".to_owned()),
            number: Some(5),
            rule_sha256: "ab".repeat(32),
        },
        verdict: Told { verdict: "met".to_owned(), sentence: "met".to_owned(), takes: vec![13, 14] },
        contest: vec![
            contest(HeardAs::Chord),
            contest(HeardAs::Over("Bb7alt".to_owned())),
            contest(HeardAs::NotPlayed),
        ],
        take: vec![take(13), take(14)],
    }
}

/// A body with a fingerprint that fits.
fn sealed(body: &str) -> String {
    format!("# {KIND}\nsha256 = \"{}\"\n{body}", fingerprint(body.as_bytes()))
}

#[test]
fn what_is_written_is_read() {
    let text = hand_in().to_text("barwise");
    assert_eq!(HandIn::parse(&text), Ok(hand_in()));
    assert_eq!(HandIn::parse(&text.replace('\n', "\r\n")), Ok(hand_in()), "mail programs change line ends");
}

#[test]
fn every_change_of_the_content_is_noticed() {
    let text = hand_in().to_text("barwise");
    let (head, body) = text.split_at(text.find("\nday").expect("a day") + 1);
    for at in
        (0..body.len()).step_by(7).filter(|&at| body.is_char_boundary(at) && body.is_char_boundary(at + 1))
    {
        let changed = format!("{head}{}#{}", &body[..at], &body[at + 1..]);
        if changed != text {
            assert_eq!(HandIn::parse(&changed), Err(NoHandIn::Damaged), "at {at}");
        }
    }
    assert_eq!(HandIn::parse(&text[..text.len() - 9]), Err(NoHandIn::Damaged));
    assert_eq!(HandIn::parse("title = \"x\""), Err(NoHandIn::Foreign));
    assert_eq!(HandIn::parse(""), Err(NoHandIn::Foreign));
}

#[test]
fn numbers_that_no_take_has_are_refused_by_name() {
    let check = |change: fn(&mut SentTake), expect: &str| {
        let mut changed = hand_in();
        change(&mut changed.take[1]);
        let said = HandIn::parse(&changed.to_text("x")).expect_err("no such take").to_string();
        assert!(said.starts_with("take 2: ") && said.contains(expect), "{said}");
    };
    check(|take| take.choruses = 0, "choruses is 0");
    check(|take| take.choruses = 1_000, "choruses is 1000");
    check(|take| take.quarter_us = 0, "quarter_us is 0");
    check(|take| take.count_in_ticks = -1, "count_in_ticks is -1");
    check(|take| take.end_ticks = i64::MAX, "end_ticks");
    check(|take| take.gaps = vec![(9, 5)], "gaps is 9");
    check(|take| take.notes = "0/903c54 x".to_owned(), "message 2 of the notes");
}

#[test]
fn more_than_is_read_is_said() {
    let many = HandIn { take: vec![take(1); MOST_TAKES + 1], ..HandIn::default() };
    let said = HandIn::parse(&many.to_text("x")).expect_err("too many").to_string();
    assert_eq!(said, "holds more than is read: 61 takes, 60 are the most");
}

#[test]
fn settings_that_are_not_of_an_instrument_do_not_come_in() {
    let mut changed = hand_in();
    for (name, value) in [("counting", "lenient"), ("ghost-filter", "off"), ("owner", "x")] {
        changed.take[0].settings.insert(name.to_owned(), value.into());
    }
    let read = HandIn::parse(&changed.to_text("x")).expect("a hand-in");
    assert_eq!(read, hand_in());
}

#[test]
fn what_a_newer_program_wrote_is_passed_over() {
    let body = toml::to_string(&hand_in()).expect("TOML");
    let newer = format!("mood = \"calm\"\n{body}");
    assert_eq!(HandIn::parse(&sealed(&newer)), Ok(hand_in()));
}

#[test]
fn deep_nesting_and_odd_types_are_refused_in_words() {
    let check = |body: &str| {
        let said = HandIn::parse(&sealed(body)).expect_err("refused").to_string();
        assert!(said.starts_with("damaged: ") && !said.contains('\n'), "{said}");
    };
    check(&format!("x = {}{}\n", "[".repeat(10_000), "]".repeat(10_000)));
    check("take = 5\n");
    check("name = [1]\n");
    check("name = \"a\"\nname = \"b\"\n");
}

#[test]
fn texts_of_strangers_are_made_tame() {
    let check = |text: &str, expect: &str| assert_eq!(tame(text, 12), expect, "{text:?}");
    check("student-05", "student-05");
    check("a\u{1b}[2Jb", "a [2Jb");
    check("a\r\n\tb", "a b");
    check("\u{202e}drawkcab", "drawkcab");
    check("a\u{301}\u{301}\u{301}\u{301}b", "a\u{301}\u{301}b");
    check("\u{200b}\u{feff}", "");
    check("one two three four", "one two thr…");
    check("日本", "日本");
    check("=1+1", "=1+1");
}

proptest! {
    #[test]
    fn any_words_come_back_tame(name in any::<String>(), note in ".{0,300}", title in any::<String>()) {
        let mut written = hand_in();
        (written.name, written.note, written.assignment.title) = (Some(name), Some(note), Some(title));
        let read = HandIn::parse(&written.to_text("x")).expect("a hand-in");
        for text in [read.name, read.note, read.assignment.title].into_iter().flatten() {
            prop_assert!(!text.chars().any(|sign| sign.is_control() || steers(sign)), "{text:?}");
            prop_assert!(text.chars().count() <= LONGEST_NOTE);
            prop_assert_eq!(tame(&text, LONGEST_NOTE), text);
        }
    }

    #[test]
    fn any_text_is_read_or_refused(text in ".{0,300}", body in ".{0,300}") {
        let _ = HandIn::parse(&text);
        let _ = HandIn::parse(&sealed(&body));
    }
}
