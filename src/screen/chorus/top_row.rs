//! The top row: which tune, which chorus of it, which take.

use super::seen::Seen;
use crate::report::review::chorus_words::Part;
use crate::screen::canvas::Canvas;
use crate::screen::theme::Role;

/// From how many columns on key and tempo stand in it.
const FULL: u16 = 72;

pub(super) fn draw(seen: &Seen, part: Part, canvas: &mut Canvas<'_>) {
    let heading = &seen.page_of(part).heading;
    let width = canvas.width();
    let take = seen.take_words();
    let part = seen.part_words(part);
    let is_full = width >= FULL;
    let take_at = width.saturating_sub(take.len() as u16 + 1);
    let before_take =
        if is_full && !take.is_empty() { take_at.saturating_sub(2) } else { width.saturating_sub(1) };
    let part_at = if is_full {
        (41 + (width.saturating_sub(80)) * 7 / 20).min(before_take.saturating_sub(part.len() as u16))
    } else {
        before_take.saturating_sub(part.len() as u16)
    };
    let title_room = if is_full { 21 } else { part_at.saturating_sub(2) };
    canvas.write_within(1, 0, title_room.saturating_sub(1), &heading.title, Role::Plain);
    if is_full {
        canvas.write_within(22, 0, 4, &heading.key, Role::Plain);
        canvas.write_within(
            27,
            0,
            part_at.saturating_sub(28),
            &heading.feel_tempo_and_written(),
            Role::Plain,
        );
        canvas.write(take_at, 0, &take, Role::Plain);
    }
    canvas.write(part_at, 0, &part, Role::Now);
}
