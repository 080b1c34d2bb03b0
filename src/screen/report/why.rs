//! Why the note under the cursor was judged as it was: its chord, the rule, the notes beside it.

use crate::report::review::notes::why_note;
use crate::report::review::{NoteRecord, Review};
use crate::screen::chorus::seen::Seen;

/// The lines about a note.
pub(super) fn lines(seen: &Seen, note: &NoteRecord) -> Vec<String> {
    let review = &seen.review;
    let mut lines = why_note(review, note.index).unwrap_or_else(|| vec![note.why.clone()]);
    if let Some(first) = lines.first_mut() {
        first.insert_str(0, "why: ");
    }
    lines.push(format!("  {:<10} {}", "beside it", beside(review, note)));
    lines.extend(
        seen.contest(note.index).map(|heard| format!("  {:<10} you hear it as {heard}", "contested")),
    );
    lines
}

/// The counted notes before and after it: `Ab4 before, C5 after`.
fn beside(review: &Review, note: &NoteRecord) -> String {
    let counted = || review.notes.iter().flatten().filter(|other| other.counted);
    let before = counted().take_while(|other| other.index < note.index).last();
    let after = counted().find(|other| other.index > note.index);
    let name = |note: Option<&NoteRecord>| note.map_or("nothing", |note| note.name.as_str()).to_owned();
    format!("{} before, {} after", name(before), name(after))
}

/// A line on as many rows as it needs, the later ones set in.
pub(super) fn wrapped(line: &str, width: usize) -> Vec<String> {
    const SET_IN: &str = "             ";
    let words = line.trim_start().split(' ');
    let mut rows = vec![line[..line.len() - line.trim_start().len()].to_owned()];
    let mut is_first = true;
    for word in words {
        let Some(row) = rows.last_mut() else { continue };
        if !is_first && row.chars().count() + 1 + word.chars().count() > width {
            rows.push(format!("{SET_IN}{word}"));
        } else {
            row.push_str(if is_first { "" } else { " " });
            row.push_str(word);
        }
        is_first = false;
    }
    rows
}
