//! Settings that are one of a few words, and the words.

use crate::take::clean::ChannelOrder;
use crate::tally::settings::{Counting, ShareBy};
use crate::theory::Written;
use crate::theory::chord::parse::{Dim, Eleven, Sus, Sus4};

/// A value that is one of a few words.
pub trait Choice {
    /// The words, the default first.
    fn words(&self) -> Vec<&'static str>;
    /// The word chosen.
    fn word(&self) -> &'static str;
    /// Takes the value `word` stands for; `None`, and no change, if it stands for none.
    fn choose(&mut self, word: &str) -> Option<()>;
}

/// Declares what each value is called.
macro_rules! words {
    ($choice:ident { $($value:ident = $word:literal),+ $(,)? }) => {
        impl Choice for $choice {
            fn words(&self) -> Vec<&'static str> {
                vec![$($word),+]
            }

            fn word(&self) -> &'static str {
                match self {
                    $(Self::$value => $word),+
                }
            }

            fn choose(&mut self, word: &str) -> Option<()> {
                *self = match word {
                    $($word => Self::$value,)+
                    _ => return None,
                };
                Some(())
            }
        }
    };
}

/// When to print in colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ColorUse {
    /// On a terminal, unless `NO_COLOR` is set.
    Auto,
    /// Everywhere.
    Always,
    /// Nowhere.
    Never,
}

/// What the terminal prints on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Background {
    /// Light letters on dark.
    Dark,
    /// Dark letters on light.
    Light,
}

words!(Counting { Strict = "strict", Lenient = "lenient" });
words!(ShareBy { Count = "count", Duration = "duration" });
words!(ChannelOrder { Detect = "auto", HighFirst = "high-first", LowFirst = "low-first" });
words!(ColorUse { Auto = "auto", Always = "always", Never = "never" });
words!(Background { Dark = "dark", Light = "light" });
words!(Sus { Seventh = "7sus4", Triad = "triad" });
words!(Sus4 { Triad = "triad", Seventh = "7sus4" });
words!(Eleven { Dominant = "dominant", Suspended = "9sus4" });
words!(Dim { Seventh = "dim7", Triad = "triad" });

/// The key that an instrument is pitched in, by the trade's words.
impl Choice for Written {
    fn words(&self) -> Vec<&'static str> {
        Self::ALL.map(Self::word).to_vec()
    }

    fn word(&self) -> &'static str {
        (*self).word()
    }

    fn choose(&mut self, word: &str) -> Option<()> {
        *self = word.parse().ok()?;
        Some(())
    }
}
