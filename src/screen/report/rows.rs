//! The rows of bars: a chord each, its notes in order with their marks, the counts, how the change was met.

use unicode_width::UnicodeWidthStr;

use crate::report::number::Count;
use crate::report::review::chorus_words::Part;
use crate::report::review::text::{landing, mark, notes_over};
use crate::report::review::{ChordRecord, NoteRecord};
use crate::screen::canvas::Canvas;
use crate::screen::chorus::seen::Seen;
use crate::screen::theme::Role;

/// Where the cursor stands: a row, and a note in it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Cursor {
    /// Which chord of the part, from 0.
    pub row: usize,
    /// Which of its notes, from 0.
    pub note: usize,
}

/// The columns, chosen by the width of the screen.
struct Columns {
    chord: u16,
    scale: Option<u16>,
    notes: u16,
    counts: u16,
    met: Option<u16>,
}

/// Columns of the counts and the landing.
const COUNTS: u16 = 20;
/// Columns of how the change was met, in words.
const IN_WORDS: u16 = 26;

impl Columns {
    fn of(width: u16) -> Self {
        let met = (width >= 112).then(|| width - IN_WORDS);
        let counts = met.unwrap_or(width).saturating_sub(COUNTS);
        let chord = 5;
        let (scale, notes) = match width {
            0..68 => (None, chord + 8),
            68..100 => (Some(chord + 9), chord + 27),
            _ => (Some(chord + 9), chord + 30),
        };
        Self { chord, scale, notes, counts, met }
    }
}

/// One chord with its notes on as many lines as they need.
struct RowOf<'a> {
    chord: &'a ChordRecord,
    lines: Vec<Vec<(usize, &'a NoteRecord)>>,
}

/// The notes of a chord on lines of so many columns.
fn laid_out(notes: Vec<&NoteRecord>, room: usize) -> Vec<Vec<(usize, &NoteRecord)>> {
    let mut lines = vec![Vec::new()];
    let mut used = 0;
    for (nth, note) in notes.into_iter().enumerate() {
        let width = mark(note).0.width() + 1;
        if used + width > room + 1 && used > 0 {
            lines.push(Vec::new());
            used = 0;
        }
        used += width;
        if let Some(last) = lines.last_mut() {
            last.push((nth, note));
        }
    }
    lines
}

/// Draws the heads of the columns and as many rows as there is room for between two rows of the screen, that of the cursor
/// among them.
pub(super) fn draw(seen: &Seen, part: Part, cursor: Cursor, (top, end): (u16, u16), canvas: &mut Canvas<'_>) {
    let columns = Columns::of(canvas.width());
    heads(&columns, top, canvas);
    let room = usize::from(columns.counts.saturating_sub(columns.notes + 1));
    let rows: Vec<RowOf<'_>> = seen
        .chords(part)
        .map(|chord| RowOf { chord, lines: laid_out(notes_over(&seen.review, chord), room) })
        .collect();
    let height = usize::from(end.saturating_sub(top + 1));
    let mut first = cursor.row.min(rows.len());
    // From the cursor upwards as long as there is room, so that two rows behind it stay in sight where they can.
    let lines_of = |row: usize| rows.get(row).map_or(0, |row: &RowOf<'_>| row.lines.len());
    let mut used: usize = (cursor.row..cursor.row + 3).map(lines_of).sum();
    while first > 0 && used + lines_of(first - 1) <= height {
        first -= 1;
        used += lines_of(first);
    }
    let mut y = top + 1;
    for (index, row) in rows.iter().enumerate().skip(first) {
        let here = (index == cursor.row).then_some(cursor.note);
        for (nth, line) in row.lines.iter().enumerate() {
            if y >= end {
                return;
            }
            if nth == 0 {
                words(row.chord, part, here.is_some(), (&columns, y), canvas);
            }
            notes(seen, line, here, (&columns, y), canvas);
            y += 1;
        }
    }
}

fn heads(columns: &Columns, y: u16, canvas: &mut Canvas<'_>) {
    canvas.write(1, y, "bar", Role::Aside);
    canvas.write(columns.chord, y, "chord", Role::Aside);
    if let Some(scale) = columns.scale {
        canvas.write(scale, y, "scale", Role::Aside);
    }
    canvas.write(columns.notes, y, "notes in order", Role::Aside);
    canvas.write(columns.counts, y, "  c   s   x  land", Role::Aside);
    if let Some(met) = columns.met {
        canvas.write(met, y, "how the change was met", Role::Aside);
    }
}

fn words(
    chord: &ChordRecord,
    part: Part,
    is_here: bool,
    (columns, y): (&Columns, u16),
    canvas: &mut Canvas<'_>,
) {
    let bar = match part {
        Part::Chorus(_) => format!("{:>3}", chord.bar),
        Part::Take => format!("{}.{:<2}", chord.chorus, chord.bar),
    };
    let role = if is_here { Role::Now } else { Role::Plain };
    if is_here {
        canvas.write(0, y, ">", Role::Now);
    }
    canvas.write_within(1, y, columns.chord - 1, &bar, role);
    let scale_or_notes = columns.scale.unwrap_or(columns.notes);
    canvas.write_within(columns.chord, y, scale_or_notes - columns.chord - 1, &chord.symbol, role);
    if let Some(at) = columns.scale {
        let room = columns.notes - at - 1;
        let scale = chord.scale.as_deref().unwrap_or_default();
        // The root is the chord's own and goes where there is no room for it.
        let short =
            scale.split_once(' ').filter(|_| scale.width() > room.into()).map_or(scale, |(_, name)| name);
        canvas.write_within(at, y, room, short, Role::Plain);
    }
    let inside = Count(chord.scale_notes.0 + chord.other.0);
    let counts =
        [chord.chord, inside, chord.outside].map(|count| format!("{:>3} ", count.to_string())).concat();
    let land = landing(chord);
    canvas.write_within(columns.counts, y, COUNTS - 1, &format!("{counts} {land}"), Role::Plain);
    if let Some(met) = columns.met {
        canvas.write(met, y, &how_met(chord), Role::Plain);
    }
}

/// `on the seventh`, `natural 7: outside`, in the document's own degree.
fn how_met(chord: &ChordRecord) -> String {
    let Some(landing) = &chord.landing else {
        return if chord.kept_out.is_some() { "not counted" } else { "no change" }.to_owned();
    };
    match (&landing.degree, landing.hit, landing.seven_to_three) {
        (Some(degree), Some(true), Some(true)) => format!("on the {degree}, from the 7th"),
        (Some(degree), Some(true), _) => format!("on the {degree}, a guide tone"),
        (Some(degree), _, _) => format!("on the {degree}"),
        (None, _, _) => "no note in its first beat".to_owned(),
    }
}

fn notes(
    seen: &Seen,
    line: &[(usize, &NoteRecord)],
    here: Option<usize>,
    (columns, y): (&Columns, u16),
    canvas: &mut Canvas<'_>,
) {
    let mut x = columns.notes;
    for (nth, note) in line {
        let (text, role) = mark(note);
        // In brackets, as the beat of the moment is.
        let is_here = here == Some(*nth);
        let width = text.width() as u16;
        let role = if is_here { Role::Now } else { role.into() };
        canvas.write_within(x, y, columns.counts.saturating_sub(x), &text, role);
        if is_here {
            canvas.write(x - 1, y, "(", Role::Now);
            canvas.write(x + width, y, ")", Role::Now);
        } else if seen.contest(note.index).is_some() {
            canvas.write(x - 1, y, "!", Role::Now);
        }
        x += width + 1;
    }
}
