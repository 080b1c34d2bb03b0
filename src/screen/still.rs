//! Screens that stand still: drawn when something has changed, and else they wait for a key or a cue.
//!
//! What a screen shows and what its keys do is a value of its own ([`Still`]); the loop around it is [`visit`]. Where
//! leaving it leads is a wish, which whoever opened it carries out.

use std::io;
use std::time::{Duration, Instant};

use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

use super::canvas::Canvas;
use super::input::Keys;
use super::terminal::Screen;
use super::theme::Theme;

/// How long a key is waited for before the terminal's size and the cues are looked at.
const LOOK: Duration = Duration::from_millis(50);
/// Two cues within this are one cue twice.
const TWICE: Duration = Duration::from_secs(1);

/// What reaches a screen that stands still.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pressed {
    /// A key, control keys and releases apart.
    Key(KeyEvent),
    /// A cue: space, foot or low note, and no second one within a second, where a second means something else.
    Cue,
    /// A first cue, of which is not known yet whether a second follows.
    CueBegun,
    /// Two cues within a second.
    CueTwice,
    /// Time has passed without anything; only told where [`Still::watches`].
    Nothing,
}

/// A screen that stands still.
pub trait Still {
    /// Where leaving it leads.
    type Wish;
    /// Draws it, in whichever form fits.
    fn draw(&mut self, canvas: &mut Canvas<'_>);
    /// Does what was pressed; a wish leaves the screen.
    fn press(&mut self, pressed: Pressed) -> Option<Self::Wish>;
    /// Whether two cues within a second mean something else than one.
    fn hears_twice(&self) -> bool {
        false
    }
    /// Whether letters are text now, so that space is one of them and no cue.
    fn takes_text(&self) -> bool {
        false
    }
    /// Whether something changes without a key: then it is told of [`Pressed::Nothing`] at each look.
    fn watches(&self) -> bool {
        false
    }
}

/// Where cues come from beside the space bar.
pub trait Cues {
    /// Whether a foot or a low note has given a cue since the last look.
    fn given(&mut self) -> bool;
    /// Whether the program is asked to end, by a signal.
    fn is_over(&mut self) -> bool;
}

/// How a screen was left.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Left<W> {
    /// By a wish.
    Wish(W),
    /// By ctrl-c, a signal, or a terminal that went away: the program is to end.
    Interrupted,
}

/// Shows a screen until a wish leaves it.
pub fn visit<S: Still>(still: &mut S, theme: Theme, cues: &mut dyn Cues) -> io::Result<Left<S::Wish>> {
    let mut screen = Screen::enter()?;
    let keys = Keys::listen()?;
    let mut begun: Option<Instant> = None;
    let mut drawn_at = None;
    loop {
        if !screen.is_there() {
            return Ok(Left::Interrupted);
        }
        let size = screen.size()?;
        if drawn_at != Some(size) {
            screen.draw(|area, buffer| still.draw(&mut Canvas::new(buffer, area, theme)))?;
            drawn_at = Some(size);
        }
        let key = keys.next(LOOK);
        if cues.is_over() || key.is_some_and(|key| is_control(key, 'c')) {
            return Ok(Left::Interrupted);
        }
        if key.is_some_and(|key| is_control(key, 'z')) {
            screen.suspend()?;
            drawn_at = None;
            continue;
        }
        if key.is_some_and(|key| is_control(key, 'l')) {
            screen.clear()?;
            drawn_at = None;
            continue;
        }
        let is_cue = cues.given() || (key.is_some_and(is_space) && !still.takes_text());
        let Some(pressed) = pressed(is_cue, key, &mut begun, still, Instant::now()) else { continue };
        if let Some(wish) = still.press(pressed) {
            return Ok(Left::Wish(wish));
        }
        drawn_at = None;
    }
}

/// What a look has found, if anything; `begun` is when a first cue came that may be followed by a second.
fn pressed<S: Still>(
    is_cue: bool,
    key: Option<KeyEvent>,
    begun: &mut Option<Instant>,
    still: &S,
    now: Instant,
) -> Option<Pressed> {
    let first = begun.filter(|&first| now - first <= TWICE);
    let is_over = begun.is_some() && first.is_none();
    match (is_cue, first) {
        (true, Some(_)) => {
            *begun = None;
            Some(Pressed::CueTwice)
        }
        _ if is_over => {
            *begun = None;
            Some(Pressed::Cue)
        }
        (true, None) if still.hears_twice() => {
            *begun = Some(now);
            Some(Pressed::CueBegun)
        }
        (true, None) => Some(Pressed::Cue),
        (false, _) => match key.filter(|key| key.kind != KeyEventKind::Release) {
            Some(key) => {
                *begun = None;
                Some(Pressed::Key(key))
            }
            None => still.watches().then_some(Pressed::Nothing),
        },
    }
}

fn is_space(key: KeyEvent) -> bool {
    key.code == KeyCode::Char(' ') && key.kind != KeyEventKind::Release
}

fn is_control(key: KeyEvent, letter: char) -> bool {
    key.code == KeyCode::Char(letter)
        && key.modifiers.contains(KeyModifiers::CONTROL)
        && key.kind != KeyEventKind::Release
}

/// Draws a screen by itself, for tests.
#[cfg(test)]
pub mod tests {
    use ratatui::buffer::Buffer;
    use ratatui::layout::Rect;

    use super::*;

    /// A screen of this size as text.
    pub fn drawn<S: Still>(still: &mut S, width: u16, height: u16, theme: Theme) -> String {
        let area = Rect::new(0, 0, width, height);
        let mut buffer = Buffer::empty(area);
        still.draw(&mut Canvas::new(&mut buffer, area, theme));
        let row = |y| {
            let cells = (0..width).map(|x| buffer[(x, y)].symbol());
            cells.collect::<String>().trim_end().to_owned()
        };
        (0..height).map(row).collect::<Vec<_>>().join("\n")
    }

    /// What pressing this letter tells a screen.
    pub fn letter(letter: char) -> Pressed {
        key(KeyCode::Char(letter))
    }

    /// What pressing this key tells a screen.
    pub fn key(code: KeyCode) -> Pressed {
        Pressed::Key(KeyEvent::new(code, KeyModifiers::NONE))
    }

    /// Wishes for nothing but to know what it is told.
    struct Told {
        twice: bool,
    }

    impl Still for Told {
        type Wish = ();
        fn draw(&mut self, _: &mut Canvas<'_>) {}
        fn press(&mut self, _: Pressed) -> Option<()> {
            None
        }
        fn hears_twice(&self) -> bool {
            self.twice
        }
    }

    #[test]
    fn a_second_cue_within_a_second_is_one_cue_twice() {
        let start = Instant::now();
        let tell = |twice, looks: &[(u64, bool)]| {
            let mut begun = None;
            let looks = looks.iter().filter_map(|&(ms, is_cue)| {
                let now = start + Duration::from_millis(ms);
                pressed(is_cue, None, &mut begun, &Told { twice }, now)
            });
            looks.collect::<Vec<_>>()
        };
        assert_eq!(tell(false, &[(0, true), (500, true)]), [Pressed::Cue; 2]);
        assert_eq!(tell(true, &[(0, true), (500, true)]), [Pressed::CueBegun, Pressed::CueTwice]);
        assert_eq!(tell(true, &[(0, true), (500, false), (1_001, false)]), [Pressed::CueBegun, Pressed::Cue]);
        assert_eq!(tell(true, &[(0, true), (1_200, true)]), [Pressed::CueBegun, Pressed::Cue]);
    }

    #[test]
    fn a_key_after_a_cue_takes_its_place() {
        let mut begun = Some(Instant::now());
        let key = KeyEvent::new(KeyCode::Char('1'), KeyModifiers::NONE);
        let told = pressed(false, Some(key), &mut begun, &Told { twice: true }, Instant::now());
        assert_eq!((told, begun), (Some(Pressed::Key(key)), None));
    }
}
