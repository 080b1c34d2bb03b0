//! How numbers are printed in documents and reports.

use std::fmt;

use schemars::JsonSchema;
use serde::{Serialize, Serializer};

/// A number that is printed without a point when it is whole: weighted notes, beats. Reports give one decimal, documents
/// all of them.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, JsonSchema)]
#[schemars(transparent)]
pub struct Count(pub f64);

impl Serialize for Count {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        if self.0.fract() == 0.0 && self.0.abs() < 1e15 {
            serializer.serialize_i64(self.0 as i64)
        } else {
            serializer.serialize_f64(self.0)
        }
    }
}

impl fmt::Display for Count {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // A sum of nothing is -0 in Rust; 0 is added so that no sign is printed.
        write!(f, "{}", (self.0 * 10.0).round() / 10.0 + 0.0)
    }
}

/// Rounds a beat for showing: a thousandth of a beat is under a millisecond at any tempo in use.
pub fn thousandths(value: f64) -> f64 {
    (value * 1e3).round() / 1e3
}

/// Rounds to a hundredth for showing.
pub fn hundredths(value: f64) -> f64 {
    (value * 1e2).round() / 1e2
}

/// A share as a whole number of percent.
pub fn percent(share: f64) -> i64 {
    (share * 100.0).round() as i64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_numbers_print_without_a_point() {
        assert_eq!(serde_json::to_string(&[Count(63.0), Count(2.5)]).ok().as_deref(), Some("[63,2.5]"));
        assert_eq!([Count(32.0 / 3.0), Count(2.97)].map(|count| count.to_string()), ["10.7", "3"]);
        assert_eq!(Count(-0.0).to_string(), "0");
    }
}
