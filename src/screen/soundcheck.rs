//! The sound check: what was looked at and how it came out, with what to do.

use ratatui::crossterm::event::KeyCode;

use super::bindings::{Bindings, also, listed, shown};
use super::canvas::Canvas;
use super::foot::{Asked, Foot};
use super::sheet::{Scroll, Sheet, Written};
use super::still::{Pressed, Still};
use crate::report::OutputForm;
use crate::report::cautions::HEARING;
use crate::report::soundcheck::SoundcheckDocument;
use crate::report::table::fold;

/// What is learnt at the command line: for what, and the command.
const AT_THE_COMMAND_LINE: [(&str, &str); 4] = [
    ("foot switch", "barwise soundcheck --learn-foot"),
    ("low note", "barwise soundcheck --learn-low-note"),
    ("strings", "barwise soundcheck --learn-strings"),
    ("delay", "barwise calibrate"),
];

/// What a key asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Action {
    Listen,
    Again,
    Scroll(Scroll),
    Back,
    AllKeys,
}

const KEYS: Bindings<Action> = Bindings(&[
    shown(KeyCode::Char('l'), "l", "listen", Action::Listen),
    shown(KeyCode::Char('a'), "a", "again, with a click", Action::Again),
    listed(KeyCode::Up, "up", "a row up", Action::Scroll(Scroll::Up)),
    listed(KeyCode::Down, "down", "a row down", Action::Scroll(Scroll::Down)),
    listed(KeyCode::PageUp, "page up", "a screenful up", Action::Scroll(Scroll::PageUp)),
    listed(KeyCode::PageDown, "page down", "a screenful down", Action::Scroll(Scroll::PageDown)),
    shown(KeyCode::Esc, "esc", "back", Action::Back),
    also(KeyCode::Char('q'), Action::Back),
    shown(KeyCode::Char('?'), "?", "all keys", Action::AllKeys),
]);

/// Where leaving the screen leads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wish {
    /// Back to where it was opened.
    Back,
    /// To what comes in.
    Listen,
    /// To another look.
    Again,
}

/// A sound check.
pub struct SoundcheckScreen {
    sheet: Sheet,
    foot: Foot<Action>,
}

impl SoundcheckScreen {
    /// What a sound check found, printed as `form` says.
    pub fn new(document: SoundcheckDocument, form: OutputForm) -> Self {
        Self { sheet: Sheet::new(written(document, form)), foot: Foot::new(KEYS, Action::AllKeys) }
    }

    /// Says something until the next key.
    pub fn say(&mut self, words: &str) {
        self.foot.say(words);
    }
}

fn written(document: SoundcheckDocument, form: OutputForm) -> Written {
    Box::new(move |width| {
        let form = form.on_a_terminal(width);
        let rows = document.table().text(form).unwrap_or_default();
        let learn = AT_THE_COMMAND_LINE.map(|(what, command)| format!("  {what:<13}{command}"));
        let hearing = fold(HEARING, width);
        let blocks = [rows, "To learn or to measure, at the command line:".to_owned(), learn.join("\n")];
        blocks.join("\n") + "\n\n" + &hearing.join("\n") + "\n"
    })
}

impl Still for SoundcheckScreen {
    type Wish = Wish;

    fn draw(&mut self, canvas: &mut Canvas<'_>) {
        let Some(end) = Foot::<Action>::begin(canvas) else { return };
        self.sheet.draw(0, end, canvas);
        self.foot.draw(canvas);
    }

    fn press(&mut self, pressed: Pressed) -> Option<Wish> {
        match self.foot.press(pressed)? {
            Asked::Key(Action::Back) => return Some(Wish::Back),
            Asked::Key(Action::Listen) => return Some(Wish::Listen),
            Asked::Key(Action::Again) => return Some(Wish::Again),
            Asked::Key(Action::Scroll(by)) => self.sheet.scroll(by),
            Asked::Key(Action::AllKeys) | Asked::Typed(..) => {}
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::soundcheck::Check;
    use crate::report::{Ink, Signs};
    use crate::screen::bindings::tests::check_table;
    use crate::screen::foot::tests::{in_all_sizes, press_at_any_size, presses};
    use crate::screen::still::tests::{drawn, letter};
    use crate::screen::theme::Theme;
    use proptest::prelude::*;

    const FORM: OutputForm = OutputForm::Terminal { width: 80, ink: Ink::Plain, signs: Signs::Unicode };

    fn check(form: OutputForm) -> SoundcheckScreen {
        let checks = vec![
            Check::warn("notes-in", "none", "connect an instrument, or switch it on"),
            Check::ok("sound-out", "ALSA, default: 48000 Hz, 256 frames a buffer, latency 11 ms"),
            Check::ok("store", "/home/player/takes, 2100 MB free"),
        ];
        SoundcheckScreen::new(SoundcheckDocument::new("linux x86_64".to_owned(), checks), form)
    }

    #[test]
    fn every_key_is_its_own() {
        check_table(KEYS);
    }

    #[test]
    fn it_shows_what_the_document_found_and_leads_on() {
        let mut check = check(FORM);
        let picture = drawn(&mut check, 80, 24, Theme::default());
        assert!(picture.contains("latency 11 ms") && picture.contains("2100 MB free"), "{picture}");
        assert!(picture.contains("85 dBA"), "{picture}");
        assert_eq!(check.press(letter('l')), Some(Wish::Listen));
        assert_eq!(check.press(letter('a')), Some(Wish::Again));
    }

    #[test]
    fn it_looks_like_this() {
        insta::assert_snapshot!(in_all_sizes(check));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn no_size_is_too_strange(presses in presses()) {
            press_at_any_size(&mut check(FORM), &presses);
        }
    }
}
