//! Bars, chords and notes in order, with the reason for the note under the cursor.
//!
//! Drawn from the review; what a key asks for beyond the screen is a [`Wish`]. A list of what was left out and the scales
//! to choose from stand in place of the rows while they are open.

pub mod bindings;
mod figures;
mod left_out;
mod rows;
pub mod scales;
#[cfg(test)]
mod tests;
mod why;

use crate::report::review::chorus_words::Part;
use crate::report::review::text::notes_over;
use crate::report::review::{ChordRecord, NoteRecord};
use crate::screen::canvas::Canvas;
use crate::screen::chorus::seen::{Seen, SeenTake};
use crate::screen::chorus::sentences::small;
use crate::screen::chorus::typing::{Asked, Typing};
use crate::screen::chorus::wish::{Opened, Wish};
use crate::screen::chorus::{SMALLEST, TOO_SMALL};
use crate::screen::still::{Pressed, Still};
use crate::screen::theme::Role;

use bindings::{Action, CHOOSING, REPORT};
use rows::Cursor;
use scales::ScaleChoice;

/// What stands where the rows do.
#[derive(Clone, Debug)]
enum Open {
    /// The rows.
    Bars,
    /// What was left out, with the row of the cursor.
    LeftOut(usize),
    /// Scales to choose from.
    Scales(ScaleChoice),
}

/// The screen.
pub struct ReportScreen {
    seen: SeenTake,
    /// The chorus that is shown, or the whole take.
    pub part: Part,
    cursor: Cursor,
    open: Open,
    typing: Option<Typing>,
    has_key_list: bool,
    said: Option<String>,
}

impl ReportScreen {
    /// A take as it stands, opened on something of a chorus.
    pub fn new(seen: SeenTake, part: Part, opened: Opened) -> Self {
        let row = match opened {
            Opened::Bar(bar) => seen.chords(part).position(|chord| chord.bar == bar),
            Opened::ToContest => seen.chords(part).position(|chord| chord.open.0 > 0.0),
            Opened::LeftOut => None,
        };
        let open = if opened == Opened::LeftOut { Open::LeftOut(0) } else { Open::Bars };
        let mut cursor = Cursor { row: row.unwrap_or(0), note: 0 };
        if let Some(chord) = seen.chords(part).nth(cursor.row).filter(|_| opened == Opened::ToContest) {
            let is_open = |note: &&NoteRecord| note.class == "outside" && note.tag != Some("resolved");
            cursor.note = notes_over(&seen.review, chord).iter().position(is_open).unwrap_or(0);
        }
        let said =
            (opened == Opened::ToContest).then(|| "choose the note with the arrows, then c".to_owned());
        Self { seen, part, cursor, open, typing: None, has_key_list: false, said }
    }

    /// Shows the take as it stands now, and says what became of the last wish.
    pub fn show(&mut self, seen: SeenTake, said: Option<String>) {
        (self.seen, self.said) = (seen, said);
        if matches!(self.open, Open::Scales(_)) {
            self.open = Open::Bars;
        }
    }

    /// Opens the scales to choose from over a chord.
    pub fn offer(&mut self, choice: ScaleChoice) {
        self.open = Open::Scales(choice);
    }

    fn row(&self) -> Option<&ChordRecord> {
        self.seen.chords(self.part).nth(self.cursor.row)
    }

    fn notes(&self) -> Vec<&NoteRecord> {
        self.row().map(|chord| notes_over(&self.seen.review, chord)).unwrap_or_default()
    }

    fn note(&self) -> Option<&NoteRecord> {
        self.notes().get(self.cursor.note).copied()
    }

    fn move_rows(&mut self, by: isize) {
        match &mut self.open {
            Open::Bars => {
                let last = self.seen.chords(self.part).count().saturating_sub(1);
                self.cursor = Cursor { row: self.cursor.row.saturating_add_signed(by).min(last), note: 0 };
            }
            Open::LeftOut(at) => {
                let last = self.seen.left_out().len().saturating_sub(1);
                *at = at.saturating_add_signed(by).min(last);
            }
            Open::Scales(choice) => choice.step(by),
        }
    }

    /// A note on or back, over the ends of rows.
    fn move_note(&mut self, by: isize) {
        if !matches!(self.open, Open::Bars) {
            return;
        }
        let notes = self.notes().len();
        match self.cursor.note.checked_add_signed(by) {
            Some(note) if note < notes => self.cursor.note = note,
            Some(_) => self.move_rows(1),
            None if self.cursor.row > 0 => {
                self.move_rows(-1);
                self.cursor.note = self.notes().len().saturating_sub(1);
            }
            None => {}
        }
    }

    fn enter(&mut self) -> Option<Wish> {
        match &self.open {
            Open::Bars => None,
            Open::LeftOut(at) => {
                let wish = left_out::can_be_swapped(&self.seen, *at).map(Wish::SwapLeftOut);
                if wish.is_none() {
                    self.say("it lies where nothing counts: it cannot be brought back");
                }
                wish
            }
            Open::Scales(choice) => {
                let scale = choice.chosen()?.to_owned();
                Some(Wish::KeepScale { chord_index: choice.chord_index, scale })
            }
        }
    }

    fn say(&mut self, what: &str) {
        self.said = Some(what.to_owned());
    }

    fn back(&mut self) -> Option<Wish> {
        match self.open {
            Open::Bars => Some(Wish::Chorus),
            Open::LeftOut(_) | Open::Scales(_) => {
                self.open = Open::Bars;
                None
            }
        }
    }

    fn act(&mut self, action: Action) -> Option<Wish> {
        match action {
            Action::Next(nth) if nth < self.seen.review.next.len() => return Some(Wish::Next(nth)),
            Action::Next(nth) => self.said = Some(format!("there is no suggestion {}", nth + 1)),
            Action::Row(by) => self.move_rows(by),
            Action::Note(by) => self.move_note(by),
            Action::Page(by) => self.move_rows(8 * by),
            Action::First => self.move_rows(isize::MIN / 2),
            Action::Last => self.move_rows(isize::MAX / 2),
            Action::Enter => return self.enter(),
            Action::Hear => {
                let (part, bar) = self.row().map(|chord| (Part::Chorus(chord.chorus), chord.bar))?;
                return Some(Wish::Hear { part, bars: Some(bar..=bar) });
            }
            Action::Keep => self.typing = self.row().map(keep),
            Action::NextPart => {
                self.part = self.seen.part_behind(self.part);
                self.cursor = Cursor::default();
            }
            Action::NoteToSelf => self.typing = Some(Typing::begin(Asked::NoteToSelf, "")),
            Action::OtherScale => return self.other_scales(),
            Action::Contest => match self.note().map(|note| note.index) {
                Some(note) => self.typing = Some(Typing::begin(Asked::HeardAs { note }, "")),
                None => self.say("no note is under the cursor"),
            },
            Action::LeftOut => self.open = Open::LeftOut(0),
            Action::Export => self.typing = Some(Typing::begin(Asked::Export, "")),
            Action::AllKeys => self.has_key_list = true,
            Action::Back => return self.back(),
            Action::Leave => return Some(Wish::Leave),
        }
        None
    }

    fn other_scales(&self) -> Option<Wish> {
        let chord = self.row().filter(|chord| chord.scale.is_some())?;
        Some(Wish::OtherScales { chorus: chord.chorus, chord_index: chord.chord_index })
    }

    fn draw_in(&self, canvas: &mut Canvas<'_>) {
        let (width, height) = (canvas.width(), canvas.height());
        canvas.write_within(1, 0, width - 2, &figures::heading(&self.seen, self.part), Role::Now);
        let is_wide = width >= 112;
        let figures = figures::rows(&self.seen, self.part, is_wide);
        let shown = match height {
            0..13 => 0,
            13..20 => 1,
            _ => figures.len(),
        };
        for (y, row) in (1..).zip(figures.iter().take(shown)) {
            canvas.write_within(1, y, width - 2, row, Role::Plain);
        }
        let why = self.note().map(|note| why::lines(&self.seen, note)).unwrap_or_default();
        let why: Vec<String> =
            why.iter().flat_map(|line| why::wrapped(line, usize::from(width) - 2)).collect();
        let why_rows = match height {
            0..13 => 2,
            13..20 => 4,
            _ => 5,
        };
        let next = u16::from(height >= 20);
        let has_gap = u16::from(height >= 20);
        let top = 1 + shown.min(figures.len()) as u16 + has_gap;
        let end = height - 2 - next - why_rows;
        match &self.open {
            Open::Bars => rows::draw(&self.seen, self.part, self.cursor, (top, end - has_gap), canvas),
            Open::LeftOut(at) => {
                left_out::draw(&self.seen, *at, (top, end), canvas);
                let why = left_out::why(&self.seen, *at).unwrap_or_default();
                return canvas.write_paragraph(end, height - 2, &why, Role::Plain);
            }
            Open::Scales(choice) => return choice.draw((top, height - 2), canvas),
        }
        for (y, line) in (end..end + why_rows).zip(&why) {
            canvas.write_within(1, y, width - 2, line, Role::Plain);
        }
        if next > 0 {
            canvas.write_within(
                1,
                height - 3,
                width - 2,
                &next_row(&self.seen, usize::from(width) - 2),
                Role::Plain,
            );
        }
    }

    fn bottom(&self, canvas: &mut Canvas<'_>) {
        let last = canvas.height() - 1;
        match (&self.typing, &self.said) {
            (Some(typing), _) => typing.draw(last - 1, canvas),
            (None, Some(said)) => canvas.write(1, last - 1, said, Role::Now),
            (None, None) => {}
        }
        let row = match (&self.typing, &self.open) {
            (Some(typing), _) => typing.keys().to_owned(),
            (None, Open::Bars) => REPORT.bottom_row(canvas.width().into()),
            (None, Open::LeftOut(_) | Open::Scales(_)) => CHOOSING.to_owned(),
        };
        canvas.write(0, last, &row, Role::Aside);
    }
}

/// `next  1  bars 4 and 5 at 116, four times   2  another chorus`: as many as so many columns hold.
fn next_row(seen: &Seen, width: usize) -> String {
    let mut row = "next".to_owned();
    for (number, next) in (1..).zip(&seen.review.next) {
        let text = format!("  {number}  {}", small(&next.what));
        if row.chars().count() + text.chars().count() < width {
            row = format!("{row}{}{text}", if number > 1 { " " } else { "" });
        }
    }
    if seen.review.next.is_empty() { "next  another chorus, or rest".to_owned() } else { row }
}

fn keep(chord: &ChordRecord) -> Typing {
    Typing::begin(Asked::Bars { chorus: chord.chorus }, &chord.bar.to_string())
}

impl Still for ReportScreen {
    type Wish = Wish;

    fn draw(&mut self, canvas: &mut Canvas<'_>) {
        if canvas.width() < SMALLEST.0 || canvas.height() < SMALLEST.1 {
            return canvas.write(0, 0, TOO_SMALL, Role::Plain);
        }
        self.draw_in(canvas);
        if self.has_key_list {
            REPORT.write_list(1, canvas);
        }
        self.bottom(canvas);
    }

    fn press(&mut self, pressed: Pressed) -> Option<Wish> {
        match pressed {
            Pressed::Cue => Some(Wish::Again),
            Pressed::CueBegun | Pressed::Nothing => None,
            Pressed::CueTwice => Some(Wish::Next(0)),
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
                self.act(REPORT.action(key)?)
            }
        }
    }

    fn takes_text(&self) -> bool {
        self.typing.as_ref().is_some_and(Typing::takes_text)
    }
}
