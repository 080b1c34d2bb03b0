//! The foot of a screen that stands still: the keys, and above them a line to type in or the last thing that had to be
//! said. The list of all keys lies over what is above it.

use ratatui::crossterm::event::KeyCode;

use super::bindings::Bindings;
use super::canvas::Canvas;
use super::entry_line::{EntryLine, Typed};
use super::playing::KeyList;
use super::still::Pressed;
use super::theme::Role;

/// Rows that a foot takes.
const ROWS: u16 = 2;
/// Width and height from which a screen is drawn.
const SMALLEST: (u16, u16) = (40, 10);

/// The foot of a screen with these actions.
pub struct Foot<A: 'static> {
    table: Bindings<A>,
    /// The action that shows the list of all keys.
    all_keys: A,
    said: String,
    typing: Option<(A, EntryLine)>,
    key_list: KeyList,
}

/// What is asked of the screen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Asked<A> {
    /// By a key.
    Key(A),
    /// By a text that was typed, for the action that asked for it.
    Typed(A, String),
}

impl<A: Copy + PartialEq> Foot<A> {
    /// A foot with these keys, of which one shows all of them.
    pub const fn new(table: Bindings<A>, all_keys: A) -> Self {
        Self { table, all_keys, said: String::new(), typing: None, key_list: KeyList::Hidden }
    }

    /// Says something until the next key.
    pub fn say(&mut self, words: impl Into<String>) {
        self.said = words.into();
    }

    /// Asks for a text, for this action.
    pub fn ask(&mut self, action: A, line: EntryLine) {
        self.typing = Some((action, line));
    }

    /// Whether a text is being typed.
    pub const fn is_typing(&self) -> bool {
        self.typing.is_some()
    }

    /// Takes what was pressed; says what is asked of the screen, if anything.
    pub fn press(&mut self, pressed: Pressed) -> Option<Asked<A>> {
        let Pressed::Key(key) = pressed else { return None };
        self.said.clear();
        if let Some((action, mut line)) = self.typing.take() {
            return match line.press(key) {
                Typed::Entered(text) => Some(Asked::Typed(action, text)),
                Typed::LeftOff => None,
                Typed::Going => {
                    self.typing = Some((action, line));
                    None
                }
            };
        }
        let is_shown = self.key_list == KeyList::Shown;
        if is_shown && key.code == KeyCode::Esc {
            self.key_list = KeyList::Hidden;
            return None;
        }
        let action = self.table.action(key)?;
        if action == self.all_keys {
            self.key_list = if is_shown { KeyList::Hidden } else { KeyList::Shown };
            return None;
        }
        self.key_list = KeyList::Hidden;
        Some(Asked::Key(action))
    }

    /// The first row of the foot, where what is above it ends; none where the screen is too small for anything, which is
    /// said then.
    pub fn begin(canvas: &mut Canvas<'_>) -> Option<u16> {
        if canvas.width() < SMALLEST.0 || canvas.height() < SMALLEST.1 {
            canvas.write(0, 0, "too small: 40x10 needed, or --plain", Role::Plain);
            return None;
        }
        Some(canvas.height() - ROWS)
    }

    /// Draws it, after what is above it.
    pub fn draw(&self, canvas: &mut Canvas<'_>) {
        if self.key_list == KeyList::Shown {
            self.table.write_list(1, canvas);
        }
        let top = canvas.height().saturating_sub(ROWS);
        match &self.typing {
            Some((_, line)) => line.draw(top, canvas),
            None if self.key_list == KeyList::Hidden => canvas.write(1, top, &self.said, Role::Plain),
            None => {}
        }
        self.table.write_bottom_row(canvas);
    }
}

/// What the tests of every screen look at.
#[cfg(test)]
pub mod tests {
    use proptest::prelude::*;

    use super::super::still::Still;
    use super::super::still::tests::{drawn, key};
    use super::super::theme::{Glyphs, Ink, Theme};
    use super::*;
    use crate::report::{self, OutputForm, Signs};
    use crate::screen::bindings::shown;

    /// Any key that a screen may know, and some that none does.
    pub fn any_key() -> impl Strategy<Value = Pressed> {
        let letters = prop::char::range(' ', '~').prop_map(KeyCode::Char);
        let others = [
            KeyCode::Enter,
            KeyCode::Esc,
            KeyCode::Backspace,
            KeyCode::Left,
            KeyCode::Right,
            KeyCode::Up,
            KeyCode::Down,
            KeyCode::PageUp,
            KeyCode::PageDown,
            KeyCode::Home,
            KeyCode::End,
            KeyCode::Tab,
            KeyCode::F(5),
        ];
        let others = prop::sample::select(others.to_vec());
        prop_oneof![
            4 => letters.prop_map(key),
            4 => others.prop_map(key),
            1 => Just(Pressed::Cue),
            1 => Just(Pressed::Nothing),
        ]
    }

    /// Presses keys on a screen that is drawn in sizes as they come; whatever it wishes, it goes on.
    pub fn press_at_any_size<S: Still>(still: &mut S, presses: &[(Pressed, u16, u16)]) {
        for &(pressed, width, height) in presses {
            let _ = still.press(pressed);
            let ascii = Theme { glyphs: Glyphs::Ascii, ink: Ink::OnLight };
            for theme in [Theme::default(), ascii] {
                drawn(still, width, height, theme);
            }
        }
    }

    /// Keys, each with the size the screen then has.
    pub fn presses() -> impl Strategy<Value = Vec<(Pressed, u16, u16)>> {
        let small = (any_key(), 0..=300u16, 0..=100u16);
        let usual = (any_key(), 35..=130u16, 8..=42u16);
        prop::collection::vec(prop_oneof![1 => small, 3 => usual], 1..24)
    }

    /// The sizes that every screen is looked at in.
    pub const SIZES: [(u16, u16); 4] = [(80, 24), (120, 40), (56, 15), (39, 9)];

    /// A screen in all of these sizes, then in ASCII; it is made for the form that its reports are printed in.
    ///
    /// # Panics
    ///
    /// Where it is another without colour, or where ASCII is not.
    pub fn in_all_sizes<S: Still>(make: impl Fn(OutputForm) -> S) -> String {
        let form = |signs| OutputForm::Terminal { width: 80, ink: report::Ink::Plain, signs };
        let still = &mut make(form(Signs::Unicode));
        let mut pictures = Vec::new();
        let coloured = Theme { glyphs: Glyphs::Unicode, ink: Ink::OnDark };
        for (width, height) in SIZES {
            pictures.push(format!("=== {width}x{height}\n{}", drawn(still, width, height, coloured)));
        }
        let without = drawn(still, 80, 24, Theme::default());
        assert!(pictures[0].ends_with(&without), "NO_COLOR changes no sign");
        let theme = Theme { glyphs: Glyphs::Ascii, ink: Ink::NoColour };
        let ascii = drawn(&mut make(form(Signs::Ascii)), 80, 24, theme);
        assert!(ascii.is_ascii(), "{ascii}");
        pictures.push(format!("=== 80x24 in ASCII\n{ascii}"));
        pictures.join("\n")
    }

    const TABLE: Bindings<u8> = Bindings(&[
        shown(KeyCode::Char('w'), "w", "write", 1),
        shown(KeyCode::Char('?'), "?", "all keys", 2),
    ]);

    #[test]
    fn a_text_that_is_asked_for_takes_every_letter() {
        let mut foot = Foot::new(TABLE, 2);
        assert_eq!(foot.press(key(KeyCode::Char('w'))), Some(Asked::Key(1)));
        foot.ask(1, EntryLine::new("file"));
        assert_eq!(foot.press(key(KeyCode::Char('w'))), None);
        assert_eq!(foot.press(key(KeyCode::Char('?'))), None);
        assert_eq!(foot.press(key(KeyCode::Enter)), Some(Asked::Typed(1, "w?".to_owned())));
        assert!(!foot.is_typing());
        foot.ask(1, EntryLine::new("file"));
        assert_eq!((foot.press(key(KeyCode::Esc)), foot.is_typing()), (None, false));
    }

    #[test]
    fn what_was_said_and_the_list_of_keys_go_with_the_next_key() {
        let mut foot = Foot::new(TABLE, 2);
        foot.say("wrote a file");
        foot.press(key(KeyCode::Char('?')));
        assert_eq!((foot.said.as_str(), foot.key_list), ("", KeyList::Shown));
        assert_eq!(foot.press(key(KeyCode::Esc)), None);
        assert_eq!(foot.key_list, KeyList::Hidden);
    }
}
