//! The layers on neck and keys: where the chord lies inside the scale, and, in its last two beats, what comes next.

use super::{Here, Playhead, Shown};
use crate::neck::{Fret, FretRange, Layer, Position, Tuning};
use crate::report::neck::keyboard::keys_picture;
use crate::report::neck::picture::{Drawn, neck_picture};
use crate::report::neck::{ChordOnNeck, frets_that_fit};
use crate::report::picture::Line;
use crate::screen::canvas::Canvas;
use crate::screen::page::Page;
use crate::screen::theme::Role;

/// How many beats before a chord its tones are flagged.
const FLAGGED_BEATS: i64 = 2;
/// The fret near which the position lies that the neck opens on: wide enough to read, low enough to see (ours).
const OPENING_FRET: Fret = Fret(3);

/// Which layers are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum LayersShown {
    /// All twelve notes.
    All,
    /// The scale, and the chord in it.
    #[default]
    ScaleAndChord,
    /// The chord alone.
    Chord,
    /// None: there is no picture.
    Nothing,
}

impl LayersShown {
    /// The one after it; behind none all again.
    #[must_use]
    pub const fn next(self) -> Self {
        match self {
            Self::All => Self::ScaleAndChord,
            Self::ScaleAndChord => Self::Chord,
            Self::Chord => Self::Nothing,
            Self::Nothing => Self::All,
        }
    }

    const fn down_to(self) -> Option<Layer> {
        match self {
            Self::All => Some(Layer::Chromatic),
            Self::ScaleAndChord => Some(Layer::Scale),
            Self::Chord => Some(Layer::Chord),
            Self::Nothing => None,
        }
    }
}

/// How much of the neck is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Window {
    /// The frets of one position.
    #[default]
    Position,
    /// As many frets as fit.
    WholeNeck,
}

impl Window {
    /// The other one.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Position => Self::WholeNeck,
            Self::WholeNeck => Self::Position,
        }
    }
}

/// What the layers are drawn on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Instrument {
    /// The strings.
    #[default]
    Neck,
    /// The keys.
    Keys,
    /// Both, where there is room.
    Both,
}

impl Instrument {
    /// The one after it.
    #[must_use]
    pub const fn next(self) -> Self {
        match self {
            Self::Neck => Self::Keys,
            Self::Keys => Self::Both,
            Self::Both => Self::Neck,
        }
    }
}

/// Draws the pictures from row `y` on, as far as they fit before row `end`; says which row comes after them.
pub(super) fn draw(page: &Page, shown: &Shown, here: &Here, y: u16, end: u16, canvas: &mut Canvas) -> u16 {
    let Some((down_to, on_neck)) =
        shown.layers.down_to().zip(chord_on_neck(page, shown, here, canvas.width()))
    else {
        return y;
    };
    let drawn = Drawn { naming: shown.naming, down_to };
    let mut pictures = Vec::new();
    if shown.instrument != Instrument::Keys {
        pictures.push(neck_picture(&on_neck, drawn));
    }
    if shown.instrument != Instrument::Neck {
        pictures.push(keys_picture(&on_neck, drawn, canvas.width().into()));
    }
    let mut y = y;
    for picture in pictures {
        if usize::from(end.saturating_sub(y)) >= picture.len() {
            picture.iter().zip(y..).for_each(|(line, row)| write(line, row, canvas));
            y += picture.len() as u16 + 1;
        }
    }
    y
}

fn write(line: &Line, y: u16, canvas: &mut Canvas) {
    let mut x = 0;
    for span in line.spans() {
        canvas.write(x, y, &span.text, span.role.map_or(Role::Plain, Role::from));
        x += span.text.chars().count() as u16;
    }
}

/// The chord of the moment on the neck; `None` where none sounds.
fn chord_on_neck(page: &Page, shown: &Shown, here: &Here, width: u16) -> Option<ChordOnNeck> {
    let (chord, scale) = here.chord.and_then(|chord| page.chords.get(chord))?.sounding.clone()?;
    let frets = match shown.window {
        Window::Position => opening_frets(page, &shown.tuning),
        Window::WholeNeck => None,
    };
    let frets = frets.unwrap_or_else(|| frets_that_fit(width.into()));
    let next = next_if_near(page, here);
    Some(ChordOnNeck { chord, scale, next, tuning: shown.tuning.clone(), frets, position: None })
}

/// The frets of the position near [`OPENING_FRET`] of the first scale of the tune: they stay while it lasts.
fn opening_frets(page: &Page, tuning: &Tuning) -> Option<FretRange> {
    let (_, scale) = page.chords.iter().find_map(|chord| chord.sounding.as_ref())?;
    let (first, last) = Position::nearest(scale, OPENING_FRET, tuning)?.frets();
    FretRange::new(first, last)
}

fn next_if_near(page: &Page, here: &Here) -> Option<crate::theory::ChordSymbol> {
    let running = here.chord.filter(|_| here.playhead == Playhead::Running)?;
    let (next, at) = page.next_chord(running, here.then)?;
    let beat = page.bars.get(here.bar)?.meter.beat();
    let near = (at - here.at).0 <= FLAGGED_BEATS * beat.0;
    next.sounding.as_ref().filter(|_| near).map(|(chord, _)| *chord)
}
