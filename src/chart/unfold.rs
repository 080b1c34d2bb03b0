//! Unfolding: the bars in the order they are played, with every chord at its place in time.
//!
//! Each bar begins a chord of its own: the one written there, or the last one going on. `%` plays the chords of the bar
//! played before it, whatever was written in that one.

use std::ops::Range;

use crate::time::{Meter, TickSpan, Ticks};

use super::decision::{ChordPlace, Decided};
use super::form::{Form, FormBar, FormChord, Sevenths};
use super::model::{BarContent, WrittenBar, WrittenChord};

/// Why bars in their order make no form, and at which written bar (an index).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UnfoldSlip {
    /// The form begins with a bar that holds a chord, and there is none.
    NothingToHold(usize),
    /// The form begins with `%`.
    NothingToRepeat(usize),
    /// `%` after a bar in another meter.
    AcrossMeters {
        /// The bar with the `%`.
        bar: usize,
        /// The meter of the bar played before it.
        before: Meter,
    },
}

/// What goes on where nothing can; a form that holds it is never given out.
static NOTHING: WrittenChord = WrittenChord { text: String::new(), symbol: None, scale: None };

/// The form that `bars` make when played in `order`, or every bar that keeps it from being one.
pub fn unfold(
    bars: &[WrittenBar],
    order: &[Range<usize>],
    sevenths: Sevenths,
) -> Result<Form, Vec<UnfoldSlip>> {
    let mut unfolding = Unfolding::default();
    for written in order.iter().cloned().flatten() {
        unfolding.play(written, &bars[written]);
    }
    if !unfolding.slips.is_empty() {
        return Err(unfolding.slips);
    }
    Ok(Form { bars: unfolding.bars, chords: unfolding.chords, loops: true, sevenths })
}

/// Chords of one bar as played, each with how long after the barline it begins.
type Played<'a> = Vec<(TickSpan, OfPage<'a>)>;

/// A chord with its place on the page, which N.C. has not.
#[derive(Clone, Copy)]
struct OfPage<'a> {
    chord: &'a WrittenChord,
    place: Option<ChordPlace>,
}

/// The chords written in a bar of the page, an index.
fn of_page(written: usize, bar: &WrittenBar) -> Played<'_> {
    let mut chord_number = 0;
    let mut place_of = |chord: &WrittenChord| {
        chord_number += usize::from(chord.symbol.is_some());
        chord.symbol.map(|_| ChordPlace { bar: written + 1, chord: chord_number })
    };
    bar.chords().into_iter().map(|(at, chord)| (at, OfPage { chord, place: place_of(chord) })).collect()
}

#[derive(Default)]
struct Unfolding<'a> {
    bars: Vec<FormBar>,
    chords: Vec<FormChord>,
    before: Option<(Meter, Played<'a>)>,
    at: Ticks,
    /// A bar played several times is named once.
    slips: Vec<UnfoldSlip>,
}

impl<'a> Unfolding<'a> {
    fn play(&mut self, written: usize, bar: &'a WrittenBar) {
        let played = match bar.content {
            BarContent::RepeatBar => self.bar_before(written, bar.meter),
            _ => self.with_held(of_page(written, bar)).ok_or(UnfoldSlip::NothingToHold(written)),
        };
        let played = played.unwrap_or_else(|slip| {
            if !self.slips.contains(&slip) {
                self.slips.push(slip);
            }
            vec![(TickSpan::ZERO, OfPage { chord: &NOTHING, place: None })]
        });
        self.lay_down(&played, bar.meter);
        self.bars.push(FormBar {
            number: self.bars.len() + 1,
            written: written + 1,
            label: bar.label.clone(),
            meter: bar.meter,
            start: self.at,
        });
        self.at += bar.meter.bar();
        self.before = Some((bar.meter, played));
    }

    fn bar_before(&self, written: usize, here: Meter) -> Result<Played<'a>, UnfoldSlip> {
        match &self.before {
            None => Err(UnfoldSlip::NothingToRepeat(written)),
            Some((before, _)) if *before != here => {
                Err(UnfoldSlip::AcrossMeters { bar: written, before: *before })
            }
            Some((_, played)) => Ok(played.clone()),
        }
    }

    /// The chords of a bar, the last one of the bar before going on until the first of them.
    fn with_held(&self, chords: Played<'a>) -> Option<Played<'a>> {
        if chords.first().is_some_and(|&(offset, _)| offset == TickSpan::ZERO) {
            return Some(chords);
        }
        let (_, before) = self.before.as_ref()?;
        let &(_, held) = before.last()?;
        Some(std::iter::once((TickSpan::ZERO, held)).chain(chords).collect())
    }

    fn lay_down(&mut self, played: &Played<'_>, meter: Meter) {
        let ends = played.iter().skip(1).map(|&(offset, _)| offset);
        for (&(offset, OfPage { chord, place }), end) in played.iter().zip(ends.chain([meter.bar()])) {
            self.chords.push(FormChord {
                bar: self.bars.len(),
                start: self.at + offset,
                length: end - offset,
                text: chord.text.clone(),
                symbol: chord.symbol,
                scale: chord.scale.clone(),
                place,
                decided: Decided::default(),
            });
        }
    }
}
