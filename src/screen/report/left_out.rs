//! What was left out, each note with its reason; one that was set aside as misread can be brought back.

use crate::screen::canvas::Canvas;
use crate::screen::chorus::seen::Seen;
use crate::screen::theme::Role;

/// Reasons that lie in the note itself, so that a player who meant it may have it counted.
const OF_THE_NOTE: [&str; 3] = ["ghost", "ornament", "retrigger"];

/// What can be done with the note at a row of the list.
pub(super) fn can_be_swapped(seen: &Seen, row: usize) -> Option<usize> {
    let notes = seen.left_out();
    let note = notes.get(row)?;
    let may = seen.brought_back.contains(&note.index)
        || note.left_out.is_some_and(|reason| OF_THE_NOTE.contains(&reason));
    may.then_some(note.index)
}

/// Why the note at a row of the list is not counted, or that it is again.
pub(super) fn why(seen: &Seen, row: usize) -> Option<String> {
    let notes = seen.left_out();
    let note = notes.get(row)?;
    Some(if seen.brought_back.contains(&note.index) {
        format!("why: you brought it back, so it counts: {}", note.why)
    } else {
        format!("why: {}", note.why)
    })
}

/// Draws the list with its cursor between two rows of the screen.
pub(super) fn draw(seen: &Seen, cursor: usize, (top, end): (u16, u16), canvas: &mut Canvas<'_>) {
    let notes = seen.left_out();
    if notes.is_empty() {
        return canvas.write(1, top, "nothing was left out: every note counts", Role::Plain);
    }
    canvas.write(1, top, "left out, shown but not counted; enter counts a misread one again", Role::Aside);
    let height = usize::from(end.saturating_sub(top + 1));
    let first = (cursor + 1).saturating_sub(height.max(1));
    for (row, note) in notes.iter().enumerate().skip(first).take(height) {
        let y = top + 1 + (row - first) as u16;
        let is_here = row == cursor;
        if is_here {
            canvas.write(0, y, ">", Role::Now);
        }
        let reason = if seen.brought_back.contains(&note.index) {
            "brought back"
        } else {
            note.left_out.unwrap_or("")
        };
        let place =
            format!("chorus {} bar {:>3} beat {:<5.2} {:4}", note.chorus, note.bar, note.beat, note.name);
        let role = if is_here { Role::Now } else { Role::Plain };
        canvas.write(1, y, &format!("{place} {reason}"), role);
    }
}
