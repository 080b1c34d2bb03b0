//! Chords reduced to what key finding looks at: a root and one of seven classes, equal neighbours merged.
//!
//! The classes are common practice (what a chord does, not how it is coloured): a dominant stays one with any alteration,
//! a sixth or major seventh over a minor triad makes a tonic minor chord, an augmented triad acts as a dominant.

use crate::chart::form::Form;
use crate::theory::chord::{Arpeggio, Quality};
use crate::theory::{ChordSymbol, PitchClass};
use crate::time::TickSpan;

/// What a chord can do in a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Class {
    /// Major triads, sixths and major sevenths; bare fifths.
    Major,
    /// Minor triads and minor sevenths.
    Minor,
    /// Minor with a major sixth or seventh: a minor chord that stays.
    MinorTonic,
    /// Minor seventh with a flat five.
    HalfDiminished,
    /// Diminished triads and sevenths.
    Diminished,
    /// Dominant sevenths, altered or not; augmented triads.
    Dominant,
    /// A fourth or second in place of the third.
    Suspended,
}

/// Classes that count as one when looking for the chord that follows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Family {
    Dominant,
    Minor,
    Diminished,
    Major,
}

impl Class {
    /// The class of a quality.
    pub(super) const fn of(quality: Quality) -> Self {
        use Arpeggio as A;
        match quality.arpeggio {
            A::Major
            | A::Power
            | A::Add9
            | A::Add11
            | A::MajorFlat5
            | A::Sixth
            | A::Major7
            | A::Major7Sharp5
            | A::Major7Flat5
            | A::Major7Sus4 => Self::Major,
            A::Minor | A::MinorAdd9 | A::MinorFlat6 | A::Minor7 | A::Minor7Sharp5 => Self::Minor,
            A::Minor6 | A::MinorMajor7 => Self::MinorTonic,
            A::HalfDiminished => Self::HalfDiminished,
            A::DiminishedTriad | A::Diminished7 | A::DiminishedMajor7 => Self::Diminished,
            A::Dominant7 | A::Dominant7Flat5 | A::Dominant7Sharp5 | A::Altered | A::Augmented => {
                Self::Dominant
            }
            A::Dominant7Sus4 | A::Sus4 | A::Sus2 => Self::Suspended,
        }
    }

    const fn family(self) -> Family {
        match self {
            Self::Dominant | Self::Suspended => Family::Dominant,
            Self::Minor | Self::MinorTonic | Self::HalfDiminished => Family::Minor,
            Self::Diminished => Family::Diminished,
            Self::Major => Family::Major,
        }
    }

    /// Dominant or suspended: wants to move on.
    pub(super) const fn is_dominant(self) -> bool {
        matches!(self, Self::Dominant | Self::Suspended)
    }

    /// Minor or half-diminished: can be the ii of a dominant.
    pub(super) const fn is_two(self) -> bool {
        matches!(self, Self::Minor | Self::HalfDiminished)
    }

    /// Any chord with a minor third that is not diminished throughout; its numeral is written small.
    pub(super) const fn is_minor(self) -> bool {
        matches!(self, Self::Minor | Self::MinorTonic | Self::HalfDiminished)
    }
}

/// One or more neighbouring chords of equal root and class.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Item {
    /// The root as heard.
    pub(super) root: PitchClass,
    /// What it can do.
    pub(super) class: Class,
    /// Whether the first chord is a plain triad: major, add9 or a bare fifth.
    pub(super) plain: bool,
    /// How long the chords last together.
    pub(super) length: TickSpan,
    /// Index of the first chord in the form.
    pub(super) chord: usize,
}

impl Item {
    fn of(symbol: ChordSymbol, length: TickSpan, chord: usize) -> Self {
        let heard = symbol.heard();
        Self {
            root: heard.root.pitch_class(),
            class: Class::of(heard.quality),
            plain: heard.quality.is_plain_triad(),
            length,
            chord,
        }
    }

    /// Whether root and class are equal.
    pub(super) fn same_chord(&self, other: &Self) -> bool {
        self.root == other.root && self.class == other.class
    }

    /// Semitones up from this root to that of `next`; 5 is up a fourth, 11 down a half step.
    pub(super) const fn move_to(&self, next: &Self) -> u8 {
        next.root.above(self.root)
    }
}

/// The chords of a form as items, with what follows each.
#[derive(Clone, Debug)]
pub(super) struct Progression {
    /// The items in order.
    pub(super) items: Vec<Item>,
    /// The item of each chord of the form; `None` for N.C.
    pub(super) item_of: Vec<Option<usize>>,
    /// Whether the last item leads to the first.
    pub(super) loops: bool,
    next: Vec<Option<usize>>,
}

impl Progression {
    /// Drops N.C. and merges neighbours of equal root and class; last and first stay apart.
    pub(super) fn of(form: &Form) -> Self {
        let mut items: Vec<Item> = Vec::new();
        let mut item_of = Vec::with_capacity(form.chords.len());
        for (index, chord) in form.chords.iter().enumerate() {
            let Some(symbol) = chord.symbol else {
                item_of.push(None);
                continue;
            };
            let item = Item::of(symbol, chord.length, index);
            match items.last_mut() {
                Some(last) if last.same_chord(&item) => last.length += item.length,
                _ => items.push(item),
            }
            item_of.push(Some(items.len() - 1));
        }
        Self { item_of, ..Self::of_items(items, form.loops) }
    }

    /// The progression of items given, without a form.
    pub(super) fn of_items(items: Vec<Item>, loops: bool) -> Self {
        let next = (0..items.len()).map(|i| find_next(&items, i, loops)).collect();
        Self { items, item_of: Vec::new(), loops, next }
    }

    /// Neighbouring items, the wrap from last to first included where the form loops.
    pub(super) fn neighbours(&self) -> impl Iterator<Item = (&Item, &Item)> {
        let inner = self.items.windows(2).map(|pair| (&pair[0], &pair[1]));
        inner.chain(self.wrap())
    }

    /// Last and first item, where the form loops and has two or more.
    pub(super) fn wrap(&self) -> Option<(&Item, &Item)> {
        match &self.items[..] {
            [first, .., last] if self.loops => Some((last, first)),
            _ => None,
        }
    }

    /// The item and what follows it.
    pub(super) fn context(&self, item: usize) -> Context<'_> {
        let next = self.next[item];
        let after = next.and_then(|next| self.next[next]);
        Context {
            item: &self.items[item],
            next: next.map(|i| &self.items[i]),
            after: after.map(|i| &self.items[i]),
        }
    }

    /// The place of the item that follows.
    pub(super) fn next(&self, item: usize) -> Option<usize> {
        self.next[item]
    }
}

/// The first later item with another root or of another family, around the loop if there is one.
fn find_next(items: &[Item], from: usize, loops: bool) -> Option<usize> {
    let around = if loops { 0..from } else { 0..0 };
    let item = &items[from];
    (from + 1..items.len())
        .chain(around)
        .find(|&i| items[i].root != item.root || items[i].class.family() != item.class.family())
}

/// An item with the chord it moves to, and the one after that.
#[derive(Clone, Copy, Debug)]
pub(super) struct Context<'a> {
    /// The item.
    pub(super) item: &'a Item,
    /// The next item with another root or of another family.
    pub(super) next: Option<&'a Item>,
    /// What follows that one in the same way.
    pub(super) after: Option<&'a Item>,
}

/// What a context is to the rules: root, class and plainness of its items, packed so that it hashes as one number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct Kinds(u32);

impl<'a> Context<'a> {
    /// What the rules see of it.
    pub(super) fn kinds(&self) -> Kinds {
        let kind = |item: &Item| {
            1 | u32::from(item.plain) << 1 | (item.class as u32) << 2 | u32::from(item.root.semitones()) << 5
        };
        let kinds = [Some(self.item), self.next, self.after].map(|item| item.map_or(0, kind));
        Kinds(kinds[0] | kinds[1] << 9 | kinds[2] << 18)
    }

    /// The item alone, nothing following.
    pub(super) const fn alone(item: &'a Item) -> Self {
        Self { item, next: None, after: None }
    }

    /// The next item, if its root lies `semitones` up.
    pub(super) fn next_at(&self, semitones: u8) -> Option<&'a Item> {
        self.next.filter(|next| self.item.move_to(next) == semitones)
    }
}

#[cfg(test)]
impl Progression {
    /// Symbols of one bar each, merged as the chords of a form are.
    pub(super) fn of_symbols(text: &str, loops: bool) -> Self {
        let mut items: Vec<Item> = Vec::new();
        for (index, symbol) in text.split(' ').enumerate() {
            let item = Item::of(symbol.parse().expect(symbol), TickSpan::quarters(4), index);
            match items.last_mut() {
                Some(last) if last.same_chord(&item) => last.length += item.length,
                _ => items.push(item),
            }
        }
        Self::of_items(items, loops)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn next(text: &str, item: usize, loops: bool) -> Option<usize> {
        Progression::of_symbols(text, loops).next(item)
    }

    #[test]
    fn neighbours_of_equal_root_and_class_merge_but_not_last_and_first() {
        let progression = Progression::of_symbols("C Cmaj7 C6 C7 C9 Cm Cm6 C", true);
        assert_eq!(progression.items.len(), 5);
        assert_eq!(progression.items[0].length, TickSpan::quarters(12));
        assert!(progression.items[0].plain, "the first symbol stays");
    }

    #[test]
    fn the_next_chord_has_another_root_or_is_of_another_family() {
        assert_eq!(next("G7sus4 G7 C", 0, true), Some(2));
        assert_eq!(next("F7 Fm7 Bb7", 0, true), Some(1));
        assert_eq!(next("Cm Cm6 F7", 0, true), Some(2));
        assert_eq!(next("G7sus4 C G7", 2, true), Some(1), "around the loop");
        assert_eq!(next("G7sus4 C G7", 2, false), None);
        assert_eq!(next("G7sus4 G7", 0, true), None);
    }

    #[test]
    fn a_minor_seventh_over_its_fourth_and_a_triad_over_its_second_are_suspended() {
        let progression = Progression::of_symbols("Dm7/G F/G C/E", false);
        assert_eq!(progression.items.len(), 2);
        assert_eq!(progression.items[0].class, Class::Suspended);
        assert_eq!(progression.items[0].root, PitchClass::C.up(7));
    }
}
