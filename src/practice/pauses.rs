//! How long has been played without a pause.

use jiff::{SignedDuration, Timestamp};

/// A gap this long between two takes is a pause (common practice: five minutes in half an hour).
pub const PAUSE: SignedDuration = SignedDuration::from_mins(5);
/// After so many minutes without one a pause is due.
pub const DUE_AFTER_MINUTES: f64 = 25.0;

/// A stretch that was played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// When it began.
    pub from: Timestamp,
    /// When it ended.
    pub until: Timestamp,
}

impl Stretch {
    /// A stretch of so many seconds that ended then.
    pub fn before(until: Timestamp, seconds: f64) -> Self {
        let length = SignedDuration::try_from_secs_f64(seconds.max(0.0)).unwrap_or_default();
        Self { from: until.checked_sub(length).unwrap_or(until), until }
    }
}

/// Minutes played up to `now` since the last pause; 0 where the pause lasts.
pub fn minutes_since_pause(stretches: &[Stretch], now: Timestamp) -> f64 {
    let mut stretches = stretches.to_vec();
    stretches.sort_by_key(|stretch| stretch.from);
    let mut next = now;
    let mut played = SignedDuration::ZERO;
    for stretch in stretches.iter().rev() {
        if next.duration_since(stretch.until) >= PAUSE {
            break;
        }
        // Two that overlap were played by two programs at once: the time counts once.
        played += stretch.until.min(next).duration_since(stretch.from.min(next));
        next = next.min(stretch.from);
    }
    played.as_secs_f64() / 60.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(minute: i64) -> Timestamp {
        Timestamp::UNIX_EPOCH + SignedDuration::from_mins(minute)
    }

    fn check(stretches: &[(i64, i64)], now: i64, expect: f64) {
        let stretches: Vec<Stretch> =
            stretches.iter().map(|&(from, until)| Stretch { from: at(from), until: at(until) }).collect();
        let minutes = minutes_since_pause(&stretches, at(now));
        assert!((minutes - expect).abs() < 1e-9, "{minutes}, not {expect}");
    }

    #[test]
    fn a_pause_of_five_minutes_begins_the_count_again() {
        check(&[], 100, 0.0);
        check(&[(0, 10), (12, 20)], 21, 18.0);
        check(&[(0, 10), (15, 20)], 21, 5.0);
        check(&[(12, 20), (0, 10)], 25, 0.0);
        check(&[(0, 10), (5, 12)], 12, 12.0);
    }
}
