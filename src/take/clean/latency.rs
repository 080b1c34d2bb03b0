//! Latency: what the gear adds between the string and the message.

use crate::take::note::Note;
use crate::theory::Pitch;
use crate::time::NanoSpan;

/// What is taken off every onset and end: `constant + periods / f(pitch)`.
///
/// A pitch tracker needs about two periods of the sound (Fonseca & Tavares, RITA 27(4), 2020), so low notes come
/// later; keyboards need no such term.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Latency {
    /// The same for every note; negative where notes come early.
    pub constant: NanoSpan,
    /// Periods of the struck note: 0 for keyboards, about 2 for pitch trackers.
    pub periods: f64,
}

/// Frequency of A4, MIDI key 69, in hertz (ISO 16).
const A4_HZ: f64 = 440.0;
const A4_KEY: f64 = 69.0;

impl Latency {
    /// The latency of a note struck at `pitch`, rounded to the nanosecond.
    pub fn of(self, pitch: Pitch) -> NanoSpan {
        let hertz = A4_HZ * ((f64::from(pitch.key()) - A4_KEY) / 12.0).exp2();
        self.constant + NanoSpan((self.periods * 1e9 / hertz).round() as i64)
    }

    /// Corrects notes, and puts them in the order of their corrected onsets.
    pub(super) fn correct(self, notes: &mut [Note]) {
        if self == Self::default() {
            return;
        }
        for note in notes.iter_mut() {
            let late = self.of(note.pitch);
            note.on = note.on - late;
            note.off = note.off - late;
        }
        if self.periods != 0.0 {
            notes.sort_by_key(|note| note.on);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_periods_of_the_open_strings() {
        let latency = Latency { constant: NanoSpan::millis(5), periods: 2.0 };
        let check = |key, millis: f64| {
            let found = latency.of(Pitch::new(key).expect("a key")).in_millis();
            assert!((found - millis).abs() < 0.05, "{key}: {found}");
        };
        check(40, 29.3);
        check(45, 23.2);
        check(50, 18.6);
        check(55, 15.2);
        check(59, 13.1);
        check(64, 11.1);
    }
}
