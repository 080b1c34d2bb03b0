//! The assignment screen: its text, its bands, and what its keys wish for.

use proptest::prelude::*;

use super::*;
use crate::chart::Backing;
use crate::judge::assigned::Assigned;
use crate::practice::Assignment;
use crate::report::{Ink, Signs};
use crate::screen::bindings::tests::check_table;
use crate::screen::foot::tests::{in_all_sizes, press_at_any_size, presses};
use crate::screen::still::tests::{drawn, key, letter};
use crate::screen::theme::Theme;
use crate::theory::chord::BareSymbols;

fn document() -> AssignmentDocument {
    let backing = Backing::find("bus-shelter").expect("a chart that ships");
    let text = format!(
        "title = \"Thursday\"\nchord = \"55-70\"\nopen = \"0-5\"\nneeds = 60\nchart = '''\n{}'''\n",
        backing.text
    );
    let assignment = Assignment::parse("a.toml", &text).expect("an assignment");
    let assigned = Assigned::new(assignment, BareSymbols::default()).expect("its chart reads");
    AssignmentDocument::new(&assigned, Some(0.57))
}

const FORM: OutputForm = OutputForm::Terminal { width: 80, ink: Ink::Plain, signs: Signs::Unicode };

fn assignment(form: OutputForm) -> AssignmentScreen {
    AssignmentScreen::new(document(), form)
}

fn picture(screen: &mut AssignmentScreen) -> String {
    drawn(screen, 80, 60, Theme::default())
}

#[test]
fn every_key_is_its_own() {
    check_table(KEYS);
}

#[test]
fn the_student_sees_every_line_of_the_text() {
    let mut screen = assignment(FORM);
    let picture = picture(&mut screen);
    for line in text::lines(&document()) {
        assert!(picture.contains(line.trim_end()), "{line}\n{picture}");
    }
}

#[test]
fn a_band_is_chosen_with_arrows_and_typed() {
    let mut screen = assignment(FORM);
    assert!(picture(&mut screen).contains("> band 1 of 6, chord: 55 to 70 %"));
    screen.press(key(KeyCode::Left));
    assert!(picture(&mut screen).contains("> band 6 of 6, landings: not asked"));
    screen.press(key(KeyCode::Right));
    screen.press(key(KeyCode::Enter));
    for _ in 0..2 {
        screen.press(key(KeyCode::Backspace));
    }
    for sign in "80".chars() {
        screen.press(letter(sign));
    }
    let wish = screen.press(key(KeyCode::Enter));
    assert_eq!(wish, Some(Wish::Change(Measure::Chord, "55-80".to_owned())));
}

#[test]
fn files_are_asked_for_and_a_try_is_wished_for() {
    let mut screen = assignment(FORM);
    assert_eq!(screen.press(letter('t')), Some(Wish::Try));
    screen.press(letter('w'));
    assert_eq!(screen.press(key(KeyCode::Enter)), Some(Wish::Write("assignment.toml".to_owned())));
    screen.press(letter('p'));
    assert_eq!(screen.press(key(KeyCode::Enter)), Some(Wish::Page("assignment.html".to_owned())));
    screen.press(letter('o'));
    assert_eq!(screen.press(key(KeyCode::Enter)), None, "no name was typed");
}

#[test]
fn it_looks_like_this() {
    insta::assert_snapshot!(in_all_sizes(assignment));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn no_size_is_too_strange(presses in presses()) {
        press_at_any_size(&mut assignment(FORM), &presses);
    }
}
