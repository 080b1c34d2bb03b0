//! Chord qualities: which notes a symbol stands for, and its one canonical spelling.
//!
//! The basic arpeggios follow standard chord-symbol notation (Brandt & Roemer, *Standardized Chord Symbol Notation*,
//! 1975, from memory) and common practice; which number becomes a chord tone is the rule stated on [`Quality`].

use std::fmt;

use crate::theory::pitch_class::PitchClassSet;

/// Declares the basic arpeggios: variant, canonical text, chord tones and guide tones in semitones above the root.
macro_rules! arpeggios {
    ($($variant:ident $text:literal [$($tone:literal)*] [$($guide:literal)*];)*) => {
        /// The basic arpeggio of a quality: the notes that count as chord tones.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Arpeggio {
            $(#[doc = concat!("`", $text, "`: ", $($tone, " "),*)] $variant,)*
        }

        impl Arpeggio {
            /// Every arpeggio, in the order of the table.
            pub const ALL: &[Self] = &[$(Self::$variant),*];

            /// The canonical text, as it follows a root, without colours.
            pub const fn text(self) -> &'static str {
                match self { $(Self::$variant => $text),* }
            }

            /// The chord tones, relative to the root.
            pub const fn set(self) -> PitchClassSet {
                match self { $(Self::$variant => PitchClassSet::of(&[$($tone),*])),* }
            }

            /// The guide tones in semitones above the root, the third (or what stands for it) first.
            pub const fn guide_tones(self) -> &'static [u8] {
                match self { $(Self::$variant => &[$($guide),*]),* }
            }
        }
    };
}

arpeggios! {
    Major                "" [0 4 7] [4];
    Power                "5" [0 7] [];
    Add9                 "add9" [0 2 4 7] [4];
    Add11                "add11" [0 4 5 7] [4];
    MajorFlat5           "(b5)" [0 4 6] [4];
    Sixth                "6" [0 4 7 9] [4 9];
    Major7               "maj7" [0 4 7 11] [4 11];
    Major7Sharp5         "maj7#5" [0 4 8 11] [4 11];
    Major7Flat5          "maj7b5" [0 4 6 11] [4 11];
    Major7Sus4           "maj7sus4" [0 5 7 11] [5 11];
    Minor                "m" [0 3 7] [3];
    MinorAdd9            "m(add9)" [0 2 3 7] [3];
    MinorFlat6           "m(b6)" [0 3 7 8] [3];
    Minor6               "m6" [0 3 7 9] [3 9];
    Minor7               "m7" [0 3 7 10] [3 10];
    Minor7Sharp5         "m7#5" [0 3 8 10] [3 10];
    MinorMajor7          "mMaj7" [0 3 7 11] [3 11];
    HalfDiminished       "m7b5" [0 3 6 10] [3 10];
    DiminishedTriad      "m(b5)" [0 3 6] [3];
    Diminished7          "dim7" [0 3 6 9] [3 9];
    DiminishedMajor7     "dim(maj7)" [0 3 6 11] [3 11];
    Dominant7            "7" [0 4 7 10] [4 10];
    Dominant7Flat5       "7b5" [0 4 6 10] [4 10];
    Dominant7Sharp5      "7#5" [0 4 8 10] [4 10];
    Altered              "7alt" [0 4 8 10] [4 10];
    Dominant7Sus4        "7sus4" [0 5 7 10] [5 10];
    Sus4                 "sus4" [0 5 7] [5];
    Sus2                 "sus2" [0 2 7] [2];
    Augmented            "aug" [0 4 8] [4 8];
}

/// A colour named in a symbol: a 9, 11 or 13, natural or altered.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u8)]
pub enum Colour {
    /// `b9`
    FlatNine,
    /// `9`
    Nine,
    /// `#9`
    SharpNine,
    /// `11`
    Eleven,
    /// `#11`
    SharpEleven,
    /// `b13`
    FlatThirteen,
    /// `13`
    Thirteen,
}

impl Colour {
    /// Every colour, from the root up.
    pub const ALL: [Self; 7] = [
        Self::FlatNine,
        Self::Nine,
        Self::SharpNine,
        Self::Eleven,
        Self::SharpEleven,
        Self::FlatThirteen,
        Self::Thirteen,
    ];

    /// Semitones above the root, within one octave.
    pub const fn semitones(self) -> u8 {
        [1, 2, 3, 5, 6, 8, 9][self as usize]
    }

    /// As it is written: `b9`, `13`.
    pub const fn text(self) -> &'static str {
        ["b9", "9", "#9", "11", "#11", "b13", "13"][self as usize]
    }

    const fn is_natural(self) -> bool {
        matches!(self, Self::Nine | Self::Eleven | Self::Thirteen)
    }
}

/// A set of colours.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Colours(u8);

impl Colours {
    /// No colour.
    pub const NONE: Self = Self(0);

    /// The set of the colours given.
    pub const fn of(colours: &[Colour]) -> Self {
        let mut set = Self::NONE;
        let mut i = 0;
        while i < colours.len() {
            set = set.with(colours[i]);
            i += 1;
        }
        set
    }

    /// The set with `colour` in it too.
    #[must_use]
    pub const fn with(self, colour: Colour) -> Self {
        Self(self.0 | (1 << colour as u8))
    }

    /// The set without `colour`.
    #[must_use]
    pub const fn without(self, colour: Colour) -> Self {
        Self(self.0 & !(1 << colour as u8))
    }

    /// Whether `colour` is in the set.
    pub const fn has(self, colour: Colour) -> bool {
        self.0 & (1 << colour as u8) != 0
    }

    /// Whether no colour is named.
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// The colours from the root up.
    pub fn iter(self) -> impl Iterator<Item = Colour> {
        Colour::ALL.into_iter().filter(move |&c| self.has(c))
    }
}

/// What stands between root and bass: a basic arpeggio and the colours named beside it.
///
/// Which number becomes a chord tone: the 6 of a 6 chord does (it stands where the 7 would); an altered 5 replaces the
/// 5; a sus replaces the 3; the 9 of an add9 does. Every other 9, 11 and 13 is a *named colour*: part of the scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Quality {
    /// The chord tones.
    pub arpeggio: Arpeggio,
    /// The colours named beside them.
    pub colours: Colours,
}

impl Quality {
    /// The arpeggio without colours.
    pub const fn plain(arpeggio: Arpeggio) -> Self {
        Self { arpeggio, colours: Colours::NONE }
    }

    /// Whether this is a plain triad: major, add9 or 5, with no colour named.
    pub fn is_plain_triad(self) -> bool {
        self.colours.is_empty() && matches!(self.arpeggio, Arpeggio::Major | Arpeggio::Add9 | Arpeggio::Power)
    }

    /// The colours as semitones above the root; `7alt` names b9, #9, #11 and b13.
    pub fn named_colours(self) -> PitchClassSet {
        let altered = match self.arpeggio {
            Arpeggio::Altered => PitchClassSet::of(&[1, 3, 6]),
            _ => PitchClassSet::EMPTY,
        };
        let written: PitchClassSet = self
            .colours
            .iter()
            .fold(PitchClassSet::EMPTY, |set, colour| set | PitchClassSet::of(&[colour.semitones()]));
        (written | altered) - self.arpeggio.set()
    }

    /// Every note the symbol names, relative to the root: chord tones and colours.
    pub fn named(self) -> PitchClassSet {
        self.arpeggio.set() | self.named_colours()
    }

    /// The canonical text and the colours it already says: a natural 9, 13 or 11 takes the place of the 7 or joins the 6.
    fn head(self) -> (String, Colours) {
        let text = self.arpeggio.text();
        if matches!(self.arpeggio, Arpeggio::Sixth | Arpeggio::Minor6) && self.colours.has(Colour::Nine) {
            return (format!("{text}/9"), self.colours.without(Colour::Nine));
        }
        let number =
            [Colour::Nine, Colour::Thirteen, Colour::Eleven].into_iter().find(|&c| self.colours.has(c));
        match number.filter(|_| self.arpeggio.carries_number()) {
            Some(number) => (text.replacen('7', number.text(), 1), self.colours.without(number)),
            None => (text.to_owned(), self.colours),
        }
    }
}

impl Arpeggio {
    /// Whether the 7 in the text may become a 9, 11 or 13.
    const fn carries_number(self) -> bool {
        !matches!(self, Self::Diminished7 | Self::DiminishedMajor7 | Self::Altered)
            && (self.set().has_semitone(10) || self.set().has_semitone(11))
    }
}

impl fmt::Display for Quality {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (head, rest) = self.head();
        let (natural, altered): (Vec<Colour>, Vec<Colour>) = rest.iter().partition(|c| c.is_natural());
        let texts = |colours: &[Colour], between: &str| {
            colours.iter().map(|c| c.text()).collect::<Vec<_>>().join(between)
        };
        let six_nine = head.ends_with("6/9");
        match head.strip_suffix("sus4") {
            Some(number) if !number.is_empty() && natural.is_empty() && !altered.is_empty() => {
                return write!(f, "{number}sus{}", texts(&altered, ""));
            }
            None if natural.is_empty() && (self.arpeggio.carries_number() || six_nine) => {
                return write!(f, "{head}{}", texts(&altered, ""));
            }
            _ if rest.is_empty() => return f.write_str(&head),
            _ => {}
        }
        let numbered = self.arpeggio.text().contains('7') || self.arpeggio.set().has_semitone(9);
        let all: Vec<String> =
            rest.iter()
                .map(|c| {
                    if numbered || !c.is_natural() { c.text().to_owned() } else { format!("add{}", c.text()) }
                })
                .collect();
        write!(f, "{head}({})", all.join(","))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn printed(arpeggio: Arpeggio, colours: &[Colour]) -> String {
        Quality { arpeggio, colours: Colours::of(colours) }.to_string()
    }

    #[test]
    fn numbers_and_alterations_print_in_one_way() {
        use Colour::{FlatNine, Nine, SharpEleven, Thirteen};
        assert_eq!(printed(Arpeggio::Dominant7, &[Thirteen]), "13");
        assert_eq!(printed(Arpeggio::Dominant7, &[Nine, Thirteen]), "9(13)");
        assert_eq!(printed(Arpeggio::Dominant7, &[FlatNine, Thirteen]), "13b9");
        assert_eq!(printed(Arpeggio::Dominant7Sus4, &[FlatNine]), "7susb9");
        assert_eq!(printed(Arpeggio::Sixth, &[Nine, SharpEleven]), "6/9#11");
        assert_eq!(printed(Arpeggio::Major, &[SharpEleven]), "(#11)");
        assert_eq!(printed(Arpeggio::HalfDiminished, &[Nine]), "m9b5");
    }

    #[test]
    fn an_altered_dominant_names_its_four_tensions() {
        let altered = Quality::plain(Arpeggio::Altered);
        assert_eq!(altered.named(), PitchClassSet::of(&[0, 1, 3, 4, 6, 8, 10]));
    }
}
