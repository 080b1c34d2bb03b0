//! Scales: the formulas of common practice, and a scale on its root with its spelling.
//!
//! Formulas after the tables of Levine, *The Jazz Theory Book* (1995) and Nettles & Graf, *The Chord Scale Theory & Jazz
//! Harmony* (1997), from memory at page level; the eight-note dominant with b9, #9 and b13 after a published harmony
//! handout; the bebop scales after Baker (1985).

use std::fmt;
use std::str::FromStr;

use super::degree::Degree;
use super::pitch_class::{PitchClass, PitchClassSet};
use super::spelling::NoteName;

/// Declares the scales with a name: one row a scale, its degrees above the root spelled as they are written.
macro_rules! modes {
    ($($variant:ident $name:literal $degrees:literal;)*) => {
        /// A scale with a name, without its root.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Mode {
            $(#[doc = concat!("`", $name, "`: ", $degrees)] $variant,)*
        }

        impl Mode {
            /// Every named scale, in the order of the table.
            pub const ALL: &[Self] = &[$(Self::$variant),*];

            /// The name, lower case, words parted by blanks.
            pub const fn name(self) -> &'static str {
                match self { $(Self::$variant => $name),* }
            }

            const fn formula(self) -> &'static str {
                match self { $(Self::$variant => $degrees),* }
            }

            /// The notes as semitones above the root.
            pub const fn set(self) -> PitchClassSet {
                match self { $(Self::$variant => const { set_of_formula($degrees) }),* }
            }
        }
    };
}

modes! {
    Ionian "ionian" "1 2 3 4 5 6 7";
    Dorian "dorian" "1 2 b3 4 5 6 b7";
    Phrygian "phrygian" "1 b2 b3 4 5 b6 b7";
    Lydian "lydian" "1 2 3 #4 5 6 7";
    Mixolydian "mixolydian" "1 2 3 4 5 6 b7";
    Aeolian "aeolian" "1 2 b3 4 5 b6 b7";
    Locrian "locrian" "1 b2 b3 4 b5 b6 b7";
    MelodicMinor "melodic minor" "1 2 b3 4 5 6 7";
    DorianFlat2 "dorian b2" "1 b2 b3 4 5 6 b7";
    LydianAugmented "lydian augmented" "1 2 3 #4 #5 6 7";
    LydianDominant "lydian dominant" "1 2 3 #4 5 6 b7";
    MixolydianFlat13 "mixolydian b13" "1 2 3 4 5 b6 b7";
    LocrianNatural2 "locrian natural 2" "1 2 b3 4 b5 b6 b7";
    Altered "altered" "1 b2 b3 b4 b5 b6 b7";
    HarmonicMinor "harmonic minor" "1 2 b3 4 5 b6 7";
    HarmonicMinor7thMode "harmonic minor 7th mode" "1 b2 b3 b4 b5 b6 bb7";
    PhrygianDominant "phrygian dominant" "1 b2 3 4 5 b6 b7";
    HarmonicMajor "harmonic major" "1 2 3 4 5 b6 7";
    HalfWholeDiminished "half-whole diminished" "1 b2 #2 3 #4 5 6 b7";
    WholeHalfDiminished "whole-half diminished" "1 2 b3 4 b5 b6 bb7 7";
    MixolydianFlat9Sharp9Flat13 "mixolydian b9 #9 b13" "1 b2 #2 3 4 5 b6 b7";
    WholeTone "whole tone" "1 2 3 #4 #5 b7";
    MajorPentatonic "major pentatonic" "1 2 3 5 6";
    MinorPentatonic "minor pentatonic" "1 b3 4 5 b7";
    Blues "blues" "1 b3 4 b5 5 b7";
    MajorBlues "major blues" "1 2 b3 3 5 6";
    BebopDominant "bebop dominant" "1 2 3 4 5 6 b7 7";
    BebopMajor "bebop major" "1 2 3 4 5 #5 6 7";
}

/// The set of a formula such as `1 b3 #4`, at compile time.
const fn set_of_formula(formula: &str) -> PitchClassSet {
    let bytes = formula.as_bytes();
    let major = [0i32, 2, 4, 5, 7, 9, 11];
    let mut set = PitchClassSet::EMPTY;
    let mut alter = 0;
    let mut i = 0;
    while i < bytes.len() {
        match bytes[i] {
            b'b' => alter -= 1,
            b'#' => alter += 1,
            b' ' => alter = 0,
            digit => {
                let semitones = major[(digit - b'1') as usize] + alter;
                set = set.with(PitchClass::from_semitones(semitones));
            }
        }
        i += 1;
    }
    set
}

impl Mode {
    /// The degrees in order from the root, spelled as the table writes them.
    pub fn degrees(self) -> impl Iterator<Item = Degree> {
        self.formula().split(' ').filter_map(|degree| degree.parse().ok())
    }

    /// The scale of this name on `root`.
    pub fn on(self, root: NoteName) -> Scale {
        Scale { root, kind: ScaleKind::Mode(self), set: self.set() }
    }
}

impl fmt::Display for Mode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// What a scale is called, and with it how it is spelled.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum ScaleKind {
    /// One of the named scales.
    Mode(Mode),
    /// The harmonic minor scale of a key's tonic, counted from the chord's root.
    HarmonicMinorOf(NoteName),
    /// Mixolydian with the minor third of the key beside the major one, for the tonic of a blues.
    MixolydianWithBlueThird,
    /// A scale changed to agree with the chord's symbol or its bass: the scale it came from, its notes as they are now.
    Patched(Mode),
    /// Degrees that a player wrote out, such as `1,b2,3,5`.
    Degrees(Vec<Degree>),
}

/// A scale on its root.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Scale {
    root: NoteName,
    kind: ScaleKind,
    /// Relative to the root.
    set: PitchClassSet,
}

impl Scale {
    /// The harmonic minor of `tonic`, heard from the chord root `root`.
    pub fn harmonic_minor_of(tonic: NoteName, root: NoteName) -> Self {
        let up = tonic.pitch_class().above(root.pitch_class());
        let set = Mode::HarmonicMinor.set().up(i32::from(up));
        Self { root, kind: ScaleKind::HarmonicMinorOf(tonic), set }
    }

    /// Mixolydian with the blue third on `root`: eight notes.
    pub fn mixolydian_with_blue_third(root: NoteName) -> Self {
        let set = Mode::Mixolydian.set() | PitchClassSet::of(&[3]);
        Self { root, kind: ScaleKind::MixolydianWithBlueThird, set }
    }

    /// The scale of the degrees a player wrote.
    pub fn of_degrees(degrees: Vec<Degree>, root: NoteName) -> Self {
        let set = degrees.iter().map(|d| d.pitch_class(PitchClass::C)).collect();
        Self { root, kind: ScaleKind::Degrees(degrees), set }
    }

    /// This scale with `needed` added and `expelled` dropped (both relative to the root); its name stays if nothing changes.
    #[must_use]
    pub fn patched(self, needed: PitchClassSet, expelled: PitchClassSet) -> Self {
        let set = (self.set - expelled) | needed;
        if set == self.set {
            return self;
        }
        let kind = match self.kind {
            ScaleKind::Mode(mode) => ScaleKind::Patched(mode),
            ScaleKind::MixolydianWithBlueThird | ScaleKind::HarmonicMinorOf(_) => {
                ScaleKind::Patched(Mode::Mixolydian)
            }
            kind => kind,
        };
        Self { kind, set, ..self }
    }

    /// The root, as spelled.
    pub const fn root(&self) -> NoteName {
        self.root
    }

    /// What the scale is called.
    pub const fn kind(&self) -> &ScaleKind {
        &self.kind
    }

    /// The notes, as pitch classes.
    pub const fn pitch_classes(&self) -> PitchClassSet {
        self.set.up(self.root.pitch_class().semitones() as i32)
    }

    /// The notes as semitones above the root.
    pub const fn relative(&self) -> PitchClassSet {
        self.set
    }

    /// The notes in order from the root, spelled: one letter each for a scale of seven notes.
    pub fn names(&self) -> Vec<NoteName> {
        (0..12u8).filter(|&s| self.set.has_semitone(s)).map(|s| self.spell(s)).collect()
    }

    /// The name of the note `semitones` above the root, as this scale spells it where it has that note.
    fn spell(&self, semitones: u8) -> NoteName {
        let of_mode =
            |mode: Mode| mode.degrees().find(|d| d.semitones() == semitones).map(|d| d.above(self.root));
        let spelled = match &self.kind {
            ScaleKind::Mode(mode) | ScaleKind::Patched(mode) => of_mode(*mode),
            ScaleKind::HarmonicMinorOf(tonic) => {
                let wanted = self.root.pitch_class().up(i32::from(semitones));
                Mode::HarmonicMinor.on(*tonic).names().into_iter().find(|n| n.pitch_class() == wanted)
            }
            ScaleKind::MixolydianWithBlueThird if semitones == 3 => Some(self.root.up(2, 3)),
            ScaleKind::MixolydianWithBlueThird => of_mode(Mode::Mixolydian),
            ScaleKind::Degrees(degrees) => {
                degrees.iter().find(|d| d.semitones() == semitones).map(|d| d.above(self.root))
            }
        };
        let tones = PitchClassSet::of(&[0, 4, 7]);
        spelled.unwrap_or_else(|| Degree::in_chord(semitones, tones).above(self.root))
    }

    /// The name without the root: `dorian`, `harmonic minor of G`, `1,b2,3,5`.
    pub fn name(&self) -> String {
        match &self.kind {
            ScaleKind::Mode(mode) => mode.to_string(),
            ScaleKind::HarmonicMinorOf(tonic) => format!("harmonic minor of {tonic}"),
            ScaleKind::MixolydianWithBlueThird => "mixolydian + b3 of key".to_owned(),
            ScaleKind::Patched(mode) => self.patched_name(*mode),
            ScaleKind::Degrees(degrees) => {
                degrees.iter().map(Degree::to_string).collect::<Vec<_>>().join(",")
            }
        }
    }

    fn patched_name(&self, mode: Mode) -> String {
        let named = |set: PitchClassSet, sign: char| {
            (0..12u8)
                .filter(move |&s| set.has_semitone(s))
                .map(move |s| format!(" {sign} {}", Degree::in_chord(s, PitchClassSet::of(&[0, 4, 7]))))
        };
        let added = named(self.set - mode.set(), '+');
        let dropped = named(mode.set() - self.set, '-');
        std::iter::once(mode.to_string()).chain(added).chain(dropped).collect()
    }
}

/// Prints the root before the name: `A dorian`. A name that carries its own note stands alone: `harmonic minor of G`.
impl fmt::Display for Scale {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.kind {
            ScaleKind::HarmonicMinorOf(_) => f.write_str(&self.name()),
            _ => write!(f, "{} {}", self.root, self.name()),
        }
    }
}

/// A scale as a player asks for it, without its root: a name or degrees (`lydian-dominant`, `1,b2,3,5`).
///
/// Names are read with a hyphen or a blank between words and printed with hyphens.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum ScaleRequest {
    /// A named scale.
    Mode(Mode),
    /// The harmonic minor of a key, counted from the chord's root.
    HarmonicMinorOf(NoteName),
    /// Mixolydian with the blue third.
    MixolydianWithBlueThird,
    /// Degrees above the chord's root.
    Degrees(Vec<Degree>),
}

impl ScaleRequest {
    /// The scale asked for, on `root`.
    pub fn on(&self, root: NoteName) -> Scale {
        match self {
            Self::Mode(mode) => mode.on(root),
            Self::HarmonicMinorOf(tonic) => Scale::harmonic_minor_of(*tonic, root),
            Self::MixolydianWithBlueThird => Scale::mixolydian_with_blue_third(root),
            Self::Degrees(degrees) => Scale::of_degrees(degrees.clone(), root),
        }
    }
}

/// Says why a text is no scale, with the nearest name.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoScale {
    /// No scale has this name.
    #[error("no scale \"{text}\". {}", close_or_examples(close.as_deref()))]
    Unknown {
        /// What was written.
        text: String,
        /// The name it is close to, as it is written in a chart.
        close: Option<String>,
    },
    /// The degrees do not read.
    #[error("no scale \"{text}\": degrees are written 1,b2,3,5, from 1 to 13, at least two of them, 1 first")]
    Degrees {
        /// What was written.
        text: String,
    },
}

const BLUE_THIRD: &str = "mixolydian-+-b3-of-key";
const OF_KEY: &str = "harmonic-minor-of-";

impl FromStr for ScaleRequest {
    type Err = NoScale;

    fn from_str(text: &str) -> Result<Self, NoScale> {
        if text.contains(',') {
            return read_degrees(text);
        }
        let written = text.trim().replace(' ', "-");
        let lower = written.to_lowercase();
        if let Some(&mode) = Mode::ALL.iter().find(|m| hyphened(m.name()) == lower) {
            return Ok(Self::Mode(mode));
        }
        if lower == BLUE_THIRD {
            return Ok(Self::MixolydianWithBlueThird);
        }
        let tonic = lower.strip_prefix(OF_KEY).and_then(|_| written[OF_KEY.len()..].parse().ok());
        tonic
            .map(Self::HarmonicMinorOf)
            .ok_or_else(|| NoScale::Unknown { text: text.to_owned(), close: close_mode(&lower) })
    }
}

fn read_degrees(text: &str) -> Result<ScaleRequest, NoScale> {
    let degrees: Option<Vec<Degree>> = text.split(',').map(|d| d.trim().parse().ok()).collect();
    degrees
        .filter(|d| d.len() >= 2 && d[0].semitones() == 0)
        .map(ScaleRequest::Degrees)
        .ok_or_else(|| NoScale::Degrees { text: text.to_owned() })
}

fn close_mode(written: &str) -> Option<String> {
    super::close(written, Mode::ALL.iter().map(|m| hyphened(m.name())))
}

fn close_or_examples(close: Option<&str>) -> String {
    close.map_or_else(
        || "Write a name, as in dorian, lydian-dominant or altered, or degrees: 1,b3,5".to_owned(),
        |name| format!("Did you mean {name}?"),
    )
}

fn hyphened(name: &str) -> String {
    name.replace(' ', "-")
}

impl fmt::Display for ScaleRequest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Mode(mode) => f.write_str(&hyphened(mode.name())),
            Self::HarmonicMinorOf(tonic) => write!(f, "{OF_KEY}{tonic}"),
            Self::MixolydianWithBlueThird => f.write_str(BLUE_THIRD),
            Self::Degrees(degrees) => {
                let texts: Vec<String> = degrees.iter().map(Degree::to_string).collect();
                f.write_str(&texts.join(","))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn on(mode: Mode, root: &str) -> Scale {
        mode.on(root.parse().expect("a note name"))
    }

    fn names(scale: &Scale) -> String {
        scale.names().iter().map(NoteName::to_string).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn formulas_are_those_of_the_tables() {
        // Semitones as printed in the handbook tables named at the top of this file.
        let check =
            |mode: Mode, semitones: &[u8]| assert_eq!(mode.set(), PitchClassSet::of(semitones), "{mode}");
        check(Mode::Ionian, &[0, 2, 4, 5, 7, 9, 11]);
        check(Mode::MelodicMinor, &[0, 2, 3, 5, 7, 9, 11]);
        check(Mode::Dorian, &[0, 2, 3, 5, 7, 9, 10]);
        check(Mode::DorianFlat2, &[0, 1, 3, 5, 7, 9, 10]);
        check(Mode::Phrygian, &[0, 1, 3, 5, 7, 8, 10]);
        check(Mode::LydianAugmented, &[0, 2, 4, 6, 8, 9, 11]);
        check(Mode::Lydian, &[0, 2, 4, 6, 7, 9, 11]);
        check(Mode::LydianDominant, &[0, 2, 4, 6, 7, 9, 10]);
        check(Mode::Mixolydian, &[0, 2, 4, 5, 7, 9, 10]);
        check(Mode::MixolydianFlat13, &[0, 2, 4, 5, 7, 8, 10]);
        check(Mode::Aeolian, &[0, 2, 3, 5, 7, 8, 10]);
        check(Mode::LocrianNatural2, &[0, 2, 3, 5, 6, 8, 10]);
        check(Mode::Locrian, &[0, 1, 3, 5, 6, 8, 10]);
        check(Mode::Altered, &[0, 1, 3, 4, 6, 8, 10]);
        check(Mode::HarmonicMinor, &[0, 2, 3, 5, 7, 8, 11]);
        check(Mode::PhrygianDominant, &[0, 1, 4, 5, 7, 8, 10]);
        check(Mode::HalfWholeDiminished, &[0, 1, 3, 4, 6, 7, 9, 10]);
        check(Mode::MixolydianFlat9Sharp9Flat13, &[0, 1, 3, 4, 5, 7, 8, 10]);
        check(Mode::WholeHalfDiminished, &[0, 2, 3, 5, 6, 8, 9, 11]);
        check(Mode::WholeTone, &[0, 2, 4, 6, 8, 10]);
        check(Mode::MinorPentatonic, &[0, 3, 5, 7, 10]);
        check(Mode::Blues, &[0, 3, 5, 6, 7, 10]);
        check(Mode::MajorPentatonic, &[0, 2, 4, 7, 9]);
        check(Mode::MajorBlues, &[0, 2, 3, 4, 7, 9]);
        check(Mode::BebopDominant, &[0, 2, 4, 5, 7, 9, 10, 11]);
        check(Mode::BebopMajor, &[0, 2, 4, 5, 7, 8, 9, 11]);
        check(Mode::HarmonicMinor7thMode, &[0, 1, 3, 4, 6, 8, 9]);
    }

    #[test]
    fn seven_notes_have_a_letter_each() {
        assert_eq!(names(&on(Mode::MelodicMinor, "F")), "F G Ab Bb C D E");
        assert_eq!(names(&on(Mode::HarmonicMinor, "G#")), "G# A# B C# D# E F##");
        for &mode in Mode::ALL.iter().filter(|m| m.set().len() == 7) {
            let mut letters: Vec<_> = on(mode, "D").names().iter().map(|n| n.letter).collect();
            letters.sort_unstable();
            letters.dedup();
            assert_eq!(letters.len(), 7, "{mode}");
        }
    }

    #[test]
    fn the_harmonic_minor_of_a_key_is_spelled_by_that_key() {
        let scale = Scale::harmonic_minor_of("G".parse().expect("a note"), "C".parse().expect("a note"));
        assert_eq!(scale.to_string(), "harmonic minor of G");
        assert_eq!(names(&scale), "C D Eb F# G A Bb");
    }

    #[test]
    fn requests_read_and_print() {
        for text in ["dorian", "lydian-dominant", "half-whole-diminished", "1,b2,3,5", "harmonic-minor-of-Bb"]
        {
            assert_eq!(text.parse::<ScaleRequest>().expect("a scale").to_string(), text);
        }
        for &mode in Mode::ALL {
            assert_eq!(mode.name().parse(), Ok(ScaleRequest::Mode(mode)), "names read with blanks too");
        }
        let error = "dorain".parse::<ScaleRequest>().expect_err("no such scale");
        assert_eq!(error.to_string(), "no scale \"dorain\". Did you mean dorian?");
        let error = "foo".parse::<ScaleRequest>().expect_err("no such scale");
        assert_eq!(
            error.to_string(),
            "no scale \"foo\". Write a name, as in dorian, lydian-dominant or altered, or degrees: 1,b3,5"
        );
        assert!("2,3".parse::<ScaleRequest>().is_err());
    }

    #[test]
    fn a_patched_scale_says_what_was_done() {
        let scale = on(Mode::Mixolydian, "C").patched(PitchClassSet::of(&[6]), PitchClassSet::of(&[5]));
        assert_eq!(scale.name(), "mixolydian + #11 - 11");
        assert_eq!(
            on(Mode::Dorian, "C").patched(PitchClassSet::of(&[0]), PitchClassSet::EMPTY).name(),
            "dorian"
        );
    }
}
