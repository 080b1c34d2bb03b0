//! A screen that asks for one thing before another can be opened: a file, a folder, a chord.

use ratatui::crossterm::event::KeyEvent;

use super::canvas::Canvas;
use super::entry_line::{EntryLine, Typed};
use super::foot::Foot;
use super::still::{Pressed, Still};
use super::theme::Role;

/// A question with a line to answer in.
pub struct AskScreen {
    title: String,
    /// What is asked, and what may be written.
    words: String,
    line: EntryLine,
}

/// How a question was left.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    /// With this text.
    Given(String),
    /// Without an answer.
    Left,
}

impl AskScreen {
    /// A question under a title; `line` begins as it is given.
    pub fn new(title: impl Into<String>, words: impl Into<String>, line: EntryLine) -> Self {
        Self { title: title.into(), words: words.into(), line }
    }

    fn press_key(&mut self, key: KeyEvent) -> Option<Answer> {
        match self.line.press(key) {
            Typed::Entered(text) if text.is_empty() => None,
            Typed::Entered(text) => Some(Answer::Given(text)),
            Typed::LeftOff => Some(Answer::Left),
            Typed::Going => None,
        }
    }
}

impl Still for AskScreen {
    type Wish = Answer;

    fn draw(&mut self, canvas: &mut Canvas<'_>) {
        let Some(end) = Foot::<()>::begin(canvas) else { return };
        canvas.write(1, 0, &self.title, Role::Now);
        canvas.write_paragraph(2, end, &self.words, Role::Plain);
        self.line.draw(end, canvas);
    }

    fn press(&mut self, pressed: Pressed) -> Option<Answer> {
        match pressed {
            Pressed::Key(key) => self.press_key(key),
            _ => None,
        }
    }

    fn takes_text(&self) -> bool {
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::screen::foot::tests::{in_all_sizes, press_at_any_size, presses};
    use crate::screen::still::tests::{key, letter};
    use proptest::prelude::*;
    use ratatui::crossterm::event::KeyCode;

    fn ask() -> AskScreen {
        AskScreen::new("class", "Which folder are the hand-ins in?", EntryLine::new("folder"))
    }

    #[test]
    fn an_answer_is_given_or_left() {
        let mut ask = ask();
        assert_eq!(ask.press(key(KeyCode::Enter)), None, "nothing is typed yet");
        assert_eq!(ask.press(letter('a')), None);
        assert_eq!(ask.press(key(KeyCode::Enter)), Some(Answer::Given("a".to_owned())));
        assert_eq!(ask.press(key(KeyCode::Esc)), Some(Answer::Left));
    }

    #[test]
    fn it_looks_like_this() {
        insta::assert_snapshot!(in_all_sizes(|_| ask()));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn no_size_is_too_strange(presses in presses()) {
            press_at_any_size(&mut ask(), &presses);
        }
    }
}
