//! Weeks of a chart: one share drawn over them with what may be said of it, or all of it as rows.

use std::rc::Rc;

use ratatui::crossterm::event::KeyCode;

use super::bindings::{Bindings, also, listed, shown};
use super::canvas::Canvas;
use super::entry_line::EntryLine;
use super::foot::{Asked, Foot};
use super::sheet::{Scroll, Sheet, Written};
use super::still::{Pressed, Still};
use crate::report::OutputForm;
use crate::report::progress::ProgressDocument;
use crate::report::progress::rows::{By, Columns, rows};
use crate::report::progress::text::{self, page};
use crate::tally::verdict::Measure;

/// What a key asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Action {
    NextShare,
    ShareBefore,
    Table,
    OtherChart,
    Export,
    Scroll(Scroll),
    Back,
    AllKeys,
}

const KEYS: Bindings<Action> = Bindings(&[
    shown(KeyCode::Right, "left/right", "what is shown", Action::NextShare),
    also(KeyCode::Left, Action::ShareBefore),
    shown(KeyCode::Char('t'), "t", "table", Action::Table),
    shown(KeyCode::Char('x'), "x", "export", Action::Export),
    listed(KeyCode::Tab, "tab", "the next chart", Action::OtherChart),
    listed(KeyCode::Up, "up", "a row up", Action::Scroll(Scroll::Up)),
    listed(KeyCode::Down, "down", "a row down", Action::Scroll(Scroll::Down)),
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
    /// To the weeks of the chart that follows in the list of those played.
    OtherChart,
    /// The weeks as a file of this name.
    Export(String),
}

/// How the weeks are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum View {
    Picture,
    Table,
}

/// The weeks of one chart.
pub struct ProgressScreen {
    document: Rc<ProgressDocument>,
    /// What is said where there are no weeks.
    nothing: Rc<str>,
    form: OutputForm,
    share: usize,
    view: View,
    sheet: Sheet,
    foot: Foot<Action>,
}

impl ProgressScreen {
    /// The weeks of the first chart of a document; `nothing` is said where it has none.
    pub fn new(document: ProgressDocument, nothing: &str, form: OutputForm) -> Self {
        let mut screen = Self {
            document: Rc::new(document),
            nothing: nothing.into(),
            form,
            share: 0,
            view: View::Picture,
            sheet: Sheet::new(Box::new(|_| String::new())),
            foot: Foot::new(KEYS, Action::AllKeys),
        };
        screen.sheet.replace(screen.written());
        screen
    }

    /// Shows another chart, the same share of it.
    pub fn replace(&mut self, document: ProgressDocument) {
        self.document = Rc::new(document);
        self.sheet.replace(self.written());
    }

    /// Says something until the next key.
    pub fn say(&mut self, words: &str) {
        self.foot.say(words);
    }

    fn written(&self) -> Written {
        let (document, nothing) = (Rc::clone(&self.document), Rc::clone(&self.nothing));
        let (form, view, measure) = (self.form, self.view, Measure::ALL[self.share]);
        Box::new(move |width| {
            let form = form.on_a_terminal(width);
            match view {
                _ if document.charts.is_empty() => crate::report::table::fold(&nothing, width).join("\n"),
                View::Picture => page(&document, text::Asked { one_chart: true, by: &[], measure }, form),
                View::Table => {
                    let all = [By::Week, By::Chord, By::Key, By::Position];
                    rows(&document, &all, Columns::Short).text(form).unwrap_or_default()
                }
            }
        })
    }

    fn carry_out(&mut self, action: Action) -> Option<Wish> {
        let shares = Measure::ALL.len();
        match action {
            Action::NextShare => self.share = (self.share + 1) % shares,
            Action::ShareBefore => self.share = (self.share + shares - 1) % shares,
            Action::Table if self.view == View::Picture => self.view = View::Table,
            Action::Table => self.view = View::Picture,
            Action::Scroll(by) => {
                self.sheet.scroll(by);
                return None;
            }
            Action::Export if self.document.charts.is_empty() => {
                self.foot.say("there is nothing to write yet");
                return None;
            }
            Action::Export => {
                let line = EntryLine::with_text("file, .html or .csv", "weeks.html");
                self.foot.ask(Action::Export, line);
                return None;
            }
            Action::OtherChart => return Some(Wish::OtherChart),
            Action::Back => return Some(Wish::Back),
            Action::AllKeys => return None,
        }
        if matches!(action, Action::NextShare | Action::ShareBefore) {
            self.view = View::Picture;
        }
        self.sheet.replace(self.written());
        None
    }
}

impl Still for ProgressScreen {
    type Wish = Wish;

    fn draw(&mut self, canvas: &mut Canvas<'_>) {
        let Some(end) = Foot::<Action>::begin(canvas) else { return };
        self.sheet.draw(0, end, canvas);
        self.foot.draw(canvas);
    }

    fn press(&mut self, pressed: Pressed) -> Option<Wish> {
        match self.foot.press(pressed)? {
            Asked::Key(action) => self.carry_out(action),
            Asked::Typed(_, name) => (!name.is_empty()).then_some(Wish::Export(name)),
        }
    }

    fn takes_text(&self) -> bool {
        self.foot.is_typing()
    }
}

#[cfg(test)]
mod tests;
