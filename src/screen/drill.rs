//! Where drills will be. Until then it says what there is instead.

use ratatui::crossterm::event::KeyCode;

use super::bindings::{Bindings, also, shown};
use super::canvas::Canvas;
use super::entry_line::EntryLine;
use super::foot::{Asked, Foot};
use super::still::{Pressed, Still};
use super::theme::Role;

/// What is said in place of drills.
const NOT_YET: &str = "Drills come with the next version; until then: neck CHORD --position, play --bars.";

/// What a key asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Action {
    Neck,
    Back,
    AllKeys,
}

const KEYS: Bindings<Action> = Bindings(&[
    shown(KeyCode::Char('n'), "n", "neck of a chord", Action::Neck),
    shown(KeyCode::Esc, "esc", "back", Action::Back),
    also(KeyCode::Char('q'), Action::Back),
    shown(KeyCode::Char('?'), "?", "all keys", Action::AllKeys),
]);

/// Where leaving the screen leads.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wish {
    /// Back to where it was opened.
    Back,
    /// To the neck of this chord, as it was typed.
    Neck(String),
}

/// The screen.
pub struct DrillScreen {
    foot: Foot<Action>,
}

impl Default for DrillScreen {
    fn default() -> Self {
        Self { foot: Foot::new(KEYS, Action::AllKeys) }
    }
}

impl DrillScreen {
    /// Says something until the next key.
    pub fn say(&mut self, words: &str) {
        self.foot.say(words);
    }
}

impl Still for DrillScreen {
    type Wish = Wish;

    fn draw(&mut self, canvas: &mut Canvas<'_>) {
        let Some(end) = Foot::<Action>::begin(canvas) else { return };
        canvas.write(1, 0, "drill", Role::Now);
        canvas.write_paragraph(2, end, NOT_YET, Role::Plain);
        self.foot.draw(canvas);
    }

    fn press(&mut self, pressed: Pressed) -> Option<Wish> {
        match self.foot.press(pressed)? {
            Asked::Key(Action::Back) => return Some(Wish::Back),
            Asked::Key(Action::Neck) => self.foot.ask(Action::Neck, EntryLine::new("chord, as Gm7")),
            Asked::Typed(_, text) if !text.is_empty() => return Some(Wish::Neck(text)),
            Asked::Key(Action::AllKeys) | Asked::Typed(..) => {}
        }
        None
    }

    fn takes_text(&self) -> bool {
        self.foot.is_typing()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::screen::bindings::tests::check_table;
    use crate::screen::foot::tests::{in_all_sizes, press_at_any_size, presses};
    use crate::screen::still::tests::{key, letter};
    use proptest::prelude::*;

    #[test]
    fn every_key_is_its_own() {
        check_table(KEYS);
    }

    #[test]
    fn a_chord_that_is_typed_leads_to_its_neck() {
        let mut drill = DrillScreen::default();
        assert_eq!(drill.press(letter('n')), None);
        assert!(drill.takes_text());
        for sign in "Gm7".chars() {
            assert_eq!(drill.press(letter(sign)), None);
        }
        assert_eq!(drill.press(key(KeyCode::Enter)), Some(Wish::Neck("Gm7".to_owned())));
    }

    #[test]
    fn it_looks_like_this() {
        insta::assert_snapshot!(in_all_sizes(|_| DrillScreen::default()));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn no_size_is_too_strange(presses in presses()) {
            press_at_any_size(&mut DrillScreen::default(), &presses);
        }
    }
}
