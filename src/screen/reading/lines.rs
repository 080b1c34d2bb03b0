//! The lines of the chart: chords with the cursor among them, functions below, the key where it changes.

use super::ReadingScreen;
use crate::screen::canvas::Canvas;
use crate::screen::page::PageLine;
use crate::screen::theme::Role;

/// Columns before the first barline.
const MARGIN: u16 = 4;
/// Columns after the last barline, `  key F#m`, and from which width on there is room for them.
const KEY: u16 = 12;
const ROOM_FOR_KEY: u16 = 60;
/// The widest bar, barline included.
const WIDEST_BAR: u16 = 24;
/// Bars for which a line has room.
const BARS: u16 = 4;
/// Height from which functions stand below the chords.
const ROOM_FOR_FUNCTIONS: u16 = 14;

/// Draws the heading and as many lines as leave room for so many rows of details; says in which row these begin.
pub(super) fn draw(screen: &ReadingScreen, end: u16, details: usize, canvas: &mut Canvas<'_>) -> u16 {
    heading(screen, canvas);
    let page = &screen.page;
    let rows_of_a_line = if canvas.height() >= ROOM_FOR_FUNCTIONS { 2 } else { 1 };
    let top = if canvas.height() >= ROOM_FOR_FUNCTIONS { 2 } else { 1 };
    let room = usize::from(end - top).saturating_sub(details + 1);
    let shown = (room / usize::from(rows_of_a_line)).clamp(1, page.lines.len().max(1));
    let current = page.line_of(screen.bar());
    let first = current.saturating_sub(1).min(page.lines.len().saturating_sub(shown));
    let first = if shown == 1 { current } else { first };
    let mut y = top;
    for line in page.lines.iter().skip(first).take(shown) {
        let row = Row::new(y, canvas.width());
        row.draw(screen, line, rows_of_a_line == 2, canvas);
        y += rows_of_a_line;
    }
    y + u16::from(canvas.height() >= ROOM_FOR_FUNCTIONS)
}

fn heading(screen: &ReadingScreen, canvas: &mut Canvas<'_>) {
    let heading = &screen.page.heading;
    let bars = format!("{} bars", screen.page.bars.len());
    let parts = [heading.title.as_str(), &heading.key, &heading.feel_tempo_and_written(), &bars];
    let filled: Vec<&str> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    canvas.write(1, 0, &filled.join("   "), Role::Now);
}

struct Row {
    y: u16,
    bar_width: u16,
}

impl Row {
    fn new(y: u16, width: u16) -> Self {
        let key = if width >= ROOM_FOR_KEY { KEY } else { 1 };
        Self { y, bar_width: (width.saturating_sub(MARGIN + key) / BARS).min(WIDEST_BAR) }
    }

    fn x(&self, place: usize) -> u16 {
        MARGIN + place as u16 * self.bar_width
    }

    fn draw(&self, screen: &ReadingScreen, line: &PageLine, functions: bool, canvas: &mut Canvas<'_>) {
        let page = &screen.page;
        let inside = self.bar_width.saturating_sub(2);
        canvas.write_within(1, self.y, MARGIN - 2, &line.label, Role::Plain);
        for (place, bar) in line.bars.clone().enumerate() {
            canvas.write(self.x(place), self.y, canvas.barline(), Role::Aside);
            for (x, width, chord) in page.places(bar, inside) {
                let x = self.x(place) + 2 + x;
                let (sign, role) = mark(screen, chord);
                canvas.write(x - 1, self.y, sign, role);
                canvas.write_within(x, self.y, width, &page.chords[chord].text, role);
                if functions {
                    canvas.write_within(x, self.y + 1, width, &page.chords[chord].function, Role::Aside);
                }
            }
        }
        let after = self.x(line.bars.len());
        canvas.write(after, self.y, canvas.barline(), Role::Aside);
        if canvas.width() >= ROOM_FOR_KEY {
            canvas.write(MARGIN + BARS * self.bar_width + 3, self.y, &line.key, Role::Aside);
        }
    }
}

/// The sign before a chord: `>` for the cursor, `=` where the player's scale is kept, as a chart writes it.
fn mark(screen: &ReadingScreen, chord: usize) -> (&'static str, Role) {
    let is_kept = screen.document.chords.get(chord).is_some_and(|chord| chord.overridden);
    match (chord == screen.cursor, is_kept) {
        (true, _) => (">", Role::Now),
        (false, true) => ("=", Role::Plain),
        (false, false) => (" ", Role::Plain),
    }
}
