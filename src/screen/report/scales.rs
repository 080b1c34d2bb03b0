//! What other scales would make of a chord, shown before one is kept.

use crate::report::review::other_scales::{OtherScales, over_chord_words};
use crate::screen::canvas::Canvas;
use crate::screen::theme::Role;

/// Scales to choose from over a chord.
#[derive(Clone, Debug)]
pub struct ScaleChoice {
    /// Number of the chord in the form, from 1.
    pub chord_index: usize,
    /// The scales, with what each would make of it.
    pub scales: OtherScales,
    /// Which of the others the cursor is on.
    pub at: usize,
}

impl ScaleChoice {
    /// Moves the cursor.
    pub fn step(&mut self, by: isize) {
        let last = self.scales.others.len().saturating_sub(1);
        self.at = self.at.saturating_add_signed(by).min(last);
    }

    /// The scale under the cursor, as a chart writes it.
    pub fn chosen(&self) -> Option<&str> {
        self.scales.others.get(self.at).map(|tried| tried.written.as_str())
    }

    /// Draws them between two rows of the screen.
    pub(super) fn draw(&self, (top, end): (u16, u16), canvas: &mut Canvas<'_>) {
        let OtherScales { symbol, bar, in_force, now, others } = &self.scales;
        let every = "every time it came in the take";
        canvas.write(1, top, &format!("bar {bar}, {symbol}: its notes, {every}"), Role::Now);
        // The counts stand below the name where both have no room beside each other.
        let is_wide = canvas.width() >= 72;
        let step = if is_wide { 1 } else { 2 };
        let mut row = |y: u16, mark: &str, name: &str, counts: String, role| {
            if y + step > end {
                return;
            }
            canvas.write(1, y, mark, Role::Now);
            canvas.write(3, y, name, role);
            let (x, y) = if is_wide { (28, y) } else { (5, y + 1) };
            canvas.write(x, y, &counts, role);
        };
        row(top + 1, " ", &format!("{in_force} now"), over_chord_words(*now), Role::Plain);
        let rows = usize::from(end.saturating_sub(top + 1 + step) / step);
        let first = (self.at + 1).saturating_sub(rows.max(1));
        for (nth, tried) in others.iter().enumerate().skip(first) {
            let y = top + 1 + step * (1 + (nth - first) as u16);
            let is_here = nth == self.at;
            let role = if is_here { Role::Now } else { Role::Plain };
            row(y, if is_here { ">" } else { " " }, &tried.scale, over_chord_words(tried.over), role);
        }
        if others.is_empty() {
            canvas.write(3, top + 1 + step, "no other scale is listed for it", Role::Plain);
        }
    }
}
