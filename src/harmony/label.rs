//! What is printed about a chord: its function as a numeral with its quality, and the reason in words.
//!
//! Numerals are those of jazz harmony teaching (common practice): small for minor chords, `-7` for a minor seventh, `ø7` for
//! a half-diminished one, `V7/ii` for the dominant of ii, `subV7/I` for the tritone substitute of the dominant of I.

use crate::theory::chord::{Arpeggio, Quality};
use crate::theory::{ChordSymbol, Key, KeyMode, Mode, NoteName, PitchClassSet};

use super::local::{Function, InKey, is_related_two, local_cost};
use super::reduce::{Class, Context};

/// The function of a chord without a key.
pub(super) const MODAL: &str = "(modal)";

const NUMERALS: [&str; 12] = ["I", "bII", "II", "bIII", "III", "IV", "#IV", "V", "bVI", "VI", "bVII", "VII"];
/// Numerals of chords that pass up.
const SHARP_NUMERALS: [&str; 12] =
    ["I", "#I", "II", "#II", "III", "IV", "#IV", "V", "#V", "VI", "#VI", "VII"];
/// Numerals of chords that pass down.
const FLAT_NUMERALS: [&str; 12] =
    ["I", "bII", "II", "bIII", "III", "IV", "bV", "V", "bVI", "VI", "bVII", "VII"];
/// Letters of the numerals above the tonic.
const LETTERS: [i32; 12] = [0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6];

/// A chord with its function, and what there is to say about it.
pub(super) struct Labelled<'a> {
    /// The chord in its key.
    pub(super) chord: InKey<'a>,
    /// The key, as spelled.
    pub(super) key: Key,
    /// What it does there.
    pub(super) function: Function,
    /// The symbol.
    pub(super) symbol: ChordSymbol,
    /// The next chord as it is written; empty where none follows.
    pub(super) next: &'a str,
    /// What follows the next chord.
    pub(super) next_context: Option<Context<'a>>,
}

impl Labelled<'_> {
    /// The function in full: `ii-7`, `V7/V (unresolved)`, `iii-7 = ii-7/ii`.
    pub(super) fn label(&self) -> String {
        let suffix = suffix(self.symbol.heard().quality);
        let degree = usize::from(self.chord.degree);
        let numeral = self.numeral_of(NUMERALS[degree]);
        let target = || self.target_numeral(self.chord.fourth_up());
        match self.function {
            Function::Secondary => format!("V{suffix}/{}", target()),
            Function::Unresolved => format!("V{suffix}/{} (unresolved)", target()),
            Function::Chain => format!("V{suffix}/{} (chain)", target()),
            Function::SubFive | Function::SubOf => {
                format!("subV{suffix}/{}", self.target_numeral((self.chord.degree + 11) % 12))
            }
            Function::Two => self.two_label(suffix),
            Function::TwoOfSub => format!("ii{suffix}/subV"),
            Function::PassesUp => format!("{}{suffix}", self.numeral_of(SHARP_NUMERALS[degree])),
            Function::PassesDown => format!("{}{suffix}", self.numeral_of(FLAT_NUMERALS[degree])),
            Function::CommonTone => format!("{numeral}{suffix} (common tone)"),
            Function::FlatSeven if self.chord.next_degree() == Some(0) => {
                format!("{numeral}{suffix} (backdoor)")
            }
            Function::Listed if self.is_also_two() => {
                format!("{numeral}{suffix} = {}", self.two_label(suffix))
            }
            Function::Listed | Function::DominantTriad | Function::FlatSeven | Function::FlatSix => {
                format!("{numeral}{suffix}")
            }
            Function::AsMajor | Function::Unexplained => format!("{numeral}{suffix}"),
        }
    }

    /// The reason, to print.
    pub(super) fn reason(&self) -> String {
        let reason = self.reason_of_function();
        if self.falls_unsaid() { format!("{reason}, a half step above {}", self.next) } else { reason }
    }

    /// Whether a dominant falls a half step to the next chord under a label that does not tell.
    fn falls_unsaid(&self) -> bool {
        let told = matches!(self.function, Function::SubFive | Function::SubOf);
        !told && self.chord.class() == Class::Dominant && self.chord.context.next_at(11).is_some()
    }

    fn reason_of_function(&self) -> String {
        match self.function {
            Function::Listed | Function::DominantTriad | Function::FlatSix => self.place_in_key(),
            Function::Secondary => format!("dominant of the next chord, {}", self.next),
            Function::Unresolved if self.chord.context.next_at(5).is_some() => {
                format!("dominant of {}, which comes as {}", self.target_chord(), self.next)
            }
            Function::Unresolved => format!("dominant of {}, but goes elsewhere", self.target_chord()),
            Function::Chain => "dominant of the next dominant".to_owned(),
            Function::SubFive | Function::SubOf => self.substitution().to_owned(),
            Function::FlatSeven if self.chord.next_degree() == Some(0) => "backdoor dominant".to_owned(),
            Function::FlatSeven => "bVII7".to_owned(),
            Function::Two | Function::TwoOfSub => "ii of the dominant that follows".to_owned(),
            Function::PassesUp => format!("passes up to {}", self.next),
            Function::PassesDown => format!("passes down to {}", self.next),
            Function::CommonTone if self.next.is_empty() => "colours the tonic".to_owned(),
            Function::CommonTone => format!("colours {}", self.next),
            Function::AsMajor => "as in major".to_owned(),
            Function::Unexplained => "not explained, check".to_owned(),
        }
    }

    fn substitution(&self) -> &'static str {
        match (self.chord.context.next, self.chord.context.next_at(11)) {
            (_, Some(_)) => "tritone substitute, down a half step",
            (Some(_), None) => "tritone substitute for V7, but goes elsewhere",
            (None, None) => "tritone substitute for V7",
        }
    }

    fn place_in_key(&self) -> String {
        let place = if self.chord.key.is_tonic(self.chord.context.item) {
            "tonic of".to_owned()
        } else if !self.is_diatonic() {
            "borrowed in".to_owned()
        } else if let Some(altered) = self.names_foreign_notes() {
            format!("{altered}{} of", self.numeral_of(NUMERALS[usize::from(self.chord.degree)]))
        } else {
            "diatonic in".to_owned()
        };
        let place = format!("{place} {}", self.key);
        if self.function == Function::Listed && self.is_also_two() {
            place + ", ii of the dominant that follows"
        } else {
            place
        }
    }

    /// Whether the chord stands for the key's own chord on its degree, or all its tones lie in the key's plain scale.
    fn is_diatonic(&self) -> bool {
        let scale = match self.key.mode {
            KeyMode::Major => Mode::Ionian,
            KeyMode::Minor => Mode::Aeolian,
            KeyMode::Blues => Mode::Mixolydian,
        };
        let item = self.chord.context.item;
        let target = self.chord.key.target(self.chord.degree);
        let own = match item.class {
            Class::Dominant => target == Some(Class::Dominant),
            _ => self.chord.key.fits_target(item),
        };
        let tones = self.symbol.heard().quality.arpeggio.set().up(i32::from(self.chord.degree));
        own || scale.set().holds(tones)
    }

    /// Where the symbol of a dominant names notes from outside the key, in minor with its raised seventh: "altered " if an
    /// altered fifth, 9 or 13 is among them, else "".
    fn names_foreign_notes(&self) -> Option<&'static str> {
        const ALTERED: PitchClassSet = PitchClassSet::of(&[1, 3, 6, 8]);
        let quality = self.symbol.heard().quality;
        let named = (quality.arpeggio.set() & ALTERED) | quality.named_colours();
        let key = match self.key.mode {
            KeyMode::Major | KeyMode::Blues => Mode::Ionian.set(),
            KeyMode::Minor => Mode::Aeolian.set() | PitchClassSet::of(&[11]),
        };
        let foreign = named - key.up(-i32::from(self.chord.degree));
        let word = if foreign.meets(ALTERED) { "altered " } else { "" };
        (self.chord.class().is_dominant() && !foreign.is_empty()).then_some(word)
    }

    /// Whether a chord of the key is at the same time the ii of a secondary dominant that follows (in a blues: of I7 too).
    fn is_also_two(&self) -> bool {
        let Some(next) = self.next_context else {
            return false;
        };
        let following = local_cost(next, self.chord.key).function;
        let secondary = matches!(following, Function::Secondary | Function::Unresolved);
        let blues_tonic = self.key.mode == KeyMode::Blues && self.chord.key.is_tonic(next.item);
        is_related_two(self.chord) && (secondary || blues_tonic)
    }

    fn two_label(&self, suffix: &str) -> String {
        format!("ii{suffix}/{}", self.target_numeral((self.chord.degree + 10) % 12))
    }

    /// The chord's own numeral, small for minor chords and for the diminished chord on VII.
    fn numeral_of(&self, numeral: &str) -> String {
        let class = self.chord.class();
        let leading = class == Class::Diminished && self.chord.degree == 11;
        in_case(numeral, class.is_minor() || leading)
    }

    /// The numeral of the key's chord on `degree`.
    fn target_numeral(&self, degree: u8) -> String {
        let small = self.chord.key.target(degree).is_some_and(Class::is_minor);
        in_case(NUMERALS[usize::from(degree)], small)
    }

    /// The key's chord that an unresolved dominant belongs to: `G`, `Am`.
    fn target_chord(&self) -> String {
        let degree = self.chord.fourth_up();
        let minor = self.chord.key.target(degree).is_some_and(Class::is_minor);
        let quality = if minor { "m" } else { "" };
        format!("{}{quality}", degree_name(self.key, degree))
    }
}

/// The note on a degree of a key.
pub(super) fn degree_name(key: Key, degree: u8) -> NoteName {
    key.tonic.up(LETTERS[usize::from(degree % 12)], i32::from(degree))
}

fn in_case(numeral: &str, small: bool) -> String {
    if small { numeral.to_lowercase() } else { numeral.to_owned() }
}

/// What follows a numeral for a quality; colours are not shown.
const fn suffix(quality: Quality) -> &'static str {
    use Arpeggio as A;
    match quality.arpeggio {
        A::Major
        | A::Power
        | A::Add9
        | A::Add11
        | A::MajorFlat5
        | A::Minor
        | A::MinorAdd9
        | A::MinorFlat6 => "",
        A::Sixth => "6",
        A::Major7 => "maj7",
        A::Major7Sharp5 => "maj7#5",
        A::Major7Flat5 => "maj7b5",
        A::Major7Sus4 => "maj7sus4",
        A::Minor6 => "-6",
        A::Minor7 => "-7",
        A::Minor7Sharp5 => "-7#5",
        A::MinorMajor7 => "-maj7",
        A::HalfDiminished => "ø7",
        A::DiminishedTriad => "°",
        A::Diminished7 => "°7",
        A::DiminishedMajor7 => "°maj7",
        A::Dominant7 => "7",
        A::Dominant7Flat5 => "7b5",
        A::Dominant7Sharp5 => "7#5",
        A::Altered => "7alt",
        A::Dominant7Sus4 => "7sus4",
        A::Sus4 => "sus4",
        A::Sus2 => "sus2",
        A::Augmented => "+",
    }
}
