//! A key as the search for keys sees it: a tonic and a mode without spelling, and the chords at home in it.
//!
//! The diatonic chords are those of common practice: in minor those of natural minor with the dominant of harmonic minor;
//! in a blues dominants on I, IV and V.

use crate::theory::{Key, KeyMode, PitchClass};

use super::reduce::{Class, Item};

/// A tonic and a mode.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Tonality {
    /// The tonic.
    pub(super) tonic: PitchClass,
    /// Major, minor or blues.
    pub(super) mode: KeyMode,
}

/// The class of the chord on each degree, by semitones above the tonic.
type Diatonic = [Option<Class>; 12];

const MAJ: Option<Class> = Some(Class::Major);
const MIN: Option<Class> = Some(Class::Minor);
const HD: Option<Class> = Some(Class::HalfDiminished);
const DOM: Option<Class> = Some(Class::Dominant);

/// `Imaj7 ii-7 iii-7 IVmaj7 V7 vi-7 viiø7`.
const MAJOR: Diatonic = [MAJ, None, MIN, None, MIN, MAJ, None, DOM, None, MIN, None, HD];
/// `i-7 iiø7 bIIImaj7 iv-7 V7 bVImaj7 bVIImaj7`.
const MINOR: Diatonic = [MIN, None, HD, MAJ, None, MIN, None, DOM, MAJ, None, MAJ, None];
/// `I7 ii-7 iii-7 IV7 V7 vi-7`.
const BLUES: Diatonic = [DOM, None, MIN, None, MIN, DOM, None, DOM, None, MIN, None, None];

impl Tonality {
    /// The tonality of a key.
    pub(super) const fn of(key: Key) -> Self {
        Self { tonic: key.tonic.pitch_class(), mode: key.mode }
    }

    /// The key, spelled with its usual signature.
    pub(super) fn key(self) -> Key {
        Key::new(self.tonic, self.mode)
    }

    /// Semitones from the tonic up to `root`.
    pub(super) const fn degree(self, root: PitchClass) -> u8 {
        root.above(self.tonic)
    }

    /// The class of the diatonic chord on `degree`, which a dominant may aim at.
    pub(super) const fn target(self, degree: u8) -> Option<Class> {
        let table = match self.mode {
            KeyMode::Major => &MAJOR,
            KeyMode::Minor => &MINOR,
            KeyMode::Blues => &BLUES,
        };
        table[degree as usize % 12]
    }

    /// Whether `item` can stand for the diatonic chord on its degree: of its class, or a dominant or suspended chord in its
    /// place; a tonic minor chord for a minor one; a major chord for a dominant.
    pub(super) fn fits_target(self, item: &Item) -> bool {
        let Some(target) = self.target(self.degree(item.root)) else {
            return false;
        };
        match item.class {
            Class::Dominant | Class::Suspended => true,
            Class::MinorTonic => target == Class::Minor,
            Class::Major => matches!(target, Class::Major | Class::Dominant),
            class => class == target,
        }
    }

    /// Whether `item` is the tonic chord: on the tonic, major in major, minor in minor, a dominant in a blues.
    pub(super) fn is_tonic(self, item: &Item) -> bool {
        item.root == self.tonic
            && match self.mode {
                KeyMode::Major => item.class == Class::Major,
                KeyMode::Minor => matches!(item.class, Class::Minor | Class::MinorTonic),
                KeyMode::Blues => item.class == Class::Dominant,
            }
    }

    /// Place of the key signature on the circle of fifths, 0 (C major) to 11 (F major), counted in sharps.
    pub(super) const fn signature(self) -> usize {
        let relative_major = match self.mode {
            KeyMode::Minor => self.tonic.up(3),
            KeyMode::Major | KeyMode::Blues => self.tonic,
        };
        relative_major.semitones() as usize * 7 % 12
    }
}
