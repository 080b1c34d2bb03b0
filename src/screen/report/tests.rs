//! Bars and notes in order as a player sees them.

use ratatui::crossterm::event::KeyCode;

use super::*;
use crate::demo;
use crate::judge::Choices;
use crate::judge::judged_again::Again;
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
    let again = Again { bytes: &bytes, choices, contests: Vec::new(), bands: None };
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

#[test]
fn too_small_a_terminal_is_told_what_is_needed() {
    assert_eq!(drawn(&mut screen(), 39, 9, Theme::default()).trim_end(), TOO_SMALL);
}

#[test]
fn the_reason_of_every_note_names_its_chord_the_rule_and_the_notes_beside_it() {
    let seen = seen();
    let counted: Vec<&NoteRecord> = seen.review.notes.iter().flatten().filter(|note| note.counted).collect();
    assert!(counted.len() > 200);
    for (nth, note) in counted.iter().enumerate() {
        let lines = why::lines(&seen, note).join("\n");
        let degree = note.degree.as_deref().expect("a degree");
        assert!(
            lines.contains(&format!("{degree} of {}", note.chord.split('/').next().expect("a chord"))),
            "{lines}"
        );
        let rule = match (note.class, note.rule, note.tag) {
            ("chord", _, _) => "chord tone",
            ("scale", _, _) => "in ",
            ("other", _, _) => "the scale the whole line leans to",
            (_, Some("double-chromatic"), _) => "(double chromatic)",
            (_, Some(rule), _) => rule,
            _ => "open",
        };
        assert!(lines.contains(rule), "{rule}: {lines}");
        let name =
            |nth: Option<usize>| nth.and_then(|nth| counted.get(nth)).map_or("nothing", |note| &note.name);
        let beside = format!("{} before, {} after", name(nth.checked_sub(1)), name(Some(nth + 1)));
        assert!(lines.contains(&beside), "{beside}: {lines}");
        if note.class == "outside" {
            let told = lines.lines().nth(1).expect("the rule");
            let names: Vec<&str> =
                counted[nth.saturating_sub(1)..].iter().take(4).map(|note| note.name.as_str()).collect();
            let near = names.iter().filter(|name| **name != note.name).any(|name| told.contains(name));
            assert!(
                near || told.contains("held longer") || told.contains("no note follows within a beat"),
                "{told} names none of {names:?}"
            );
        }
    }
}

#[test]
fn every_number_of_the_figures_is_the_documents() {
    let seen = seen();
    let text = drawn(&mut screen(), 120, 40, Theme::default());
    let chorus = &seen.review.choruses.as_ref().expect("choruses")[1];
    let row =
        |name: &str| text.lines().find(|line| line.trim_start().starts_with(name)).expect(name).to_owned();
    let percent = |share: Option<f64>| (share.expect("a share") * 100.0).round();
    for (name, share) in
        [("chord  ", &chorus.chord), ("scale  ", &chorus.scale), ("outside", &chorus.outside)]
    {
        let (low, high) = (percent(share.low), percent(share.high));
        let expect = format!("{} of {}  {} % ({low}-{high})", share.n, chorus.counted, percent(share.share));
        assert!(row(name).contains(&expect), "{expect}: {}", row(name));
    }
    let became = format!("{} resolved >, {} open ?", chorus.resolved.n, chorus.open.n);
    assert!(row("outside").contains(&became));
    let landings = &chorus.landings;
    assert!(row("landings").contains(&format!(
        "{} of {}  {} %",
        landings.n,
        landings.of,
        percent(landings.share)
    )));
    assert!(row("landings").contains(&format!("all notes {}", percent(landings.baseline))));
}

#[test]
fn every_note_of_the_chorus_stands_in_its_row() {
    let seen = seen();
    let text = drawn(&mut screen(), 120, 40, Theme::default());
    for chord in seen.chords(Part::Chorus(2)) {
        let marks: Vec<String> = notes_over(&seen.review, chord)
            .into_iter()
            .map(|note| crate::report::review::text::mark(note).0)
            .collect();
        let line = text.replace(['(', ')'], " ");
        assert!(line.contains(&marks.join(" ")), "bar {}: {marks:?}\n{text}", chord.bar);
    }
}

#[test]
fn the_cursor_goes_over_the_ends_of_rows_and_a_note_is_contested_with_a_reason() {
    let mut screen = ReportScreen::new(seen(), Part::Chorus(2), Opened::Bar(5));
    let in_row = screen.notes().len();
    let first = screen.note().map(|note| note.index);
    press(&mut screen, &vec![KeyCode::Right; in_row]);
    assert_eq!(screen.row().map(|chord| chord.bar), Some(6));
    press(&mut screen, &vec![KeyCode::Left; in_row]);
    assert_eq!(screen.note().map(|note| note.index), first);
    press(&mut screen, &[KeyCode::Char('c'), KeyCode::Char('3')]);
    assert!(screen.takes_text());
    let wish =
        press(&mut screen, &[KeyCode::Char('a'), KeyCode::Char(' '), KeyCode::Char('b'), KeyCode::Enter]);
    let expect = Wish::Contest {
        note: first.expect("a note"),
        heard_as: crate::store::journal::entry::HeardAs::Resolved,
        reason: "a b".to_owned(),
    };
    assert_eq!(wish, Some(expect));
}

#[test]
fn a_ghost_is_brought_back_from_the_list() {
    let seen = seen();
    let first = seen.left_out()[0];
    assert_eq!(first.left_out, Some("ghost"));
    let wish = press(&mut screen(), &[KeyCode::Char('g'), KeyCode::Enter]);
    assert_eq!(wish, Some(Wish::SwapLeftOut(first.index)));
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig { cases: 64, ..Default::default() })]
    #[test]
    fn no_keys_at_any_size_break_it(
        width in 0_u16..300,
        height in 0_u16..100,
        keys in crate::screen::chorus::tests::any_keys(),
    ) {
        let mut screen = screen();
        for pressed in keys {
            screen.press(pressed);
            drawn(&mut screen, width, height, Theme::default());
        }
    }
}
