//! Reading chord symbols: every spelling met on lead sheets, by longest match in tables.
//!
//! A symbol is a root, then at most one *family* word (`m`, `maj`, `dim` …), at most one *number* (7, 9, 6/9 …), any
//! number of *changes* in any order with or without parentheses (`b9`, `#11`, `sus4`, `add9`, `(maj7)`), and a bass.

use crate::theory::close;
use crate::theory::spelling::{NoteName, read_note_name};

use super::ChordSymbol;
use super::quality::{Arpeggio, Quality};
use super::resolve::{Parts, resolve};
use super::words::{Family, Number, family_words, read_change, read_number};

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
    /// A third is left out of a chord that has more than root and fifth.
    #[error(
        "root {root} read, \"{rest}\" not: only a plain chord leaves out its third. Write {root}5, or the third too"
    )]
    NoThird {
        /// The root that was read.
        root: NoteName,
        /// The rest, as written.
        rest: String,
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
    let (root, rest) = read_note_name(text).ok_or_else(|| no_root(text, bare))?;
    if let Some(quality) = read_quality(rest, bare) {
        return Ok(ChordSymbol { root, quality, bass: None });
    }
    let unread = || no_quality(root, rest);
    let (before, after) = rest.rsplit_once('/').ok_or_else(unread)?;
    let quality = read_quality(before, bare).ok_or_else(unread)?;
    let bass = after
        .parse()
        .map_err(|_| NoChord::Bass { chord: format!("{root}{before}"), bass: after.to_owned() })?;
    Ok(ChordSymbol { root, quality, bass: Some(bass) })
}

fn no_root(text: &str, bare: BareSymbols) -> NoChord {
    let capital = || {
        let mut text = text.to_owned();
        text[..1].make_ascii_uppercase();
        parse(&text, bare).is_ok()
    };
    let hint = match text.chars().next() {
        None => return NoChord::Empty,
        Some('H') => " For German H write B",
        Some('a'..='g') if capital() => " Write the root as a capital",
        Some('(') => " Write the chord without parentheses around it",
        Some(_) => "",
    };
    NoChord::Root { text: text.to_owned(), hint }
}

/// Spellings that are not read because they are met seldom or for more than one chord, with what is mostly meant.
const MEANT: &[(&str, &str)] = &[("4", "sus4"), ("h", "m7b5"), ("h7", "m7b5")];

fn no_quality(root: NoteName, rest: &str) -> NoChord {
    let known =
        Arpeggio::ALL.iter().map(|a| a.text()).chain(["9", "13", "m9", "maj9", "6/9", "7b9", "7#9", "7#11"]);
    if ["no3", "omit3"].iter().any(|word| rest.contains(word)) {
        return NoChord::NoThird { root, rest: rest.to_owned() };
    }
    let meant = MEANT.iter().find(|(spelling, _)| *spelling == rest).map(|(_, meant)| (*meant).to_owned());
    let suggestion = meant.or_else(|| close(rest, known.map(str::to_owned)));
    let suggestion = suggestion.map(|quality| format!("{root}{quality}"));
    NoChord::Quality { root, rest: rest.to_owned(), suggestion }
}

/// Reads the text between root and bass, or `None`. A comma stands between two things.
fn read_quality(text: &str, bare: BareSymbols) -> Option<Quality> {
    if !parentheses_match(text) || text.starts_with(',') || text.ends_with(',') {
        return None;
    }
    let ascii: String = text.chars().map(plain_sign).collect();
    let mut families: Vec<_> = family_words(&ascii).collect();
    families.sort_by_key(|&(length, _)| std::cmp::Reverse(length));
    families.into_iter().find_map(|(length, family)| {
        let parts = read_parts(&ascii[length..], Parts::of(family))?;
        resolve(parts, bare)
    })
}

/// One sign for each meaning: `♭` is `b`, `△` is `Δ`, a raised `⁷` is `7`.
const fn plain_sign(c: char) -> char {
    match c {
        '♭' => 'b',
        '♯' => '#',
        '△' | '∆' => 'Δ',
        'º' => '°',
        '−' | '‐' | '‑' | '‒' | '–' | '—' => '-',
        'Ø' => 'ø',
        '¹' => '1',
        '²' => '2',
        '³' => '3',
        '⁴' => '4',
        '⁵' => '5',
        '⁶' => '6',
        '⁷' => '7',
        '⁹' => '9',
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
        } else if let Some((number, after)) = read_number(rest) {
            parts.take_number(number)?;
            rest = after;
        } else {
            let (change, after) = read_change(rest)?;
            parts.take_change(change);
            rest = after;
        }
    }
    Some(parts)
}

/// The word for a major seventh after another family: the `Maj` of `mMaj7`, the `Δ` of `-Δ`. Its number follows it.
fn read_major_seventh(rest: &str, parts: Parts) -> Option<&str> {
    // Not `j`: `mj7` is a slip of `maj7` more often than a spelling of `mMaj7`.
    if parts.number.is_some() || parts.major_seventh || rest.starts_with('j') {
        return None;
    }
    let words = family_words(rest).filter(|(_, family)| matches!(family, Family::Major | Family::Delta));
    let (length, family) = words.max_by_key(|&(length, _)| length)?;
    let after = &rest[length..];
    (family == Family::Delta || starts_with_number(after)).then_some(after)
}

fn starts_with_number(text: &str) -> bool {
    ["7", "9", "11", "13"].iter().any(|number| text.starts_with(number))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn canonical(text: &str) -> String {
        text.parse::<ChordSymbol>().map_or_else(|error| error.to_string(), |chord| chord.to_string())
    }

    #[test]
    fn spellings_met_read_as_one_symbol() {
        let check = |canon: &str, spellings: &[&str]| {
            for spelling in spellings {
                assert_eq!(canonical(&format!("C{spelling}")), format!("C{canon}"), "C{spelling}");
            }
        };
        check("", &["", "M", "maj", "Maj", "major"]);
        check("maj7", &["maj7", "Maj7", "ma7", "M7", "Δ", "Δ7", "△", "j7", "^7", "MA7", "(maj7)"]);
        check("maj7#11", &["Δ#11", "maj7(#4)", "lyd", "M7#11"]);
        check("maj7#5", &["Δ#5", "maj7+", "+maj7", "maj7+5"]);
        check("maj7sus4", &["maj7sus4", "maj7sus", "M7sus4", "Δ7sus4", "Δsus"]);
        check("6", &["6", "maj6", "M6", "add6", "(6)"]);
        check("6/9", &["69", "6/9", "6add9", "6(9)"]);
        check("add9", &["add9", "add2", "2", "(add9)"]);
        check("m(add9)", &["madd9", "m(add2)", "min(add9)", "-add9"]);
        check("m7", &["m7", "min7", "mi7", "-7", "MI7", "minor7"]);
        check("m9", &["-9", "m9", "min9", "m7(9)"]);
        check("mMaj7", &["mM7", "m(maj7)", "-Δ", "mΔ7", "miMa7", "m(#7)", "mmaj7"]);
        check("m7#5", &["m7#5", "m7(#5)", "-7#5", "min7#5", "m7+5"]);
        check("m(b6)", &["m(b6)", "mb6", "-b6", "min(b6)"]);
        check("m7b5", &["ø", "ø7", "Ø", "m7(b5)", "-7b5", "min7-5", "half-dim", "m7♭5"]);
        check("dim7", &["o7", "°7", "dim7", "o", "dim", "°"]);
        check("dim(maj7)", &["dim(maj7)", "dimMaj7", "dimM7", "°maj7", "°M7", "°Δ7", "o(maj7)"]);
        check("7", &["7", "⁷"]);
        check("13", &["13", "¹³"]);
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
        assert_eq!(canonical("C4"), "root C read, \"4\" not. Did you mean Csus4?");
        assert_eq!(canonical("Ch7"), "root C read, \"h7\" not. Did you mean Cm7b5?");
        assert_eq!(canonical("C7,"), "root C read, \"7,\" not. Did you mean C7?");
        assert_eq!(canonical("Cx"), "root C read, \"x\" not.");
        assert_eq!(
            canonical("C7no3"),
            "root C read, \"7no3\" not: only a plain chord leaves out its third. Write C5, or the third too"
        );
        assert_eq!(
            canonical("(C7)"),
            "\"(C7)\": roots are A to G. Write the chord without parentheses around it"
        );
        assert_eq!(canonical("fm7"), "\"fm7\": roots are A to G. Write the root as a capital");
        assert_eq!(canonical("foo"), "\"foo\": roots are A to G.", "no chord with a capital either");
        assert_eq!(canonical("H7"), "\"H7\": roots are A to G. For German H write B");
        assert_eq!(
            canonical("C7/X"),
            "chord C7 read, the bass \"X\" not. A bass is one note A to G, as in C7/E"
        );
        assert_eq!(canonical("Cxylophone"), "root C read, \"xylophone\" not.");
        assert_eq!(canonical(&"C".repeat(40)), "a chord symbol has at most 32 characters, this one has 40");
        for text in ["C7(b9", "C)7(", "C7b5#5", "Cm6b5", "C77", "Cdom", "C7sus2", "Clyd9", "c7"] {
            assert!(text.parse::<ChordSymbol>().is_err(), "{text}");
        }
    }

    #[test]
    fn disputed_symbols_follow_the_choice() {
        let read = |text: &str, bare| parse(text, bare).expect("a chord").to_string();
        let usual = BareSymbols::default();
        assert_eq!(read("Csus4", usual), "Csus4");
        assert_eq!(read("Csus4", BareSymbols { sus4: Sus4::Seventh, ..usual }), "C7sus4");
        assert_eq!(read("Csus", BareSymbols { sus: Sus::Triad, ..usual }), "Csus4");
        assert_eq!(read("C11", BareSymbols { eleven: Eleven::Suspended, ..usual }), "C9sus4");
        assert_eq!(read("Cdim", BareSymbols { dim: Dim::Triad, ..usual }), "Cm(b5)");
    }

    #[test]
    fn a_slash_bass_joins_or_moves_the_chord() {
        let tones = |text: &str| {
            let chord: ChordSymbol = text.parse().expect("a chord");
            chord.tones().iter().map(|p| p.semitones().to_string()).collect::<Vec<_>>().join(" ")
        };
        assert_eq!(tones("C/E"), "0 4 7");
        assert_eq!(tones("D/C"), "2 6 9 0");
        assert_eq!(tones("Dm7/G"), "7 0 2 5");
        assert_eq!(tones("F/G"), "7 0 2 5");
        assert_eq!(tones("Dm9/G"), "2 5 9 0 7");
    }
}
