//! The chord that sounds now and the one that comes, with what to aim for.

use super::{Here, Naming, Playhead, Shown, chart_lines};
use crate::chart::Turn;
use crate::screen::canvas::Canvas;
use crate::screen::page::{Page, PageChord, Tone};
use crate::screen::theme::Role;

/// One row: now on the left, next on the right. What finds no room is left out from the middle: first the tones, then
/// the guide tones.
pub(super) fn full(page: &Page, shown: &Shown, here: &Here, y: u16, canvas: &mut Canvas) {
    let Some(now) = here.chord.and_then(|chord| page.chords.get(chord)) else {
        return;
    };
    let width = usize::from(canvas.width());
    let left = format!("{:4}  {}", now.text, now.scale);
    let tones = tones(now, shown.naming);
    let next = next(page, here);
    let next = [next.with_guides(), next.alone()];
    let fitting = next.iter().find(|next| left.len() + 7 + 3 + 6 + next.len() <= width);
    let next = fitting.unwrap_or(&next[1]);
    canvas.write(1, y, if here.playhead == Playhead::Waiting { "first" } else { "now" }, Role::Aside);
    canvas.write(7, y, &left, Role::Now);
    let wide = (width - 80) as u16;
    let next_at = (42 + wide / 2).max(7 + left.len() as u16 + 3).min((width - 6 - next.len()) as u16);
    let tones_at = (30 + wide / 4).max(7 + left.len() as u16 + 3);
    if usize::from(tones_at) + tones.len() + 2 <= usize::from(next_at) {
        canvas.write(tones_at, y, &tones, Role::Plain);
    }
    canvas.write(next_at, y, "next", Role::Aside);
    canvas.write(next_at + 6, y, next, Role::Plain);
    canvas.write(7, y + 1, whose(here), Role::Now);
    canvas.write(next_at, y + 1, &key_ahead(page, here), Role::Now);
}

/// The key that comes, in the last bar before it: `then  key Gb`.
fn key_ahead(page: &Page, here: &Here) -> String {
    let running = here.playhead == Playhead::Running;
    let key = page.key_ahead(here.bar, here.then).filter(|_| running);
    key.map_or_else(String::new, |key| format!("then  key {key}"))
}

/// Whose bar it is, where it is not the player's.
fn whose(here: &Here) -> &'static str {
    match here.turn {
        Turn::Yours => "",
        Turn::Tune => "the tune: not counted",
        Turn::Drums => "the drums alone",
    }
}

/// Two rows: chord, beat and what comes; the scale below.
pub(super) fn small(page: &Page, shown: &Shown, here: &Here, y: u16, canvas: &mut Canvas) {
    let Some(now) = here.chord.and_then(|chord| page.chords.get(chord)) else {
        return;
    };
    canvas.write_within(3, y, 13, &now.text, Role::Now);
    let scale = if here.turn == Turn::Yours { &now.scale } else { whose(here) };
    canvas.write(3, y + 1, scale, Role::Plain);
    let wide = canvas.width() >= 56;
    if let Some(beat) = here.beat(page) {
        let beats = chart_lines::beats(page.bars[here.bar].meter.beats().into(), beat, 17);
        canvas.write(17, y, &beats, Role::Now);
    }
    let (x, below) = if wide { (35, 0) } else { (3, 2) };
    let next = next(page, here);
    let guides: Vec<&str> = next.guides.iter().map(|tone| tone.name.as_str()).collect();
    canvas.write(x, y + below, "next", Role::Aside);
    canvas.write(x + 6, y + below, &format!("{}   {}", next.text, guides.join("  ")), Role::Plain);
    canvas.write(x, y + 1 + below.max(1), &key_ahead(page, here), Role::Now);
    if shown.naming == Naming::Names && wide {
        canvas.write(35, y + 1, &tones(now, Naming::Names), Role::Plain);
    }
}

fn tones(chord: &PageChord, naming: Naming) -> String {
    let text = |tone: &Tone| match naming {
        Naming::Degrees => tone.degree.clone(),
        Naming::Names => tone.name.clone(),
    };
    chord.tones.iter().map(text).collect::<Vec<_>>().join(" ")
}

/// What comes next, in words.
struct Next<'p> {
    text: &'p str,
    when: String,
    guides: &'p [Tone],
}

impl Next<'_> {
    fn alone(&self) -> String {
        format!("{}{}", self.text, self.when)
    }

    /// `Bb7 in 1 beat:  3 = D   b7 = Ab`
    fn with_guides(&self) -> String {
        let guides: Vec<String> =
            self.guides.iter().map(|tone| format!("{} = {}", tone.degree, tone.name)).collect();
        if guides.is_empty() { self.alone() } else { format!("{}:  {}", self.alone(), guides.join("   ")) }
    }
}

fn next<'p>(page: &'p Page, here: &Here) -> Next<'p> {
    let found = here.chord.and_then(|chord| page.next_chord(chord, here.then));
    let Some((chord, at)) = found.filter(|_| here.playhead != Playhead::Past) else {
        return Next { text: "the last note", when: String::new(), guides: &[] };
    };
    let beat = page.bars.get(here.bar).map_or(1, |bar| bar.meter.beat().0);
    // A beat that has begun still counts: in the last beat of a chord the next one is 1 beat away.
    let beats = ((at - here.at).0 + beat - 1) / beat;
    let when = match (here.playhead, beats) {
        (Playhead::Waiting, _) => String::new(),
        (_, 1) => " in 1 beat".to_owned(),
        (_, beats) => format!(" in {beats} beats"),
    };
    Next { text: &chord.text, when, guides: &chord.guides }
}
