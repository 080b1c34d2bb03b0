//! Where on the neck was played: twelve keys by seven positions, and when each was heard last.

use jiff::civil::Date;

use super::Digest;

/// Positions there are: seven in each of twelve keys.
pub const POSITIONS: usize = 84;

/// Fewest notes of one take from which a position counts as heard.
const FEWEST: usize = 8;

/// Positions heard.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Coverage {
    /// Each position heard, the one heard longest ago first.
    pub heard: Vec<PositionHeard>,
    /// How many there are.
    pub of: usize,
    /// Whether any take tells the strings: where none does, nothing is known of positions.
    pub strings_known: bool,
}

/// A position of three notes a string.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PositionHeard {
    /// Tonic of its major key, or of the relative major of a minor one.
    pub key: String,
    /// The note it begins with on the lowest string.
    pub start: String,
    /// The last day it was heard.
    pub last: Date,
    /// Takes it was heard in.
    pub takes: usize,
}

impl Coverage {
    /// What takes in the order of time cover.
    pub(super) fn of(takes: &[&Digest]) -> Self {
        let mut heard: Vec<PositionHeard> = Vec::new();
        for digest in takes {
            for placed in digest.places.iter().filter(|placed| placed.notes >= FEWEST) {
                let known = heard.iter_mut().find(|at| at.key == placed.key && at.start == placed.start);
                match known {
                    Some(position) => {
                        position.last = digest.day;
                        position.takes += 1;
                    }
                    None => heard.push(PositionHeard {
                        key: placed.key.clone(),
                        start: placed.start.clone(),
                        last: digest.day,
                        takes: 1,
                    }),
                }
            }
        }
        heard.sort_by_key(|position| position.last);
        let strings_known = takes.iter().any(|digest| !digest.places.is_empty());
        Self { heard, of: POSITIONS, strings_known }
    }
}
