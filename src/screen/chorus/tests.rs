//! The chorus on its chart as a player sees it.

use std::sync::{Arc, LazyLock};

use proptest::prelude::*;
use ratatui::crossterm::event::KeyCode;

use super::seen::Seen;
use super::*;
use crate::demo;
use crate::judge::Choices;
use crate::judge::judged_again::Again;
use crate::report::review::{ChorusRecord, Review};
use crate::screen::page::{Heading, Page};
use crate::screen::still::tests::{drawn, key, letter};
use crate::screen::theme::{Glyphs, Ink, Theme};
use crate::tally::settings::Counting;
use crate::tally::verdict::{Band, Bands, Measure};

/// The demo's take as number 14, 55 to 70 asked.
pub fn seen() -> SeenTake {
    static SEEN: LazyLock<SeenTake> = LazyLock::new(seen_anew);
    Arc::clone(&SEEN)
}

fn seen_anew() -> SeenTake {
    let bytes = demo::take().to_bytes();
    let mut choices = Choices::default();
    choices.tally.counting = Counting::Lenient;
    let bands = Bands { bands: vec![(Measure::Chord, Band::new(0.55, 0.7).expect("a band"))], needs: 40.0 };
    let again = Again { bytes: &bytes, choices, contests: Vec::new(), bands: Some(bands.clone()) };
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

/// The numbers of a text, in order.
fn numbers(text: &str) -> Vec<f64> {
    let parts = text.split(|sign: char| !sign.is_ascii_digit() && sign != '.');
    parts.filter_map(|part| part.trim_matches('.').parse().ok()).collect()
}

#[test]
fn every_number_on_the_screen_is_the_documents() {
    let seen = seen();
    for part in [Part::Chorus(1), Part::Chorus(2), Part::Take] {
        let mut screen = screen();
        screen.part = part;
        let text = drawn(&mut screen, 120, 40, Theme::default());
        let row = |with: &str| numbers(text.lines().find(|line| line.contains(with)).expect(with));
        let (landings, share, rests, open, counted) = match part {
            Part::Take => {
                let totals = &seen.review.totals;
                (&totals.landings, &totals.chord, &totals.rests, totals.open.n.0, totals.counted.0)
            }
            Part::Chorus(nth) => {
                let chorus = &seen.review.choruses.as_ref().expect("choruses")[nth as usize - 1];
                (&chorus.landings, &chorus.chord, &chorus.rests, chorus.open.n.0, chorus.counted.0)
            }
        };
        let bars = seen.review.bars.iter().flatten().filter(|bar| part.has(bar.chorus) && bar.open.0 > 0.0);
        let mut bars: Vec<f64> = bars.map(|bar| bar.bar as f64).collect();
        bars.sort_by(f64::total_cmp);
        bars.dedup();
        let expect = [vec![landings.n as f64, landings.of as f64, open], bars].concat();
        assert_eq!(row("changes landed"), expect);
        let percent = |share: Option<f64>| (share.expect("a share") * 100.0).round();
        let running = percent(seen.review.totals.running_the_scale);
        assert_eq!(row("chord tones"), [share.n.0, counted, percent(share.share), 55.0, 70.0, running]);
        let tenths = |count: f64| (count * 10.0).round() / 10.0;
        assert_eq!(
            row("beats of rest"),
            [tenths(rests.beats), rests.of.0, tenths(rests.longest_run_beats / 4.0)]
        );
        let fit = &seen.review.totals.fits[0];
        assert!(row("your line over").contains(&fit.notes_more.0), "{text}");
        for (number, next) in (1..).zip(&seen.review.next) {
            assert!(text.contains(&format!(" {number}  {}", small(&next.what))), "{text}");
        }
    }
}

#[test]
fn the_choruses_add_up_to_the_take() {
    let review = &seen().review;
    let choruses = review.choruses.as_ref().expect("choruses");
    let check = |name: &str, of: fn(&ChorusRecord) -> f64, of_take: f64| {
        let sum: f64 = choruses.iter().map(of).sum();
        assert!((sum - of_take).abs() < 1e-9, "{name}: {sum}, {of_take}");
    };
    let totals = &review.totals;
    check("counted", |chorus| chorus.counted.0, totals.counted.0);
    check("chord", |chorus| chorus.chord.n.0, totals.chord.n.0);
    check("open", |chorus| chorus.open.n.0, totals.open.n.0);
    check("landed", |chorus| chorus.landings.n as f64, totals.landings.n as f64);
    check("met", |chorus| chorus.landings.of as f64, totals.landings.of as f64);
    check("beats", |chorus| chorus.rests.of.0, totals.rests.of.0);
}

#[test]
fn every_chord_stands_on_the_chart_as_it_was_met() {
    let seen = seen();
    let mut screen = screen();
    screen.part = Part::Chorus(2);
    let text = drawn(&mut screen, 120, 40, Theme::default());
    let met: String = text.lines().skip(3).step_by(2).take(4).collect();
    let chorus = || seen.review.chords.iter().flatten().filter(|chord| chord.chorus == 2);
    let landed =
        chorus().filter(|chord| chord.landing.as_ref().is_some_and(|landing| landing.hit == Some(true)));
    assert_eq!(met.matches('*').count(), landed.count());
    let open: f64 = chorus().map(|chord| chord.open.0).sum();
    assert_eq!(met.matches('?').count(), open as usize);
}

#[test]
fn one_cue_plays_again_and_two_open_the_first_suggestion() {
    let mut screen = screen();
    assert!(screen.hears_twice());
    assert_eq!(screen.press(Pressed::CueBegun), None);
    let text = drawn(&mut screen, 80, 24, Theme::default());
    assert!(text.contains("once more: 1  bars 4 and 5 at 116"), "{text}");
    assert_eq!(screen.press(Pressed::CueTwice), Some(Wish::Next(0)));
    assert_eq!(screen.press(Pressed::Cue), Some(Wish::Again));
    assert_eq!(screen.press(letter('2')), Some(Wish::Next(1)));
    assert_eq!(screen.press(key(KeyCode::Esc)), Some(Wish::Leave));
}

#[test]
fn bars_are_kept_by_their_numbers() {
    let mut screen = screen();
    for code in [KeyCode::Right, KeyCode::Right, KeyCode::Char('k')] {
        assert_eq!(screen.press(key(code)), None);
    }
    assert!(screen.takes_text(), "space is a sign of the text and no cue");
    let mut last = None;
    for code in [KeyCode::Char('-'), KeyCode::Char('9'), KeyCode::Char('9'), KeyCode::Enter] {
        last = screen.press(key(code));
    }
    assert_eq!(last, None);
    assert_eq!(screen.said.as_deref(), Some("bars are 1 to 16, as in 1-16"));
    for code in [KeyCode::Backspace, KeyCode::Backspace, KeyCode::Char('4'), KeyCode::Enter] {
        last = screen.press(key(code));
    }
    assert_eq!(last, Some(Wish::KeepBars { chorus: 2, bars: 2..=4 }));
}

#[test]
fn other_scales_are_those_of_the_chosen_bar_or_of_the_chord_that_fits_one() {
    let mut screen = screen();
    let of_the_fit = screen.press(letter('s'));
    assert!(matches!(of_the_fit, Some(Wish::OtherScales { chorus: 2, chord_index: 7 })), "{of_the_fit:?}");
    screen.press(key(KeyCode::Right));
    assert_eq!(screen.press(letter('s')), Some(Wish::OtherScales { chorus: 2, chord_index: 1 }));
}

/// Keys at random, those that type and choose among them.
pub fn any_keys() -> impl Strategy<Value = Vec<Pressed>> {
    let codes = proptest::sample::select(vec![
        KeyCode::Up,
        KeyCode::Down,
        KeyCode::Left,
        KeyCode::Right,
        KeyCode::PageUp,
        KeyCode::PageDown,
        KeyCode::Home,
        KeyCode::End,
        KeyCode::Enter,
        KeyCode::Esc,
        KeyCode::Backspace,
        KeyCode::Delete,
        KeyCode::Tab,
    ]);
    let letters = proptest::char::range(' ', '~').prop_map(KeyCode::Char);
    let wide = proptest::sample::select(vec!['ß', '音', '\u{301}']).prop_map(KeyCode::Char);
    let keys = prop_oneof![4 => codes, 4 => letters, 1 => wide].prop_map(key);
    let cues =
        proptest::sample::select(vec![Pressed::Cue, Pressed::CueBegun, Pressed::CueTwice, Pressed::Nothing]);
    proptest::collection::vec(prop_oneof![8 => keys, 1 => cues], 0..24)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]
    #[test]
    fn no_keys_at_any_size_break_it(width in 0_u16..300, height in 0_u16..100, keys in any_keys()) {
        let mut screen = screen();
        for pressed in keys {
            screen.press(pressed);
            drawn(&mut screen, width, height, Theme::default());
        }
    }
}
