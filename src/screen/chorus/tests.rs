//! The chorus on its chart as a player sees it.

use std::sync::Arc;

use proptest::prelude::*;
use ratatui::crossterm::event::KeyCode;

use super::seen::Seen;
use super::*;
use crate::demo;
use crate::judge::Choices;
use crate::judge::again::Again;
use crate::report::review::Review;
use crate::screen::page::{Heading, Page};
use crate::screen::still::tests::{drawn, key, letter};
use crate::screen::theme::{Glyphs, Ink, Theme};
use crate::tally::settings::Counting;
use crate::tally::verdict::{Band, Bands, Measure};

/// The demo's take as number 14, 55 to 70 asked.
pub fn seen() -> SeenTake {
    let bytes = demo::take().to_bytes();
    let mut choices = Choices::default();
    choices.tally.counting = Counting::Lenient;
    let bands = Bands { bands: vec![(Measure::Chord, Band::new(0.55, 0.7).expect("a band"))], needs: 40.0 };
    let again = Again {
        bytes: &bytes,
        choices,
        scales: Vec::new(),
        contests: Vec::new(),
        bands: Some(bands.clone()),
    };
    let chords = again.chords().expect("a chart");
    let mut review: Review = again.judged().expect("judged").review;
    review.source.take = Some(14);
    let heading = Heading {
        title: review.chart.title.clone(),
        key: review.chart.key.clone().unwrap_or_default(),
        feel_and_tempo: "swing 132".to_owned(),
        choruses: 2,
        take: Some(14),
        ..Heading::default()
    };
    Arc::new(Seen {
        page: Page::new(&chords.form, &chords.reading, heading),
        review,
        bands: Some(bands),
        granted: None,
        contests: Vec::new(),
        notes_to_self: Vec::new(),
        phrases: Vec::new(),
        brought_back: Vec::new(),
    })
}

fn screen() -> ChorusScreen {
    ChorusScreen::new(seen(), None)
}

const ASCII: Theme = Theme { glyphs: Glyphs::Ascii, ink: Ink::NoColour };

#[test]
fn the_last_chorus_at_80x24() {
    insta::assert_snapshot!(drawn(&mut screen(), 80, 24, Theme::default()));
}

#[test]
fn the_last_chorus_at_120x40() {
    insta::assert_snapshot!(drawn(&mut screen(), 120, 40, Theme::default()));
}

#[test]
fn read_from_afar_at_56x15() {
    insta::assert_snapshot!(drawn(&mut screen(), 56, 15, Theme::default()));
}

#[test]
fn the_whole_take_in_ascii() {
    let mut screen = screen();
    screen.press(letter('v'));
    insta::assert_snapshot!(drawn(&mut screen, 80, 24, ASCII));
}

#[test]
fn too_small_a_terminal_is_told_what_is_needed() {
    assert_eq!(drawn(&mut screen(), 39, 9, Theme::default()).trim_end(), TOO_SMALL);
}
