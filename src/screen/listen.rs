//! What comes in, note by note, the latest at the bottom.

use std::collections::VecDeque;

use ratatui::crossterm::event::KeyCode;

use super::bindings::{Bindings, also, shown};
use super::canvas::Canvas;
use super::foot::{Asked, Foot};
use super::still::{Pressed, Still};
use super::theme::Role;
use crate::report::table::fold;

/// Rows that are kept.
const MOST: usize = 200;

/// What a key asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Action {
    Clear,
    Back,
    AllKeys,
}

const KEYS: Bindings<Action> = Bindings(&[
    shown(KeyCode::Char('c'), "c", "clear", Action::Clear),
    shown(KeyCode::Esc, "esc", "back", Action::Back),
    also(KeyCode::Char('q'), Action::Back),
    also(KeyCode::Char('l'), Action::Back),
    shown(KeyCode::Char('?'), "?", "all keys", Action::AllKeys),
]);

/// A row of what came in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum HeardRow {
    /// A note that counts.
    Note(String),
    /// A note that would be left out.
    LeftOut(String),
    /// Something that is to be said: an instrument that came, or went.
    Said(String),
}

impl HeardRow {
    /// The lines it needs; sentences are folded, notes are a line each.
    fn lines(&self, room: usize) -> Vec<(String, Role)> {
        match self {
            Self::Note(text) => vec![(text.clone(), Role::Plain)],
            Self::LeftOut(text) => vec![(text.clone(), Role::Aside)],
            Self::Said(text) => {
                fold(text, room).into_iter().map(|line| (format!(" {line}"), Role::Now)).collect()
            }
        }
    }
}

/// Gives the rows that have come since it was asked last.
pub type Since<'a> = Box<dyn FnMut() -> Vec<HeardRow> + 'a>;

/// The screen.
pub struct ListenScreen<'a> {
    headings: String,
    rows: VecDeque<HeardRow>,
    since: Since<'a>,
    foot: Foot<Action>,
}

impl<'a> ListenScreen<'a> {
    /// A screen of rows under headings.
    pub fn new(headings: String, since: Since<'a>) -> Self {
        Self { headings, rows: VecDeque::new(), since, foot: Foot::new(KEYS, Action::AllKeys) }
    }

    fn take_in(&mut self) {
        self.rows.extend((self.since)());
        let over = self.rows.len().saturating_sub(MOST);
        self.rows.drain(..over);
    }
}

impl Still for ListenScreen<'_> {
    type Wish = ();

    fn draw(&mut self, canvas: &mut Canvas<'_>) {
        let Some(end) = Foot::<Action>::begin(canvas) else { return };
        canvas.write(0, 0, &self.headings, Role::Now);
        if self.rows.is_empty() {
            canvas.write(1, 2, "Play. Nothing has come in yet.", Role::Plain);
        }
        let room = usize::from(canvas.width()).saturating_sub(2);
        let lines: Vec<(String, Role)> = self.rows.iter().flat_map(|row| row.lines(room)).collect();
        let first = lines.len().saturating_sub(usize::from(end - 1));
        for (y, (text, role)) in (1..end).zip(lines.iter().skip(first)) {
            canvas.write(0, y, text, *role);
        }
        self.foot.draw(canvas);
    }

    fn press(&mut self, pressed: Pressed) -> Option<()> {
        self.take_in();
        match self.foot.press(pressed)? {
            Asked::Key(Action::Back) => return Some(()),
            Asked::Key(Action::Clear) => self.rows.clear(),
            Asked::Key(Action::AllKeys) | Asked::Typed(..) => {}
        }
        None
    }

    fn watches(&self) -> bool {
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::screen::bindings::tests::check_table;
    use crate::screen::foot::tests::{in_all_sizes, press_at_any_size, presses};
    use crate::screen::still::tests::{drawn, letter};
    use crate::screen::theme::Theme;
    use proptest::prelude::*;

    fn listen() -> ListenScreen<'static> {
        let mut count = 0;
        let since = move || {
            count += 1;
            match count % 3 {
                0 => vec![HeardRow::Said("guitar is heard.".to_owned())],
                1 => vec![HeardRow::Note(format!("  note {count}")), HeardRow::LeftOut("  ghost".to_owned())],
                _ => Vec::new(),
            }
        };
        ListenScreen::new("  note".to_owned(), Box::new(since))
    }

    #[test]
    fn every_key_is_its_own() {
        check_table(KEYS);
    }

    #[test]
    fn the_latest_rows_are_in_sight_and_no_more_are_kept_than_a_few() {
        let mut listen = listen();
        for _ in 0..3 * MOST {
            assert_eq!(listen.press(Pressed::Nothing), None);
        }
        let picture = drawn(&mut listen, 80, 24, Theme::default());
        assert!(picture.contains(&format!("note {}", 3 * MOST - 2)), "{picture}");
        assert_eq!(listen.rows.len(), MOST);
        listen.press(letter('c'));
        assert!(listen.rows.is_empty());
    }

    #[test]
    fn it_looks_like_this() {
        let after_a_while = |_| {
            let mut listen = listen();
            for _ in 0..3 {
                listen.press(Pressed::Nothing);
            }
            listen
        };
        insta::assert_snapshot!(in_all_sizes(after_a_while));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn no_size_is_too_strange(presses in presses()) {
            press_at_any_size(&mut listen(), &presses);
        }
    }
}
