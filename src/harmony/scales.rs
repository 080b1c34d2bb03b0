//! Which scales a chord's function puts forward, in order: the first that agrees with the symbol is the default.
//!
//! The lists are those of chord-scale teaching (common practice), in the order in which they explained what recorded
//! soloists played: half of the 382 tonal and blues solos of the Weimar Jazz Database (Pfleiderer et al. 2017) chose it,
//! the other half confirmed it. A default is a default; the measured gain over one scale for each chord quality is real
//! and small.

use crate::theory::chord::{Arpeggio, Colour};
use crate::theory::{ChordSymbol, Key, KeyMode, Mode, NoteName, PitchClassSet, Scale};

use super::fit::{Choice, Demands};
use super::local::{Function, InKey};
use super::reduce::Class;
use super::tonality::Tonality;

type Modes = &'static [Mode];

use Mode::{
    Aeolian, Altered, Dorian, DorianFlat2, HalfWholeDiminished, HarmonicMinor, HarmonicMinor7thMode, Ionian,
    Locrian, LocrianNatural2, Lydian, LydianAugmented, LydianDominant, MelodicMinor, Mixolydian,
    MixolydianFlat9Sharp9Flat13, MixolydianFlat13, Phrygian, PhrygianDominant, WholeHalfDiminished,
    WholeTone,
};

/// Whether a stretch in minor holds the flat sixth of its key in a chord, which decides the scale of its tonic.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Sixth {
    /// A iiø, a minor iv, a bVI or an altered V stands in the stretch.
    Flat,
    /// None does.
    Natural,
}

/// A chord with all that decides its scale.
#[derive(Clone, Copy)]
pub(super) struct Placed<'a> {
    /// The chord in its key.
    pub(super) chord: InKey<'a>,
    /// The key, as spelled.
    pub(super) key: Key,
    /// What it does there.
    pub(super) function: Function,
    /// The sixth of its stretch.
    pub(super) sixth: Sixth,
}

/// The scales of a chord in a key.
pub(super) fn in_key(symbol: ChordSymbol, placed: &Placed) -> Choice {
    let demands = Demands::of(symbol);
    let from_key = scales_of_key(demands.root(), placed);
    let mut choice = demands.choose(candidates(placed), from_key);
    if is_blues_tonic(placed) && demands.replacement().is_none() {
        choice.default = with_blue_third(choice.default);
    }
    choice
}

/// The scales of a chord that stands alone.
pub(super) fn alone(symbol: ChordSymbol) -> Choice {
    let heard = symbol.heard();
    let listed: Modes = match Class::of(heard.quality) {
        Class::Minor => &[Dorian, Aeolian, Phrygian],
        Class::MinorTonic => &[MelodicMinor, Dorian, HarmonicMinor],
        Class::Dominant => &[Mixolydian, LydianDominant],
        Class::Suspended => &[Mixolydian, DorianFlat2],
        Class::Major if heard.quality.arpeggio.set().has_semitone(11) => &[Lydian, Ionian],
        Class::Major => &[Ionian, Lydian],
        Class::HalfDiminished => &[Locrian, LocrianNatural2],
        Class::Diminished => &[WholeHalfDiminished, HarmonicMinor7thMode],
    };
    Demands::of(symbol).choose(listed, Vec::new())
}

/// Whether a chord of a stretch in minor holds the key's flat sixth.
pub(super) fn holds_flat_sixth(symbol: ChordSymbol, key: Tonality) -> bool {
    let quality = symbol.heard().quality;
    let degree = key.degree(symbol.heard().root.pitch_class());
    let altered = quality.colours.has(Colour::FlatNine) || quality.arpeggio == Arpeggio::Altered;
    match (degree, Class::of(quality)) {
        (2, Class::HalfDiminished) | (5, Class::Minor) | (8, Class::Major | Class::Dominant) => true,
        (7, Class::Dominant | Class::Suspended) => altered,
        _ => false,
    }
}

/// The scales put forward for a chord in a key, the default first.
fn candidates(placed: &Placed) -> Modes {
    let chord = placed.chord;
    let triad_as_dominant = matches!(placed.function, Function::DominantTriad | Function::Secondary);
    let minor = chord.key.mode == KeyMode::Minor;
    match chord.class() {
        Class::Dominant => dominant(placed),
        Class::Major if triad_as_dominant => dominant(placed),
        Class::Major if minor && chord.degree == 3 => &[Ionian, LydianAugmented, Lydian],
        Class::Major if !minor && chord.degree == 0 => &[Ionian, Lydian],
        Class::Major => &[Lydian, Ionian],
        Class::Minor if minor => minor_in_minor(chord.degree, placed.sixth),
        Class::Minor => minor_in_major(chord.degree),
        Class::MinorTonic if chord.degree == if minor { 5 } else { 2 } => &[Dorian, MelodicMinor],
        Class::MinorTonic => &[MelodicMinor, Dorian, HarmonicMinor],
        Class::HalfDiminished => &[Locrian, LocrianNatural2],
        Class::Diminished => &[WholeHalfDiminished, HarmonicMinor7thMode],
        Class::Suspended => &[Mixolydian, DorianFlat2],
    }
}

const fn minor_in_major(degree: u8) -> Modes {
    match degree {
        2 | 5 => &[Dorian],
        4 => &[Phrygian, Dorian, Aeolian],
        9 => &[Aeolian, Dorian],
        _ => &[Dorian, Aeolian],
    }
}

const fn minor_in_minor(degree: u8, sixth: Sixth) -> Modes {
    match (degree, sixth) {
        (0, Sixth::Flat) => &[Aeolian, Dorian, Phrygian, MelodicMinor],
        (0, Sixth::Natural) => &[Dorian, Aeolian, Phrygian, MelodicMinor],
        _ => &[Dorian, Aeolian],
    }
}

fn dominant(placed: &Placed) -> Modes {
    let table = if placed.chord.key.mode == KeyMode::Minor { DOMINANTS_IN_MINOR } else { DOMINANTS_IN_MAJOR };
    let row = table.iter().find(|(applies, _)| applies(placed));
    row.map_or(&[LydianDominant, Mixolydian], |(_, modes)| modes)
}

/// Rows for dominants, and for triads that act as one: the first that applies gives the scales.
type Dominants = &'static [(fn(&Placed) -> bool, Modes)];

/// In major and in a blues; what no row meets takes Lydian dominant, then Mixolydian.
const DOMINANTS_IN_MAJOR: Dominants = &[
    (is_blues_one_or_four, &[Mixolydian, LydianDominant]),
    (is_five, &[Mixolydian, LydianDominant, HalfWholeDiminished, Altered, WholeTone]),
    (is_substitute, &[LydianDominant, Mixolydian, Altered, HalfWholeDiminished]),
    (|p| p.function == Function::FlatSeven, &[LydianDominant, Mixolydian]),
    (is_link, &[Mixolydian, LydianDominant, MixolydianFlat13, PhrygianDominant]),
    (|p| is_secondary(p) && p.chord.degree == 9, &[PhrygianDominant, MixolydianFlat13, Altered, Mixolydian]),
    (
        |p| is_secondary(p) && matches!(p.chord.degree, 4 | 11),
        &[PhrygianDominant, MixolydianFlat9Sharp9Flat13, Altered, MixolydianFlat13],
    ),
    (|p| is_secondary(p) && p.chord.degree == 2 && !leaves_root_unresolved(p), &[Mixolydian, LydianDominant]),
    (|p| p.chord.degree == 0, &[Mixolydian, LydianDominant]),
];

/// In minor; what no row meets takes Lydian dominant, then Mixolydian.
const DOMINANTS_IN_MINOR: Dominants = &[
    (is_five, &[PhrygianDominant, Altered, HalfWholeDiminished, MixolydianFlat9Sharp9Flat13]),
    (|p| p.function == Function::SubOf, &[LydianDominant, Mixolydian, Altered, HalfWholeDiminished]),
    (|p| p.function == Function::Chain, &[Mixolydian, LydianDominant, MixolydianFlat13, PhrygianDominant]),
    (|p| matches!(p.chord.degree, 5 | 10), &[Mixolydian, LydianDominant]),
    (|p| p.chord.degree == 8, &[LydianDominant, Mixolydian, Altered]),
    (
        |p| p.chord.degree == 2 && p.chord.context.next_at(5).is_some(),
        &[PhrygianDominant, MixolydianFlat13, Mixolydian, LydianDominant],
    ),
    (|p| p.chord.degree == 2, &[LydianDominant, Mixolydian]),
    (
        |p| p.chord.degree == 0 && falls_to_minor(p),
        &[PhrygianDominant, Altered, MixolydianFlat13, Mixolydian],
    ),
    (|p| p.chord.degree == 0, &[Mixolydian, LydianDominant]),
    (falls_to_minor, &[PhrygianDominant, Altered, MixolydianFlat13]),
    (|p| p.chord.context.next_at(5).is_some(), &[Mixolydian, LydianDominant, MixolydianFlat13]),
];

fn is_five(placed: &Placed) -> bool {
    let listed = matches!(placed.function, Function::Listed | Function::DominantTriad);
    listed && placed.chord.degree == 7
}

fn is_blues_one_or_four(placed: &Placed) -> bool {
    placed.chord.key.mode == KeyMode::Blues
        && placed.function == Function::Listed
        && matches!(placed.chord.degree, 0 | 5)
}

fn is_blues_tonic(placed: &Placed) -> bool {
    is_blues_one_or_four(placed) && placed.chord.degree == 0 && placed.chord.class() == Class::Dominant
}

fn is_substitute(placed: &Placed) -> bool {
    matches!(placed.function, Function::SubFive | Function::SubOf | Function::FlatSix)
}

const fn is_secondary(placed: &Placed) -> bool {
    matches!(placed.function, Function::Secondary | Function::Unresolved)
}

/// In a row of dominants, each a fourth below the next.
fn is_link(placed: &Placed) -> bool {
    let linked = is_secondary(placed) && placed.chord.next_dominant().is_some();
    placed.function == Function::Chain || linked
}

fn leaves_root_unresolved(placed: &Placed) -> bool {
    let context = placed.chord.context;
    let other_root = context.next.is_some_and(|next| next.root != context.item.root);
    placed.function == Function::Unresolved && other_root
}

fn falls_to_minor(placed: &Placed) -> bool {
    let next = placed.chord.context.next_at(5);
    next.is_some_and(|next| next.class.is_minor())
}

/// What the key itself offers over a chord: in minor its harmonic and natural minor, in major the harmonic minor over V7.
fn scales_of_key(root: NoteName, placed: &Placed) -> Vec<Scale> {
    let chord = placed.chord;
    let five = chord.class() == Class::Dominant && placed.function == Function::Listed && chord.degree == 7;
    match chord.key.mode {
        KeyMode::Minor => {
            let harmonic = under_mode_name(Scale::harmonic_minor_of(placed.key.tonic, root));
            let natural = natural_minor_of(placed.key.tonic, root);
            std::iter::once(harmonic).chain(natural).collect()
        }
        KeyMode::Major if five => vec![PhrygianDominant.on(root)],
        KeyMode::Major | KeyMode::Blues => Vec::new(),
    }
}

/// The scale under the name of the mode it is, if there is one.
fn under_mode_name(scale: Scale) -> Scale {
    let mode = Mode::ALL.iter().find(|mode| mode.set() == scale.relative());
    match mode {
        Some(mode) => mode.on(scale.root()),
        None => scale,
    }
}

/// The natural minor scale of `tonic` counted from `root`: one of its modes, where `root` belongs to it.
fn natural_minor_of(tonic: NoteName, root: NoteName) -> Option<Scale> {
    let up = i32::from(tonic.pitch_class().above(root.pitch_class()));
    let set = Aeolian.set().up(up);
    Mode::ALL.iter().find(|mode| mode.set() == set).map(|mode| mode.on(root))
}

/// The default over the I7 of a blues has the key's minor third beside the major one.
fn with_blue_third(scale: Scale) -> Scale {
    let blue_third = PitchClassSet::of(&[3]);
    if scale == Mixolydian.on(scale.root()) {
        Scale::mixolydian_with_blue_third(scale.root())
    } else {
        scale.patched(blue_third, PitchClassSet::EMPTY)
    }
}

#[cfg(test)]
mod tests;
