//! What is known of the chord under the cursor, and what another scale would change.

use super::{Choice, ReadingScreen};
use crate::report::reading::other_scale::OtherScale;
use crate::report::reading::{ReadChord, ScaleRecord};
use crate::report::region_lines::region_lines;
use crate::report::table::fold;
use crate::screen::canvas::Canvas;
use crate::screen::theme::Role;

/// Columns of a label.
const LABEL: usize = 7;
/// Height from which the keys of all bars are told, and not of the chord's bar alone.
const ROOM_FOR_ALL_KEYS: u16 = 34;

/// A row of words.
pub(super) type DetailRow = (String, Role);

/// The rows that the screen has to say.
pub(super) fn rows(screen: &ReadingScreen, canvas: &Canvas<'_>) -> Vec<DetailRow> {
    let Some(chord) = screen.chord() else {
        return vec![("the chart has no chords".to_owned(), Role::Plain)];
    };
    let mut rows = Rows { rows: Vec::new(), width: usize::from(canvas.width()) };
    rows.push("", &head(chord), Role::Now);
    if let Some(scale) = &chord.scale {
        let kept = if chord.overridden { "   yours: u takes it out" } else { "" };
        rows.push("scale", &format!("{}{kept}", with_names(scale)), Role::Plain);
    }
    match &screen.choice {
        Some(choice) => rows.choice(screen, chord, choice),
        None => rows.of_chord(screen, chord, canvas.height()),
    }
    rows.rows
}

/// Draws rows from `top` on, as far as there is room before row `end`.
pub(super) fn draw(rows: &[DetailRow], top: u16, end: u16, canvas: &mut Canvas<'_>) {
    for (y, (text, role)) in (top..end).zip(rows) {
        canvas.write(1, y, text, *role);
    }
}

/// `bar 6   Bb7   V7 in Eb major`.
fn head(chord: &ReadChord) -> String {
    let page =
        if chord.bar == chord.form_bar { String::new() } else { format!(" ({} on the page)", chord.bar) };
    let function = chord.function.as_ref().map(|function| format!("   {function}"));
    let key = chord.key.as_ref().map(|key| format!(" in {key}"));
    format!(
        "bar {}{page}   {}{}{}",
        chord.form_bar,
        chord.symbol,
        function.unwrap_or_default(),
        key.unwrap_or_default()
    )
}

fn with_names(scale: &ScaleRecord) -> String {
    format!("{} = {}", scale.in_words(), scale.names.join(" "))
}

struct Rows {
    rows: Vec<DetailRow>,
    width: usize,
}

impl Rows {
    /// Words behind a label, on as many rows as they need.
    fn push(&mut self, label: &str, words: &str, role: Role) {
        let label_width = if label.is_empty() { 0 } else { LABEL };
        let room = self.width.saturating_sub(label_width + 2).max(10);
        let label = format!("{label:<label_width$}");
        let lines = words.split("   ").collect::<Vec<_>>();
        // Parts that stand three blanks from each other stay so where they fit into one row.
        let lines = if words.len() <= room { vec![words.to_owned()] } else { fold(&lines.join(" "), room) };
        for (nth, line) in lines.into_iter().enumerate() {
            let before = if nth == 0 { label.clone() } else { " ".repeat(label_width) };
            self.rows.push((format!("{before}{line}"), role));
        }
    }

    fn of_chord(&mut self, screen: &ReadingScreen, chord: &ReadChord, height: u16) {
        if let Some(why) = &chord.why {
            self.push("why", why, Role::Plain);
        }
        let also: Vec<&str> = chord.alternatives.iter().map(|scale| scale.name.as_str()).collect();
        if !also.is_empty() {
            self.push("also", &also.join(", "), Role::Plain);
        }
        let tones = screen.page.chords.get(screen.cursor).map_or(&[][..], |chord| &chord.tones);
        let tones: Vec<String> =
            tones.iter().map(|tone| format!("{} = {}", tone.degree, tone.name)).collect();
        if !tones.is_empty() {
            self.push("chord", &tones.join("   "), Role::Plain);
        }
        let of_bar = (height < ROOM_FOR_ALL_KEYS).then_some(chord.bar);
        for line in region_lines(&screen.document, of_bar) {
            self.push("key", &line, Role::Aside);
        }
    }

    fn choice(&mut self, screen: &ReadingScreen, chord: &ReadChord, choice: &Choice) {
        let nth = match choice.nth {
            Some(nth) => format!("   {} of {}", nth + 1, screen.alternatives().len()),
            None => "   as typed".to_owned(),
        };
        self.push("other", &format!("{}{nth}", with_names(&choice.scale)), Role::Now);
        for sentence in OtherScale::over(chord, &choice.scale).sentences() {
            self.push(" ", &sentence, Role::Plain);
        }
        self.push("", "enter keeps it for this chart   s the next one   esc leaves it", Role::Aside);
    }
}
