//! Reading a chart: its lines with functions and keys, a cursor over the chords, and below what is known of the chord under
//! it. Other scales are gone through, and one may be kept for the chord.

mod details;
mod lines;

use ratatui::crossterm::event::KeyCode;

use super::bindings::{Bindings, also, listed, shown};
use super::canvas::Canvas;
use super::entry_line::EntryLine;
use super::foot::{Asked, Foot};
use super::page::Page;
use super::still::{Pressed, Still};
use crate::report::reading::{ReadChord, ReadingDocument, ScaleRecord};
use crate::theory::ScaleRequest;

/// What a key asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Action {
    Move(Way),
    OtherScale,
    TypeScale,
    Keep,
    TakeOut,
    Neck,
    Play,
    PlayLine,
    Back,
    AllKeys,
}

/// Which way the cursor goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Way {
    Left,
    Right,
    Up,
    Down,
    First,
    Last,
}

const KEYS: Bindings<Action> = Bindings(&[
    also(KeyCode::Left, Action::Move(Way::Left)),
    also(KeyCode::Right, Action::Move(Way::Right)),
    also(KeyCode::Up, Action::Move(Way::Up)),
    also(KeyCode::Down, Action::Move(Way::Down)),
    shown(KeyCode::Char('s'), "s", "other scale", Action::OtherScale),
    listed(KeyCode::Enter, "enter", "keep the scale for this chart", Action::Keep),
    listed(KeyCode::Char('='), "=", "type a scale", Action::TypeScale),
    listed(KeyCode::Char('u'), "u", "take out what is kept", Action::TakeOut),
    shown(KeyCode::Char('n'), "n", "neck", Action::Neck),
    listed(KeyCode::Char('b'), "b", "play the bars of this line", Action::PlayLine),
    listed(KeyCode::Home, "home", "the first chord", Action::Move(Way::First)),
    listed(KeyCode::End, "end", "the last chord", Action::Move(Way::Last)),
    shown(KeyCode::Char(' '), "space", "play", Action::Play),
    shown(KeyCode::Esc, "esc", "back", Action::Back),
    also(KeyCode::Char('q'), Action::Back),
    shown(KeyCode::Char('?'), "?", "all keys", Action::AllKeys),
]);

/// Where leaving the screen leads.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wish {
    /// Back to where it was opened.
    Back,
    /// To play: these bars of the form, first and last, or all.
    Play(Option<(usize, usize)>),
    /// To the neck of this chord of the form.
    Neck(usize),
    /// A scale is kept for this chord of the form.
    Keep(usize, ScaleRequest),
    /// What is kept for this chord of the form is taken out.
    TakeOut(usize),
}

/// A scale that is looked at beside the one in force.
struct Choice {
    scale: ScaleRecord,
    request: ScaleRequest,
    /// Which of the alternatives it is, from 0; none where it was typed.
    nth: Option<usize>,
}

/// A chart that is read.
pub struct ReadingScreen {
    page: Page,
    document: ReadingDocument,
    /// The chord under the cursor, as an index of the form.
    cursor: usize,
    choice: Option<Choice>,
    foot: Foot<Action>,
}

impl ReadingScreen {
    /// A chart, laid out and read.
    pub const fn new(page: Page, document: ReadingDocument) -> Self {
        Self { page, document, cursor: 0, choice: None, foot: Foot::new(KEYS, Action::AllKeys) }
    }

    /// The same chart, read anew.
    pub fn replace(&mut self, page: Page, document: ReadingDocument) {
        self.cursor = self.cursor.min(document.chords.len().saturating_sub(1));
        (self.page, self.document, self.choice) = (page, document, None);
    }

    /// Says something until the next key.
    pub fn say(&mut self, words: &str) {
        self.foot.say(words);
    }

    fn chord(&self) -> Option<&ReadChord> {
        self.document.chords.get(self.cursor)
    }

    fn bar(&self) -> usize {
        self.page.bars.iter().position(|bar| bar.chords.contains(&self.cursor)).unwrap_or(0)
    }

    /// The alternatives that may be kept: those that a chart may write.
    fn alternatives(&self) -> Vec<(ScaleRecord, ScaleRequest)> {
        let all = self.chord().map_or(&[][..], |chord| &chord.alternatives);
        all.iter().filter_map(|scale| Some((scale.clone(), scale.name.parse().ok()?))).collect()
    }

    fn next_scale(&mut self) {
        let mut alternatives = self.alternatives();
        if alternatives.is_empty() {
            self.foot.say("no other scale is in use over this chord: = types one");
            return;
        }
        let nth = self.choice.as_ref().and_then(|choice| choice.nth).map_or(0, |nth| nth + 1);
        let nth = nth % alternatives.len();
        let (scale, request) = alternatives.swap_remove(nth);
        self.choice = Some(Choice { scale, request, nth: Some(nth) });
    }

    fn typed_scale(&mut self, text: &str) {
        let root = self.page.chords.get(self.cursor).and_then(|chord| chord.sounding.as_ref());
        let Some(root) = root.map(|(symbol, _)| symbol.heard().root) else { return };
        match text.trim_start_matches('=').parse::<ScaleRequest>() {
            Ok(request) => {
                let scale = ScaleRecord::of(&request.on(root));
                self.choice = Some(Choice { scale, request, nth: None });
            }
            Err(error) => self.foot.say(error.to_string()),
        }
    }

    fn ask_for_scale(&mut self) {
        if self.chord().is_some_and(|chord| chord.scale.is_some()) {
            self.foot.ask(Action::TypeScale, EntryLine::new("scale, as lydian-dominant or 1,b2,3,5"));
        } else {
            self.foot.say("no chord sounds here");
        }
    }

    fn carry_out(&mut self, action: Action) -> Option<Wish> {
        match action {
            Action::Move(way) => {
                self.choice = None;
                self.cursor = self.moved(way);
            }
            Action::OtherScale => self.next_scale(),
            Action::TypeScale => self.ask_for_scale(),
            Action::Keep => match self.choice.take() {
                Some(choice) => return Some(Wish::Keep(self.cursor, choice.request)),
                None => self.foot.say("s goes through the other scales, = types one; enter then keeps it"),
            },
            Action::TakeOut => return Some(Wish::TakeOut(self.cursor)),
            Action::Neck if self.chord().is_some_and(|chord| chord.scale.is_some()) => {
                return Some(Wish::Neck(self.cursor));
            }
            Action::Neck => self.foot.say("no chord sounds here"),
            Action::Play => return Some(Wish::Play(None)),
            Action::PlayLine => return Some(Wish::Play(self.bars_of_line())),
            Action::Back if self.choice.is_some() => self.choice = None,
            Action::Back => return Some(Wish::Back),
            Action::AllKeys => {}
        }
        None
    }

    fn bars_of_line(&self) -> Option<(usize, usize)> {
        let line = self.page.lines.get(self.page.line_of(self.bar()))?;
        let bars = self.page.bars.get(line.bars.clone())?;
        Some((bars.first()?.number, bars.last()?.number))
    }

    /// Where the cursor comes to. Up and down it stays in its column of bars, as far as there are as many.
    fn moved(&self, way: Way) -> usize {
        let last = self.document.chords.len().saturating_sub(1);
        match way {
            Way::Left => self.cursor.saturating_sub(1),
            Way::Right => (self.cursor + 1).min(last),
            Way::First => 0,
            Way::Last => last,
            Way::Up => self.in_line(self.page.line_of(self.bar()).checked_sub(1)),
            Way::Down => self.in_line(Some(self.page.line_of(self.bar()) + 1)),
        }
    }

    fn in_line(&self, line: Option<usize>) -> usize {
        let to = line.and_then(|line| self.page.lines.get(line));
        let from = self.page.lines.get(self.page.line_of(self.bar()));
        let Some((to, from)) = to.zip(from) else { return self.cursor };
        let bar = (to.bars.start + self.bar().saturating_sub(from.bars.start)).min(to.bars.end - 1);
        let chords = &self.page.bars[bar].chords;
        // An empty bar holds the chord before it.
        let held = || self.page.chord_at(self.page.bars[bar].start);
        if chords.is_empty() { held().unwrap_or(self.cursor) } else { chords.start }
    }
}

impl Still for ReadingScreen {
    type Wish = Wish;

    fn draw(&mut self, canvas: &mut Canvas<'_>) {
        let Some(end) = Foot::<Action>::begin(canvas) else { return };
        let details = details::rows(self, canvas);
        let top = lines::draw(self, end, details.len(), canvas);
        details::draw(&details, top, end, canvas);
        self.foot.draw(canvas);
    }

    fn press(&mut self, pressed: Pressed) -> Option<Wish> {
        if pressed == Pressed::Cue {
            return Some(Wish::Play(None));
        }
        match self.foot.press(pressed)? {
            Asked::Key(action) => self.carry_out(action),
            Asked::Typed(_, text) => {
                self.typed_scale(&text);
                None
            }
        }
    }

    fn takes_text(&self) -> bool {
        self.foot.is_typing()
    }
}

#[cfg(test)]
mod tests;
