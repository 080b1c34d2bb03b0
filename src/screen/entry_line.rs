//! A line to type in, on a screen that stands still: what is asked for, and what has been typed so far.

use ratatui::crossterm::event::{Event, KeyCode, KeyEvent, KeyEventKind};
use tui_input::Input;
use tui_input::backend::crossterm::EventHandler;
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

use super::canvas::Canvas;
use super::theme::Role;

/// The longest text that is taken, in characters.
const LONGEST: usize = 500;

/// A line that is being typed.
#[derive(Clone, Debug)]
pub struct EntryLine {
    asked: String,
    input: Input,
}

/// What a key did to the line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Typed {
    /// It is still being typed.
    Going,
    /// Enter: this is it, without blanks around it.
    Entered(String),
    /// Esc: nothing is to come of it.
    LeftOff,
}

impl EntryLine {
    /// An empty line that asks for something: `file`.
    pub fn new(asked: impl Into<String>) -> Self {
        Self::with_text(asked, "")
    }

    /// A line that begins with a text, to be changed or taken as it is.
    pub fn with_text(asked: impl Into<String>, text: &str) -> Self {
        Self { asked: asked.into(), input: Input::new(text.to_owned()) }
    }

    /// Takes a key.
    pub fn press(&mut self, key: KeyEvent) -> Typed {
        match key.code {
            _ if key.kind == KeyEventKind::Release => Typed::Going,
            KeyCode::Enter => Typed::Entered(self.input.value().trim().to_owned()),
            KeyCode::Esc => Typed::LeftOff,
            KeyCode::Char(_) if self.input.value().chars().count() >= LONGEST => Typed::Going,
            _ => {
                self.input.handle_event(&Event::Key(key));
                Typed::Going
            }
        }
    }

    /// What is typed so far.
    pub fn text(&self) -> &str {
        self.input.value()
    }

    /// Draws it in a row: what is asked for, the text with a stroke where the next sign goes, and the keys. Of a text that
    /// is too long the part before the stroke is seen.
    pub fn draw(&self, y: u16, canvas: &mut Canvas<'_>) {
        const KEYS: &str = "   enter ok   esc leave it";
        canvas.clear_row(y);
        let asked = format!(" {}: ", self.asked);
        canvas.write(0, y, &asked, Role::Aside);
        let left = asked.width();
        let at = self.input.value().char_indices().nth(self.input.cursor());
        let (before, after) = self.input.value().split_at(at.map_or(self.input.value().len(), |(at, _)| at));
        let room = usize::from(canvas.width()).saturating_sub(left + 1);
        let before = end_of(before, room);
        let stroke = left + before.width();
        write_at(canvas, left, y, before, Role::Plain);
        write_at(canvas, stroke, y, canvas.barline(), Role::Now);
        write_at(canvas, stroke + 1, y, after, Role::Plain);
        let end = stroke + 1 + after.width();
        if end + KEYS.len() <= usize::from(canvas.width()) {
            write_at(canvas, end, y, KEYS, Role::Aside);
        }
    }
}

fn write_at(canvas: &mut Canvas<'_>, x: usize, y: u16, text: &str, role: Role) {
    canvas.write(u16::try_from(x).unwrap_or(u16::MAX), y, text, role);
}

/// The end of a text, as much as `width` columns hold.
fn end_of(text: &str, width: usize) -> &str {
    let mut columns = 0;
    let fitting = text.char_indices().rev().take_while(|(_, sign)| {
        columns += sign.width().unwrap_or(0);
        columns <= width
    });
    let from = fitting.last().map_or(text.len(), |(at, _)| at);
    &text[from..]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::screen::theme::Theme;
    use ratatui::buffer::Buffer;
    use ratatui::crossterm::event::KeyModifiers;
    use ratatui::layout::Rect;

    fn press(line: &mut EntryLine, code: KeyCode) -> Typed {
        line.press(KeyEvent::new(code, KeyModifiers::NONE))
    }

    fn drawn(line: &EntryLine, width: u16) -> String {
        let area = Rect::new(0, 0, width, 1);
        let mut buffer = Buffer::empty(area);
        line.draw(0, &mut Canvas::new(&mut buffer, area, Theme::default()));
        (0..width).map(|x| buffer[(x, 0)].symbol()).collect::<String>().trim_end().to_owned()
    }

    #[test]
    fn letters_are_typed_mended_and_entered() {
        let mut line = EntryLine::new("scale");
        for letter in "doriaan ".chars() {
            assert_eq!(press(&mut line, KeyCode::Char(letter)), Typed::Going);
        }
        for code in [KeyCode::Left, KeyCode::Left, KeyCode::Backspace] {
            press(&mut line, code);
        }
        assert_eq!(press(&mut line, KeyCode::Enter), Typed::Entered("dorian".to_owned()));
        assert_eq!(press(&mut line, KeyCode::Esc), Typed::LeftOff);
    }

    #[test]
    fn the_stroke_is_always_seen_and_the_keys_where_there_is_room() {
        let mut line = EntryLine::with_text("file", "weeks.csv");
        assert_eq!(drawn(&line, 60), " file: weeks.csv│   enter ok   esc leave it");
        assert_eq!(drawn(&line, 14), " file: ks.csv│");
        press(&mut line, KeyCode::Home);
        assert_eq!(drawn(&line, 14), " file: │weeks.");
        for width in 0..8 {
            drawn(&line, width);
        }
    }

    #[test]
    fn a_text_without_end_is_not_taken() {
        let mut line = EntryLine::with_text("note", &"a".repeat(LONGEST));
        press(&mut line, KeyCode::Char('b'));
        assert_eq!(line.text().len(), LONGEST);
        press(&mut line, KeyCode::Backspace);
        press(&mut line, KeyCode::Char('b'));
        assert!(line.text().ends_with("ab"));
    }
}
