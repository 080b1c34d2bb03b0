//! The chorus on its own chart: what a player sees first after a take, readable standing.
//!
//! Under each chord how it was met and what was left open; the figures in sentences; what next. Everything is drawn from
//! the review; what a key asks for beyond the screen is a [`Wish`].

pub mod bindings;
mod chart;
pub mod seen;
pub(super) mod sentences;
#[cfg(test)]
pub mod tests;
mod top_row;
pub mod typing;
pub mod wish;

use crate::report::review::ChordRecord;
use crate::report::review::chorus_words::{Part, first_fit};
use crate::screen::canvas::Canvas;
use crate::screen::still::{Pressed, Still};
use crate::screen::theme::Role;

use bindings::{Action, CHORUS};
use seen::SeenTake;
use sentences::small;
use typing::{Asked, Typing};
use wish::{Opened, Wish};

/// The smallest size at which it is drawn.
pub const SMALLEST: (u16, u16) = (40, 10);
/// What is said where there is less room.
pub const TOO_SMALL: &str = "too small: 40x10 needed, or --plain";

/// The screen.
pub struct ChorusScreen {
    seen: SeenTake,
    /// The chorus that is shown, or the whole take.
    pub part: Part,
    /// The bar that was chosen by the arrows, by its place on the page.
    chosen: Option<usize>,
    typing: Option<Typing>,
    has_key_list: bool,
    /// What was said last: about a key, or about what became of a wish.
    said: Option<String>,
}

impl ChorusScreen {
    /// A take as it stands, with what is to be said above it, if anything is.
    pub fn new(seen: SeenTake, said: Option<String>) -> Self {
        let part = seen.first_part();
        Self { seen, part, chosen: None, typing: None, has_key_list: false, said }
    }

    /// Shows the take as it stands now, and says what became of the last wish.
    pub fn show(&mut self, seen: SeenTake, said: Option<String>) {
        (self.seen, self.said) = (seen, said);
    }

    /// The number of the chosen bar.
    fn bar(&self) -> Option<usize> {
        Some(self.seen.page_of(self.part).bars.get(self.chosen?)?.number)
    }

    fn act(&mut self, action: Action) -> Option<Wish> {
        match action {
            Action::Next(nth) if nth < self.seen.review.next.len() => return Some(Wish::Next(nth)),
            Action::Next(nth) => self.say(format!("there is no suggestion {}", nth + 1)),
            Action::Open => return Some(Wish::Bars(Opened::Bar(self.bar().unwrap_or(0)))),
            Action::NextPart => self.part = self.seen.part_behind(self.part),
            Action::Move(by) => self.choose(by),
            Action::LineUp => self.choose(-4),
            Action::LineDown => self.choose(4),
            Action::Hear => {
                return Some(Wish::Hear { part: self.part, bars: self.bar().map(|bar| bar..=bar) });
            }
            Action::Keep => self.ask_for_bars(),
            Action::NoteToSelf => self.typing = Some(Typing::begin(Asked::NoteToSelf, "")),
            Action::OtherScale => return self.other_scale(),
            Action::Contest => return Some(Wish::Bars(Opened::ToContest)),
            Action::LeftOut => return Some(Wish::Bars(Opened::LeftOut)),
            Action::Export => self.typing = Some(Typing::begin(Asked::Export, "")),
            Action::AllKeys => self.has_key_list = true,
            Action::Leave => return Some(Wish::Leave),
        }
        None
    }

    fn say(&mut self, what: String) {
        self.said = Some(what);
    }

    fn choose(&mut self, by: isize) {
        let bars = self.seen.page_of(self.part).bars.len();
        let last = bars.saturating_sub(1);
        let next = self.chosen.map_or(0, |bar| bar.saturating_add_signed(by).min(last));
        self.chosen = (bars > 0).then_some(next);
    }

    fn ask_for_bars(&mut self) {
        let Part::Chorus(chorus) = self.part else {
            return self.say("a phrase is of one chorus: v shows them".to_owned());
        };
        let chart = &self.seen.review.chart;
        let beginning = self
            .bar()
            .map_or_else(|| format!("{}-{}", chart.first_bar, chart.last_bar()), |bar| bar.to_string());
        self.typing = Some(Typing::begin(Asked::Bars { chorus }, &beginning));
    }

    /// The chosen bar's first chord; without one the chord whose line fits another scale.
    fn other_scale(&mut self) -> Option<Wish> {
        let symbol = first_fit(&self.seen.review).map(|(fit, _)| fit.symbol.clone());
        let bar = self.bar();
        let is_meant = |chord: &&ChordRecord| match bar {
            Some(bar) => chord.bar == bar,
            None => Some(&chord.symbol) == symbol.as_ref(),
        };
        let found = self.seen.chords(self.part).filter(|chord| chord.scale.is_some()).find(is_meant);
        let wish =
            found.map(|chord| Wish::OtherScales { chorus: chord.chorus, chord_index: chord.chord_index });
        if wish.is_none() {
            self.say("choose a bar with the arrows, then s".to_owned());
        }
        wish
    }

    /// Rows for lines of the chart, when as much text as there should be keeps its room.
    fn chart_lines(&self, canvas: &Canvas<'_>) -> u16 {
        let all = self.seen.page_of(self.part).lines.len() as u16;
        let room = canvas.height().saturating_sub(3 + sentences::FEWEST);
        (room / chart::ROWS).clamp(1, all.max(1))
    }

    fn bottom(&self, canvas: &mut Canvas<'_>) {
        let last = canvas.height() - 1;
        match (&self.typing, &self.said) {
            (Some(typing), _) => typing.draw(last - 1, canvas),
            (None, Some(said)) => canvas.write(1, last - 1, said, Role::Now),
            (None, None) => {}
        }
        let row = if let Some(typing) = &self.typing {
            typing.keys().to_owned()
        } else {
            let again = if canvas.width() >= 80 { " foot or space again  " } else { " space again  " };
            let room = usize::from(canvas.width()).saturating_sub(again.len());
            format!("{again}{}", CHORUS.bottom_row(room))
        };
        canvas.write(0, last, &row, Role::Aside);
    }
}

impl Still for ChorusScreen {
    type Wish = Wish;

    fn draw(&mut self, canvas: &mut Canvas<'_>) {
        if canvas.width() < SMALLEST.0 || canvas.height() < SMALLEST.1 {
            return canvas.write(0, 0, TOO_SMALL, Role::Plain);
        }
        top_row::draw(&self.seen, self.part, canvas);
        let height = canvas.height();
        let lines = self.chart_lines(canvas);
        let text = sentences::sentences(&self.seen, self.part);
        // A blank row below the top row where all has room.
        let rows = 1 + chart::ROWS * lines + text.len() as u16 + 4;
        let top = if rows < height { 2 } else { 1 };
        chart::draw(&self.seen, self.part, self.chosen, (top, lines), canvas);
        let below = top + chart::ROWS * lines;
        // What was said and what is typed stand in the last row but one.
        sentences::draw(&text, below, height - 2, canvas);
        if self.has_key_list {
            CHORUS.write_list(2, canvas);
        }
        self.bottom(canvas);
    }

    fn press(&mut self, pressed: Pressed) -> Option<Wish> {
        match pressed {
            Pressed::CueBegun => {
                let first = self.seen.review.next.first();
                let first =
                    first.map_or_else(|| "again".to_owned(), |next| format!("1  {}", small(&next.what)));
                self.say(format!("once more: {first}"));
                None
            }
            Pressed::Cue => Some(Wish::Again),
            Pressed::CueTwice if self.seen.review.next.is_empty() => Some(Wish::Again),
            Pressed::CueTwice => Some(Wish::Next(0)),
            Pressed::Nothing => None,
            Pressed::Key(key) => {
                self.said = None;
                if let Some(typing) = self.typing.take() {
                    let (typing, wish, said) = typing.press(key, &self.seen);
                    (self.typing, self.said) = (typing, said);
                    return wish;
                }
                if std::mem::take(&mut self.has_key_list) {
                    return None;
                }
                self.act(CHORUS.action(key)?)
            }
        }
    }

    fn hears_twice(&self) -> bool {
        true
    }

    fn takes_text(&self) -> bool {
        self.typing.as_ref().is_some_and(Typing::takes_text)
    }
}
