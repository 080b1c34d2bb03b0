//! Notes, chords, scales and keys: everything that knows no time.
//!
//! It is not harmony (which scale a chord *takes* is decided in [`crate::harmony`]) and it has no side effects.
//! It runs on whichever thread asks.

pub mod pitch_class;
pub mod spelling;
pub mod pitch;
pub mod degree;
pub mod scale;
pub mod key;
pub mod chord;
pub mod written;

pub use chord::ChordSymbol;
pub use degree::Degree;
pub use key::{Key, KeyMode};
pub use pitch::Pitch;
pub use pitch_class::{PitchClass, PitchClassSet};
pub use scale::{Mode, Scale, ScaleRequest};
pub use spelling::NoteName;
pub use written::Written;

/// The nearest candidate where it is near enough to be what was meant: at most one change in three letters, one at least,
/// and not every letter another.
pub(crate) fn close(written: &str, candidates: impl IntoIterator<Item = String>) -> Option<String> {
    let letters = written.chars().count();
    let near = |candidate: &String| {
        let changes = strsim::damerau_levenshtein(written, candidate);
        changes <= (letters / 3).max(1) && changes < letters
    };
    nearest(written, candidates).filter(near)
}

/// The candidate nearest to `written` in single-letter changes and swaps; the earlier one on a tie.
pub(crate) fn nearest(written: &str, candidates: impl IntoIterator<Item = String>) -> Option<String> {
    candidates.into_iter().min_by_key(|candidate| strsim::damerau_levenshtein(written, candidate))
}
