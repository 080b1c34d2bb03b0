//! Where everything of a system stands: bars, lanes, symbols, notes, and their degrees, moved until nothing overlaps.
//!
//! Pure geometry over the review document. Time runs to the right in bars of one width; pitch runs up in semitones.

use crate::report::html::labels::{Area, Taken, around};
use crate::report::html::marks::{Layer, degree};
use crate::report::html::picture::WIDTH;
use crate::report::html::text_width::text_width;
use crate::report::review::text::chord_name;
use crate::report::review::{BarRecord, ChordRecord, NoteRecord, Review};

/// Bars in a system.
pub const BARS: usize = 4;

/// Where the first bar begins, and how wide a bar is.
pub const LEFT: f64 = 40.0;
const BAR: f64 = 206.0;

/// How high a note is.
const NOTE: f64 = 8.0;

/// How high a left-out note is.
const LEFT_OUT: f64 = 4.0;

/// The narrowest a note is drawn.
const NARROWEST: f64 = 2.5;

/// What a semitone takes: where the line keeps within a usual compass, and at the least.
const SEMITONE: f64 = 6.4;
const LEAST_SEMITONE: f64 = 3.6;

/// The most that the compass takes before semitones become smaller.
const COMPASS: f64 = 240.0;

/// Rows of symbols, each so high.
const ROW: f64 = 15.0;

/// Room for degrees above and below the compass.
const ROOM: f64 = 22.0;

/// The sizes of a symbol and of a scale's name.
const SYMBOL: f64 = 13.0;
const SCALE: f64 = 10.5;

/// The size of a degree.
const LABEL: f64 = 11.0;

/// How far a degree may be moved.
const FARTHEST: f64 = 120.0;

/// The part of the keyboard that is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    low: u8,
    high: u8,
    semitone: f64,
}

impl Window {
    /// The compass of the notes of a chorus that count, a little wider; `None` where none counts.
    pub fn of(review: &Review, chorus: u32) -> Option<Self> {
        let notes = || review.notes.iter().flatten().filter(|note| note.counted && note.chorus == chorus);
        let keys = || notes().map(|note| note.key);
        let (low, high) = (keys().min()?.saturating_sub(2), keys().max()?.saturating_add(2));
        let missing = 16u8.saturating_sub(high - low);
        let (low, high) = (low.saturating_sub(missing / 2), high.saturating_add(missing.div_ceil(2)));
        let semitone = (COMPASS / f64::from(high - low)).clamp(LEAST_SEMITONE, SEMITONE);
        Some(Self { low, high, semitone })
    }

    /// Whether a key is drawn.
    pub const fn has(&self, key: u8) -> bool {
        self.low <= key && key <= self.high
    }

    /// The middle of a key where the highest one is at `top`.
    pub fn y(&self, key: u8, top: f64) -> f64 {
        top + (f64::from(self.high) - f64::from(key) + 0.5) * self.semitone
    }

    fn height(&self) -> f64 {
        f64::from(self.high - self.low + 1) * self.semitone
    }
}

/// A bar of a system.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bar {
    /// Its number in the form.
    pub number: usize,
    /// Where it begins.
    pub left: f64,
}

/// The lanes of one chord: the upper edges of its tones.
#[derive(Clone, Debug, PartialEq)]
pub struct Lane {
    /// Where the chord begins.
    pub left: f64,
    /// Where it ends.
    pub right: f64,
    /// How high a lane is.
    pub height: f64,
    /// Chord tones other than third and seventh.
    pub tones: Vec<f64>,
    /// Third and seventh.
    pub guides: Vec<f64>,
}

/// A symbol or the name of a scale over the system.
#[derive(Clone, Debug, PartialEq)]
pub struct Header {
    /// What it says.
    pub text: String,
    /// How it is set.
    pub class: &'static str,
    /// Where it stands.
    pub at: Area,
}

/// A note, or the rest of one that began in the system before.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawn {
    /// Where it stands.
    pub area: Area,
    /// The class of its fill.
    pub fill: &'static str,
    /// Its degree, where there was room.
    pub label: Option<Label>,
    /// The arrow of a note that came early.
    pub push: Option<Push>,
}

/// The degree of a note.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// What it says.
    pub text: String,
    /// Where it stands.
    pub at: Area,
}

/// An arrow over a barline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Push {
    /// Where it points to.
    pub to: f64,
    /// What it takes.
    pub area: Area,
}

impl Label {
    /// The ends of a thin line to the note, where the label was moved away from it.
    pub fn leader(&self, note: Area) -> Option<((f64, f64), (f64, f64))> {
        let middle = f64::midpoint(note.left, note.right);
        let x = middle.clamp(self.at.left + 1.0, (self.at.right - 1.0).max(self.at.left + 1.0));
        if self.at.bottom < note.top - 5.0 {
            Some(((x, self.at.bottom), (middle, note.top)))
        } else if self.at.top > note.bottom + 5.0 {
            Some(((x, self.at.top + 1.0), (middle, note.bottom)))
        } else {
            None
        }
    }
}

/// Four bars with everything in them.
#[derive(Clone, Debug, PartialEq)]
pub struct System {
    /// How high it is.
    pub height: f64,
    /// Where the highest key begins.
    pub top: f64,
    /// Its bars.
    pub bars: Vec<Bar>,
    /// The lanes of its chords.
    pub lanes: Vec<Lane>,
    /// Its symbols and scales.
    pub headers: Vec<Header>,
    /// Its notes.
    pub notes: Vec<Drawn>,
    /// Notes without room for their degree.
    pub unlabelled: usize,
}

impl System {
    /// Where its last bar ends.
    pub fn right(&self) -> f64 {
        LEFT + self.bars.len() as f64 * BAR
    }
}

/// A note on the time line of the whole take, in bars from the first one.
struct Placed<'a> {
    note: &'a NoteRecord,
    from: f64,
    until: f64,
    /// Where its chord begins, for a note that came early.
    chord: Option<f64>,
}

/// A chord on the same time line.
struct Sounding<'a> {
    chord: &'a ChordRecord,
    from: f64,
    until: f64,
}

/// The systems of a chorus.
pub fn systems(review: &Review, chorus: u32, window: Window) -> Vec<System> {
    let bars: Vec<&BarRecord> = review.bars.iter().flatten().collect();
    let line = TimeLine { bars: &bars };
    let chords = line.chords(review);
    let notes = line.notes(review);
    let of_chorus: Vec<usize> = (0..bars.len()).filter(|&index| bars[index].chorus == chorus).collect();
    of_chorus.chunks(BARS).map(|indices| system(indices, &bars, &chords, &notes, window)).collect()
}

/// The bars of all choruses, one after the other.
struct TimeLine<'a> {
    bars: &'a [&'a BarRecord],
}

impl TimeLine<'_> {
    /// A place in bars from the first one; before it less than 0.
    fn at(&self, chorus: u32, bar: i64, beat: f64) -> Option<f64> {
        let first = self.bars.first()?;
        if chorus == first.chorus && bar < first.bar as i64 {
            return Some((bar - first.bar as i64) as f64 + (beat - 1.0) / first.beats.0.max(1.0));
        }
        let index = self.bars.partition_point(|record| (record.chorus, (record.bar as i64)) < (chorus, bar));
        let record =
            self.bars.get(index).filter(|record| record.chorus == chorus && record.bar as i64 == bar)?;
        Some(index as f64 + (beat - 1.0) / record.beats.0.max(1.0))
    }

    fn beats_at(&self, place: f64) -> f64 {
        let index = (place.max(0.0) as usize).min(self.bars.len().saturating_sub(1));
        self.bars.get(index).map_or(4.0, |bar| bar.beats.0.max(1.0))
    }

    fn chords<'a>(&self, review: &'a Review) -> Vec<Sounding<'a>> {
        let chords = review.chords.iter().flatten();
        let sounding = chords.filter_map(|chord| {
            let from = self.at(chord.chorus, chord.bar as i64, chord.beat.0)?;
            Some(Sounding { chord, from, until: from + chord.beats.0 / self.beats_at(from) })
        });
        sounding.collect()
    }

    fn notes<'a>(&self, review: &'a Review) -> Vec<Placed<'a>> {
        let placed = review.notes.iter().flatten().filter_map(|note| {
            let from = self.at(note.chorus, note.bar, note.beat)?;
            let chord = note.early.then(|| self.start_of_chord(review, note)).flatten();
            Some(Placed { note, from, until: from + note.beats / self.beats_at(from), chord })
        });
        let mut placed: Vec<Placed<'a>> = placed.collect();
        placed.sort_by(|a, b| a.from.total_cmp(&b.from));
        placed
    }

    fn start_of_chord(&self, review: &Review, note: &NoteRecord) -> Option<f64> {
        let (chorus, index) = note.chord_chorus.zip(note.chord_index)?;
        let chords = review.chords.as_deref()?;
        let found = chords.partition_point(|chord| (chord.chorus, chord.chord_index) < (chorus, index));
        let chord = chords.get(found)?;
        self.at(chord.chorus, chord.bar as i64, chord.beat.0)
    }
}

/// The bars of a system, on the time line.
#[derive(Clone, Copy, Debug)]
struct Span {
    from: f64,
    until: f64,
    is_first: bool,
    is_last: bool,
}

impl Span {
    fn of(first: usize, count: usize, all: usize) -> Self {
        let until = first + count;
        Self { from: first as f64, until: until as f64, is_first: first == 0, is_last: until == all }
    }

    /// Whether a note is struck in it. A push into the first bar of all is struck before it, and what is played after the
    /// last bar stands at its end.
    fn begins(&self, placed: &Placed<'_>) -> bool {
        (placed.from >= self.from || self.is_first) && (placed.from < self.until || self.is_last)
    }

    /// Whether a note is heard in it.
    fn sounds(&self, placed: &Placed<'_>) -> bool {
        self.begins(placed) || (placed.from < self.from && placed.until > self.from)
    }

    /// The ends of what is drawn, with a little room before the first bar of all and after the last.
    fn ends(&self) -> (f64, f64) {
        const ROOM: f64 = 0.06;
        let before = if self.is_first { ROOM } else { 0.0 };
        let after = if self.is_last { ROOM } else { 0.0 };
        (self.from - before, self.until + after)
    }
}

fn system(
    indices: &[usize],
    bars: &[&BarRecord],
    chords: &[Sounding<'_>],
    notes: &[Placed<'_>],
    window: Window,
) -> System {
    let first = indices.first().copied().unwrap_or(0);
    let span = Span::of(first, indices.len(), bars.len());
    let x = |place: f64| LEFT + (place - span.from) * BAR;
    let of_span: Vec<&Sounding<'_>> =
        chords.iter().filter(|chord| chord.from >= span.from && chord.from < span.until).collect();
    let (headers, rows) = headers(&of_span, x);
    let top = rows as f64 * ROW + 4.0 + ROOM;
    let height = top + window.height() + ROOM;
    let lanes = of_span.iter().map(|chord| lane(chord, x, window, top)).collect();
    let bounds = Area { left: 0.0, top: top - ROOM, right: WIDTH, bottom: height };
    let (notes, unlabelled) = place_notes(notes, span, x, window, (top, bounds));
    let bar =
        |(place, &index): (usize, &usize)| Bar { number: bars[index].bar, left: LEFT + place as f64 * BAR };
    System {
        height,
        top,
        bars: indices.iter().enumerate().map(bar).collect(),
        lanes,
        headers,
        notes,
        unlabelled,
    }
}

/// Symbols with their scales under them, in as many rows as they need; how many that are.
fn headers(chords: &[&Sounding<'_>], x: impl Fn(f64) -> f64) -> (Vec<Header>, usize) {
    let mut taken = Taken::nothing(Area { left: 0.0, top: 0.0, right: WIDTH, bottom: 4.0 * ROW });
    let at = |x: f64, row: usize, width: f64| Area::at(x + 3.0, 3.0 + row as f64 * ROW, width, ROW);
    let mut symbols = Vec::new();
    for sounding in chords {
        let text = chord_name(&sounding.chord.symbol).to_owned();
        let (left, width) = (x(sounding.from), text_width(&text, SYMBOL) + 4.0);
        let row = (0..3).find(|&row| taken.is_free(&at(left, row, width)));
        if let Some(row) = row {
            taken.take(at(left, row, width));
            symbols.push((*sounding, row, Header { text, class: "b z13", at: at(left, row, width) }));
        }
    }
    let scales: Vec<Header> = symbols
        .iter()
        .filter_map(|(sounding, row, symbol)| {
            let right = x(sounding.until);
            let named = scale_names(sounding.chord).into_iter().map(|text| {
                let under = at(symbol.at.left - 3.0, row + 1, text_width(&text, SCALE));
                Header { text, class: "m z10", at: under }
            });
            let scale =
                named.into_iter().find(|scale| scale.at.right <= right + 1.0 && taken.is_free(&scale.at))?;
            taken.take(scale.at);
            Some(scale)
        })
        .collect();
    let headers: Vec<Header> = symbols.into_iter().map(|symbol| symbol.2).chain(scales).collect();
    let lowest = headers.iter().map(|header| header.at.bottom).fold(2.0 * ROW, f64::max);
    (headers, (lowest / ROW).ceil() as usize)
}

/// What can stand under a symbol, the fullest first.
fn scale_names(chord: &ChordRecord) -> Vec<String> {
    let whose = match chord.kept_out {
        None => None,
        Some("head") => Some("tune"),
        Some(_) => Some("drums"),
    };
    if let Some(whose) = whose {
        return vec![whose.to_owned()];
    }
    let full = chord.scale.clone().unwrap_or_default();
    let short = full.split_once(' ').filter(|(root, _)| root.len() <= 3).map(|(_, name)| name.to_owned());
    [full].into_iter().chain(short).filter(|name| !name.is_empty()).collect()
}

fn lane(sounding: &Sounding<'_>, x: impl Fn(f64) -> f64, window: Window, top: f64) -> Lane {
    let height = window.semitone;
    let lanes = |of: &dyn Fn(u8) -> bool| {
        let keys = (window.low..=window.high).filter(|key| of(key % 12));
        keys.map(|key| window.y(key, top) - height / 2.0).collect::<Vec<f64>>()
    };
    let chord = sounding.chord;
    let guide = |pitch_class: u8| chord.guide_tones.contains(&pitch_class);
    let plain = |pitch_class: u8| chord.chord_tones.contains(&pitch_class) && !guide(pitch_class);
    let yours = chord.kept_out.is_none();
    Lane {
        left: x(sounding.from),
        right: x(sounding.until) - 1.5,
        height,
        tones: if yours { lanes(&plain) } else { Vec::new() },
        guides: if yours { lanes(&guide) } else { Vec::new() },
    }
}

/// The notes that sound in the bars `span`, each degree where there is room; how many degrees found none.
fn place_notes(
    notes: &[Placed<'_>],
    span: Span,
    x: impl Fn(f64) -> f64,
    window: Window,
    (top, bounds): (f64, Area),
) -> (Vec<Drawn>, usize) {
    let sounds = notes.iter().filter(|placed| span.sounds(placed));
    let drawn = sounds.filter_map(|placed| {
        let area = note_area(placed, span, &x, window, top)?;
        Some((placed, span.begins(placed), area))
    });
    let drawn: Vec<(&Placed<'_>, bool, Area)> = drawn.collect();
    let mut taken = Taken::nothing(bounds);
    for (_, _, area) in &drawn {
        taken.take(*area);
    }
    let push = |placed: &Placed<'_>, area: Area| push(placed, area, span, &x);
    let pushes: Vec<Option<Push>> =
        drawn.iter().map(|(placed, begins, area)| push(placed, *area).filter(|_| *begins)).collect();
    for push in pushes.iter().flatten() {
        taken.take(push.area);
    }
    let mut unlabelled = 0;
    let notes = drawn.into_iter().zip(pushes).map(|((placed, begins, area), push)| {
        let text = degree(placed.note);
        let wanted = begins && placed.note.counted && !text.is_empty();
        let label = wanted.then(|| place_label(&mut taken, area, text)).flatten();
        unlabelled += usize::from(wanted && label.is_none());
        Drawn { area, fill: Layer::of(placed.note.class).map_or("u", Layer::fill), label, push }
    });
    let notes = notes.collect();
    (notes, unlabelled)
}

fn place_label(taken: &mut Taken, note: Area, text: String) -> Option<Label> {
    let size = (text_width(&text, LABEL), LABEL);
    let at = taken.place(around(note, size, 3.0, FARTHEST))?;
    Some(Label { text, at })
}

/// Where a note stands within a system; `None` for one that does not count outside the part of the keyboard drawn.
fn note_area(
    placed: &Placed<'_>,
    span: Span,
    x: impl Fn(f64) -> f64,
    window: Window,
    top: f64,
) -> Option<Area> {
    let note = placed.note;
    if !window.has(note.key) {
        return None;
    }
    let height = if note.counted { NOTE } else { LEFT_OUT };
    let (first, last) = span.ends();
    let left = x(placed.from.clamp(first, last)).min(x(last) - NARROWEST);
    let right = x(placed.until.min(last)) - 1.5;
    let y = window.y(note.key, top);
    Some(Area { left, top: y - height / 2.0, right: right.max(left + NARROWEST), bottom: y + height / 2.0 })
}

/// The arrow of an early note: into its chord, or out of the system where that begins in the next one.
fn push(placed: &Placed<'_>, area: Area, span: Span, x: impl Fn(f64) -> f64) -> Option<Push> {
    let chord = placed.chord.filter(|_| placed.note.counted)?;
    let to = (x(chord.min(span.until)) + 8.0).max(area.left + 14.0).min(WIDTH - 4.0);
    let around = Area { left: area.left, top: area.top - 12.0, right: to + 3.0, bottom: area.top };
    Some(Push { to, area: around })
}

#[cfg(test)]
mod tests;
