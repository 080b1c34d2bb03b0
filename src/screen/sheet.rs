//! A sheet: a report as the commands print it, on a screen that scrolls.
//!
//! The report is made anew for the width it is shown at, so that nothing is cut; a sheet itself only scrolls.

use ansi_to_tui::IntoText;
use ratatui::text::{Line, Span, Text};
use ratatui::widgets::Paragraph;
use unicode_width::UnicodeWidthStr;

use super::canvas::Canvas;
use super::theme::Role;

/// Makes the report for so many columns, painted as a terminal takes it.
pub type Written = Box<dyn Fn(usize) -> String>;

/// A report and how far it is scrolled.
pub struct Sheet {
    write: Written,
    text: Text<'static>,
    /// The columns that `text` was made for.
    width: Option<u16>,
    /// The first row that is shown.
    top: usize,
    /// How many rows were shown last.
    shown: usize,
}

/// How a sheet is moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scroll {
    /// A row up.
    Up,
    /// A row down.
    Down,
    /// A screenful up.
    PageUp,
    /// A screenful down.
    PageDown,
    /// To the first row.
    First,
    /// To the last row.
    Last,
}

impl Sheet {
    /// A sheet with this report, at its top.
    pub fn new(write: Written) -> Self {
        Self { write, text: Text::default(), width: None, top: 0, shown: 0 }
    }

    /// Puts another report in its place, at its top.
    pub fn replace(&mut self, write: Written) {
        *self = Self::new(write);
    }

    /// Moves it.
    pub fn scroll(&mut self, by: Scroll) {
        let page = self.shown.saturating_sub(1).max(1);
        let last = self.text.lines.len().saturating_sub(self.shown);
        self.top = match by {
            Scroll::Up => self.top.saturating_sub(1),
            Scroll::Down => self.top + 1,
            Scroll::PageUp => self.top.saturating_sub(page),
            Scroll::PageDown => self.top + page,
            Scroll::First => 0,
            Scroll::Last => last,
        }
        .min(last);
    }

    /// Draws it between two rows, the second not included; says in the last one what is out of sight below.
    pub fn draw(&mut self, top: u16, end: u16, canvas: &mut Canvas<'_>) {
        let width = canvas.width();
        if self.width != Some(width) {
            let painted = (self.write)(usize::from(width));
            // What the reports paint always reads; were it not so the bare words would be shown.
            let text = painted.into_text().unwrap_or_else(|_| Text::raw(painted));
            self.text =
                Text::from(text.lines.into_iter().flat_map(|line| folded(line, width)).collect::<Vec<_>>());
            self.width = Some(width);
        }
        let rows = end.saturating_sub(top);
        let all = self.text.lines.len();
        let is_cut = all > usize::from(rows);
        let shown = if is_cut { rows.saturating_sub(1) } else { rows };
        self.shown = usize::from(shown);
        self.top = self.top.min(all.saturating_sub(self.shown));
        let lines: Vec<_> = self.text.lines.iter().skip(self.top).take(self.shown).cloned().collect();
        canvas.place(0, top, shown, Paragraph::new(lines));
        if is_cut && rows > 0 {
            let below = all - self.top - self.shown.min(all - self.top);
            let text = match (self.top, below) {
                (0, below) => format!("{below} more rows below"),
                (above, 0) => format!("{above} rows above"),
                (above, below) => format!("{above} rows above, {below} below"),
            };
            canvas.write(1, top + shown, &text, Role::Aside);
        }
    }
}

/// A line in as many lines as it needs; what goes on is moved in. A report that is laid out for a wider screen loses nothing
/// so on a narrow one.
fn folded(line: Line<'static>, width: u16) -> Vec<Line<'static>> {
    const MOVED_IN: &str = "    ";
    if line.width() <= usize::from(width) || usize::from(width) <= 2 * MOVED_IN.len() {
        return vec![line];
    }
    let mut lines = vec![Line::default()];
    let mut column = 0;
    for span in &line.spans {
        for word in span.content.split_inclusive(' ') {
            let is_full = column + word.trim_end().width() > usize::from(width) && column > MOVED_IN.len();
            if is_full {
                lines.push(Line::raw(MOVED_IN));
                column = MOVED_IN.len();
            }
            if let Some(line) = lines.last_mut().filter(|_| !(is_full && word.trim().is_empty())) {
                line.push_span(Span::styled(word.to_owned(), span.style));
                column += word.width();
            }
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::screen::theme::Theme;
    use ratatui::buffer::Buffer;
    use ratatui::layout::Rect;

    fn rows(sheet: &mut Sheet, width: u16, height: u16) -> Vec<String> {
        let area = Rect::new(0, 0, width, height);
        let mut buffer = Buffer::empty(area);
        sheet.draw(0, height, &mut Canvas::new(&mut buffer, area, Theme::default()));
        let row = |y| (0..width).map(|x| buffer[(x, y)].symbol()).collect::<String>().trim_end().to_owned();
        (0..height).map(row).collect()
    }

    fn numbers() -> Sheet {
        let row = |row: usize, width: usize| format!("\u{1b}[1m{row}\u{1b}[0m of {width}");
        Sheet::new(Box::new(move |width| (0..10).map(|nth| row(nth, width)).collect::<Vec<_>>().join("\n")))
    }

    #[test]
    fn it_scrolls_no_further_than_its_ends_and_says_what_is_out_of_sight() {
        let mut sheet = numbers();
        assert_eq!(rows(&mut sheet, 30, 4), ["0 of 30", "1 of 30", "2 of 30", " 7 more rows below"]);
        sheet.scroll(Scroll::Up);
        sheet.scroll(Scroll::PageDown);
        assert_eq!(rows(&mut sheet, 30, 4)[0], "2 of 30");
        sheet.scroll(Scroll::Last);
        sheet.scroll(Scroll::Down);
        assert_eq!(rows(&mut sheet, 30, 4), ["7 of 30", "8 of 30", "9 of 30", " 7 rows above"]);
        assert_eq!(rows(&mut sheet, 30, 10).last().map(String::as_str), Some("9 of 30"), "all of it fits");
    }

    #[test]
    fn a_line_that_is_too_long_goes_on_below() {
        let mut sheet = Sheet::new(Box::new(|_| "week  52 %  \u{1b}[1m17 %\u{1b}[0m  37 of 77".to_owned()));
        assert_eq!(rows(&mut sheet, 16, 3), ["week  52 %  17 %", "    37 of 77", ""]);
        assert_eq!(rows(&mut sheet, 30, 2), ["week  52 %  17 %  37 of 77", ""]);
    }

    #[test]
    fn another_width_writes_it_anew() {
        let mut sheet = numbers();
        rows(&mut sheet, 30, 4);
        assert_eq!(rows(&mut sheet, 12, 4)[0], "0 of 12");
        assert_eq!(rows(&mut sheet, 0, 0), Vec::<String>::new());
    }
}
