//! The home screen: what there is to play today, the charts, and what became of them. It draws from its document.

pub mod bindings;
mod rows;
#[cfg(test)]
mod tests;

use ratatui::crossterm::event::KeyEvent;

use super::canvas::Canvas;
use super::entry_line::{EntryLine, Typed};
use super::playing::KeyList;
use super::still::{Pressed, Still};
use crate::report::home::HomeDocument;
use bindings::{Action, HOME};

/// A row that can be chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Chosen {
    /// One of what is to be played today.
    ToPlay(usize),
    /// One of the charts.
    Chart(usize),
}

/// Where leaving the home screen leads.
#[derive(Clone, Debug, PartialEq)]
pub enum HomeWish {
    /// Play a row, a chart at so many quarter notes a minute more or less than it says.
    Play {
        /// Which.
        row: Chosen,
        /// Quarter notes a minute more than the row says.
        faster: i32,
    },
    /// Play some bars of a chart: `5-8`.
    PlayBars {
        /// Which chart.
        chart: usize,
        /// Quarter notes a minute more than it says.
        faster: i32,
        /// Which bars, as they were typed.
        bars: String,
    },
    /// Read a chart.
    Read(usize),
    /// Drills.
    Drill,
    /// Progress on a chart.
    Progress(usize),
    /// The assignment.
    Assignment,
    /// The class.
    Class,
    /// Soundcheck.
    Soundcheck,
    /// Nothing more.
    Quit,
}

/// The home screen.
pub struct Home {
    document: HomeDocument,
    cursor: usize,
    /// Quarter notes a minute more than the chosen row says.
    faster: i32,
    /// The bars that are typed, while they are.
    typing: Option<EntryLine>,
    /// What had to be said since the last key.
    said: Option<String>,
    key_list: KeyList,
}

/// How far `-` and `+` go at a time, in quarter notes a minute.
const STEP: i32 = 2;

impl Home {
    /// The screen of a document, at its top row; `said` is what has to be said first.
    pub fn new(document: HomeDocument, said: Option<String>) -> Self {
        Self { document, cursor: 0, faster: 0, typing: None, said, key_list: KeyList::Hidden }
    }

    /// Puts the cursor where it was, as far as that row is still there.
    #[must_use]
    pub fn with_cursor(self, cursor: usize) -> Self {
        Self { cursor: cursor.min(self.rows().saturating_sub(1)), ..self }
    }

    /// The row of the cursor, from 0.
    pub const fn cursor(&self) -> usize {
        self.cursor
    }

    fn rows(&self) -> usize {
        self.document.to_play.len() + self.document.charts.len()
    }

    /// The row at `index`, if there is one.
    fn row(&self, index: usize) -> Option<Chosen> {
        let to_play = self.document.to_play.len();
        match index.checked_sub(to_play) {
            None => Some(Chosen::ToPlay(index)),
            Some(chart) if chart < self.document.charts.len() => Some(Chosen::Chart(chart)),
            Some(_) => None,
        }
    }

    /// The chart that is chosen, or that what is to be played is of.
    fn chart(&mut self) -> Option<usize> {
        let chart = match self.row(self.cursor) {
            Some(Chosen::Chart(chart)) => Some(chart),
            Some(Chosen::ToPlay(row)) => self.document.to_play[row].chart,
            None => None,
        };
        if chart.is_none() {
            self.said = Some("Choose a chart first: arrow down.".to_owned());
        }
        chart
    }

    fn go_to(&mut self, row: usize) {
        self.cursor = row.min(self.rows().saturating_sub(1));
        self.faster = 0;
    }

    fn act(&mut self, action: Action) -> Option<HomeWish> {
        match action {
            Action::Up => self.go_to(self.cursor.saturating_sub(1)),
            Action::Down => self.go_to(self.cursor + 1),
            Action::First => self.go_to(0),
            Action::Last => self.go_to(usize::MAX),
            Action::Open => {
                return self.row(self.cursor).map(|row| HomeWish::Play { row, faster: self.faster });
            }
            Action::Bars => self.typing = self.chart().map(|_| EntryLine::new("bars, as 5-8")),
            Action::Slower => self.hurry(-STEP),
            Action::Faster => self.hurry(STEP),
            Action::Read => return self.chart().map(HomeWish::Read),
            Action::Drill => return Some(HomeWish::Drill),
            Action::Progress => return self.chart().map(HomeWish::Progress),
            Action::Assignment => return Some(HomeWish::Assignment),
            Action::Class => return Some(HomeWish::Class),
            Action::Soundcheck => return Some(HomeWish::Soundcheck),
            Action::Close => self.key_list = KeyList::Hidden,
            Action::Quit => return Some(HomeWish::Quit),
            Action::AllKeys => {
                self.key_list = match self.key_list {
                    KeyList::Hidden => KeyList::Shown,
                    KeyList::Shown => KeyList::Hidden,
                }
            }
        }
        None
    }

    /// Another tempo for the chosen chart, within what can be played.
    fn hurry(&mut self, by: i32) {
        if let Some(chart) = self.chart() {
            let faster = self.faster + by;
            let tempo = self.document.charts[chart].tempo + f64::from(faster);
            if (20.0..=400.0).contains(&tempo) {
                self.faster = faster;
            }
        }
    }

    /// A key while bars are typed.
    fn type_bars(&mut self, key: KeyEvent) -> Option<HomeWish> {
        let mut line = self.typing.take()?;
        match line.press(key) {
            Typed::LeftOff => None,
            Typed::Entered(bars) if !bars.is_empty() => {
                self.chart().map(|chart| HomeWish::PlayBars { chart, faster: self.faster, bars })
            }
            Typed::Entered(_) | Typed::Going => {
                self.typing = Some(line);
                None
            }
        }
    }
}

impl Still for Home {
    type Wish = HomeWish;

    fn draw(&mut self, canvas: &mut Canvas<'_>) {
        rows::draw(self, canvas);
    }

    fn press(&mut self, pressed: Pressed) -> Option<HomeWish> {
        self.said = None;
        match pressed {
            Pressed::Key(key) if self.typing.is_some() => self.type_bars(key),
            Pressed::Key(key) => HOME.action(key).and_then(|action| self.act(action)),
            Pressed::Cue | Pressed::CueTwice => self
                .row(0)
                .map(|row| HomeWish::Play { row, faster: if self.cursor == 0 { self.faster } else { 0 } }),
            Pressed::CueBegun | Pressed::Nothing => None,
        }
    }

    fn takes_text(&self) -> bool {
        self.typing.is_some()
    }
}
