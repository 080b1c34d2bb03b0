//! What is asked for in a line at the bottom, and the wish that it becomes.

use std::ops::RangeInclusive;

use ratatui::crossterm::event::{KeyCode, KeyEvent};

use super::seen::Seen;
use super::wish::{Export, Wish};
use crate::screen::canvas::Canvas;
use crate::screen::entry_line::{EntryLine, Typed};
use crate::screen::theme::Role;
use crate::store::journal::entry::HeardAs;

/// What is asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Asked {
    /// The bars that are kept as a phrase.
    Bars {
        /// Times through, from 1.
        chorus: u32,
    },
    /// A note to self.
    NoteToSelf,
    /// What is written into a file.
    Export,
    /// What a note is heard as.
    HeardAs {
        /// Its index.
        note: usize,
    },
    /// Why it is heard so.
    Reason {
        /// Its index.
        note: usize,
        /// What it is heard as.
        heard_as: HeardAs,
    },
}

impl Asked {
    const fn words(&self) -> &'static str {
        match self {
            Self::Bars { .. } => "keep bars",
            Self::NoteToSelf => "to self",
            Self::Reason { .. } => "why",
            Self::Export => "write: 1 the report as a page   2 the notes as CSV",
            Self::HeardAs { .. } => "I hear it as: 1 chord 2 scale 3 resolved 4 open 5 not played",
        }
    }
}

/// Something that is asked for and not answered yet.
#[derive(Clone, Debug)]
pub struct Typing {
    asked: Asked,
    line: EntryLine,
}

/// The wish for a file, by its key.
const EXPORTS: [(char, Export); 2] = [('1', Export::Page), ('2', Export::Notes)];

/// What a note can be heard as, by its key.
const HEARD_AS: [(char, HeardAs); 5] = [
    ('1', HeardAs::Chord),
    ('2', HeardAs::Scale),
    ('3', HeardAs::Resolved),
    ('4', HeardAs::Open),
    ('5', HeardAs::NotPlayed),
];

impl Typing {
    /// Asks, with a beginning to go on from.
    pub fn begin(asked: Asked, beginning: &str) -> Self {
        let line = EntryLine::with_text(asked.words(), beginning);
        Self { asked, line }
    }

    /// Whether letters are text; else they choose.
    pub fn takes_text(&self) -> bool {
        !matches!(self.asked, Asked::Export | Asked::HeardAs { .. })
    }

    /// The keys that answer, for the bottom row.
    pub fn keys(&self) -> &'static str {
        if self.takes_text() { " enter done   esc back" } else { " a number chooses   esc back" }
    }

    /// Writes what is asked for and the answer so far.
    pub fn draw(&self, y: u16, canvas: &mut Canvas<'_>) {
        if self.takes_text() {
            self.line.draw(y, canvas);
        } else {
            canvas.clear_row(y);
            canvas.write(1, y, self.asked.words(), Role::Now);
        }
    }

    /// Takes a key: what is asked for then, the wish it has become, what is to be said.
    pub fn press(mut self, key: KeyEvent, seen: &Seen) -> (Option<Self>, Option<Wish>, Option<String>) {
        if !self.takes_text() {
            return self.choose(key);
        }
        match self.line.press(key) {
            Typed::Going => (Some(self), None, None),
            Typed::LeftOff => (None, None, None),
            Typed::Entered(text) => match self.wish(&text, seen) {
                Ok(wish) => (None, Some(wish), None),
                Err(slip) => (Some(self), None, Some(slip)),
            },
        }
    }

    fn choose(self, key: KeyEvent) -> (Option<Self>, Option<Wish>, Option<String>) {
        let KeyCode::Char(letter) = key.code else {
            return if key.code == KeyCode::Esc { (None, None, None) } else { (Some(self), None, None) };
        };
        match self.asked {
            Asked::Export => match EXPORTS.iter().find(|(own, _)| *own == letter) {
                Some((_, export)) => (None, Some(Wish::Export(*export)), None),
                None => (Some(self), None, None),
            },
            Asked::HeardAs { note } => match HEARD_AS.iter().find(|(own, _)| *own == letter) {
                Some((_, heard_as)) => {
                    (Some(Self::begin(Asked::Reason { note, heard_as: heard_as.clone() }, "")), None, None)
                }
                None => (Some(self), None, None),
            },
            _ => (Some(self), None, None),
        }
    }

    fn wish(&self, text: &str, seen: &Seen) -> Result<Wish, String> {
        match &self.asked {
            Asked::Bars { chorus } => Ok(Wish::KeepBars { chorus: *chorus, bars: bars(text, seen)? }),
            Asked::Reason { note, heard_as } => {
                Ok(Wish::Contest { note: *note, heard_as: heard_as.clone(), reason: text.to_owned() })
            }
            _ => Ok(Wish::NoteToSelf(text.to_owned())),
        }
    }
}

/// Reads `5-8` or `5`, bars of the form.
fn bars(text: &str, seen: &Seen) -> Result<RangeInclusive<usize>, String> {
    let chart = &seen.review.chart;
    let slip = || {
        format!(
            "bars are {} to {}, as in {}-{}",
            chart.first_bar,
            chart.last_bar(),
            chart.first_bar,
            chart.last_bar()
        )
    };
    let (first, last) = text.split_once('-').unwrap_or((text, text));
    let number =
        |text: &str| text.trim().parse::<usize>().ok().filter(|&bar| chart.has_bar(bar)).ok_or_else(slip);
    let (first, last) = (number(first)?, number(last)?);
    if first <= last { Ok(first..=last) } else { Err(slip()) }
}
