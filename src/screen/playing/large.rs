//! The chord of the moment in large letters, for whoever stands a step away.

use ratatui::style::Style;
use tui_big_text::{BigText, PixelSize};

use crate::screen::canvas::Canvas;
use crate::screen::theme::Role;

/// Columns and rows of one large letter.
const LETTER: (u16, u16) = (8, 4);

/// From which width and height on there is room for large letters.
pub(super) const ROOM: (u16, u16) = (100, 34);

/// Writes `text` in large letters from row `y`, as far as they fit before row `end`. They are made of blocks: without
/// signs beyond ASCII there are none.
pub(super) fn draw(text: &str, y: u16, end: u16, canvas: &mut Canvas) {
    let fits = text.chars().count() as u16 * LETTER.0 + 2 <= canvas.width() && y + LETTER.1 <= end;
    if !fits || !canvas.has_blocks() {
        return;
    }
    let style: Style = canvas.style(Role::Now);
    let letters =
        BigText::builder().pixel_size(PixelSize::HalfHeight).style(style).lines([text.into()]).build();
    canvas.place(1, y, LETTER.1, letters);
}
