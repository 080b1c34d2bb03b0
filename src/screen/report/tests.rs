//! Bars and notes in order as a player sees them.

use ratatui::crossterm::event::KeyCode;

use super::*;
use crate::demo;
use crate::judge::Choices;
use crate::judge::again::Again;
use crate::screen::chorus::tests::seen;
use crate::screen::still::tests::{drawn, key, letter};
use crate::screen::theme::{Glyphs, Ink, Theme};

const ASCII: Theme = Theme { glyphs: Glyphs::Ascii, ink: Ink::NoColour };

fn screen() -> ReportScreen {
    ReportScreen::new(seen(), Part::Chorus(2), Opened::ToContest)
}

fn press(screen: &mut ReportScreen, keys: &[KeyCode]) -> Option<Wish> {
    keys.iter().map(|&code| screen.press(key(code))).last().flatten()
}

#[test]
fn the_second_chorus_at_80x24() {
    insta::assert_snapshot!(drawn(&mut screen(), 80, 24, Theme::default()));
}

#[test]
fn the_second_chorus_at_120x40() {
    let mut screen = screen();
    press(&mut screen, &[KeyCode::Right, KeyCode::Right]);
    insta::assert_snapshot!(drawn(&mut screen, 120, 40, Theme::default()));
}

#[test]
fn the_second_chorus_at_56x15() {
    insta::assert_snapshot!(drawn(&mut screen(), 56, 15, Theme::default()));
}

#[test]
fn the_whole_take_in_ascii() {
    let mut screen = screen();
    screen.press(letter('v'));
    insta::assert_snapshot!(drawn(&mut screen, 80, 24, ASCII));
}

#[test]
fn what_was_left_out_says_why() {
    let mut screen = screen();
    screen.press(letter('g'));
    insta::assert_snapshot!(drawn(&mut screen, 80, 24, Theme::default()));
}

#[test]
fn other_scales_are_seen_before_one_is_kept() {
    let bytes = demo::take().to_bytes();
    let choices = Choices::default();
    let again = Again { bytes: &bytes, choices, scales: Vec::new(), contests: Vec::new(), bands: None };
    let scales = again.other_scales(2, 7).expect("judged").expect("a chord");
    let mut screen = screen();
    screen.offer(ScaleChoice { chord_index: 7, scales: scales.clone(), at: 0 });
    insta::assert_snapshot!(drawn(&mut screen, 80, 24, Theme::default()));
    let wish = press(&mut screen, &[KeyCode::Down, KeyCode::Enter]);
    let scale = scales.others[1].written.clone();
    assert_eq!(wish, Some(Wish::KeepScale { chord_index: 7, scale }));
    assert_eq!(press(&mut screen, &[KeyCode::Esc]), None, "the rows come first");
    assert_eq!(press(&mut screen, &[KeyCode::Esc]), Some(Wish::Chorus));
}
