//! Home drawn and pressed.

use jiff::civil::date;
use proptest::prelude::*;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

use super::*;
use crate::report::home::{ChartRow, ToPlay};
use crate::screen::still::tests::{drawn, key, letter};
use crate::screen::theme::{Glyphs, Ink, Theme};

fn chart(title: &str, takes: u32) -> ChartRow {
    ChartRow {
        title: title.to_owned(),
        key: "Eb".to_owned(),
        bars: 16,
        feel: "swing".to_owned(),
        tempo: 132.0,
        takes,
        share: if takes > 0 { "68 % (58-76)" } else { "-" }.to_owned(),
        regions: "key Eb, bars 9-12 in G, 13-15 in Gm".to_owned(),
        last_take: (takes > 0).then(|| "14 of 19 changes landed (all notes 37 %), 3 notes open".to_owned()),
    }
}

fn document() -> HomeDocument {
    let to_play = |what: &str, last: &str, why: &str| ToPlay {
        what: what.to_owned(),
        last: last.to_owned(),
        why: why.to_owned(),
        chart: None,
    };
    HomeDocument {
        today: date(2026, 11, 25),
        notes_in: "guitar".to_owned(),
        sound_out: "ok, the desk".to_owned(),
        to_play: vec![
            to_play("Bus Shelter, Rain", "yesterday", "assignment, due Thu 3 Dec"),
            to_play("Bars 12 and 13 at 116, four times", "-", "left from take 14"),
        ],
        charts: vec![chart("Bus Shelter, Rain", 14), chart("Filing-Cabinet", 9), chart("Two Lamps", 0)],
        minutes: 22.0,
        is_first_run: false,
    }
}

fn home() -> Home {
    Home::new(document(), None)
}

#[test]
fn home_at_80x24() {
    let mut home = home();
    home.press(key(KeyCode::Down));
    home.press(key(KeyCode::Down));
    insta::assert_snapshot!(drawn(&mut home, 80, 24, Theme::default()));
}

#[test]
fn home_at_120x40() {
    insta::assert_snapshot!(drawn(&mut home(), 120, 40, Theme::default()));
}

#[test]
fn home_at_56x15() {
    insta::assert_snapshot!(drawn(&mut home(), 56, 15, Theme::default()));
}

#[test]
fn home_at_39x9_and_in_ascii() {
    let ascii = Theme { glyphs: Glyphs::Ascii, ink: Ink::NoColour };
    assert_eq!(drawn(&mut home(), 39, 9, ascii).lines().next(), Some("too small: 40x10 needed"));
    let page = drawn(&mut home(), 80, 24, ascii);
    assert!(page.is_ascii() && page.contains("68 % (58-76)"), "{page}");
}

#[test]
fn all_keys_are_listed() {
    let mut home = home();
    home.press(letter('?'));
    insta::assert_snapshot!(drawn(&mut home, 80, 24, Theme::default()));
}

#[test]
fn a_cue_plays_the_top_row_and_enter_the_chosen_one() {
    let mut home = home();
    for _ in 0..3 {
        home.press(key(KeyCode::Down));
    }
    home.press(letter('+'));
    assert_eq!(home.press(Pressed::Cue), Some(HomeWish::Play { row: Chosen::ToPlay(0), faster: 0 }));
    let chosen = HomeWish::Play { row: Chosen::Chart(1), faster: 2 };
    assert_eq!(home.press(key(KeyCode::Enter)), Some(chosen));
    assert_eq!(home.press(letter('r')), Some(HomeWish::Read(1)));
}

#[test]
fn bars_are_typed_and_esc_takes_them_back() {
    let mut home = home();
    assert_eq!(home.press(letter('b')), None);
    assert!(drawn(&mut home, 80, 24, Theme::default()).contains("Choose a chart first"));
    home.press(key(KeyCode::End));
    for pressed in [letter('b'), letter('5'), letter('-'), letter('9'), key(KeyCode::Backspace), letter('8')]
    {
        home.press(pressed);
    }
    assert!(home.takes_text());
    let wish = HomeWish::PlayBars { chart: 2, faster: 0, bars: "5-8".to_owned() };
    assert_eq!(home.press(key(KeyCode::Enter)), Some(wish));
    home.press(letter('b'));
    home.press(key(KeyCode::Esc));
    assert!(!home.takes_text());
}

#[test]
fn the_numbers_are_those_of_the_document() {
    let mut home = home();
    home.press(key(KeyCode::End));
    home.press(key(KeyCode::Up));
    home.press(key(KeyCode::Up));
    let page = drawn(&mut home, 100, 30, Theme::default());
    for words in
        ["68 % (58-76)", "14 of 19 changes landed", "22 of 25 minutes", "charts (3)", "  132", "   14"]
    {
        assert!(page.contains(words), "{words}: {page}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn no_size_and_no_keys_break_it(
        keys in prop::collection::vec(prop::sample::select(&['?', 'b', '5', '-', '+', 'r', 'q', '\n', '\u{1b}', 'J', 'K'][..]), 0..30),
        (width, height) in (0u16..=300, 0u16..=100),
    ) {
        let mut home = home();
        for sign in keys {
            let code = match sign {
                '\n' => KeyCode::Enter,
                '\u{1b}' => KeyCode::Esc,
                'J' => KeyCode::Down,
                'K' => KeyCode::Up,
                sign => KeyCode::Char(sign),
            };
            home.press(Pressed::Key(KeyEvent::new(code, KeyModifiers::NONE)));
            drawn(&mut home, width, height, Theme::default());
        }
    }
}
