//! A line of text that is being typed: a reason, a note to self, bars.

use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

use super::canvas::Canvas;
use super::theme::Role;

/// The longest line, in characters.
pub const LONGEST: usize = 200;

/// A line and where its next character goes.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LineEntry {
    text: Vec<char>,
    at: usize,
}

/// What became of the line with a key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Typed {
    /// It goes on.
    More,
    /// It is finished.
    Done(String),
    /// It is given up.
    Left,
}

impl LineEntry {
    /// A line that begins with a text, to be gone on behind it.
    pub fn beginning(text: &str) -> Self {
        let text: Vec<char> = text.chars().filter(|sign| !sign.is_control()).take(LONGEST).collect();
        Self { at: text.len(), text }
    }

    /// Takes a key.
    pub fn press(&mut self, key: KeyEvent) -> Typed {
        let control = key.modifiers.contains(KeyModifiers::CONTROL);
        match key.code {
            KeyCode::Enter => return Typed::Done(self.text.iter().collect::<String>().trim().to_owned()),
            KeyCode::Esc => return Typed::Left,
            KeyCode::Char('u') if control => *self = Self::default(),
            KeyCode::Char(sign) if !control && !sign.is_control() && self.text.len() < LONGEST => {
                self.text.insert(self.at, sign);
                self.at += 1;
            }
            KeyCode::Backspace if self.at > 0 => {
                self.at -= 1;
                self.text.remove(self.at);
            }
            KeyCode::Delete if self.at < self.text.len() => _ = self.text.remove(self.at),
            KeyCode::Left => self.at = self.at.saturating_sub(1),
            KeyCode::Right => self.at = (self.at + 1).min(self.text.len()),
            KeyCode::Home => self.at = 0,
            KeyCode::End => self.at = self.text.len(),
            _ => {}
        }
        Typed::More
    }

    /// Writes what is asked for and the line so far, with `_` where the next character goes; where it is longer than the
    /// row its end near the cursor is in sight.
    pub fn draw(&self, y: u16, asked: &str, canvas: &mut Canvas<'_>) {
        canvas.clear_row(y);
        canvas.write(1, y, asked, Role::Now);
        let x = u16::try_from(asked.width()).unwrap_or(u16::MAX).saturating_add(3);
        let room = usize::from(canvas.width().saturating_sub(x)).saturating_sub(1);
        let mut from = self.at;
        let mut taken = 1;
        while from > 0 && taken + self.text[from - 1].width().unwrap_or(0) <= room {
            from -= 1;
            taken += self.text[from].width().unwrap_or(0);
        }
        let before: String = self.text[from..self.at].iter().collect();
        let behind: String = self.text[self.at..].iter().collect();
        canvas.write(x, y, &format!("{before}_{behind}"), Role::Plain);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(beginning: &str, codes: &[KeyCode]) -> Typed {
        let mut line = LineEntry::beginning(beginning);
        let press = |&code: &KeyCode| line.press(KeyEvent::new(code, KeyModifiers::NONE));
        codes.iter().map(press).last().unwrap_or(Typed::More)
    }

    #[test]
    fn a_line_is_typed_changed_and_finished_or_given_up() {
        use KeyCode::{Backspace, Char, Delete, Enter, Esc, Home, Left, Right};
        let check = |codes: &[KeyCode], expect: &str| {
            assert_eq!(typed("5-8", codes), Typed::Done(expect.to_owned()), "{codes:?}");
        };
        check(&[Enter], "5-8");
        check(&[Backspace, Char('9'), Enter], "5-9");
        check(&[Home, Delete, Char('7'), Enter], "7-8");
        check(&[Left, Left, Left, Left, Backspace, Right, Char('1'), Enter], "51-8");
        check(&[Char(' '), Enter], "5-8");
        assert_eq!(typed("5-8", &[Esc]), Typed::Left);
    }

    #[test]
    fn a_line_has_an_end() {
        let mut line = LineEntry::default();
        for _ in 0..2 * LONGEST {
            line.press(KeyEvent::new(KeyCode::Char('x'), KeyModifiers::NONE));
        }
        assert_eq!(
            line.press(KeyEvent::new(KeyCode::Enter, KeyModifiers::NONE)),
            Typed::Done("x".repeat(LONGEST))
        );
    }
}
