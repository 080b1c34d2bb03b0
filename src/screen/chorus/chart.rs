//! The chorus on its own chart: chords in their bars, below each how it was met and what was left open over it.

use super::seen::Seen;
use crate::report::review::chorus_words::{Part, met};
use crate::screen::canvas::Canvas;
use crate::screen::page::{Page, PageBar, PageLine};
use crate::screen::theme::Role;

/// Columns before the first barline.
const MARGIN: u16 = 4;
/// Columns after the last barline: `  key F#m`.
const KEY: u16 = 12;
/// From how many columns on the keys have room.
const WITH_KEYS: u16 = 72;
/// The widest bar, barline included.
const WIDEST_BAR: u16 = 24;
/// Bars for which a line has room.
const BARS: u16 = 4;
/// Rows of a line.
pub(super) const ROWS: u16 = 2;

/// Draws lines of the chart from row `top` on, as many as there are rows for up to `rows`; the line of the chosen bar is
/// among them.
pub(super) fn draw(
    seen: &Seen,
    part: Part,
    chosen: Option<usize>,
    (top, lines): (u16, u16),
    canvas: &mut Canvas<'_>,
) {
    let page = seen.page_of(part);
    let current = chosen.map_or(0, |bar| page.line_of(bar));
    let lines = usize::from(lines);
    let first = (current + 1).saturating_sub(lines);
    for (row, line) in page.lines.iter().skip(first).take(lines).enumerate() {
        let y = top + ROWS * row as u16;
        Row { seen, page, part, line, chosen }.draw(y, canvas);
    }
}

struct Row<'a> {
    seen: &'a Seen,
    page: &'a Page,
    part: Part,
    line: &'a PageLine,
    chosen: Option<usize>,
}

impl Row<'_> {
    fn draw(&self, y: u16, canvas: &mut Canvas<'_>) {
        let has_keys = canvas.width() >= WITH_KEYS;
        let margin = if has_keys { MARGIN } else { 3 };
        let behind = if has_keys { KEY } else { 1 };
        let bar_width = (canvas.width().saturating_sub(margin + behind) / BARS).min(WIDEST_BAR);
        canvas.write_within(margin.saturating_sub(2).min(2), y, 1, &self.line.label, Role::Plain);
        let x = |place: usize| margin + place as u16 * bar_width;
        for (place, bar) in self.line.bars.clone().enumerate() {
            let is_chosen = self.chosen == Some(bar);
            let (mark, role) = if is_chosen { (">", Role::Now) } else { (canvas.barline(), Role::Aside) };
            canvas.write(x(place), y, mark, role);
            let (left, inside) = (x(place) + 2, bar_width.saturating_sub(2));
            for (at, width, chord) in places(&self.page.bars[bar], self.page, inside) {
                let role = if is_chosen { Role::Now } else { Role::Plain };
                canvas.write_marked(left + at, y, width, &self.page.chords[chord].text, role);
                self.met(chord, (left + at, y + 1, width), canvas);
            }
        }
        canvas.write(x(self.line.bars.len()), y, canvas.barline(), Role::Aside);
        if has_keys {
            canvas.write(x(BARS.into()) + 3, y, &self.line.key, Role::Aside);
        }
    }

    /// `* b7 ?`, as far as there is room: what is open stands before all else.
    fn met(&self, chord: usize, (x, y, width): (u16, u16, u16), canvas: &mut Canvas<'_>) {
        let met = met(&self.seen.review, self.part, chord + 1);
        let wide = format!("* {} {}", met.by, met.open).trim_end().len();
        let star = match (met.landed, wide <= usize::from(width)) {
            (false, _) => String::new(),
            (true, true) => "* ".to_owned(),
            (true, false) => "*".to_owned(),
        };
        let by = format!("{star}{}", met.by);
        let role = if met.landed { Role::ChordTone } else { Role::Plain };
        let role = if met.by == "-" { Role::Aside } else { role };
        canvas.write_marked(x, y, width, &by, role);
        let blank = u16::from(!by.is_empty() && wide <= usize::from(width));
        let open = (by.len() as u16 + blank).min(width.saturating_sub(met.open.len() as u16));
        canvas.write_within(x + open, y, width - open, &met.open, Role::Outside);
    }
}

/// Where each chord of a bar stands inside it, and how much room it has.
fn places(bar: &PageBar, page: &Page, inside: u16) -> Vec<(u16, u16, usize)> {
    let column = |chord: usize| {
        let into = page.chords[chord].start - bar.start;
        (into.0 * i64::from(inside) / bar.meter.bar().0.max(1)) as u16
    };
    let ends = |chord: usize| {
        let is_last = chord + 1 == bar.chords.end;
        if is_last { inside } else { column(chord + 1).saturating_sub(1) }
    };
    bar.chords
        .clone()
        .map(|chord| (column(chord), ends(chord).saturating_sub(column(chord)), chord))
        .collect()
}
