//! Changes: the chords of a tune in time with what they mean, in the key of each chorus.
//!
//! Players take a tune through the keys, a chorus in each. Its bars, meters and lengths stay; chords, scales and home key
//! are those of the key that sounds.

use std::sync::Arc;

use super::Reading;
use crate::chart::Form;
use crate::chart::header::key_text;
use crate::theory::Key;

/// The form of a tune in one key, and what its chords mean there.
#[derive(Clone, Debug, PartialEq)]
pub struct Changes {
    /// The key.
    pub key: Key,
    /// The form.
    pub form: Form,
    /// What its chords mean.
    pub reading: Reading,
}

impl Changes {
    /// Those of a chorus (from 1), given those of each; behind the last of them the first come again. `None` where there
    /// are none.
    pub fn of_chorus(each: &[Arc<Self>], chorus: u32) -> Option<&Self> {
        let before = usize::try_from(chorus.saturating_sub(1)).ok()?;
        Some(each.get(before.checked_rem(each.len())?)?)
    }

    /// The marker of a chorus in a file: `chorus 3`, and its key where the tune goes through keys: `chorus 3, key Db`.
    pub fn marker(each: &[Arc<Self>], chorus: u32) -> String {
        let key = Self::of_chorus(each, chorus).map(|changes| format!(", key {}", key_text(changes.key)));
        format!("chorus {chorus}{}", key.unwrap_or_default())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::tests::{form, reading};

    #[test]
    fn behind_the_last_key_the_first_comes_again() {
        let changes = |key: &str| {
            let form = form("C");
            Arc::new(Changes { key: key.parse().expect("a key"), reading: reading(&form), form })
        };
        let each = [changes("C"), changes("F")];
        let keys = |chorus| Changes::of_chorus(&each, chorus).map(|changes| changes.key.to_string());
        let expect = ["C major", "F major", "C major", "F major"].map(|key| Some(key.to_owned()));
        assert_eq!([1, 2, 3, 4].map(keys), expect);
        assert_eq!(Changes::of_chorus(&[], 1), None);
        assert_eq!(Changes::marker(&each, 4), "chorus 4, key F");
        assert_eq!(Changes::marker(&[], 4), "chorus 4");
    }
}
