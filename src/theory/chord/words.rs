//! The words of chord symbols: every spelling met, in tables (Brandt & Roemer 1975 from memory; common practice).

use super::quality::Colour;

/// The word that begins a quality.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Family {
    Plain,
    Major,
    /// A major seventh chord by itself: `Δ`.
    Delta,
    Minor,
    Diminished,
    HalfDiminished,
    Augmented,
    Dominant,
    Lydian,
    Phrygian,
}

/// Family words. Every match is tried, the longest first, so `madd9` is `m` + `add9`.
pub(super) const FAMILIES: &[(Family, &[&str])] = &[
    (Family::Plain, &[""]),
    (Family::Major, &["major", "Major", "maj", "Maj", "MAJ", "ma", "Ma", "MA", "M"]),
    (Family::Delta, &["Δ", "^", "j"]),
    (Family::Minor, &["minor", "Minor", "min", "Min", "MIN", "mi", "Mi", "MI", "m", "-"]),
    (Family::Diminished, &["diminished", "dim", "Dim", "DIM", "o", "°"]),
    (Family::HalfDiminished, &["half-dim", "halfdim", "ø"]),
    (Family::Augmented, &["augmented", "aug", "Aug", "AUG", "+"]),
    (Family::Dominant, &["dominant", "dom"]),
    (Family::Lydian, &["lyd"]),
    (Family::Phrygian, &["phryg"]),
];

/// The family words that `text` begins with: length in bytes and family.
pub(super) fn family_words(text: &str) -> impl Iterator<Item = (usize, Family)> {
    let words = FAMILIES.iter().flat_map(|&(family, words)| words.iter().map(move |word| (word, family)));
    words.filter(move |(word, _)| text.starts_with(**word)).map(|(word, family)| (word.len(), family))
}

/// The number of a quality.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Number {
    Two,
    Five,
    Six,
    SixNine,
    Seven,
    Nine,
    Eleven,
    Thirteen,
}

pub(super) const NUMBERS: &[(Number, &[&str])] = &[
    (Number::SixNine, &["6/9", "69"]),
    (Number::Thirteen, &["13"]),
    (Number::Eleven, &["11"]),
    (Number::Two, &["2"]),
    (Number::Five, &["5"]),
    (Number::Six, &["6"]),
    (Number::Seven, &["7"]),
    (Number::Nine, &["9"]),
];

/// A change to the chord that family and number give.
#[derive(Clone, Copy)]
pub(super) enum Change {
    Colour(Colour),
    Fifth(Fifth),
    FlatSix,
    MajorSeventh,
    Third(Third),
    AddNine,
    AddEleven,
    Alt,
    /// Parentheses, commas and blanks between changes.
    Separator,
}

/// Changes; where one spelling begins with another, the longer one stands first.
pub(super) const CHANGES: &[(Change, &[&str])] = &[
    (Change::Colour(Colour::SharpEleven), &["#11", "+11", "#4", "+4", "add#11"]),
    (Change::Colour(Colour::FlatThirteen), &["b13", "-13", "addb13"]),
    (Change::Colour(Colour::FlatNine), &["b9", "-9", "addb9"]),
    (Change::Colour(Colour::SharpNine), &["#9", "+9", "add#9"]),
    (Change::Colour(Colour::Thirteen), &["add13", "add6"]),
    (Change::AddEleven, &["add11", "add4"]),
    (Change::AddNine, &["add9", "add2"]),
    (Change::Fifth(Fifth::Flat), &["b5", "-5"]),
    (Change::Fifth(Fifth::Sharp), &["#5", "+5", "+"]),
    (Change::FlatSix, &["b6"]),
    (Change::MajorSeventh, &["#7"]),
    (Change::Third(Third::Sus4), &["sus(4)", "sus4"]),
    (Change::Third(Third::Sus2), &["sus(2)", "sus2"]),
    (Change::Third(Third::Sus), &["sus"]),
    (Change::Third(Third::Absent), &["no3", "omit3"]),
    (Change::Alt, &["alt", "Alt"]),
    (Change::Separator, &["(", ")", ",", " "]),
];

/// The number that `text` begins with, and what follows it.
pub(super) fn read_number(text: &str) -> Option<(Number, &str)> {
    find_prefix(NUMBERS, text)
}

/// The change that `text` begins with, and what follows it.
pub(super) fn read_change(text: &str) -> Option<(Change, &str)> {
    find_prefix(CHANGES, text)
}

fn find_prefix<'a, T: Copy>(table: &[(T, &[&str])], text: &'a str) -> Option<(T, &'a str)> {
    let rows = table.iter().flat_map(|&(meaning, spellings)| spellings.iter().map(move |s| (meaning, *s)));
    rows.into_iter().find_map(|(meaning, spelling)| text.strip_prefix(spelling).map(|after| (meaning, after)))
}

/// The fifth that the symbol asks for; `Both` is refused.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Fifth {
    Plain,
    Flat,
    Sharp,
    Both,
}

impl Fifth {
    pub(super) fn and(self, other: Self) -> Self {
        if self == Self::Plain || self == other { other } else { Self::Both }
    }
}

/// What stands where the third would.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Third {
    Plain,
    /// `sus` without a number.
    Sus,
    Sus2,
    Sus4,
    /// `no3`
    Absent,
}
