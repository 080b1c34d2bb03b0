//! The playing screen: the chart with its playhead, the chord that sounds and the one that comes.
//!
//! [`draw`] is pure. [`run`] is the loop around it: it looks at the latest moment thirty times a second, draws, and
//! hands cues back. While the clock runs nothing moves but playhead and beat.

pub mod bindings;
mod chart_lines;
mod header;
mod large;
pub mod mutes;
pub mod neck_and_keys;
mod now_next;
#[cfg(test)]
mod tests;

use std::io;
use std::sync::Arc;
use std::time::Duration;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::canvas::Canvas;
use super::input::Keys;
use super::page::{AfterTheLastBar, Page};
use super::terminal::Screen;
use super::theme::{Role, Theme};
use crate::band::Part;
use crate::chart::Turn;
use crate::live::moment::HeardSoFar;
use crate::live::moment::{Ending, Place};
use crate::live::{Cue, Moment, ViewEnd};
use crate::neck::Tuning;
pub use crate::report::neck::picture::Naming;
use crate::time::Ticks;

use bindings::{Action, PLAYING};
use mutes::Muted;
use neck_and_keys::{Instrument, LayersShown, Window};

/// How long the screen waits for a key before it looks again: thirty times a second.
const LOOK: Duration = Duration::from_millis(33);
/// The screens' sizes: width and height from which each form is drawn.
const FULL: (u16, u16) = (80, 24);
const SMALL: (u16, u16) = (40, 10);
/// Lines of the chart the full form shows.
const LINES: usize = 4;

/// Whether the list of all keys is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum KeyList {
    /// It is not.
    #[default]
    Hidden,
    /// It is.
    Shown,
}

/// Whether the chart is drawn: without it the player keeps the form.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum ChartShown {
    /// It is.
    #[default]
    Shown,
    /// It is not.
    Hidden,
}

/// Whether the tally is shown while the clock runs. By default nothing tells the player how the line stands: it is for
/// afterwards.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum TallyShown {
    /// It is not.
    #[default]
    Hidden,
    /// It is, and changes at barlines only.
    AtBarlines,
}

/// Says in words how the line stands up to a barline; none where nothing counts yet.
pub type SoFar<'a> = dyn FnMut(&HeardSoFar) -> Option<String> + 'a;

/// All that is drawn, beside the page.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Shown {
    /// What the session showed last.
    pub moment: Moment,
    /// How chord tones are written.
    pub naming: Naming,
    /// The open strings.
    pub tuning: Tuning,
    /// Which layers are drawn.
    pub layers: LayersShown,
    /// How much of the neck is drawn.
    pub window: Window,
    /// What the layers are drawn on.
    pub instrument: Instrument,
    /// Whether the chart is drawn.
    pub chart: ChartShown,
    /// Whether the tally is shown.
    pub tally: TallyShown,
    /// The tally up to the last barline, in words, where it is shown and there is one.
    pub so_far: Option<String>,
    /// Which part of the band is silent.
    pub muted: Muted,
    /// The parts that were silent from the start.
    pub always_muted: Vec<Part>,
    /// Whether the list of all keys is shown.
    pub key_list: KeyList,
}

impl Shown {
    /// Does what a key asks for; says what the session has to be told.
    pub fn update(&mut self, action: Action) -> Vec<Cue> {
        match action {
            Action::Stop => return vec![Cue::Stop],
            Action::StopNow => return vec![Cue::StopNow],
            Action::SwapNaming => {
                self.naming = match self.naming {
                    Naming::Degrees => Naming::Names,
                    Naming::Names => Naming::Degrees,
                }
            }
            Action::SwapInstrument => self.instrument = self.instrument.next(),
            Action::SwapWindow => self.window = self.window.other(),
            Action::NextLayers => self.layers = self.layers.next(),
            Action::SwapTally => {
                self.tally = match self.tally {
                    TallyShown::Hidden => TallyShown::AtBarlines,
                    TallyShown::AtBarlines => TallyShown::Hidden,
                }
            }
            Action::NextMute => {
                let next = self.muted.next();
                let before = std::mem::replace(&mut self.muted, next);
                return before.cues(self.muted, &self.always_muted);
            }
            Action::AllKeys => {
                self.key_list = match self.key_list {
                    KeyList::Hidden => KeyList::Shown,
                    KeyList::Shown => KeyList::Hidden,
                }
            }
            Action::Close => self.key_list = KeyList::Hidden,
            Action::Redraw | Action::Suspend => {}
        }
        Vec::new()
    }
}

/// The view for a terminal: opens as `opening` says and draws until the take is over. `so_far` is asked at barlines, where
/// the tally is shown.
pub fn run(
    page: &Page,
    opening: &Shown,
    theme: Theme,
    so_far: &mut SoFar<'_>,
    end: &ViewEnd,
) -> io::Result<()> {
    let mut screen = Screen::enter()?;
    let pressed = Keys::listen()?;
    let mut shown = opening.clone();
    let mut told: Option<Arc<HeardSoFar>> = None;
    let mut drawn = None;
    loop {
        shown.moment = end.latest().get();
        if shown.moment.place == Place::Over {
            return Ok(());
        }
        let heard = shown.moment.heard.clone();
        if shown.tally == TallyShown::AtBarlines && told.as_ref() != Some(&heard) {
            shown.so_far = so_far(&heard);
            told = Some(heard);
        }
        let now = (screen.size()?, shown.clone());
        if drawn.as_ref() != Some(&now) {
            screen.draw(|area, buffer| draw(page, &shown, theme, area, buffer))?;
            drawn = Some(now);
        }
        let Some(key) = pressed.next(LOOK) else { continue };
        let action = PLAYING.action(key);
        match action {
            Some(Action::Redraw) => screen.clear()?,
            Some(Action::Suspend) => screen.suspend()?,
            _ => {}
        }
        if matches!(action, Some(Action::Redraw | Action::Suspend)) {
            drawn = None;
        }
        for cue in action.map(|action| shown.update(action)).unwrap_or_default() {
            end.give(cue);
        }
    }
}

/// Draws the screen into `area` of `buffer`, in the form that fits.
pub fn draw(page: &Page, shown: &Shown, theme: Theme, area: Rect, buffer: &mut Buffer) {
    let mut canvas = Canvas::new(buffer, area, theme);
    let page = page.of_chorus(chorus_of(page, &shown.moment));
    let here = Here::of(page, &shown.moment);
    if area.width >= FULL.0 && area.height >= FULL.1 {
        full(page, shown, &here, &mut canvas);
    } else if area.width >= SMALL.0 && area.height >= SMALL.1 {
        small(page, shown, &here, &mut canvas);
    } else {
        canvas.write(0, 0, "too small: 40x10 needed, or --plain", Role::Plain);
    }
}

/// The chorus that sounds; the first before it begins, the last behind its end.
fn chorus_of(page: &Page, moment: &Moment) -> u16 {
    match moment.place {
        Place::Opening | Place::CountIn { .. } => 1,
        Place::Playing { chorus, .. } | Place::Closing { chorus } => chorus,
        Place::Over => page.heading.choruses,
    }
}

/// Where the playhead is on the page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Here {
    /// The bar that sounds, or the first while nothing does yet.
    bar: usize,
    chord: Option<usize>,
    at: Ticks,
    playhead: Playhead,
    /// What follows the last bar.
    then: AfterTheLastBar,
    /// Whose bar it is.
    turn: Turn,
}

/// Whether the playhead is in the tune.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Playhead {
    Waiting,
    Running,
    Past,
}

impl Here {
    fn of(page: &Page, moment: &Moment) -> Self {
        let chorus = chorus_of(page, moment);
        let (at, playhead) = match moment.place {
            Place::Opening | Place::CountIn { .. } => (Ticks::ZERO, Playhead::Waiting),
            Place::Playing { at, .. } => (at, Playhead::Running),
            Place::Closing { .. } | Place::Over => {
                (page.bars.last().map_or(Ticks::ZERO, |bar| bar.start), Playhead::Past)
            }
        };
        let goes_on = moment.ending == Ending::LastChorus && chorus < page.heading.choruses;
        let then = if goes_on { AfterTheLastBar::Again } else { AfterTheLastBar::End };
        let bar = page.bar_at(at).unwrap_or(0);
        Self { bar, chord: page.chord_at(at), at, playhead, then, turn: page.turn(chorus.max(1), bar) }
    }

    /// The beat, from 1, while the playhead runs.
    fn beat(&self, page: &Page) -> Option<usize> {
        let bar = page.bars.get(self.bar).filter(|_| self.playhead == Playhead::Running)?;
        Some(((self.at - bar.start).0 / bar.meter.beat().0) as usize + 1)
    }
}

fn full(page: &Page, shown: &Shown, here: &Here, canvas: &mut Canvas) {
    let height = canvas.height();
    header::full(page, &shown.moment, here, canvas);
    task(page, canvas);
    let current = page.line_of(here.bar);
    // The line that is played is the second one shown, so that what comes is in sight.
    let first = current.saturating_sub(1).min(page.lines.len().saturating_sub(LINES));
    if shown.chart == ChartShown::Shown {
        for (row, line) in page.lines.iter().skip(first).take(LINES).enumerate() {
            chart_lines::full(page, line, here, 2 + 2 * row as u16, canvas);
        }
    }
    now_next::full(page, shown, here, 11, canvas);
    if shown.key_list == KeyList::Shown {
        PLAYING.write_list(13, canvas);
    } else if !caution(page, here, 14, canvas) {
        let end = height - 2 - u16::from(shown.tally == TallyShown::AtBarlines);
        let below = neck_and_keys::draw(page, shown, here, 13, end, canvas);
        let room = canvas.width() >= large::ROOM.0 && height >= large::ROOM.1;
        if let Some(chord) = here.chord.and_then(|chord| page.chords.get(chord)).filter(|_| room) {
            large::draw(&chord.text, below + 1, end, canvas);
        }
    }
    bottom(shown, height, canvas);
}

fn small(page: &Page, shown: &Shown, here: &Here, canvas: &mut Canvas) {
    let height = canvas.height();
    header::small(page, &shown.moment, here, canvas);
    task(page, canvas);
    let line = page.lines.get(page.line_of(here.bar)).filter(|_| shown.chart == ChartShown::Shown);
    if let Some(line) = line {
        chart_lines::small(page, line, here, 2, canvas);
    }
    now_next::small(page, shown, here, 4, canvas);
    if shown.key_list == KeyList::Shown {
        PLAYING.write_list(2, canvas);
    } else if !caution(page, here, 6, canvas) {
        neck_and_keys::draw(page, shown, here, 7, height - 1, canvas);
    }
    bottom(shown, height, canvas);
}

/// What is asked of the player, below the top row.
fn task(page: &Page, canvas: &mut Canvas) {
    if let Some(task) = &page.heading.task {
        canvas.write(1, 1, task, Role::Now);
    }
}

/// What is to be read before anything sounds; it goes when the tune begins. Says whether there is anything.
fn caution(page: &Page, here: &Here, top: u16, canvas: &mut Canvas) -> bool {
    let end = canvas.height() - 2;
    let caution = page.heading.caution.filter(|_| here.playhead == Playhead::Waiting);
    if let Some(caution) = caution {
        canvas.write_paragraph(top, end, caution, Role::Plain);
    }
    caution.is_some()
}

/// The last thing that had to be said, or the tally, and the keys.
fn bottom(shown: &Shown, height: u16, canvas: &mut Canvas) {
    let mut above = height - 2;
    if shown.tally == TallyShown::AtBarlines {
        let text = shown.so_far.as_deref().unwrap_or("tally: from the first barline on");
        canvas.write(1, above, text, Role::Aside);
        above -= 1;
    }
    if let Some(text) = shown.muted.words().or(shown.moment.said.last().map(String::as_str)) {
        canvas.write(1, above, text, Role::Aside);
    }
    let stops_now = shown.moment.ending == Ending::ThisChorus;
    let longer = if stops_now { " now".len() } else { 0 };
    let mut row = PLAYING.bottom_row(usize::from(canvas.width()).saturating_sub(longer));
    if stops_now {
        row = row.replacen("space stop", "space stop now", 1);
    }
    canvas.write(0, height - 1, &row, Role::Aside);
}
