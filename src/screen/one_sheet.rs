//! One sheet under a title, and nothing to do but read it.

use ratatui::crossterm::event::KeyCode;

use super::bindings::{Bindings, also, shown};
use super::canvas::Canvas;
use super::sheet::{Scroll, Sheet, Written};
use super::still::{Pressed, Still};
use super::theme::Role;

/// What a key asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Action {
    Scroll(Scroll),
    Back,
}

const KEYS: Bindings<Action> = Bindings(&[
    shown(KeyCode::Down, "arrows", "scroll", Action::Scroll(Scroll::Down)),
    also(KeyCode::Up, Action::Scroll(Scroll::Up)),
    also(KeyCode::PageDown, Action::Scroll(Scroll::PageDown)),
    also(KeyCode::PageUp, Action::Scroll(Scroll::PageUp)),
    also(KeyCode::Home, Action::Scroll(Scroll::First)),
    also(KeyCode::End, Action::Scroll(Scroll::Last)),
    also(KeyCode::Char('q'), Action::Back),
    also(KeyCode::Enter, Action::Back),
    shown(KeyCode::Esc, "esc", "back", Action::Back),
]);

/// The screen.
pub struct OneSheet {
    title: String,
    sheet: Sheet,
}

impl OneSheet {
    /// A sheet under a title.
    pub fn new(title: String, written: Written) -> Self {
        Self { title, sheet: Sheet::new(written) }
    }
}

impl Still for OneSheet {
    type Wish = ();

    fn draw(&mut self, canvas: &mut Canvas<'_>) {
        let Some(last) = canvas.height().checked_sub(1) else { return };
        let title_rows = if canvas.height() > 6 { 2 } else { 0 };
        canvas.write_paragraph(0, title_rows, &self.title, Role::Now);
        self.sheet.draw((title_rows + 1).min(last), last, canvas);
        KEYS.write_bottom_row(canvas);
    }

    fn press(&mut self, pressed: Pressed) -> Option<()> {
        match pressed {
            // A cue goes on, and here there is only the way back.
            Pressed::Cue | Pressed::CueTwice => Some(()),
            Pressed::CueBegun | Pressed::Nothing => None,
            Pressed::Key(key) => match KEYS.action(key)? {
                Action::Scroll(by) => {
                    self.sheet.scroll(by);
                    None
                }
                Action::Back => Some(()),
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::screen::bindings::tests::check_table;
    use crate::screen::still::tests::{drawn, key};
    use crate::screen::theme::Theme;

    #[test]
    fn it_is_read_and_left() {
        check_table(KEYS);
        let mut sheet = OneSheet::new("The arpeggio".to_owned(), Box::new(|_| "one\ntwo\nthree".to_owned()));
        let shown = drawn(&mut sheet, 30, 8, Theme::default());
        let rows: Vec<&str> = shown.lines().collect();
        assert_eq!((rows[0], rows[3], rows[7]), (" The arpeggio", "one", " arrows scroll   esc back"));
        assert_eq!(sheet.press(key(KeyCode::Down)), None);
        assert_eq!(sheet.press(Pressed::Cue), Some(()));
    }
}
