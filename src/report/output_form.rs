//! The form of everything a run prints, decided once at its start.

use super::signs::Signs;
use super::theme::Ink;

/// The form results are printed in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OutputForm {
    /// Aligned columns, marked and perhaps coloured, sentences below.
    Terminal {
        /// Columns of the terminal.
        width: usize,
        /// How marks stand out.
        ink: Ink,
        /// The signs that may be printed.
        signs: Signs,
    },
    /// Tab-separated rows under one header row, sentences in a column of their own.
    Piped {
        /// How marks stand out: not at all, unless colour was asked for everywhere.
        ink: Ink,
        /// The signs that may be printed.
        signs: Signs,
    },
    /// One JSON document.
    Json,
}

impl OutputForm {
    /// How marks stand out in this form.
    pub const fn ink(self) -> Ink {
        match self {
            Self::Terminal { ink, .. } | Self::Piped { ink, .. } => ink,
            Self::Json => Ink::Plain,
        }
    }

    /// Columns that a picture may take: those of the terminal, elsewhere those of a page of 80.
    pub const fn width(self) -> usize {
        match self {
            Self::Terminal { width, .. } => width,
            Self::Piped { .. } | Self::Json => 80,
        }
    }

    /// The same look on a terminal of so many columns.
    #[must_use]
    pub const fn on_a_terminal(self, width: usize) -> Self {
        Self::Terminal { width, ink: self.ink(), signs: self.signs() }
    }

    /// The signs that may be printed in this form.
    pub const fn signs(self) -> Signs {
        match self {
            Self::Terminal { signs, .. } | Self::Piped { signs, .. } => signs,
            Self::Json => Signs::Unicode,
        }
    }
}
