//! The reading screen against its document: the cursor, other scales, and what its keys wish for.

use proptest::prelude::*;

use super::*;
use crate::chart::{Backing, Chart};
use crate::harmony::Overrides;
use crate::judge::ChordSource;
use crate::screen::Heading;
use crate::screen::bindings::tests::check_table;
use crate::screen::foot::tests::{in_all_sizes, press_at_any_size, presses};
use crate::screen::still::tests::{drawn, key, letter};
use crate::screen::theme::Theme;
use crate::theory::chord::BareSymbols;

fn read(name: &str, text: &str, overrides: &Overrides) -> (Page, ReadingDocument) {
    let (chart, _) = Chart::parse(name, text, BareSymbols::default()).expect("a chart");
    let source = ChordSource::of_chart(&chart, overrides);
    let heading = Heading {
        title: chart.title().to_owned(),
        key: source.id.key.clone().unwrap_or_default(),
        feel_and_tempo: "swing 132".to_owned(),
        ..Heading::default()
    };
    let page = Page::new(&source.form, &source.reading, heading);
    (page, ReadingDocument::new(source.id, &source.form, &source.reading))
}

fn bus_shelter() -> ReadingScreen {
    let backing = Backing::find("bus-shelter").expect("a chart that ships");
    let (page, document) = read("bus-shelter.bars", backing.text, &Overrides::default());
    ReadingScreen::new(page, document)
}

fn of(text: &str) -> ReadingScreen {
    let (page, document) = read("a.bars", text, &Overrides::default());
    ReadingScreen::new(page, document)
}

fn picture(screen: &mut ReadingScreen) -> String {
    drawn(screen, 80, 24, Theme::default())
}

#[test]
fn every_key_is_its_own() {
    check_table(KEYS);
}

#[test]
fn what_stands_below_is_what_the_document_says_of_the_chord_under_the_cursor() {
    let mut screen = bus_shelter();
    for nth in 0..screen.document.chords.len() {
        let chord = screen.document.chords[nth].clone();
        let picture = picture(&mut screen);
        let function = chord.function.expect("no N.C. in it");
        assert!(
            picture.contains(&format!("bar {}   {}   {function}", chord.form_bar, chord.symbol)),
            "{picture}"
        );
        let scale = chord.scale.expect("a scale");
        assert!(picture.contains(&format!("{} = {}", scale.in_words(), scale.names.join(" "))), "{picture}");
        screen.press(key(KeyCode::Right));
    }
}

#[test]
fn the_cursor_goes_by_chords_and_by_lines_and_stays_on_the_page() {
    let mut screen = bus_shelter();
    let mut bar_after = |code| {
        screen.press(key(code));
        screen.document.chords[screen.cursor].form_bar
    };
    assert_eq!(bar_after(KeyCode::Left), 1);
    assert_eq!(bar_after(KeyCode::Right), 2);
    assert_eq!(bar_after(KeyCode::Down), 6);
    assert_eq!(bar_after(KeyCode::Down), 10);
    assert_eq!(bar_after(KeyCode::Up), 6);
    assert_eq!(bar_after(KeyCode::End), 16);
    assert_eq!(bar_after(KeyCode::Down), 16);
}

#[test]
fn other_scales_are_gone_through_and_one_is_kept() {
    let mut screen = of("| Dm7 | G7 | Cmaj7 | % |");
    screen.press(key(KeyCode::Right));
    let alternatives = screen.alternatives();
    assert!(alternatives.len() > 1, "a dominant takes several");
    for (scale, _) in &alternatives {
        assert_eq!(screen.press(letter('s')), None);
        let picture = picture(&mut screen);
        assert!(picture.contains(&format!("other  {}", scale.in_words())), "{picture}");
    }
    screen.press(letter('s'));
    assert_eq!(screen.press(key(KeyCode::Enter)), Some(Wish::Keep(1, alternatives[0].1.clone())));
    assert_eq!(screen.press(letter('u')), Some(Wish::TakeOut(1)));
}

#[test]
fn a_scale_may_be_typed_and_a_slip_is_said() {
    let mut screen = of("| Dm7 | G7 |");
    let mut typed = |text: &str| {
        screen.press(letter('='));
        assert!(screen.takes_text());
        for sign in text.chars() {
            screen.press(letter(sign));
        }
        screen.press(key(KeyCode::Enter));
        picture(&mut screen)
    };
    let slip = typed("dorain");
    assert!(slip.contains("Did you mean dorian?"), "{slip}");
    let phrygian = typed("phrygian");
    assert!(phrygian.contains("D phrygian = D Eb F G A Bb C   as typed"), "{phrygian}");
    assert!(matches!(screen.press(key(KeyCode::Enter)), Some(Wish::Keep(0, _))));
}

#[test]
fn what_is_kept_is_marked_and_said() {
    let mut overrides = Overrides::default();
    overrides.scales.insert(1, "altered".parse().expect("a scale"));
    let (page, document) = read("a.bars", "| Dm7 | G7 |", &overrides);
    let mut screen = ReadingScreen::new(page, document);
    assert!(picture(&mut screen).contains("=G7"));
    screen.press(key(KeyCode::Right));
    assert!(picture(&mut screen).contains("yours: u takes it out"));
}

#[test]
fn space_plays_and_b_plays_the_line_under_the_cursor() {
    let mut screen = bus_shelter();
    assert_eq!(screen.press(Pressed::Cue), Some(Wish::Play(None)));
    screen.press(key(KeyCode::Down));
    assert_eq!(screen.press(letter('b')), Some(Wish::Play(Some((5, 8)))));
}

#[test]
fn it_looks_like_this() {
    let at_bar_7 = |_| {
        let mut screen = bus_shelter();
        for _ in 0..7 {
            screen.press(key(KeyCode::Right));
        }
        screen
    };
    let with_another_scale = |form| {
        let mut screen = at_bar_7(form);
        screen.press(letter('s'));
        screen
    };
    insta::assert_snapshot!(in_all_sizes(at_bar_7));
    insta::assert_snapshot!(in_all_sizes(with_another_scale));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn no_size_is_too_strange(presses in presses()) {
        press_at_any_size(&mut bus_shelter(), &presses);
        press_at_any_size(&mut of("| 3/4 N.C. | N.C. Dm7@2 | % | | 4/4 G7 C7@2& |"), &presses);
    }
}
