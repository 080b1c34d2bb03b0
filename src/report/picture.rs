//! Pictures made of text: lines of spans, each in the role it plays, for a terminal, a pipe or a screen.

use super::output_form::OutputForm;
use super::theme::Role;

/// A piece of a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Span {
    /// What is written.
    pub text: String,
    /// The part it plays; none for the ground that everything stands on.
    pub role: Option<Role>,
}

/// One line, from left to right.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Line(Vec<Span>);

impl Line {
    /// A line of words.
    pub fn words(text: impl Into<String>) -> Self {
        let mut line = Self::default();
        line.push(text, None);
        line
    }

    /// Adds a piece at the right end.
    pub fn push(&mut self, text: impl Into<String>, role: Option<Role>) {
        self.0.push(Span { text: text.into(), role });
    }

    /// The pieces.
    pub fn spans(&self) -> &[Span] {
        &self.0
    }

    /// The line without its roles and without blanks at its end.
    pub fn text(&self) -> String {
        let text: String = self.0.iter().map(|span| span.text.as_str()).collect();
        text.trim_end().to_owned()
    }
}

/// The lines as text in this form.
pub fn text(lines: &[Line], form: OutputForm) -> String {
    lines.iter().map(|line| painted(line, form) + "\n").collect()
}

fn painted(line: &Line, form: OutputForm) -> String {
    let last = line.0.iter().rposition(|span| !span.text.trim_end().is_empty());
    let seen = &line.0[..last.map_or(0, |last| last + 1)];
    let paint = |(index, span): (usize, &Span)| {
        let text = if Some(index) == last { span.text.trim_end() } else { &span.text };
        let text = form.signs().write(text);
        match span.role {
            Some(role) => form.ink().paint(role, &text),
            None => text.into_owned(),
        }
    };
    seen.iter().enumerate().map(paint).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::Signs;
    use crate::report::theme::Ink;

    #[test]
    fn blanks_at_the_end_are_not_printed() {
        let mut line = Line::words("a  ");
        line.push("[1]", Some(Role::Chord));
        line.push("   ", Some(Role::Dim));
        let form = OutputForm::Piped { ink: Ink::Plain, signs: Signs::Unicode };
        assert_eq!(text(&[line.clone(), Line::default()], form), "a  [1]\n\n");
        assert_eq!(line.text(), "a  [1]");
    }

    #[test]
    fn marks_are_painted_and_signs_replaced() {
        let mut line = Line::default();
        line.push("»[3]", Some(Role::Chord));
        let form = OutputForm::Piped { ink: Ink::Weight, signs: Signs::Ascii };
        assert_eq!(text(&[line], form), "\u{1b}[1m>[3]\u{1b}[0m\n");
    }
}
