//! The progress screen against its document: pictures of every share, rows, and what its keys wish for.

use std::sync::OnceLock;

use proptest::prelude::*;

use super::*;
use crate::demo;
use crate::judge::{Dated, digest};
use crate::practice::progress::{self, progress};
use crate::report::{Ink, Signs};
use crate::screen::bindings::tests::check_table;
use crate::screen::foot::tests::{in_all_sizes, press_at_any_size, presses};
use crate::screen::still::tests::{drawn, key, letter};
use crate::screen::theme::Theme;
use crate::store::settings::Settings;

const FORM: OutputForm = OutputForm::Terminal { width: 80, ink: Ink::Plain, signs: Signs::Unicode };
const NOTHING: &str = "No take is kept yet.";

/// The invented weeks that ship, judged once.
fn document() -> ProgressDocument {
    static DOCUMENT: OnceLock<ProgressDocument> = OnceLock::new();
    DOCUMENT.get_or_init(judged).clone()
}

fn judged() -> ProgressDocument {
    let choices = Settings::default().choices();
    let takes = demo::weeks::takes().into_iter().zip(1..);
    let digests: Vec<_> = takes
        .map(|((day, take), number)| {
            digest(&take.to_bytes(), Dated { take: number, day }, &choices).expect("a take that reads")
        })
        .collect();
    let form = digests.first().map(|digest| digest.form_sha256.as_str());
    let asked = progress::Asked { today: demo::weeks::TODAY, since: None, form, bands: None };
    ProgressDocument::from(&progress(&digests, &asked))
}

fn weeks() -> ProgressScreen {
    ProgressScreen::new(document(), NOTHING, FORM)
}

fn without_takes() -> ProgressScreen {
    let asked = progress::Asked { today: demo::weeks::TODAY, since: None, form: None, bands: None };
    ProgressScreen::new(ProgressDocument::from(&progress(&[], &asked)), NOTHING, FORM)
}

#[test]
fn every_key_is_its_own() {
    check_table(KEYS);
}

#[test]
fn the_shares_drawn_are_those_of_the_document_each_in_its_turn() {
    let mut weeks = weeks();
    for measure in Measure::ALL {
        let asked = text::Asked { one_chart: true, by: &[], measure };
        let printed = page(&weeks.document, asked, FORM.on_a_terminal(120));
        let picture = drawn(&mut weeks, 120, 80, Theme::default());
        let printed: Vec<&str> = printed.lines().map(str::trim_end).collect();
        let shown: Vec<&str> = picture.lines().take(printed.len()).collect();
        assert_eq!(shown, printed, "{measure:?}");
        weeks.press(key(KeyCode::Right));
    }
    assert_eq!(weeks.share, 0, "round and round");
}

#[test]
fn a_table_has_a_row_a_week() {
    let mut weeks = weeks();
    weeks.press(letter('t'));
    let picture = drawn(&mut weeks, 120, 80, Theme::default());
    for week in &weeks.document.charts[0].weeks {
        let row = picture.lines().find(|row| row.contains("week") && row.contains(&week.takes.to_string()));
        assert!(row.is_some(), "{}: {picture}", week.monday);
    }
}

#[test]
fn an_export_asks_for_a_name_and_without_weeks_there_is_none() {
    let mut weeks = weeks();
    assert_eq!(weeks.press(letter('x')), None);
    assert_eq!(weeks.press(key(KeyCode::Enter)), Some(Wish::Export("weeks.html".to_owned())));
    let mut none = without_takes();
    none.press(letter('x'));
    assert!(!none.takes_text());
    assert!(drawn(&mut none, 80, 24, Theme::default()).contains(NOTHING));
}

#[test]
fn it_looks_like_this() {
    let weeks = |form| ProgressScreen::new(document(), NOTHING, form);
    let table = |form| {
        let mut weeks = weeks(form);
        weeks.press(letter('t'));
        weeks
    };
    insta::assert_snapshot!(in_all_sizes(weeks));
    insta::assert_snapshot!(in_all_sizes(table));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn no_size_is_too_strange(presses in presses()) {
        press_at_any_size(&mut weeks(), &presses);
        press_at_any_size(&mut without_takes(), &presses);
    }
}
