//! The neck of one chord in its scale, as `neck` prints it.

use std::rc::Rc;

use ratatui::crossterm::event::KeyCode;

use super::bindings::{Bindings, also, listed, shown};
use super::canvas::Canvas;
use super::foot::{Asked, Foot};
use super::sheet::{Scroll, Sheet, Written};
use super::still::{Pressed, Still};
use crate::report::neck::picture::{Drawn, Naming, neck_picture};
use crate::report::neck::words;
use crate::report::neck::{ChordOnNeck, frets_that_fit};
use crate::report::{OutputForm, picture};

/// What a key asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Action {
    SwapNaming,
    Scroll(Scroll),
    Back,
    AllKeys,
}

const KEYS: Bindings<Action> = Bindings(&[
    shown(KeyCode::Char('d'), "d", "degree/name", Action::SwapNaming),
    listed(KeyCode::Up, "up", "a row up", Action::Scroll(Scroll::Up)),
    listed(KeyCode::Down, "down", "a row down", Action::Scroll(Scroll::Down)),
    shown(KeyCode::Esc, "esc", "back", Action::Back),
    also(KeyCode::Char('q'), Action::Back),
    also(KeyCode::Enter, Action::Back),
    shown(KeyCode::Char('?'), "?", "all keys", Action::AllKeys),
]);

/// A chord on the neck.
pub struct NeckScreen {
    shown: Rc<ChordOnNeck>,
    why: String,
    form: OutputForm,
    naming: Naming,
    sheet: Sheet,
    foot: Foot<Action>,
}

impl NeckScreen {
    /// The neck with this chord, in a scale that `why` gives the reason for, drawn as `form` says.
    pub fn new(shown: ChordOnNeck, why: String, form: OutputForm) -> Self {
        let mut screen = Self {
            shown: Rc::new(shown),
            why,
            form,
            naming: Naming::Degrees,
            sheet: Sheet::new(Box::new(|_| String::new())),
            foot: Foot::new(KEYS, Action::AllKeys),
        };
        screen.sheet.replace(screen.written());
        screen
    }

    fn written(&self) -> Written {
        let (shown, why, form, naming) = (Rc::clone(&self.shown), self.why.clone(), self.form, self.naming);
        Box::new(move |width| {
            let fitting = ChordOnNeck { frets: frets_that_fit(width), ..(*shown).clone() };
            let mut lines = words::heading(&fitting, &why);
            lines.extend(neck_picture(&fitting, Drawn::whole(naming)));
            lines.extend(words::legend(&fitting));
            picture::text(&lines, form.on_a_terminal(width))
        })
    }
}

impl Still for NeckScreen {
    type Wish = ();

    fn draw(&mut self, canvas: &mut Canvas<'_>) {
        let Some(end) = Foot::<Action>::begin(canvas) else { return };
        self.sheet.draw(0, end, canvas);
        self.foot.draw(canvas);
    }

    fn press(&mut self, pressed: Pressed) -> Option<()> {
        match self.foot.press(pressed)? {
            Asked::Key(Action::Back) => return Some(()),
            Asked::Key(Action::Scroll(by)) => self.sheet.scroll(by),
            Asked::Key(Action::SwapNaming) => {
                self.naming = match self.naming {
                    Naming::Degrees => Naming::Names,
                    Naming::Names => Naming::Degrees,
                };
                self.sheet.replace(self.written());
            }
            Asked::Key(Action::AllKeys) | Asked::Typed(..) => {}
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::neck::Tuning;
    use crate::report::{Ink, Signs};
    use crate::screen::bindings::tests::check_table;
    use crate::screen::foot::tests::{in_all_sizes, press_at_any_size, presses};
    use crate::screen::still::tests::{drawn, letter};
    use crate::screen::theme::Theme;
    use crate::theory::{ChordSymbol, Mode};
    use proptest::prelude::*;

    const FORM: OutputForm = OutputForm::Terminal { width: 80, ink: Ink::Plain, signs: Signs::Unicode };

    fn neck(form: OutputForm) -> NeckScreen {
        let chord: ChordSymbol = "Gm7".parse().expect("a symbol");
        let shown = ChordOnNeck {
            chord,
            scale: Mode::Dorian.on(chord.root),
            next: None,
            tuning: Tuning::standard(),
            frets: frets_that_fit(80),
            position: None,
        };
        NeckScreen::new(shown, "by itself".to_owned(), form)
    }

    #[test]
    fn every_key_is_its_own() {
        check_table(KEYS);
    }

    #[test]
    fn degrees_become_names() {
        let mut neck = neck(FORM);
        assert!(drawn(&mut neck, 80, 24, Theme::default()).contains("[b3]"));
        assert_eq!(neck.press(letter('d')), None);
        assert!(drawn(&mut neck, 80, 24, Theme::default()).contains("[Bb]"));
    }

    #[test]
    fn it_looks_like_this() {
        insta::assert_snapshot!(in_all_sizes(neck));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn no_size_is_too_strange(presses in presses()) {
            press_at_any_size(&mut neck(FORM), &presses);
        }
    }
}
