//! The class screen: rows, one student, bars, and what its keys wish for.

use proptest::prelude::*;

use super::*;
use crate::report::assignment::AssignmentName;
use crate::report::class::{ClassBarRecord, FindingCounts, StudentRecord};
use crate::report::number::Count;
use crate::report::review::TOOL;
use crate::report::verdict::{BandRecord, ContestRecord};
use crate::report::{Ink, Signs};
use crate::screen::bindings::tests::check_table;
use crate::screen::foot::tests::{in_all_sizes, press_at_any_size, presses};
use crate::screen::still::tests::{drawn, key, letter};
use crate::screen::theme::Theme;

fn student(name: &str, verdict: &'static str, share: f64) -> StudentRecord {
    let band = BandRecord {
        measure: "chord",
        asked_low: 0.55,
        asked_high: 0.7,
        n: Count((share * 120.0).round()),
        of: Count(120.0),
        share: Some(share),
        low: Some(share - 0.07),
        high: Some(share + 0.07),
        verdict,
    };
    let contest = ContestRecord {
        take: 3,
        note: "note 12".to_owned(),
        heard_as: "chord".to_owned(),
        reason: "it is the 3rd of the chord that comes".to_owned(),
    };
    StudentRecord {
        student: name.to_owned(),
        file: Some(format!("{name}.hand-in.toml")),
        takes: 3,
        last_played: Some("2026-11-24".to_owned()),
        used: vec![2, 3],
        counted: Count(120.0),
        chord: None,
        open: None,
        landings: None,
        verdict,
        sentence: format!("{verdict}: chord {share}"),
        bands: vec![band],
        verdict_as_contested: Some("met"),
        contests: vec![contest],
        note: Some("bar 9 is hard".to_owned()),
        gear: Vec::new(),
        after_due: false,
        talk_about: "bars 12-13".to_owned(),
    }
}

fn document(students: Vec<StudentRecord>) -> ClassDocument {
    let bar =
        |bar| ClassBarRecord { bar, symbols: vec!["Am7b5".to_owned()], open: bar % 4, missed: 1, of: 3 };
    ClassDocument {
        schema: "barwise.class",
        version: 1,
        tool: TOOL,
        assignment: AssignmentName {
            title: Some("Thursday".to_owned()),
            number: Some(3),
            due: Some("2026-12-03".to_owned()),
            chart: "Bus Shelter, Rain".to_owned(),
            rule_sha256: String::new(),
        },
        heard: students.len(),
        findings: FindingCounts { met: 1, undecided: 1, ..FindingCounts::default() },
        students,
        bars: (1..=16).map(bar).collect(),
        same_bar: Some(13),
        bands: Vec::new(),
        running_the_scale: Some(0.57),
        files_read: 2,
        files: Vec::new(),
    }
}

const FORM: OutputForm = OutputForm::Terminal { width: 80, ink: Ink::Plain, signs: Signs::Unicode };

fn class(form: OutputForm) -> ClassScreen {
    let students = vec![student("Nele", "undecided", 0.71), student("Ole", "met", 0.62)];
    ClassScreen::new(document(students), form)
}

fn picture(class: &mut ClassScreen) -> String {
    drawn(class, 80, 30, Theme::default())
}

#[test]
fn every_key_is_its_own() {
    check_table(KEYS);
}

#[test]
fn one_student_shows_the_figures_of_the_document() {
    let mut class = class(FORM);
    assert!(picture(&mut class).contains("> Nele, 1 of 2: undecided"));
    class.press(key(KeyCode::Down));
    class.press(key(KeyCode::Enter));
    let ole = picture(&mut class);
    for figure in ["62 % (55-69), 74 of 120", "55 to 70 %", "together: 2, 3", "bar 9 is hard"] {
        assert!(ole.contains(figure), "{figure}: {ole}");
    }
    class.press(key(KeyCode::Up));
    assert!(picture(&mut class).contains("71 % (64-78)"));
    assert_eq!(class.press(key(KeyCode::Esc)), None, "back to the rows first");
    assert_eq!(class.press(key(KeyCode::Esc)), Some(Wish::Back));
}

#[test]
fn bars_come_and_go_and_files_are_asked_for() {
    let mut class = class(FORM);
    let rows = picture(&mut class);
    class.press(letter('b'));
    assert_ne!(picture(&mut class), rows);
    class.press(letter('b'));
    assert_eq!(picture(&mut class), rows);
    class.press(letter('p'));
    assert_eq!(class.press(key(KeyCode::Enter)), Some(Wish::Page("class.html".to_owned())));
    class.press(letter('x'));
    assert_eq!(class.press(key(KeyCode::Enter)), Some(Wish::Export("class.csv".to_owned())));
}

#[test]
fn without_students_there_is_none_to_open() {
    let mut class = ClassScreen::new(document(Vec::new()), FORM);
    class.press(key(KeyCode::Enter));
    assert!(picture(&mut class).contains("no hand-in was read"));
}

#[test]
fn it_looks_like_this() {
    let one_student = |form| {
        let mut class = class(form);
        class.press(key(KeyCode::Enter));
        class
    };
    insta::assert_snapshot!(in_all_sizes(class));
    insta::assert_snapshot!(in_all_sizes(one_student));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn no_size_is_too_strange(presses in presses()) {
        press_at_any_size(&mut class(FORM), &presses);
    }
}
