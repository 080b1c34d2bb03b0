//! Barlines: what each means for repeats, and how two that meet between lines become one.

use std::fmt;

/// How often a repeat is played in all where the chart does not say (printed practice).
pub const TWICE: u8 = 2;

/// Most times that a repeat is played.
pub const MOST_TIMES: u8 = 64;

/// The barline between two bars.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Barline {
    /// `|`
    Single,
    /// `||`
    Double,
    /// `|:`
    Open,
    /// `:|`, or `:|x3` for three times in all.
    Close {
        /// How often the repeat is played in all, 2 to [`MOST_TIMES`].
        times: u8,
    },
    /// `:|:`, or a closing one at the end of a line before an opening one.
    CloseAndOpen {
        /// How often the repeat that ends is played in all, 2 to [`MOST_TIMES`].
        times: u8,
    },
}

impl Barline {
    /// The barline written with these signs (without its `x3`), or `None`.
    pub fn from_signs(signs: &str) -> Option<Self> {
        Some(match signs {
            "|" => Self::Single,
            "||" => Self::Double,
            "|:" => Self::Open,
            ":|" => Self::Close { times: TWICE },
            ":|:" => Self::CloseAndOpen { times: TWICE },
            _ => return None,
        })
    }

    /// Whether a repeat opens here.
    pub const fn opens(self) -> bool {
        matches!(self, Self::Open | Self::CloseAndOpen { .. })
    }

    /// How often the repeat that closes here is played in all, if one does.
    pub const fn closes(self) -> Option<u8> {
        match self {
            Self::Close { times } | Self::CloseAndOpen { times } => Some(times),
            _ => None,
        }
    }

    /// The one barline that this one at the end of a line and `opening` at the start of the next are.
    #[must_use]
    pub const fn joined(self, opening: Self) -> Self {
        match (self.closes(), self.opens() || opening.opens()) {
            (Some(times), true) => Self::CloseAndOpen { times },
            (Some(times), false) => Self::Close { times },
            (None, true) => Self::Open,
            (None, false) if matches!(opening, Self::Double) => Self::Double,
            (None, false) => self,
        }
    }
}

/// Prints as a chart writes it. `:|:` has no room for a count: [`super::layout`] breaks the line there.
impl fmt::Display for Barline {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Single => f.write_str("|"),
            Self::Double => f.write_str("||"),
            Self::Open => f.write_str("|:"),
            Self::Close { times: TWICE } => f.write_str(":|"),
            Self::Close { times } => write!(f, ":|x{times}"),
            Self::CloseAndOpen { .. } => f.write_str(":|:"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_barlines_between_lines_are_one() {
        let check = |end: &str, open: &str, one: &str| {
            let [end, open] = [end, open].map(|signs| Barline::from_signs(signs).expect("a barline"));
            assert_eq!(end.joined(open).to_string(), one);
        };
        check("|", "|", "|");
        check("||", "|", "||");
        check("|", "||", "||");
        check(":|", "|", ":|");
        check(":|", "|:", ":|:");
        check("|:", "|", "|:");
        check("||", "|:", "|:");
    }
}
