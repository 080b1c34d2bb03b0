//! The signs that may be printed: all of Unicode, or ASCII with a replacement for everything else.

use std::borrow::Cow;

/// Which signs may be printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Signs {
    /// All.
    #[default]
    Unicode,
    /// ASCII only.
    Ascii,
}

/// What stands for a sign where only ASCII is printed. Signs of music first, then of drawing, then of writing.
const REPLACEMENTS: &[(&str, &str)] = &[
    ("♭", "b"),
    ("♯", "#"),
    ("♮", "="),
    ("°º", "dim"),
    ("·∙•", "."),
    ("●○■□▪", "*"),
    ("›", "-"),
    ("»▶→", ">"),
    ("«‹◀←", "<"),
    ("▼↓", "v"),
    ("▲↑", "^"),
    ("│║┃┆┊", "|"),
    ("─━═–—−‐‑", "-"),
    ("┌┐└┘├┤┬┴┼╭╮╯╰", "+"),
    ("‘’‚′", "'"),
    ("“”„″", "\""),
    ("…", "..."),
    ("×", "x"),
    ("÷", "/"),
    ("±", "+-"),
    ("≤", "<="),
    ("≥", ">="),
    ("\u{a0}\u{2009}\u{202f}", " "),
    ("ÀÁÂÃÅĀ", "A"),
    ("àáâãåā", "a"),
    ("Ä", "Ae"),
    ("ä", "ae"),
    ("Ç", "C"),
    ("ç", "c"),
    ("ÈÉÊËĒ", "E"),
    ("èéêëē", "e"),
    ("ÌÍÎÏĪ", "I"),
    ("ìíîïī", "i"),
    ("Ñ", "N"),
    ("ñ", "n"),
    ("ÒÓÔÕŌ", "O"),
    ("òóôõō", "o"),
    ("Ö", "Oe"),
    ("ö", "oe"),
    ("ÙÚÛŪ", "U"),
    ("ùúûū", "u"),
    ("Ü", "Ue"),
    ("ü", "ue"),
    ("Ý", "Y"),
    ("ýÿ", "y"),
    ("ß", "ss"),
    ("Æ", "Ae"),
    ("æ", "ae"),
];

/// Signs that say a seventh by themselves, with what stands before and behind it: `△` and `△7` are `maj7`, `ø9` is `m9b5`.
const SEVENTHS: &[(&str, &str, &str)] = &[("△Δ∆", "maj", ""), ("øØ", "m", "b5")];

/// What stands for a sign that is in no table.
const UNKNOWN: &str = "?";

impl Signs {
    /// `text` in these signs.
    pub fn write(self, text: &str) -> Cow<'_, str> {
        if self == Self::Unicode || text.is_ascii() {
            return Cow::Borrowed(text);
        }
        let mut ascii = String::with_capacity(text.len());
        let mut signs = text.chars().peekable();
        while let Some(sign) = signs.next() {
            if let Some((_, before, behind)) = SEVENTHS.iter().find(|(known, ..)| known.contains(sign)) {
                let number: String = std::iter::from_fn(|| signs.next_if(char::is_ascii_digit)).collect();
                let number = if number.is_empty() { "7" } else { &number };
                ascii.extend([*before, number, *behind]);
                continue;
            }
            match replacement(sign) {
                Some(replacement) => ascii.push_str(replacement),
                None => ascii.push(sign),
            }
        }
        Cow::Owned(ascii)
    }
}

/// What stands for `sign`; `None` if it is ASCII itself.
fn replacement(sign: char) -> Option<&'static str> {
    if sign.is_ascii() {
        return None;
    }
    let known = REPLACEMENTS.iter().find(|(signs, _)| signs.contains(sign));
    Some(known.map_or(UNKNOWN, |(_, ascii)| ascii))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn signs_of_music_and_drawing_have_their_ascii() {
        let check = |text: &str, expect: &str| assert_eq!(Signs::Ascii.write(text), expect);
        check("B♭△ F♯° Aø", "Bbmaj7 F#dim Am7b5");
        check("iiø7 #ivø7 Bø9", "iim7b5 #ivm7b5 Bm9b5");
        check("C△7 C∆9 vii°7", "Cmaj7 Cmaj9 viidim7");
        check("│ · ›o »o │", "| . -o >o |");
        check("48–57 ─●─ …", "48-57 -*- ...");
        check("Étude für Zoë", "Etude fuer Zoe");
        check("日", "?");
    }

    #[test]
    fn replacements_are_ascii_and_no_sign_has_two() {
        let mut seen = std::collections::HashSet::new();
        let sevenths = SEVENTHS.iter().map(|(signs, before, _)| (signs, before));
        for (signs, ascii) in REPLACEMENTS.iter().map(|(signs, ascii)| (signs, ascii)).chain(sevenths) {
            assert!(ascii.is_ascii());
            for sign in signs.chars() {
                assert!(!sign.is_ascii() && seen.insert(sign), "{sign}");
            }
        }
    }

    proptest! {
        #[test]
        fn ascii_is_ascii_and_unicode_is_left_alone(text in ".*") {
            prop_assert!(Signs::Ascii.write(&text).is_ascii());
            prop_assert_eq!(Signs::Unicode.write(&text), text.as_str());
        }
    }
}
