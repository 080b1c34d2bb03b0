//! An assignment as its student sees it, with its bands to change; and how takes of one's own stand by it.

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
use crate::report::assignment::{AssignmentDocument, band_words, text};
use crate::report::verdict::{self, VerdictDocument};
use crate::tally::verdict::Measure;

/// What a key asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Action {
    NextBand,
    BandBefore,
    Change,
    Write,
    Page,
    Try,
    Other,
    Scroll(Scroll),
    Back,
    AllKeys,
}

const KEYS: Bindings<Action> = Bindings(&[
    shown(KeyCode::Enter, "enter", "change", Action::Change),
    shown(KeyCode::Char('t'), "t", "try", Action::Try),
    shown(KeyCode::Char('w'), "w", "write", Action::Write),
    shown(KeyCode::Char('p'), "p", "printable page", Action::Page),
    listed(KeyCode::Right, "right", "the next band", Action::NextBand),
    listed(KeyCode::Left, "left", "the band before", Action::BandBefore),
    listed(KeyCode::Char('o'), "o", "another assignment", Action::Other),
    listed(KeyCode::Up, "up", "a row up", Action::Scroll(Scroll::Up)),
    listed(KeyCode::Down, "down", "a row down", Action::Scroll(Scroll::Down)),
    listed(KeyCode::PageUp, "page up", "a screenful up", Action::Scroll(Scroll::PageUp)),
    listed(KeyCode::PageDown, "page down", "a screenful down", Action::Scroll(Scroll::PageDown)),
    shown(KeyCode::Esc, "esc", "back", Action::Back),
    also(KeyCode::Char('q'), Action::Back),
    shown(KeyCode::Char('?'), "?", "all keys", Action::AllKeys),
]);

/// Where leaving the screen leads.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wish {
    /// Back to where it was opened.
    Back,
    /// A band as it was typed; an empty text takes it out.
    Change(Measure, String),
    /// The assignment as a file of this name.
    Write(String),
    /// The assignment as a page, in a file of this name.
    Page(String),
    /// To how the last takes stand by it.
    Try,
    /// To another assignment, from the file of this name.
    Other(String),
}

/// An assignment.
pub struct AssignmentScreen {
    document: Rc<AssignmentDocument>,
    verdict: Option<Rc<VerdictDocument>>,
    form: OutputForm,
    /// Which band enter changes.
    band: usize,
    sheet: Sheet,
    foot: Foot<Action>,
}

impl AssignmentScreen {
    /// The assignment of a document, printed as `form` says.
    pub fn new(document: AssignmentDocument, form: OutputForm) -> Self {
        let document = Rc::new(document);
        Self {
            sheet: Sheet::new(text_of(&document, form)),
            document,
            verdict: None,
            form,
            band: 0,
            foot: Foot::new(KEYS, Action::AllKeys),
        }
    }

    /// Shows the assignment as it is now.
    pub fn replace(&mut self, document: AssignmentDocument) {
        self.document = Rc::new(document);
        self.verdict = None;
        self.sheet.replace(text_of(&self.document, self.form));
    }

    /// Shows how takes stand by it.
    pub fn show_verdict(&mut self, verdict: VerdictDocument) {
        let (verdict, form) = (Rc::new(verdict), self.form);
        self.verdict = Some(Rc::clone(&verdict));
        self.sheet.replace(Box::new(move |width| verdict::text::page(&verdict, form.on_a_terminal(width))));
    }

    /// Says something until the next key.
    pub fn say(&mut self, words: &str) {
        self.foot.say(words);
    }

    fn measure(&self) -> Measure {
        Measure::ALL[self.band]
    }

    /// The band that enter changes, as it may be typed; empty where none is asked.
    fn typed_band(&self) -> String {
        let band = self.document.bands.iter().find(|band| band.measure == self.measure().word());
        let percent = |share: f64| (share * 1e3).round() / 10.0;
        band.map_or_else(String::new, |band| format!("{}-{}", percent(band.low), percent(band.high)))
    }

    fn write_band(&self, y: u16, canvas: &mut Canvas<'_>) {
        let word = self.measure().word();
        let band = self.document.bands.iter().find(|band| band.measure == word);
        let asked = band.map_or_else(|| "not asked".to_owned(), |band| band_words(band.low, band.high));
        let text = format!("> band {} of {}, {word}: {asked}", self.band + 1, Measure::ALL.len());
        canvas.write(1, y, &text, Role::Now);
    }

    fn back_to_the_text(&mut self) {
        self.verdict = None;
        self.sheet.replace(text_of(&self.document, self.form));
    }

    fn carry_out(&mut self, action: Action) -> Option<Wish> {
        let bands = Measure::ALL.len();
        match action {
            Action::NextBand => self.band = (self.band + 1) % bands,
            Action::BandBefore => self.band = (self.band + bands - 1) % bands,
            Action::Change => {
                let asked = format!("{} in percent, as 55-70, empty for none", self.measure().word());
                self.foot.ask(Action::Change, EntryLine::with_text(asked, &self.typed_band()));
            }
            Action::Write => self.foot.ask(Action::Write, EntryLine::with_text("file", "assignment.toml")),
            Action::Page => self.foot.ask(Action::Page, EntryLine::with_text("page", "assignment.html")),
            Action::Other => self.foot.ask(Action::Other, EntryLine::new("file of the assignment")),
            Action::Try | Action::Back if self.verdict.is_some() => self.back_to_the_text(),
            Action::Try => return Some(Wish::Try),
            Action::Back => return Some(Wish::Back),
            Action::Scroll(by) => self.sheet.scroll(by),
            Action::AllKeys => {}
        }
        None
    }
}

fn text_of(document: &Rc<AssignmentDocument>, form: OutputForm) -> Written {
    let document = Rc::clone(document);
    Box::new(move |width| {
        let cautions =
            document.cautions.iter().flat_map(|caution| crate::report::table::fold(caution, width));
        let gap = (!document.cautions.is_empty()).then(String::new);
        let lines: Vec<String> = cautions.chain(gap).chain(text::lines(&document)).collect();
        form.signs().write(&lines.join("\n")).into_owned()
    })
}

impl Still for AssignmentScreen {
    type Wish = Wish;

    fn draw(&mut self, canvas: &mut Canvas<'_>) {
        let Some(end) = Foot::<Action>::begin(canvas) else { return };
        self.write_band(0, canvas);
        self.sheet.draw(1, end, canvas);
        self.foot.draw(canvas);
    }

    fn press(&mut self, pressed: Pressed) -> Option<Wish> {
        match self.foot.press(pressed)? {
            Asked::Key(action) => self.carry_out(action),
            Asked::Typed(Action::Change, band) => Some(Wish::Change(self.measure(), band)),
            Asked::Typed(_, name) if name.is_empty() => None,
            Asked::Typed(Action::Write, name) => Some(Wish::Write(name)),
            Asked::Typed(Action::Page, name) => Some(Wish::Page(name)),
            Asked::Typed(_, name) => Some(Wish::Other(name)),
        }
    }

    fn takes_text(&self) -> bool {
        self.foot.is_typing()
    }
}

#[cfg(test)]
mod tests;
