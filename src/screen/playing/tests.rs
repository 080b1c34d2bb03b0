//! The screen as a player sees it, at every size.

use std::sync::Arc;

use ratatui::style::Modifier;

use super::*;
use crate::band::tests::{form, form_in, reading};
use crate::chart::{Form, Sevenths};
use crate::chart::{Head, Trade, Turns};
use crate::harmony::Changes;
use crate::screen::page::Heading;
use crate::screen::theme::{Glyphs, Ink};
use crate::theory::Written;
use crate::time::{Meter, TickSpan};

const TUNE: &str = "Ebmaj7 | Abm7 Db7 | Ebmaj7/G | C7 | Fm7 | Bb7 | Gm7 C7 | Fm7 Bb7 | Am7 | D7 | Gmaj7 | Gmaj7 | \
                    Am7b5 | D7b9 | Gm7 C7 | Fm7 Bb7 | N.C. | Ab6/9 | Bb7sus4 | Ebmaj7#11";

fn page_of(form: &Form) -> Page {
    let heading = Heading {
        title: "Bus Shelter, Rain".to_owned(),
        key: "Eb".to_owned(),
        written: Written::C,
        next_key: None,
        feel_and_tempo: "swing 132".to_owned(),
        choruses: 3,
        take: Some(14),
        caution: None,
        task: None,
        turns: Turns::default(),
    };
    Page::new(form, &reading(form), heading)
}

fn page() -> Page {
    let mut form = form(TUNE);
    form.bars[0].label = Some("A".to_owned());
    form.bars[8].label = Some("B".to_owned());
    page_of(&form)
}

fn at(chorus: u16, bar: i64, beat: i64) -> Shown {
    let at = Ticks::ZERO + TickSpan::quarters(4 * (bar - 1) + beat - 1) + TickSpan(5);
    showing(Place::Playing { chorus, at })
}

fn showing(place: Place) -> Shown {
    Shown { moment: Moment { place, ..Moment::default() }, ..Shown::default() }
}

fn buffer(page: &Page, shown: &Shown, theme: Theme, (width, height): (u16, u16)) -> Buffer {
    let mut buffer = Buffer::empty(Rect::new(0, 0, width, height));
    draw(page, shown, theme, buffer.area, &mut buffer);
    buffer
}

/// The rows as text, trailing blanks trimmed.
fn text(page: &Page, shown: &Shown, size: (u16, u16)) -> String {
    let buffer = buffer(page, shown, Theme::default(), size);
    let row = |y: u16| (0..size.0).map(|x| buffer[(x, y)].symbol()).collect::<String>().trim_end().to_owned();
    (0..size.1).map(row).collect::<Vec<_>>().join("\n")
}

#[test]
fn bars_that_are_not_the_players_say_whose_they_are() {
    let mut page = page();
    page.heading.turns = Turns { head: Head::around(3), trade: Trade::of(4) };
    let row = |shown: &Shown, size, y: usize| {
        let text = text(&page, shown, size);
        text.lines().nth(y).unwrap_or_default().trim().to_owned()
    };
    assert_eq!(row(&at(1, 5, 1), (80, 24), 12), "the tune: not counted");
    assert_eq!(row(&at(2, 5, 1), (80, 24), 12), "the drums alone");
    assert_eq!(row(&at(2, 1, 1), (80, 24), 12), "");
    assert!(row(&at(2, 5, 1), (56, 15), 5).starts_with("the drums alone"));
}

#[test]
fn the_key_of_the_chorus_stands_above_and_the_next_one_is_told_in_its_last_bar() {
    let changes = |(key, chords): &(&str, &str)| {
        let form = form(chords);
        Arc::new(Changes { key: key.parse().expect("a key"), reading: reading(&form), form })
    };
    let each: Vec<_> = [("Eb", "Fm7 | Ebmaj7"), ("Ab", "Bbm7 | Abmaj7")].iter().map(changes).collect();
    let page = page_of(&form("Fm7 | Ebmaj7")).in_keys(&each);
    let row = |shown: &Shown, size, y: usize| {
        let text = text(&page, shown, size);
        text.lines().nth(y).unwrap_or_default().trim().to_owned()
    };
    let head = "Bus Shelter, Rain   swing 132      chorus 2 of 3  key Ab bar 1 of 2    take 14";
    assert_eq!(row(&at(2, 1, 1), (80, 24), 0), head);
    assert!(row(&at(2, 1, 1), (80, 24), 2).contains("Bbm7"), "the chords of that key");
    assert!(row(&at(1, 2, 1), (80, 24), 11).ends_with("next  Bbm7 in 4 beats:  b3 = Db   b7 = Ab"));
    assert_eq!(row(&at(1, 2, 1), (80, 24), 12), "then  key Ab");
    assert_eq!(row(&at(1, 1, 4), (80, 24), 12), "");
    assert_eq!(row(&at(3, 2, 1), (80, 24), 12), "", "behind the last chorus no key comes");
    assert!(row(&at(1, 2, 1), (40, 10), 7).starts_with("then  key Ab"));
    let mut names = at(1, 2, 1);
    names.naming = Naming::Names;
    assert!(row(&names, (56, 15), 5).ends_with("Eb G Bb D"));
    assert!(row(&names, (56, 15), 6).ends_with("then  key Ab"));
}

#[test]
fn a_long_count_of_bars_leaves_a_blank_before_the_take() {
    let mut page = page();
    for first in [8, 108] {
        page.bars.iter_mut().zip(first + 1..).for_each(|(bar, number)| bar.number = number);
        let text = text(&page, &at(2, 7, 1), (80, 24));
        let row = text.lines().next().unwrap_or_default();
        let expect = format!("chorus 2 of {} bar {} of {}-{} take 14", 3, first + 7, first + 1, first + 20);
        let words: Vec<&str> = row.split_whitespace().collect();
        assert!(words.join(" ").ends_with(&expect), "{row}");
    }
}

#[test]
fn the_full_screen_at_80x24() {
    insta::assert_snapshot!(text(&page(), &at(2, 5, 4), (80, 24)));
}

#[test]
fn the_full_screen_at_120x40() {
    insta::assert_snapshot!(text(&page(), &at(2, 7, 2), (120, 40)));
}

#[test]
fn the_small_screen_read_from_afar() {
    insta::assert_snapshot!(text(&page(), &at(2, 7, 3), (56, 15)));
}

#[test]
fn the_smallest_screen() {
    insta::assert_snapshot!(text(&page(), &at(1, 8, 1), (40, 10)));
}

#[test]
fn layers_go_one_after_the_other_and_the_neck_widens() {
    let mut shown = at(2, 5, 4);
    let rows = |shown: &Shown| -> Vec<String> {
        text(&page(), shown, (80, 24)).lines().skip(13).take(7).map(str::to_owned).collect()
    };
    assert!(rows(&shown)[1].contains("»[b3]"), "the last beat flags what comes: {:?}", rows(&shown));
    assert!(!rows(&at(2, 5, 1))[1].contains('»'), "the first does not");
    assert!(rows(&shown)[0].trim_start().starts_with('3'), "one position: {:?}", rows(&shown));
    shown.update(Action::SwapWindow);
    assert!(rows(&shown)[0].trim_start().starts_with('0'), "the whole neck: {:?}", rows(&shown));
    shown.update(Action::NextLayers);
    assert!(!rows(&at(2, 5, 1))[1].is_empty() && !rows(&shown)[1].contains(" o "), "the chord alone");
    shown.update(Action::NextLayers);
    assert_eq!(rows(&shown).concat(), "", "no layer, no picture");
    shown.update(Action::NextLayers);
    assert!(rows(&shown)[1].contains('·'), "all twelve: {:?}", rows(&shown));
    shown.update(Action::SwapInstrument);
    assert!(rows(&shown)[2].trim_start().starts_with('C'), "keys: {:?}", rows(&shown));
}

#[test]
fn the_whole_neck_and_the_keys_at_120x40() {
    let mut shown = at(2, 5, 3);
    shown.update(Action::SwapWindow);
    shown.update(Action::SwapInstrument);
    shown.update(Action::SwapInstrument);
    insta::assert_snapshot!(text(&page(), &shown, (120, 40)));
}

#[test]
fn a_hidden_chart_leaves_the_form_to_the_player() {
    let shown = Shown { chart: ChartShown::Hidden, ..at(2, 5, 4) };
    for size in [(80, 24), (56, 15)] {
        let text = text(&page(), &shown, size);
        assert!(!text.contains("Ebmaj7"), "{text}");
        assert!(text.contains("Fm7"), "the chord of the moment stays: {text}");
    }
}

#[test]
fn below_it_the_screen_says_what_it_needs() {
    assert_eq!(text(&page(), &at(1, 1, 1), (39, 9)).trim_end(), "too small: 40x10 needed, or --plain");
}

#[test]
fn the_count_in_and_what_had_to_be_said() {
    let mut shown = showing(Place::CountIn { click: 3, of: 6 });
    shown.moment.said = Arc::new(vec!["No sound device: playing on with the visible beat.".to_owned()]);
    insta::assert_snapshot!(text(&page(), &shown, (80, 24)));
}

#[test]
fn a_caution_is_read_before_the_first_bar_and_goes_with_it() {
    let mut page = page();
    page.heading.caution = Some(crate::report::cautions::HEARING);
    let opening = showing(Place::CountIn { click: 1, of: 6 });
    insta::assert_snapshot!(text(&page, &opening, (80, 24)));
    let small = text(&page, &opening, (40, 10));
    assert!(small.contains("Start quiet, above all on headphones."), "{small}");
    assert!(small.contains("space stop"), "the keys stay: {small}");
    assert!(!text(&page, &at(1, 1, 1), (80, 24)).contains("Start quiet"));
}

#[test]
fn the_list_of_keys_and_the_second_stop() {
    let mut shown = at(1, 18, 1);
    shown.moment.ending = Ending::ThisChorus;
    assert_eq!(shown.update(Action::AllKeys), []);
    assert_eq!(shown.update(Action::SwapNaming), []);
    insta::assert_snapshot!(text(&page(), &shown, (80, 24)));
}

#[test]
fn the_line_that_is_played_is_second_and_the_last_lines_stay() {
    let shows = |bar: i64, chord: &str| text(&page(), &at(1, bar, 1), (80, 24)).contains(chord);
    assert!(shows(1, "Ebmaj7/G") && !shows(1, "N.C."));
    assert!(shows(9, "N.C."), "five lines: the last comes in sight from line 3 on");
    assert!(!shows(17, "Ebmaj7/G"));
}

#[test]
fn the_last_chord_of_the_last_chorus_leads_to_the_last_note() {
    let row = |chorus| {
        text(&page(), &at(chorus, 20, 4), (80, 24)).lines().nth(11).map(str::to_owned).expect("a row")
    };
    assert!(row(2).contains("next  Ebmaj7 in 1 beat"), "{}", row(2));
    assert!(row(3).contains("next  the last note"), "{}", row(3));
}

#[test]
fn ascii_screens_are_ascii() {
    let theme = Theme { glyphs: Glyphs::Ascii, ink: Ink::OnDark };
    let form = form("F#dim7 | Am7b5");
    let buffer = buffer(&page_of(&form), &at(1, 2, 1), theme, (80, 24));
    assert!(buffer.content.iter().all(|cell| cell.symbol().is_ascii()));
}

#[test]
fn the_chord_that_sounds_is_bold_without_any_colour() {
    let buffer = buffer(&page(), &at(1, 5, 1), Theme::default(), (80, 24));
    let bold: String = buffer
        .content
        .iter()
        .take(80 * 10)
        .filter(|cell| cell.modifier.contains(Modifier::BOLD))
        .map(ratatui::buffer::Cell::symbol)
        .collect();
    assert_eq!(bold, ">Fm7(1) 2 3 4");
}

#[test]
fn no_size_and_no_meter_panics() {
    let meters = [(1, 4), (3, 4), (5, 4), (6, 8), (12, 8), (32, 32), (1, 1)];
    let forms = meters.map(|(beats, unit)| form_in(Meter::new(beats, unit).expect("a meter"), TUNE));
    let empty = Form { bars: Vec::new(), chords: Vec::new(), loops: true, sevenths: Sevenths::AsWritten };
    for form in forms.iter().chain([&empty]) {
        let page = page_of(form);
        for width in (0..=300).step_by(23).chain([39, 40, 79, 80, 100, 120]) {
            for height in (0..=100).step_by(17).chain([10, 15, 23, 24, 40]) {
                for shown in [
                    at(1, 1, 1),
                    at(3, 20, 4),
                    at(9, 99, 1),
                    showing(Place::Closing { chorus: 3 }),
                    showing(Place::Opening),
                ] {
                    buffer(&page, &shown, Theme::default(), (width, height));
                }
            }
        }
    }
}
