//! A class: a row a student, one of them by itself, the bars of the form.

use std::rc::Rc;

use ratatui::crossterm::event::KeyCode;

use super::bindings::{Bindings, also, listed, shown};
use super::canvas::Canvas;
use super::entry_line::EntryLine;
use super::foot::{Asked, Foot};
use super::sheet::{Scroll, Sheet, Written};
use super::still::{Pressed, Still};
use super::theme::Role;
use crate::report::OutputForm;
use crate::report::class::{ClassDocument, student, text};

/// What a key asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Action {
    NextStudent,
    StudentBefore,
    OneStudent,
    Bars,
    Page,
    Export,
    Scroll(Scroll),
    Back,
    AllKeys,
}

const KEYS: Bindings<Action> = Bindings(&[
    shown(KeyCode::Enter, "enter", "student", Action::OneStudent),
    shown(KeyCode::Char('b'), "b", "by bar", Action::Bars),
    shown(KeyCode::Char('p'), "p", "page", Action::Page),
    shown(KeyCode::Char('x'), "x", "export", Action::Export),
    listed(KeyCode::Down, "down", "the next student", Action::NextStudent),
    listed(KeyCode::Up, "up", "the student before", Action::StudentBefore),
    listed(KeyCode::PageUp, "page up", "a screenful up", Action::Scroll(Scroll::PageUp)),
    listed(KeyCode::PageDown, "page down", "a screenful down", Action::Scroll(Scroll::PageDown)),
    listed(KeyCode::Home, "home", "the first row", Action::Scroll(Scroll::First)),
    listed(KeyCode::End, "end", "the last row", Action::Scroll(Scroll::Last)),
    shown(KeyCode::Esc, "esc", "back", Action::Back),
    also(KeyCode::Char('q'), Action::Back),
    shown(KeyCode::Char('?'), "?", "all keys", Action::AllKeys),
]);

/// Where leaving the screen leads.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wish {
    /// Back to where it was opened.
    Back,
    /// The class as a page, in a file of this name.
    Page(String),
    /// The class for a spreadsheet, in a file of this name.
    Export(String),
}

/// What is shown of the class.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum View {
    Rows,
    Bars,
    Student,
}

/// A class.
pub struct ClassScreen {
    document: Rc<ClassDocument>,
    form: OutputForm,
    view: View,
    chosen: usize,
    sheet: Sheet,
    foot: Foot<Action>,
}

impl ClassScreen {
    /// The class of a document, printed as `form` says.
    pub fn new(document: ClassDocument, form: OutputForm) -> Self {
        let mut screen = Self {
            document: Rc::new(document),
            form,
            view: View::Rows,
            chosen: 0,
            sheet: Sheet::new(Box::new(|_| String::new())),
            foot: Foot::new(KEYS, Action::AllKeys),
        };
        screen.sheet.replace(screen.written());
        screen
    }

    /// Says something until the next key.
    pub fn say(&mut self, words: &str) {
        self.foot.say(words);
    }

    fn written(&self) -> Written {
        let (document, form) = (Rc::clone(&self.document), self.form);
        let (view, chosen) = (self.view, self.chosen);
        Box::new(move |width| {
            let form = form.on_a_terminal(width);
            match (view, document.students.get(chosen)) {
                (View::Student, Some(one)) => student::page(one, form),
                (View::Bars, _) => text::page(&document, true, form),
                _ => text::page(&document, false, form),
            }
        })
    }

    fn show(&mut self, view: View) {
        self.view = view;
        self.sheet.replace(self.written());
    }

    fn choose(&mut self, index: usize) {
        self.chosen = index.min(self.document.students.len().saturating_sub(1));
        if self.view == View::Student {
            self.show(View::Student);
        }
    }

    fn carry_out(&mut self, action: Action) -> Option<Wish> {
        match action {
            Action::NextStudent => self.choose(self.chosen + 1),
            Action::StudentBefore => self.choose(self.chosen.saturating_sub(1)),
            Action::OneStudent if self.document.students.is_empty() => {
                self.foot.say("no hand-in was read: there is no student to open");
            }
            Action::OneStudent if self.view == View::Student => self.show(View::Rows),
            Action::OneStudent => self.show(View::Student),
            Action::Bars if self.view == View::Bars => self.show(View::Rows),
            Action::Bars => self.show(View::Bars),
            Action::Page => {
                self.foot.ask(Action::Page, EntryLine::with_text("page", "class.html"));
            }
            Action::Export => {
                self.foot.ask(Action::Export, EntryLine::with_text("file for a spreadsheet", "class.csv"));
            }
            Action::Scroll(by) => self.sheet.scroll(by),
            Action::Back if self.view != View::Rows => self.show(View::Rows),
            Action::Back => return Some(Wish::Back),
            Action::AllKeys => {}
        }
        None
    }

    /// Which student enter opens.
    fn write_chosen(&self, y: u16, canvas: &mut Canvas<'_>) {
        if let Some(student) = self.document.students.get(self.chosen) {
            let of = self.document.students.len();
            let text = format!("> {}, {} of {of}: {}", student.student, self.chosen + 1, student.verdict);
            canvas.clear_row(y);
            canvas.write(1, y, &text, Role::Now);
        }
    }
}

impl Still for ClassScreen {
    type Wish = Wish;

    fn draw(&mut self, canvas: &mut Canvas<'_>) {
        let Some(end) = Foot::<Action>::begin(canvas) else { return };
        self.sheet.draw(0, end - 1, canvas);
        self.write_chosen(end - 1, canvas);
        self.foot.draw(canvas);
    }

    fn press(&mut self, pressed: Pressed) -> Option<Wish> {
        match self.foot.press(pressed)? {
            Asked::Key(action) => self.carry_out(action),
            Asked::Typed(_, name) if name.is_empty() => None,
            Asked::Typed(Action::Page, name) => Some(Wish::Page(name)),
            Asked::Typed(_, name) => Some(Wish::Export(name)),
        }
    }

    fn takes_text(&self) -> bool {
        self.foot.is_typing()
    }
}

#[cfg(test)]
mod tests;
