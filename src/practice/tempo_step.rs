//! Tempo steps: how fast a chart is offered next, given how its takes went.
//!
//! A ladder in small steps, each after two clean takes and never more than one a day, as a sudden rise in the load on the
//! hands is what players most often blame for an injury (Chan & Ackermann, *Frontiers in Psychology* 5, 2014; cited from
//! memory). What is offered is never taken without being asked for.

use std::fmt;

use jiff::civil::Date;

/// How much faster the next step is, in quarter notes a minute.
pub const STEP_BPM: f64 = 4.0;
/// How many takes must be met before a step.
pub const TAKES_MET: usize = 2;
/// How many takes at a tempo are looked at, the last ones.
pub const LOOKED_AT: usize = 5;
/// The fastest tempo that is offered, in quarter notes a minute.
pub const FASTEST_BPM: f64 = 400.0;
/// Tempi that lie no further apart are one: a file keeps them in whole microseconds.
const SAME_BPM: f64 = 0.05;

/// One take of a chart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tried {
    /// Quarter notes a minute.
    pub bpm: f64,
    /// Whether it met the bands in use.
    pub met: bool,
    /// The day it was played on, where that is known.
    pub day: Option<Date>,
}

/// The tempo that is offered, and why.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Offer {
    /// Quarter notes a minute.
    pub bpm: f64,
    /// Why.
    pub why: Why,
}

/// Why a tempo is offered.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Why {
    /// Enough takes met the bands: a step up.
    Met,
    /// So many of the last takes at this tempo did, which is too few.
    TooFewMet {
        /// Takes met.
        met: usize,
        /// Takes looked at.
        of: usize,
    },
    /// The step to this tempo was made today.
    SteppedToday,
    /// Nothing faster is offered.
    Fastest,
}

/// What is offered to a player on `today` after these takes of a chart, in the order they were played; `None` without any.
///
/// The present tempo is that of the last take. Of the last five takes at it two must be met for a step of 4 quarter notes a
/// minute, and the day's one step must not have led to it; else it stays.
pub fn next_tempo(takes: &[Tried], today: Date) -> Option<Offer> {
    let present = takes.last()?.bpm;
    let at = |bpm: f64| move |take: &&Tried| (take.bpm - bpm).abs() <= SAME_BPM;
    let looked_at: Vec<&Tried> = takes.iter().rev().filter(at(present)).take(LOOKED_AT).collect();
    let met = looked_at.iter().filter(|take| take.met).count();
    let of_today = |take: &&Tried| take.day == Some(today);
    let stepped_today = takes.iter().filter(at(present - STEP_BPM)).any(|take| of_today(&take));
    let present = tenths(present);
    let (bpm, why) = if met < TAKES_MET {
        (present, Why::TooFewMet { met, of: looked_at.len() })
    } else if stepped_today {
        (present, Why::SteppedToday)
    } else if present + STEP_BPM > FASTEST_BPM {
        (present, Why::Fastest)
    } else {
        (present + STEP_BPM, Why::Met)
    };
    Some(Offer { bpm, why })
}

/// A tempo as players name it.
fn tenths(bpm: f64) -> f64 {
    (bpm * 10.0).round() / 10.0
}

/// Prints the reason and what follows: `two takes met at 132: 136`.
impl fmt::Display for Offer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { bpm, why } = self;
        match why {
            Why::Met => write!(f, "two takes met at {}: {bpm}", bpm - STEP_BPM),
            Why::TooFewMet { met, of: 1 } => {
                let met = if *met == 1 { "met" } else { "not met" };
                write!(f, "one take at {bpm}, {met}; two are to be met: {bpm} again")
            }
            Why::TooFewMet { met, of } => {
                let met = if *met == 0 { "none".to_owned() } else { met.to_string() };
                write!(f, "{met} of the last {of} takes at {bpm} met, and two are to be: {bpm} again")
            }
            Why::SteppedToday => {
                write!(f, "up from {} today, which is step enough for a day: {bpm} again", bpm - STEP_BPM)
            }
            Why::Fastest => write!(f, "nothing faster than {FASTEST_BPM} is played: {bpm} again"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn day(day: i8) -> Date {
        Date::new(2026, 11, day).expect("a day")
    }

    /// `132+` is a take met at 132, `132-` one that is not; `|` begins the next day, the last of which is today.
    fn offered(takes: &str) -> Option<String> {
        let days: Vec<&str> = takes.split('|').collect();
        let of_day = |(number, takes): (usize, &&str)| {
            let take = move |word: &str| {
                let (bpm, met) = word.split_at(word.len() - 1);
                let bpm = bpm.parse().expect("a tempo");
                Tried { bpm, met: met == "+", day: Some(day(number as i8 + 1)) }
            };
            takes.split_whitespace().map(take).collect::<Vec<_>>()
        };
        let tried: Vec<Tried> = days.iter().enumerate().flat_map(of_day).collect();
        next_tempo(&tried, day(days.len() as i8)).map(|offer| offer.to_string())
    }

    #[test]
    fn two_takes_met_at_a_tempo_offer_the_next_step() {
        let check =
            |takes: &str, expect: &str| assert_eq!(offered(takes).as_deref(), Some(expect), "{takes}");
        check("132+ 132+", "two takes met at 132: 136");
        check("132+ | 132- | 132+", "two takes met at 132: 136");
        check("132+", "one take at 132, met; two are to be met: 132 again");
        check("132-", "one take at 132, not met; two are to be met: 132 again");
        check("132- 132- 132+", "1 of the last 3 takes at 132 met, and two are to be: 132 again");
        check("132+ 132+ | 136-", "one take at 136, not met; two are to be met: 136 again");
        check("132+ 132+ | 136- 132+", "two takes met at 132: 136");
        check(
            "132+ 132+ 132- 132- 132- 132-",
            "1 of the last 5 takes at 132 met, and two are to be: 132 again",
        );
        check("400+ 400+", "nothing faster than 400 is played: 400 again");
        assert_eq!(offered(""), None);
    }

    #[test]
    fn a_day_has_one_step() {
        let check =
            |takes: &str, expect: &str| assert_eq!(offered(takes).as_deref(), Some(expect), "{takes}");
        check("132+ 132+ 136+ 136+", "up from 132 today, which is step enough for a day: 136 again");
        check("132+ 132+ | 136+ 136+", "two takes met at 136: 140");
        check("132+ 132+ 136+ 136+ |", "two takes met at 136: 140");
        check("100+ 136+ 136+", "two takes met at 136: 140");
    }

    #[test]
    fn a_tempo_that_a_file_rounded_is_the_same_tempo() {
        let take = |bpm| Tried { bpm, met: true, day: None };
        let offer = next_tempo(&[take(132.0), take(132.001)], day(1)).expect("an offer");
        assert!((offer.bpm - 136.0).abs() < 1e-9 && offer.why == Why::Met);
    }

    proptest! {
        #[test]
        fn an_offer_is_the_present_tempo_or_one_step_up_after_two_met(
            takes in prop::collection::vec((50u16..60, any::<bool>(), 1i8..4), 1..30),
            today in 1i8..4,
        ) {
            let tried: Vec<Tried> = takes
                .iter()
                .map(|&(bpm, met, on)| Tried { bpm: f64::from(bpm) * 2.0, met, day: Some(day(on)) })
                .collect();
            let present = tried[tried.len() - 1].bpm;
            let offer = next_tempo(&tried, day(today)).expect("an offer");
            let at = |bpm: f64| move |take: &&Tried| (take.bpm - bpm).abs() < 0.1;
            let up = offer.bpm - present;
            if offer.why == Why::Met {
                prop_assert!((up - STEP_BPM).abs() < 1e-9);
                prop_assert!(tried.iter().filter(at(present)).filter(|take| take.met).count() >= TAKES_MET);
                let stepped = tried.iter().filter(at(present - STEP_BPM)).any(|take| take.day == Some(day(today)));
                prop_assert!(!stepped);
            } else {
                prop_assert!(up.abs() < 1e-9);
            }
        }
    }
}
