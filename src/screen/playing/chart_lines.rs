//! Lines of the chart: chords in their bars, functions below, the beat where the music is.

use super::{Here, Playhead};
use crate::screen::canvas::Canvas;
use crate::screen::page::{Page, PageLine};
use crate::screen::theme::Role;

/// Columns before the first barline.
const MARGIN: u16 = 4;
/// Columns after the last barline: `  key F#m`.
const KEY: u16 = 12;
/// The widest bar, barline included.
const WIDEST_BAR: u16 = 24;
/// Bars for which a line has room.
const BARS: u16 = 4;

/// A line of chords and the line of functions below it.
pub(super) fn full(page: &Page, line: &PageLine, here: &Here, y: u16, canvas: &mut Canvas) {
    let bar_width = ((canvas.width() - MARGIN - KEY) / BARS).min(WIDEST_BAR);
    let is_current = line.bars.contains(&here.bar) && here.playhead == Playhead::Running;
    canvas.write_within(2, y, MARGIN - 2, &line.label, Role::Plain);
    if is_current {
        canvas.write(1, y, ">", Role::Now);
    }
    let row = Row { left: MARGIN, bar_width, y };
    row.chords(page, line, here, canvas);
    row.functions(page, line, here, canvas);
    let after = MARGIN + BARS * bar_width;
    canvas.write(after + 3, y, &line.key, Role::Aside);
}

/// A line of chords alone.
pub(super) fn small(page: &Page, line: &PageLine, here: &Here, y: u16, canvas: &mut Canvas) {
    let bar_width = (canvas.width() - MARGIN - 1) / BARS;
    canvas.write(1, y, ">", Role::Now);
    Row { left: MARGIN - 1, bar_width: bar_width.min(11), y }.chords(page, line, here, canvas);
}

struct Row {
    left: u16,
    bar_width: u16,
    y: u16,
}

impl Row {
    /// Columns inside a bar: without the barline and the blanks beside it.
    fn inside(&self) -> u16 {
        self.bar_width.saturating_sub(2)
    }

    fn x(&self, place: usize) -> u16 {
        self.left + place as u16 * self.bar_width
    }

    fn chords(&self, page: &Page, line: &PageLine, here: &Here, canvas: &mut Canvas) {
        for (place, bar) in line.bars.clone().enumerate() {
            canvas.write(self.x(place), self.y, canvas.barline(), Role::Aside);
            for (x, width, chord) in page.places(bar, self.inside()) {
                let now = here.playhead == Playhead::Running && here.chord == Some(chord);
                let role = if now { Role::Now } else { Role::Plain };
                canvas.write_marked(self.x(place) + 2 + x, self.y, width, &page.chords[chord].text, role);
            }
        }
        canvas.write(self.x(line.bars.len()), self.y, canvas.barline(), Role::Aside);
    }

    fn functions(&self, page: &Page, line: &PageLine, here: &Here, canvas: &mut Canvas) {
        for (place, bar) in line.bars.clone().enumerate() {
            let left = self.x(place) + 2;
            let beat = here.beat(page).filter(|_| bar == here.bar);
            if let Some(beat) = beat {
                let beats = beats(page.bars[bar].meter.beats().into(), beat, self.inside().into());
                canvas.write_within(left, self.y + 1, self.inside(), &beats, Role::Now);
                continue;
            }
            for (x, width, chord) in page.places(bar, self.inside()) {
                canvas.write_marked(left + x, self.y + 1, width, &page.chords[chord].function, Role::Aside);
            }
        }
    }
}

/// The beats of a bar with the current one in brackets: `1 2 (3) 4`; where that is too wide, `beat 3 of 12`.
pub(super) fn beats(of: usize, current: usize, width: usize) -> String {
    let number = |beat: usize| {
        if beat == current { format!("({beat})") } else { beat.to_string() }
    };
    let all = (1..=of).map(number).collect::<Vec<_>>().join(" ");
    if all.len() <= width { all } else { format!("({current}) of {of}") }
}
