//! What one chord is in one key, and how far from plain that is: the local cost.
//!
//! The rules are those of jazz harmony teaching as common practice has them: diatonic chords, secondary dominants with
//! their ii, tritone substitutes, the backdoor dominant, borrowed chords, passing diminished chords. The costs were tuned
//! on half of the Weimar Jazz Database (Pfleiderer et al. 2017) and half of the sequences of Granroth-Wilding & Steedman
//! (2014), and tested on the other halves and on the Jazz Harmony Treebank (Harasim et al. 2020).

use crate::theory::KeyMode;

use super::reduce::{Class, Context, Item};
use super::tonality::Tonality;

/// What a chord does in a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Function {
    /// A chord of the key, its own or a borrowed one in common use.
    Listed,
    /// A plain triad on V.
    DominantTriad,
    /// bVII7 in major: the backdoor dominant if it goes to I.
    FlatSeven,
    /// The tritone substitute of V, on bII.
    SubFive,
    /// bVI7 in major.
    FlatSix,
    /// The dominant of the next chord.
    Secondary,
    /// The dominant of a chord of the key that does not follow.
    Unresolved,
    /// A dominant in a chain of dominants that leaves the key.
    Chain,
    /// The tritone substitute of the next chord's dominant.
    SubOf,
    /// The ii of the dominant that follows.
    Two,
    /// The ii before a tritone substitute.
    TwoOfSub,
    /// A diminished chord that passes up to the next.
    PassesUp,
    /// A diminished chord that passes down to the next.
    PassesDown,
    /// A diminished chord on the tonic.
    CommonTone,
    /// In a blues: a chord known in the major key on its tonic.
    AsMajor,
    /// Nothing explains it.
    Unexplained,
}

/// A function and its cost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Local {
    /// What the chord does.
    pub(super) function: Function,
    /// 0 for the plainest chords of the key, to 3200 for a chord that nothing explains.
    pub(super) cost: u32,
}

const UNEXPLAINED: Local = Local { function: Function::Unexplained, cost: 3200 };
/// In a blues a chord that costs more than this is looked up in major, and then costs this.
const AS_MAJOR: u32 = 500;

/// Chords listed for a mode: class, then degrees (semitones above the tonic) with their costs.
type Listing = &'static [(Class, &'static [(u8, u32)])];

const MAJOR: Listing = &[
    (Class::Major, &[(0, 0), (5, 0), (8, 600), (3, 700), (10, 700), (1, 1000)]),
    (Class::Minor, &[(2, 0), (9, 50), (4, 100), (5, 500), (7, 900), (0, 1100)]),
    (Class::MinorTonic, &[(2, 100), (5, 400)]),
    (Class::HalfDiminished, &[(11, 150), (2, 400), (6, 450)]),
    (Class::Diminished, &[(6, 300)]),
    (Class::Dominant, &[(7, 0), (5, 700), (0, 900)]),
    (Class::Suspended, &[(7, 0)]),
];

const MINOR: Listing = &[
    (Class::Major, &[(8, 100), (1, 300), (3, 400)]),
    (Class::Minor, &[(0, 0), (5, 0), (2, 400), (7, 500)]),
    (Class::MinorTonic, &[(0, 0), (5, 200)]),
    (Class::HalfDiminished, &[(2, 0), (9, 300), (6, 500)]),
    (Class::Diminished, &[(11, 100), (6, 400)]),
    (Class::Dominant, &[(7, 0), (10, 300), (8, 300), (5, 400)]),
    (Class::Suspended, &[(7, 100)]),
];

const BLUES: Listing = &[
    (Class::Dominant, &[(0, 100), (5, 100), (7, 100), (8, 400)]),
    (Class::Minor, &[(2, 200), (7, 300), (4, 400)]),
    (Class::HalfDiminished, &[(4, 400)]),
    (Class::Diminished, &[(6, 200)]),
    (Class::Suspended, &[(7, 200)]),
];

/// A chord with what follows it, seen from a key.
#[derive(Clone, Copy)]
pub(super) struct InKey<'a> {
    /// The chord and what follows.
    pub(super) context: Context<'a>,
    /// The key.
    pub(super) key: Tonality,
    /// Semitones of the chord's root above the tonic.
    pub(super) degree: u8,
}

impl<'a> InKey<'a> {
    /// The chord of `context` seen from `key`.
    pub(super) const fn new(context: Context<'a>, key: Tonality) -> Self {
        Self { context, key, degree: key.degree(context.item.root) }
    }

    /// The chord's class.
    pub(super) const fn class(self) -> Class {
        self.context.item.class
    }

    /// Semitones of the next chord's root above the tonic.
    pub(super) fn next_degree(self) -> Option<u8> {
        self.context.next.map(|next| self.key.degree(next.root))
    }

    /// The degree a fourth up, where a dominant on this chord's root leads.
    pub(super) const fn fourth_up(self) -> u8 {
        (self.degree + 5) % 12
    }

    /// The next dominant or suspended chord, if it lies a fourth up.
    pub(super) fn next_dominant(self) -> Option<&'a Item> {
        self.context.next_at(5).filter(|next| next.class.is_dominant())
    }

    /// Whether the next chord lies `semitones` up and fits a diatonic chord other than the tonic.
    fn reaches_target_off_tonic(self, semitones: u8) -> bool {
        let next = self.context.next_at(semitones);
        next.is_some_and(|next| next.root != self.key.tonic && self.key.fits_target(next))
    }
}

/// A rule: what it finds in the chord, and what that costs, or nothing.
type Rule = fn(InKey) -> Option<(Function, u32)>;

/// The rules in order: the lowest cost wins, the earlier rule on a tie.
const RULES: &[Rule] = &[
    listed,
    dominant_triad,
    subtonic_triad,
    major_dominants,
    blues_sixth,
    secondary,
    chain,
    substitute_of,
    unresolved,
    secondary_triad,
    related_two,
    two_of_substitute,
    passing_up,
    passing_down,
    common_tone,
];

/// What the chord of `context` is in `key`.
pub(super) fn local_cost(context: Context, key: Tonality) -> Local {
    let found = cheapest(context, key);
    if key.mode != KeyMode::Blues || found.cost <= AS_MAJOR {
        return found;
    }
    let major = Tonality { mode: KeyMode::Major, ..key };
    if cheapest(context, major) == UNEXPLAINED {
        return found;
    }
    Local { function: Function::AsMajor, cost: AS_MAJOR }
}

fn cheapest(context: Context, key: Tonality) -> Local {
    let chord = InKey::new(context, key);
    let found = RULES.iter().filter_map(|rule| rule(chord));
    found
        .map(|(function, cost)| Local { function, cost })
        .min_by_key(|local| local.cost)
        .filter(|local| local.cost < UNEXPLAINED.cost)
        .unwrap_or(UNEXPLAINED)
}

/// The chord is listed for the mode.
fn listed(chord: InKey) -> Option<(Function, u32)> {
    let listing = match chord.key.mode {
        KeyMode::Major => MAJOR,
        KeyMode::Minor => MINOR,
        KeyMode::Blues => BLUES,
    };
    let (_, degrees) = listing.iter().find(|(class, _)| *class == chord.class())?;
    let (_, cost) = degrees.iter().find(|(degree, _)| *degree == chord.degree)?;
    Some((Function::Listed, *cost))
}

/// A plain triad on V.
fn dominant_triad(chord: InKey) -> Option<(Function, u32)> {
    let cost = if chord.key.mode == KeyMode::Major { 0 } else { 100 };
    (chord.context.item.plain && chord.degree == 7).then_some((Function::DominantTriad, cost))
}

/// A plain triad on bVII of a minor key.
fn subtonic_triad(chord: InKey) -> Option<(Function, u32)> {
    let minor = chord.key.mode == KeyMode::Minor;
    (minor && chord.context.item.plain && chord.degree == 10).then_some((Function::Listed, 300))
}

/// Dominants on bVII, bII and bVI of a major key, by where they go.
fn major_dominants(chord: InKey) -> Option<(Function, u32)> {
    if chord.key.mode != KeyMode::Major || chord.class() != Class::Dominant {
        return None;
    }
    let next = chord.next_degree();
    let to_flat_three = next == Some(3) && chord.context.next.is_some_and(|n| n.class == Class::Major);
    match (chord.degree, next) {
        (10, Some(0 | 4 | 9)) => Some((Function::FlatSeven, 500)),
        (10, _) if to_flat_three => Some((Function::FlatSeven, 2000)),
        (10, _) => Some((Function::FlatSeven, 1000)),
        (1, Some(0)) => Some((Function::SubFive, 500)),
        (1, _) => Some((Function::SubFive, 1200)),
        (8, Some(0 | 2 | 7)) => Some((Function::FlatSix, 600)),
        (8, _) => Some((Function::FlatSix, 1300)),
        _ => None,
    }
}

/// The dominant on VI of a blues.
fn blues_sixth(chord: InKey) -> Option<(Function, u32)> {
    if chord.key.mode != KeyMode::Blues || chord.class() != Class::Dominant || chord.degree != 9 {
        return None;
    }
    let next = chord.context.next;
    let resolves = chord.next_degree() == Some(2) && next.is_some_and(|n| n.class != Class::Major);
    let function = if resolves { Function::Secondary } else { Function::Unresolved };
    Some((function, 300))
}

/// A dominant a fourth below a chord of the key other than the tonic.
fn secondary(chord: InKey) -> Option<(Function, u32)> {
    (chord.class().is_dominant() && chord.reaches_target_off_tonic(5)).then_some((Function::Secondary, 350))
}

/// A dominant a fourth below a dominant.
fn chain(chord: InKey) -> Option<(Function, u32)> {
    let links = chord.class().is_dominant() && chord.next_dominant().is_some();
    (links && !chord.reaches_target_off_tonic(5)).then_some((Function::Chain, 500))
}

/// A dominant a half step above a chord of the key.
fn substitute_of(chord: InKey) -> Option<(Function, u32)> {
    let next = chord.context.next_at(11).filter(|next| chord.key.fits_target(next));
    (chord.class() == Class::Dominant && next.is_some()).then_some((Function::SubOf, 500))
}

/// A dominant, not on I or V, of a chord of the key that does not follow.
fn unresolved(chord: InKey) -> Option<(Function, u32)> {
    let aims = chord.class().is_dominant() && !matches!(chord.degree, 0 | 7);
    (aims && chord.key.target(chord.fourth_up()).is_some()).then_some((Function::Unresolved, 800))
}

/// A plain triad, not on I or IV, a fourth below a chord of the key other than the tonic.
fn secondary_triad(chord: InKey) -> Option<(Function, u32)> {
    let aims = chord.context.item.plain && !matches!(chord.degree, 0 | 5);
    (aims && chord.reaches_target_off_tonic(5)).then_some((Function::Secondary, 350))
}

/// The ii of the dominant that follows, if that dominant belongs to a chord of the key other than the tonic.
fn related_two(chord: InKey) -> Option<(Function, u32)> {
    is_related_two(chord).then_some((Function::Two, 450))
}

/// Whether the chord is the ii of a dominant of some chord of the key other than the tonic.
pub(super) fn is_related_two(chord: InKey) -> bool {
    let resolution = (chord.degree + 10) % 12;
    let known = resolution != 0 && chord.key.target(resolution).is_some();
    chord.class().is_two() && known && chord.next_dominant().is_some()
}

/// The ii before a tritone substitute, of its own root (a half step down) or of the dominant it replaces (a fourth up).
fn two_of_substitute(chord: InKey) -> Option<(Function, u32)> {
    let next = chord.context.next.filter(|next| next.class == Class::Dominant)?;
    let after = chord.context.after;
    let falls = after.is_some_and(|after| next.move_to(after) == 11 && chord.key.fits_target(after));
    let flat_six = chord.key.mode == KeyMode::Major
        && chord.key.degree(next.root) == 8
        && after.is_some_and(|after| matches!(chord.key.degree(after.root), 0 | 2 | 7));
    if !chord.class().is_two() || !(falls || flat_six) {
        return None;
    }
    match chord.context.item.move_to(next) {
        5 => Some((Function::TwoOfSub, 600)),
        11 => Some((Function::TwoOfSub, 550)),
        _ => None,
    }
}

/// A diminished chord a half step below a degree of the key.
fn passing_up(chord: InKey) -> Option<(Function, u32)> {
    passes(chord, 1).then_some((Function::PassesUp, 350))
}

/// A diminished chord a half step above a degree of the key.
fn passing_down(chord: InKey) -> Option<(Function, u32)> {
    passes(chord, 11).then_some((Function::PassesDown, 400))
}

fn passes(chord: InKey, semitones: u8) -> bool {
    let next = chord.context.next_at(semitones);
    let known = next.is_some_and(|next| chord.key.target(chord.key.degree(next.root)).is_some());
    chord.class() == Class::Diminished && known
}

/// A diminished chord on the tonic.
fn common_tone(chord: InKey) -> Option<(Function, u32)> {
    (chord.class() == Class::Diminished && chord.degree == 0).then_some((Function::CommonTone, 500))
}

#[cfg(test)]
mod tests;
