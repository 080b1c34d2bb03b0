//! A piece of the screen that can be written on anywhere: what lies outside it is clipped.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::widgets::{Paragraph, Widget, Wrap};
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

use crate::screen::theme::{Glyphs, Role, Theme};

/// A part of a buffer, with the look of the terminal.
pub struct Canvas<'b> {
    buffer: &'b mut Buffer,
    area: Rect,
    theme: Theme,
}

impl<'b> Canvas<'b> {
    /// The part of `area` that lies within `buffer`.
    pub fn new(buffer: &'b mut Buffer, area: Rect, theme: Theme) -> Self {
        let area = area.intersection(buffer.area);
        Self { buffer, area, theme }
    }

    /// Columns.
    pub fn width(&self) -> u16 {
        self.area.width
    }

    /// Rows.
    pub fn height(&self) -> u16 {
        self.area.height
    }

    /// A barline.
    pub fn barline(&self) -> &'static str {
        self.theme.barline()
    }

    /// Writes `text` from column `x` of row `y`.
    pub fn write(&mut self, x: u16, y: u16, text: &str, role: Role) {
        self.write_within(x, y, u16::MAX, text, role);
    }

    /// Writes as much of `text` as `width` columns hold.
    pub fn write_within(&mut self, x: u16, y: u16, width: u16, text: &str, role: Role) {
        if x >= self.area.width || y >= self.area.height {
            return;
        }
        let width = usize::from(width.min(self.area.width - x));
        let (text, style) = (self.theme.text(text), self.theme.style(role));
        self.buffer.set_stringn(self.area.x + x, self.area.y + y, text, width, style);
    }

    /// Writes `text` into `width` columns; where it is cut a mark says so, for a chord that is cut is another chord.
    pub fn write_marked(&mut self, x: u16, y: u16, width: u16, text: &str, role: Role) {
        let shown = self.theme.text(text);
        if shown.width() <= usize::from(width) {
            return self.write_within(x, y, width, text, role);
        }
        let mut columns = 0;
        let room = usize::from(width.saturating_sub(1));
        let fitting = shown.chars().take_while(|sign| {
            columns += sign.width().unwrap_or(0);
            columns <= room
        });
        let kept: String = fitting.collect();
        let at = x.saturating_add(kept.width() as u16);
        self.write_within(x, y, width, &kept, role);
        self.write_within(at, y, width, self.theme.cut_mark(), Role::Aside);
    }

    /// Writes `text` from column 1 of row `y` on, over as many rows as it needs and as there are before row `end`.
    pub fn write_paragraph(&mut self, y: u16, end: u16, text: &str, role: Role) {
        let rows = end.min(self.area.height).saturating_sub(y);
        let block = Rect::new(self.area.x + 1, self.area.y + y, self.area.width.saturating_sub(2), rows);
        let (text, style) = (self.theme.text(text), self.theme.style(role));
        Paragraph::new(text)
            .wrap(Wrap { trim: true })
            .style(style)
            .render(block.intersection(self.area), self.buffer);
    }

    /// The style of a role.
    pub fn style(&self, role: Role) -> Style {
        self.theme.style(role)
    }

    /// Whether block signs may be drawn.
    pub fn has_blocks(&self) -> bool {
        self.theme.glyphs == Glyphs::Unicode
    }

    /// Draws a widget from column `x` of row `y`, `rows` high, to the right end.
    pub fn place(&mut self, x: u16, y: u16, rows: u16, widget: impl Widget) {
        let block = Rect::new(self.area.x + x, self.area.y + y, self.area.width.saturating_sub(x), rows);
        widget.render(block.intersection(self.area), self.buffer);
    }

    /// Blanks a row.
    pub fn clear_row(&mut self, y: u16) {
        let blanks = " ".repeat(usize::from(self.area.width));
        self.write(0, y, &blanks, Role::Plain);
    }
}
