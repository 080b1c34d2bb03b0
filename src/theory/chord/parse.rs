//! Reading chord symbols: every spelling met on lead sheets, by longest match in tables.
//!
//! A symbol is a root, then at most one *family* word (`m`, `maj`, `dim` …), at most one *number* (7, 9, 6/9 …), any
//! number of *changes* in any order with or without parentheses (`b9`, `#11`, `sus4`, `add9`, `(maj7)`), and a bass.

use crate::theory::nearest;
use crate::theory::spelling::{NoteName, read_note_name};

use super::ChordSymbol;
use super::quality::{Arpeggio, Colour, Colours, Quality};

/// Characters in the longest symbol that is read; the longest in use have about twenty.
pub const GREATEST_LENGTH: usize = 32;

/// What the symbols stand for that the trade disagrees about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct BareSymbols {
    /// `sus` without a number.
    pub sus: Sus,
    /// `sus4` without a seventh.
    pub sus4: Sus4,
    /// `11` on a major root.
    pub eleven: Eleven,
    /// `dim` without a seventh.
    pub dim: Dim,
}

/// What `Csus` means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Sus {
    /// A dominant: 7sus4.
    #[default]
    Seventh,
    /// A triad: sus4.
    Triad,
}

/// What `Csus4` means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Sus4 {
    /// A triad.
    #[default]
    Triad,
    /// A dominant: 7sus4.
    Seventh,
}

/// What `C11` means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Eleven {
    /// A dominant seventh with the 11 as a colour.
    #[default]
    Dominant,
    /// A 9sus4.
    Suspended,
}

/// What `Cdim` means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Dim {
    /// The seventh chord dim7.
    #[default]
    Seventh,
    /// The triad.
    Triad,
}

/// Says why a text is no chord symbol, and what to write instead.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoChord {
    /// Nothing was written.
    #[error("no chord symbol here: write a root A to G and a quality (Fm7, Bb7)")]
    Empty,
    /// More than [`GREATEST_LENGTH`] characters.
    #[error("a chord symbol has at most {GREATEST_LENGTH} characters, this one has {0}")]
    TooLong(usize),
    /// The symbol does not begin with a letter A to G.
    #[error("\"{text}\": roots are A to G.{hint}")]
    Root {
        /// What was written.
        text: String,
        /// What to write instead, or nothing.
        hint: &'static str,
    },
    /// The quality is not known.
    #[error("root {root} read, \"{rest}\" not.{}", did_you_mean(suggestion.as_deref()))]
    Quality {
        /// The root that was read.
        root: NoteName,
        /// The rest, as written.
        rest: String,
        /// The nearest symbol that is known.
        suggestion: Option<String>,
    },
    /// What follows the slash is no note.
    #[error("chord {chord} read, the bass \"{bass}\" not. A bass is one note A to G, as in {chord}/E")]
    Bass {
        /// What stands before the slash.
        chord: String,
        /// What stands after it.
        bass: String,
    },
}

fn did_you_mean(suggestion: Option<&str>) -> String {
    suggestion.map_or_else(String::new, |symbol| format!(" Did you mean {symbol}?"))
}

/// Reads the symbol that `text` is, from its first character to its last.
pub(super) fn parse(text: &str, bare: BareSymbols) -> Result<ChordSymbol, NoChord> {
    let length = text.chars().count();
    if length > GREATEST_LENGTH {
        return Err(NoChord::TooLong(length));
    }
    let (root, rest) = read_note_name(text).ok_or_else(|| no_root(text))?;
    if let Some(quality) = read_quality(rest, bare) {
        return Ok(ChordSymbol {
            root,
            quality,
            bass: None,
        });
    }
    let unread = || no_quality(root, rest);
    let (before, after) = rest.rsplit_once('/').ok_or_else(unread)?;
    let quality = read_quality(before, bare).ok_or_else(unread)?;
    let bass = after.parse().map_err(|_| NoChord::Bass {
        chord: format!("{root}{before}"),
        bass: after.to_owned(),
    })?;
    Ok(ChordSymbol {
        root,
        quality,
        bass: Some(bass),
    })
}

fn no_root(text: &str) -> NoChord {
    let hint = match text.chars().next() {
        None => return NoChord::Empty,
        Some('H') => " For German H write B",
        Some('a'..='g') => " Write the root as a capital",
        Some(_) => "",
    };
    NoChord::Root {
        text: text.to_owned(),
        hint,
    }
}

/// A suggestion further away than this many single-letter changes would only puzzle.
const FAR: usize = 2;

fn no_quality(root: NoteName, rest: &str) -> NoChord {
    let known = Arpeggio::ALL
        .iter()
        .map(|a| a.text())
        .chain(["9", "13", "m9", "maj9", "6/9", "7b9", "7#9", "7#11"]);
    let close =
        nearest(rest, known.map(str::to_owned)).filter(|k| strsim::damerau_levenshtein(rest, k) <= FAR);
    let suggestion = close.map(|quality| format!("{root}{quality}"));
    NoChord::Quality {
        root,
        rest: rest.to_owned(),
        suggestion,
    }
}

/// The word that begins a quality.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Family {
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
const FAMILIES: &[(&str, Family)] = &[
    ("", Family::Plain),
    ("major", Family::Major),
    ("Major", Family::Major),
    ("maj", Family::Major),
    ("Maj", Family::Major),
    ("MAJ", Family::Major),
    ("ma", Family::Major),
    ("Ma", Family::Major),
    ("MA", Family::Major),
    ("M", Family::Major),
    ("Δ", Family::Delta),
    ("^", Family::Delta),
    ("j", Family::Delta),
    ("minor", Family::Minor),
    ("Minor", Family::Minor),
    ("min", Family::Minor),
    ("Min", Family::Minor),
    ("MIN", Family::Minor),
    ("mi", Family::Minor),
    ("Mi", Family::Minor),
    ("MI", Family::Minor),
    ("m", Family::Minor),
    ("-", Family::Minor),
    ("diminished", Family::Diminished),
    ("dim", Family::Diminished),
    ("Dim", Family::Diminished),
    ("DIM", Family::Diminished),
    ("o", Family::Diminished),
    ("°", Family::Diminished),
    ("half-dim", Family::HalfDiminished),
    ("halfdim", Family::HalfDiminished),
    ("ø", Family::HalfDiminished),
    ("augmented", Family::Augmented),
    ("aug", Family::Augmented),
    ("Aug", Family::Augmented),
    ("AUG", Family::Augmented),
    ("+", Family::Augmented),
    ("dominant", Family::Dominant),
    ("dom", Family::Dominant),
    ("lyd", Family::Lydian),
    ("phryg", Family::Phrygian),
];

/// The number of a quality.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Number {
    Two,
    Five,
    Six,
    SixNine,
    Seven,
    Nine,
    Eleven,
    Thirteen,
}

const NUMBERS: &[(&str, Number)] = &[
    ("6/9", Number::SixNine),
    ("69", Number::SixNine),
    ("13", Number::Thirteen),
    ("11", Number::Eleven),
    ("2", Number::Two),
    ("5", Number::Five),
    ("6", Number::Six),
    ("7", Number::Seven),
    ("9", Number::Nine),
];

/// A change to the chord that family and number give.
#[derive(Clone, Copy)]
enum Change {
    Colour(Colour),
    FlatFive,
    SharpFive,
    FlatSix,
    MajorSeventh,
    Sus,
    Sus2,
    Sus4,
    AddNine,
    AddEleven,
    NoThird,
    Alt,
    /// Parentheses, commas and blanks between changes.
    Separator,
}

/// Changes, a longer spelling before the shorter one it begins with.
const CHANGES: &[(&str, Change)] = &[
    ("#11", Change::Colour(Colour::SharpEleven)),
    ("+11", Change::Colour(Colour::SharpEleven)),
    ("#4", Change::Colour(Colour::SharpEleven)),
    ("+4", Change::Colour(Colour::SharpEleven)),
    ("b13", Change::Colour(Colour::FlatThirteen)),
    ("-13", Change::Colour(Colour::FlatThirteen)),
    ("b9", Change::Colour(Colour::FlatNine)),
    ("-9", Change::Colour(Colour::FlatNine)),
    ("#9", Change::Colour(Colour::SharpNine)),
    ("+9", Change::Colour(Colour::SharpNine)),
    ("b5", Change::FlatFive),
    ("-5", Change::FlatFive),
    ("#5", Change::SharpFive),
    ("+5", Change::SharpFive),
    ("+", Change::SharpFive),
    ("b6", Change::FlatSix),
    ("#7", Change::MajorSeventh),
    ("sus(4)", Change::Sus4),
    ("sus4", Change::Sus4),
    ("sus(2)", Change::Sus2),
    ("sus2", Change::Sus2),
    ("sus", Change::Sus),
    ("add#11", Change::Colour(Colour::SharpEleven)),
    ("addb9", Change::Colour(Colour::FlatNine)),
    ("add#9", Change::Colour(Colour::SharpNine)),
    ("addb13", Change::Colour(Colour::FlatThirteen)),
    ("add13", Change::Colour(Colour::Thirteen)),
    ("add11", Change::AddEleven),
    ("add9", Change::AddNine),
    ("add4", Change::AddEleven),
    ("add2", Change::AddNine),
    ("add6", Change::Colour(Colour::Thirteen)),
    ("no3", Change::NoThird),
    ("omit3", Change::NoThird),
    ("alt", Change::Alt),
    ("Alt", Change::Alt),
    ("(", Change::Separator),
    (")", Change::Separator),
    (",", Change::Separator),
    (" ", Change::Separator),
];

/// What has been read of a quality so far.
#[derive(Clone, Copy)]
struct Parts {
    family: Family,
    number: Option<Number>,
    colours: Colours,
    flat_five: bool,
    sharp_five: bool,
    flat_six: bool,
    major_seventh: bool,
    sus: Option<Change>,
    add: Option<Arpeggio>,
    no_third: bool,
    alt: bool,
}

impl Parts {
    const fn of(family: Family) -> Self {
        Self {
            family,
            number: None,
            colours: Colours::NONE,
            flat_five: false,
            sharp_five: false,
            flat_six: false,
            major_seventh: false,
            sus: None,
            add: None,
            no_third: false,
            alt: false,
        }
    }

    /// Takes in a number: the chord's own where it has none yet, else a colour beside it (`7(13)`).
    fn take_number(&mut self, number: Number) -> Option<()> {
        if self.number.is_none() {
            self.number = Some(number);
            return Some(());
        }
        let colour = match number {
            Number::Nine => Colour::Nine,
            Number::Eleven => Colour::Eleven,
            Number::Thirteen => Colour::Thirteen,
            _ => return None,
        };
        self.colours = self.colours.with(colour);
        Some(())
    }

    fn take_change(&mut self, change: Change) {
        match change {
            Change::Colour(colour) => self.colours = self.colours.with(colour),
            Change::FlatFive => self.flat_five = true,
            Change::SharpFive => self.sharp_five = true,
            Change::FlatSix => self.flat_six = true,
            Change::MajorSeventh => self.major_seventh = true,
            Change::Sus | Change::Sus2 | Change::Sus4 => self.sus = Some(change),
            Change::AddNine if self.add.is_none() => self.add = Some(Arpeggio::Add9),
            Change::AddNine => self.colours = self.colours.with(Colour::Nine),
            Change::AddEleven if self.add.is_none() => self.add = Some(Arpeggio::Add11),
            Change::AddEleven => self.colours = self.colours.with(Colour::Eleven),
            Change::NoThird => self.no_third = true,
            Change::Alt => self.alt = true,
            Change::Separator => {}
        }
    }
}

/// Reads the text between root and bass, or `None`.
fn read_quality(text: &str, bare: BareSymbols) -> Option<Quality> {
    if !parentheses_match(text) {
        return None;
    }
    let ascii: String = text.chars().map(plain_sign).collect();
    let mut families: Vec<_> = FAMILIES
        .iter()
        .filter(|(word, _)| ascii.starts_with(word))
        .collect();
    families.sort_by_key(|(word, _)| std::cmp::Reverse(word.len()));
    families.into_iter().find_map(|&(word, family)| {
        let parts = read_parts(&ascii[word.len()..], Parts::of(family))?;
        resolve(parts, bare)
    })
}

/// One sign for each meaning: `♭` is `b`, `△` is `Δ`.
const fn plain_sign(c: char) -> char {
    match c {
        '♭' => 'b',
        '♯' => '#',
        '△' | '∆' => 'Δ',
        'º' => '°',
        '−' | '–' => '-',
        'Ø' => 'ø',
        c => c,
    }
}

fn parentheses_match(text: &str) -> bool {
    let depth = text.chars().try_fold(0u8, |depth, c| match c {
        '(' => Some(depth + 1),
        ')' => depth.checked_sub(1),
        _ => Some(depth),
    });
    depth == Some(0)
}

/// Reads numbers and changes to the end of the text.
fn read_parts(mut rest: &str, mut parts: Parts) -> Option<Parts> {
    while !rest.is_empty() {
        if let Some(after) = read_major_seventh(rest, parts) {
            parts.major_seventh = true;
            rest = after;
            if !starts_with_number(rest) {
                parts.take_number(Number::Seven)?;
            }
        } else if let Some((number, after)) = find_prefix(NUMBERS, rest) {
            parts.take_number(number)?;
            rest = after;
        } else {
            let (change, after) = find_prefix(CHANGES, rest)?;
            parts.take_change(change);
            rest = after;
        }
    }
    Some(parts)
}

/// The word for a major seventh after another family: the `Maj` of `mMaj7`, the `Δ` of `-Δ`. Its number follows it.
fn read_major_seventh(rest: &str, parts: Parts) -> Option<&str> {
    if parts.number.is_some() || parts.major_seventh {
        return None;
    }
    // Not `j`: `mj7` is a slip of `maj7` more often than a spelling of `mMaj7`.
    let words = FAMILIES
        .iter()
        .filter(|(word, family)| matches!(family, Family::Major | Family::Delta) && *word != "j");
    let matches =
        words.filter_map(|(word, family)| rest.strip_prefix(word).map(|after| (word.len(), *family, after)));
    let (_, family, after) = matches.max_by_key(|(length, ..)| *length)?;
    (family == Family::Delta || starts_with_number(after)).then_some(after)
}

fn starts_with_number(text: &str) -> bool {
    ["7", "9", "11", "13"]
        .iter()
        .any(|number| text.starts_with(number))
}

fn find_prefix<'a, T: Copy>(table: &[(&str, T)], text: &'a str) -> Option<(T, &'a str)> {
    table
        .iter()
        .find_map(|&(spelling, meaning)| text.strip_prefix(spelling).map(|after| (meaning, after)))
}

/// The seventh that family and number ask for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Seventh {
    None,
    Sixth,
    Minor,
    Major,
}

fn resolve(mut parts: Parts, bare: BareSymbols) -> Option<Quality> {
    if parts.flat_five && parts.sharp_five {
        return None;
    }
    let seventh = seventh_of(&mut parts)?;
    let triad = seventh == Seventh::None;
    let arpeggio = if parts.alt {
        let plain = matches!(parts.family, Family::Plain | Family::Dominant);
        (plain && seventh != Seventh::Sixth && parts.colours.is_empty()).then_some(Arpeggio::Altered)
    } else if parts.no_third || parts.number == Some(Number::Five) {
        (parts.family == Family::Plain && triad && parts.add.is_none()).then_some(Arpeggio::Power)
    } else if let Some(sus) = parts.sus {
        resolve_sus(parts, sus, seventh, bare)
    } else {
        match parts.family {
            Family::Plain | Family::Major | Family::Delta | Family::Dominant => {
                resolve_major(&mut parts, seventh, bare)
            }
            Family::Minor => resolve_minor(&mut parts, seventh),
            Family::Diminished => resolve_diminished(parts, seventh, bare),
            Family::HalfDiminished => (seventh != Seventh::Sixth).then_some(Arpeggio::HalfDiminished),
            Family::Augmented => resolve_augmented(parts, seventh),
            Family::Lydian | Family::Phrygian => resolve_mode_word(&mut parts),
        }
    }?;
    finish(parts, arpeggio)
}

/// Turns the number into a seventh and its colour.
fn seventh_of(parts: &mut Parts) -> Option<Seventh> {
    let colour = match parts.number {
        Some(Number::Nine | Number::SixNine) => Some(Colour::Nine),
        Some(Number::Eleven) => Some(Colour::Eleven),
        Some(Number::Thirteen) => Some(Colour::Thirteen),
        _ => None,
    };
    parts.colours = colour.map_or(parts.colours, |c| parts.colours.with(c));
    let major = parts.major_seventh || matches!(parts.family, Family::Major | Family::Delta);
    match parts.number {
        Some(Number::Two) if parts.add.is_none() => {
            parts.add = Some(Arpeggio::Add9);
            Some(Seventh::None)
        }
        Some(Number::Two) => None,
        Some(Number::Six | Number::SixNine) => Some(Seventh::Sixth),
        Some(Number::Seven | Number::Nine | Number::Eleven | Number::Thirteen) if major => {
            Some(Seventh::Major)
        }
        Some(Number::Seven | Number::Nine | Number::Eleven | Number::Thirteen) => Some(Seventh::Minor),
        None | Some(Number::Five) if parts.family == Family::Delta || parts.major_seventh => {
            Some(Seventh::Major)
        }
        None if parts.family == Family::Dominant => None,
        None | Some(Number::Five) => Some(Seventh::None),
    }
}

fn resolve_sus(parts: Parts, sus: Change, seventh: Seventh, bare: BareSymbols) -> Option<Arpeggio> {
    let plain = matches!(
        parts.family,
        Family::Plain | Family::Major | Family::Delta | Family::Dominant
    );
    if !plain || parts.flat_five || parts.sharp_five || parts.flat_six {
        return None;
    }
    let coloured = !parts.colours.is_empty();
    match (sus, seventh) {
        (Change::Sus2, Seventh::None) if !coloured => Some(Arpeggio::Sus2),
        (Change::Sus2, _) | (_, Seventh::Sixth) => None,
        (_, Seventh::Major) => Some(Arpeggio::Major7Sus4),
        (_, Seventh::Minor) => Some(Arpeggio::Dominant7Sus4),
        (Change::Sus, Seventh::None) if coloured || bare.sus == Sus::Seventh => Some(Arpeggio::Dominant7Sus4),
        (_, Seventh::None) if bare.sus4 == Sus4::Seventh => Some(Arpeggio::Dominant7Sus4),
        (_, Seventh::None) => Some(Arpeggio::Sus4),
    }
}

fn resolve_major(parts: &mut Parts, seventh: Seventh, bare: BareSymbols) -> Option<Arpeggio> {
    if parts.flat_six {
        parts.flat_six = false;
        parts.colours = parts.colours.with(Colour::FlatThirteen);
    }
    let fifth = (parts.flat_five, parts.sharp_five);
    Some(match (seventh, fifth) {
        (Seventh::Minor, (false, false))
            if parts.number == Some(Number::Eleven) && bare.eleven == Eleven::Suspended =>
        {
            parts.colours = parts.colours.without(Colour::Eleven).with(Colour::Nine);
            Arpeggio::Dominant7Sus4
        }
        (Seventh::Minor, (false, false)) => Arpeggio::Dominant7,
        (Seventh::Minor, (true, _)) => Arpeggio::Dominant7Flat5,
        (Seventh::Minor, (_, true)) => Arpeggio::Dominant7Sharp5,
        (Seventh::Major, (false, false)) => Arpeggio::Major7,
        (Seventh::Major, (true, _)) => Arpeggio::Major7Flat5,
        (Seventh::Major, (_, true)) => Arpeggio::Major7Sharp5,
        (Seventh::Sixth, (false, false)) => Arpeggio::Sixth,
        (Seventh::None, (false, false)) => resolve_major_triad(parts),
        (Seventh::None, (true, _)) => Arpeggio::MajorFlat5,
        (Seventh::None, (_, true)) => Arpeggio::Augmented,
        (Seventh::Sixth, _) => return None,
    })
}

/// A triad with a 6 added is a 6 chord; an added 9 or 11 is a chord tone.
fn resolve_major_triad(parts: &mut Parts) -> Arpeggio {
    if parts.colours.has(Colour::Thirteen) {
        parts.colours = parts.colours.without(Colour::Thirteen);
        return Arpeggio::Sixth;
    }
    parts.add.take().unwrap_or(Arpeggio::Major)
}

fn resolve_minor(parts: &mut Parts, seventh: Seventh) -> Option<Arpeggio> {
    let fifth = (parts.flat_five, parts.sharp_five);
    if parts.flat_six && (seventh != Seventh::None || fifth != (false, false)) {
        parts.flat_six = false;
        parts.colours = parts.colours.with(Colour::FlatThirteen);
    }
    Some(match (seventh, fifth) {
        (Seventh::Minor, (false, false)) => Arpeggio::Minor7,
        (Seventh::Minor, (true, _)) => Arpeggio::HalfDiminished,
        (Seventh::Minor, (_, true)) => Arpeggio::Minor7Sharp5,
        (Seventh::Major, (false, false)) => Arpeggio::MinorMajor7,
        (Seventh::Major, (true, _)) => Arpeggio::DiminishedMajor7,
        (Seventh::Sixth, (false, false)) => Arpeggio::Minor6,
        (Seventh::None, (true, _)) => Arpeggio::DiminishedTriad,
        (Seventh::None, (false, false)) => resolve_minor_triad(parts),
        (Seventh::Major | Seventh::Sixth | Seventh::None, _) => return None,
    })
}

fn resolve_minor_triad(parts: &mut Parts) -> Arpeggio {
    if std::mem::take(&mut parts.flat_six) {
        return Arpeggio::MinorFlat6;
    }
    if parts.colours.has(Colour::Thirteen) {
        parts.colours = parts.colours.without(Colour::Thirteen);
        return Arpeggio::Minor6;
    }
    if parts.add == Some(Arpeggio::Add9) {
        parts.add = None;
        return Arpeggio::MinorAdd9;
    }
    Arpeggio::Minor
}

fn resolve_diminished(parts: Parts, seventh: Seventh, bare: BareSymbols) -> Option<Arpeggio> {
    if parts.flat_five || parts.sharp_five || parts.flat_six {
        return None;
    }
    match (seventh, parts.number) {
        (Seventh::Major, _) => Some(Arpeggio::DiminishedMajor7),
        (Seventh::Minor, Some(Number::Seven)) => Some(Arpeggio::Diminished7),
        (Seventh::None, _) if bare.dim == Dim::Seventh => Some(Arpeggio::Diminished7),
        (Seventh::None, _) => Some(Arpeggio::DiminishedTriad),
        _ => None,
    }
}

fn resolve_augmented(parts: Parts, seventh: Seventh) -> Option<Arpeggio> {
    if parts.flat_five || parts.flat_six {
        return None;
    }
    match seventh {
        Seventh::None => Some(Arpeggio::Augmented),
        Seventh::Minor => Some(Arpeggio::Dominant7Sharp5),
        Seventh::Major => Some(Arpeggio::Major7Sharp5),
        Seventh::Sixth => None,
    }
}

/// `lyd` is a maj7#11, `phryg` a 7sus4 with b9; neither takes anything more.
fn resolve_mode_word(parts: &mut Parts) -> Option<Arpeggio> {
    if parts.number.is_some() || !parts.colours.is_empty() || parts.add.is_some() {
        return None;
    }
    let (colour, arpeggio) = match parts.family {
        Family::Lydian => (Colour::SharpEleven, Arpeggio::Major7),
        _ => (Colour::FlatNine, Arpeggio::Dominant7Sus4),
    };
    parts.colours = parts.colours.with(colour);
    Some(arpeggio)
}

/// Turns what was added into colours and drops colours that are chord tones already.
fn finish(parts: Parts, arpeggio: Arpeggio) -> Option<Quality> {
    if parts.flat_six || (parts.major_seventh && !arpeggio.set().has_semitone(11)) {
        return None;
    }
    if arpeggio == Arpeggio::Power && !parts.colours.is_empty() {
        return None;
    }
    let added = match parts.add {
        Some(Arpeggio::Add9) => parts.colours.with(Colour::Nine),
        Some(_) => parts.colours.with(Colour::Eleven),
        None => parts.colours,
    };
    let colours = added
        .iter()
        .filter(|c| !arpeggio.set().has_semitone(c.semitones()));
    Some(Quality {
        arpeggio,
        colours: colours.fold(Colours::NONE, Colours::with),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn canonical(text: &str) -> String {
        text.parse::<ChordSymbol>()
            .map_or_else(|error| error.to_string(), |chord| chord.to_string())
    }

    #[test]
    fn spellings_met_read_as_one_symbol() {
        let check = |canon: &str, spellings: &[&str]| {
            for spelling in spellings {
                assert_eq!(
                    canonical(&format!("C{spelling}")),
                    format!("C{canon}"),
                    "C{spelling}"
                );
            }
        };
        check("", &["", "M", "maj", "Maj", "major"]);
        check(
            "maj7",
            &[
                "maj7", "Maj7", "ma7", "M7", "Δ", "Δ7", "△", "j7", "^7", "MA7", "(maj7)",
            ],
        );
        check("maj7#11", &["Δ#11", "maj7(#4)", "lyd", "M7#11"]);
        check("maj7#5", &["Δ#5", "maj7+", "+maj7", "maj7+5"]);
        check("maj7sus4", &["maj7sus4", "maj7sus", "M7sus4", "Δ7sus4", "Δsus"]);
        check("6", &["6", "maj6", "M6", "add6", "(6)"]);
        check("6/9", &["69", "6/9", "6add9", "6(9)"]);
        check("add9", &["add9", "add2", "2", "(add9)"]);
        check("m(add9)", &["madd9", "m(add2)", "min(add9)", "-add9"]);
        check("m7", &["m7", "min7", "mi7", "-7", "MI7", "minor7"]);
        check("m9", &["-9", "m9", "min9", "m7(9)"]);
        check(
            "mMaj7",
            &["mM7", "m(maj7)", "-Δ", "mΔ7", "miMa7", "m(#7)", "mmaj7"],
        );
        check("m7#5", &["m7#5", "m7(#5)", "-7#5", "min7#5", "m7+5"]);
        check("m(b6)", &["m(b6)", "mb6", "-b6", "min(b6)"]);
        check(
            "m7b5",
            &["ø", "ø7", "Ø", "m7(b5)", "-7b5", "min7-5", "half-dim", "m7♭5"],
        );
        check("dim7", &["o7", "°7", "dim7", "o", "dim", "°"]);
        check(
            "dim(maj7)",
            &["dim(maj7)", "dimMaj7", "dimM7", "°maj7", "°M7", "°Δ7", "o(maj7)"],
        );
        check("7b9", &["7b9", "7(b9)", "7-9", "7♭9"]);
        check("7#9", &["7#9", "7(#9)", "7+9"]);
        check("7#5", &["7+", "+7", "aug7", "7(#5)", "7+5"]);
        check("7alt", &["alt", "7alt", "7(alt)", "Alt"]);
        check("7sus4", &["sus", "7sus", "7sus4", "7sus(4)", "sus7"]);
        check("7susb9", &["sus(b9)", "7susb9", "phryg", "7sus4(b9)"]);
        check("13b9", &["13b9", "13(b9)", "13-9"]);
        check("aug", &["+", "aug", "(#5)"]);
        check("5", &["5", "(no3)", "no3"]);
    }

    #[test]
    fn a_wrong_symbol_says_what_was_read_and_what_to_write() {
        assert_eq!(canonical("Cmj7"), "root C read, \"mj7\" not. Did you mean Cmaj7?");
        assert_eq!(canonical("H7"), "\"H7\": roots are A to G. For German H write B");
        assert_eq!(
            canonical("C7/X"),
            "chord C7 read, the bass \"X\" not. A bass is one note A to G, as in C7/E"
        );
        assert_eq!(canonical("Cxylophone"), "root C read, \"xylophone\" not.");
        assert_eq!(
            canonical(&"C".repeat(40)),
            "a chord symbol has at most 32 characters, this one has 40"
        );
        for text in [
            "C7(b9", "C)7(", "C7b5#5", "Cm6b5", "C77", "Cdom", "C7sus2", "Clyd9", "c7",
        ] {
            assert!(text.parse::<ChordSymbol>().is_err(), "{text}");
        }
    }

    #[test]
    fn disputed_symbols_follow_the_choice() {
        let read = |text: &str, bare| parse(text, bare).expect("a chord").to_string();
        let usual = BareSymbols::default();
        assert_eq!(read("Csus4", usual), "Csus4");
        assert_eq!(
            read(
                "Csus4",
                BareSymbols {
                    sus4: Sus4::Seventh,
                    ..usual
                }
            ),
            "C7sus4"
        );
        assert_eq!(
            read(
                "Csus",
                BareSymbols {
                    sus: Sus::Triad,
                    ..usual
                }
            ),
            "Csus4"
        );
        assert_eq!(
            read(
                "C11",
                BareSymbols {
                    eleven: Eleven::Suspended,
                    ..usual
                }
            ),
            "C9sus4"
        );
        assert_eq!(
            read(
                "Cdim",
                BareSymbols {
                    dim: Dim::Triad,
                    ..usual
                }
            ),
            "Cm(b5)"
        );
    }

    #[test]
    fn a_slash_bass_joins_or_moves_the_chord() {
        let tones = |text: &str| {
            let chord: ChordSymbol = text.parse().expect("a chord");
            chord
                .tones()
                .iter()
                .map(|p| p.semitones().to_string())
                .collect::<Vec<_>>()
                .join(" ")
        };
        assert_eq!(tones("C/E"), "0 4 7");
        assert_eq!(tones("D/C"), "2 6 9 0");
        assert_eq!(tones("Dm7/G"), "7 0 2 5");
        assert_eq!(tones("F/G"), "7 0 2 5");
        assert_eq!(tones("Dm9/G"), "2 5 9 0 7");
    }
}
