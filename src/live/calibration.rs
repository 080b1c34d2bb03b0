//! How late an instrument's notes arrive, from notes played along with clicks. Pure: times in, figures out.
//!
//! What is measured is player and gear together: people tap before a click rather than on it, less so musicians (Repp,
//! *Psychonomic Bulletin & Review* 12, 2005). So the result can be moved by hand, and a wide spread is no result.

use crate::take::clean::Latency;
use crate::theory::Pitch;
use crate::time::{NanoSpan, Nanos};

/// Clicks of one round.
pub const CLICKS: usize = 20;
/// The first clicks of a round, to fall into step with: not counted.
pub const SETTLING: usize = 4;
/// Quarter notes a minute of the clicks.
pub const BPM: f64 = 90.0;
/// The fewest notes of a round that are a result: our own bound.
const FEWEST: usize = 8;
/// The widest spread that is a result: our own bound, above that of tapping musicians (about 4 % of the time between
/// clicks in standard deviation, Repp 2005, which is 18 ms as a median absolute deviation at this tempo).
const WIDEST: NanoSpan = NanoSpan::millis(20);
/// A note further from the rest than this many times the spread is a slip.
const SLIP: i64 = 3;
/// Semitones between the two strings of a guitar that are far enough apart to tell their delays apart: an octave.
const FAR_APART: u8 = 12;

/// A note that was struck.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Struck {
    /// When, on the clock of the clicks.
    pub at: Nanos,
    /// Which.
    pub pitch: Pitch,
}

/// What the delay is taken to follow.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Model {
    /// The same for every note: keyboards, wind controllers. One round.
    Constant,
    /// A constant and two periods of the note, as a pitch tracker needs (Fonseca & Tavares, RITA 27(4), 2020). Two
    /// rounds: the lowest string, then the highest.
    PitchTracker,
}

impl Model {
    /// How many periods of the note are taken to be in its delay.
    pub const fn periods(self) -> f64 {
        match self {
            Self::Constant => 0.0,
            Self::PitchTracker => 2.0,
        }
    }
}

/// What was measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// How late notes arrive, and how that depends on their pitch.
    pub latency: Latency,
    /// How far the notes lie apart: the median absolute deviation.
    pub spread: NanoSpan,
    /// How many notes it rests on, slips left out.
    pub notes: usize,
    /// Out of how many counted clicks.
    pub of: usize,
}

/// Says why nothing was measured, and what to do.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotMeasured {
    /// Too few clicks had a note.
    #[error(
        "no verdict: {notes} notes with the clicks, {FEWEST} are needed in each round. Play one note on every click"
    )]
    TooFew {
        /// Notes of the round that had fewest.
        notes: usize,
    },
    /// The notes lie too far apart.
    #[error(
        "no verdict: the notes spread by {:.0} ms (median absolute deviation), at most {:.0} can be used. Play short, even notes, close to the loudspeaker or on headphones, and try again",
        spread.in_millis(),
        WIDEST.in_millis()
    )]
    TooWide {
        /// Their median absolute deviation.
        spread: NanoSpan,
    },
    /// Both rounds were played at about the same pitch.
    #[error(
        "no verdict: both rounds were played at one pitch. Play the lowest open string first, then the highest"
    )]
    OneString,
}

/// Measures from the notes of each round and the clicks they were played to.
pub fn measure(rounds: &[(Vec<Nanos>, Vec<Struck>)], model: Model) -> Result<Measured, NotMeasured> {
    let by_pitch = Latency { constant: NanoSpan::ZERO, periods: model.periods() };
    let mut late = Vec::new();
    let mut of = 0;
    let mut pitches = Vec::new();
    for (clicks, struck) in rounds {
        let counted = &clicks[SETTLING.min(clicks.len())..];
        let heard: Vec<(NanoSpan, Pitch)> =
            counted.iter().filter_map(|&click| nearest(click, clicks, struck)).collect();
        if heard.len() < FEWEST {
            return Err(NotMeasured::TooFew { notes: heard.len() });
        }
        let mut keys: Vec<u8> = heard.iter().map(|(_, pitch)| pitch.key()).collect();
        keys.sort_unstable();
        pitches.push(keys[keys.len() / 2]);
        late.extend(heard.into_iter().map(|(late, pitch)| late - by_pitch.of(pitch)));
        of += counted.len();
    }
    let apart = pitches.iter().max().zip(pitches.iter().min()).map_or(0, |(high, low)| high - low);
    if model == Model::PitchTracker && apart < FAR_APART {
        return Err(NotMeasured::OneString);
    }
    let (middle, spread) = middle_and_spread(&late);
    if spread > WIDEST {
        return Err(NotMeasured::TooWide { spread });
    }
    late.retain(|&late| (late - middle).0.abs() <= SLIP * spread.0);
    let latency = Latency { constant: median(late.clone()), periods: model.periods() };
    Ok(Measured { latency, spread, notes: late.len(), of })
}

/// How late the note came that belongs to `click`: the nearest one, if it is nearer to this click than to any other.
fn nearest(click: Nanos, clicks: &[Nanos], struck: &[Struck]) -> Option<(NanoSpan, Pitch)> {
    let note = struck.iter().min_by_key(|note| (note.at - click).0.abs())?;
    let own = clicks.iter().min_by_key(|click| (note.at - **click).0.abs())?;
    let beat = clicks.windows(2).map(|pair| pair[1] - pair[0]).min().unwrap_or(NanoSpan(i64::MAX));
    let late = note.at - click;
    (*own == click && late.0.abs() <= beat.0 / 2).then_some((late, note.pitch))
}

/// The median, and the median of the distances from it.
fn middle_and_spread(values: &[NanoSpan]) -> (NanoSpan, NanoSpan) {
    let middle = median(values.to_vec());
    let distances = values.iter().map(|&value| NanoSpan((value - middle).0.abs())).collect();
    (middle, median(distances))
}

/// The median; of an even number the mean of the middle two, of none 0.
fn median(mut values: Vec<NanoSpan>) -> NanoSpan {
    values.sort_unstable();
    let half = values.len() / 2;
    match values.len() {
        0 => NanoSpan::ZERO,
        odd if odd % 2 == 1 => values[half],
        _ => NanoSpan(i64::midpoint(values[half - 1].0, values[half].0)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const BEAT: i64 = 666_666_667;

    fn clicks() -> Vec<Nanos> {
        (0..CLICKS as i64).map(|i| Nanos(i * BEAT)).collect()
    }

    fn pitch(key: u8) -> Pitch {
        Pitch::new(key).expect("a key")
    }

    /// A round in which the notes come late by these milliseconds, after settling clicks that had wild ones.
    fn round(key: u8, late_ms: &[f64]) -> (Vec<Nanos>, Vec<Struck>) {
        let wild = [-150.0, 200.0, -90.0, 180.0];
        let late = wild.iter().chain(late_ms);
        let struck = clicks().into_iter().zip(late).map(|(click, late)| {
            let at = click + NanoSpan((late * 1e6) as i64);
            Struck { at, pitch: pitch(key) }
        });
        (clicks(), struck.collect())
    }

    #[test]
    fn a_slip_is_left_out_of_the_median() {
        let late = [31.0, 28.0, 35.0, 30.0, 33.0, 29.0, 90.0, 32.0];
        let (middle, spread) = middle_and_spread(&late.map(|ms| NanoSpan((ms * 1e6) as i64)));
        assert_eq!((middle.in_millis(), spread.in_millis()), (31.5, 2.0));
        let measured = measure(&[round(60, &late)], Model::Constant).expect("a result");
        assert_eq!(measured.latency, Latency { constant: NanoSpan::millis(31), periods: 0.0 });
        assert_eq!((measured.notes, measured.of, measured.spread), (7, 16, NanoSpan::millis(2)));
    }

    #[test]
    fn a_pitch_tracker_is_told_by_two_strings() {
        let delay =
            |key: u8| Latency { constant: NanoSpan::millis(5), periods: 2.0 }.of(pitch(key)).in_millis();
        let rounds = [40, 64].map(|key| round(key, &[delay(key); 16]));
        let measured = measure(&rounds, Model::PitchTracker).expect("a result");
        assert!((measured.latency.constant - NanoSpan::millis(5)).0.abs() < 1000, "{measured:?}");
        assert_eq!((measured.notes, measured.of), (32, 32));
        let once = [40, 40].map(|key| round(key, &[30.0; 16]));
        assert_eq!(measure(&once, Model::PitchTracker), Err(NotMeasured::OneString));
    }

    #[test]
    fn too_few_notes_and_uneven_ones_are_no_result() {
        let few = measure(&[round(60, &[30.0; 7])], Model::Constant);
        assert_eq!(few, Err(NotMeasured::TooFew { notes: 7 }));
        let uneven: Vec<f64> = (0..16).map(|i| f64::from(i) * 15.0 - 100.0).collect();
        let wide = measure(&[round(60, &uneven)], Model::Constant).expect_err("no result");
        assert!(
            matches!(wide, NotMeasured::TooWide { .. }) && wide.to_string().contains("at most 20"),
            "{wide}"
        );
    }

    #[test]
    fn a_note_between_two_clicks_belongs_to_one_of_them_and_a_doubled_one_counts_once() {
        let (clicks, mut struck) = round(60, &[30.0; 16]);
        let doubled = struck.iter().map(|note| Struck { at: note.at + NanoSpan::millis(250), ..*note });
        struck.extend(doubled.collect::<Vec<_>>());
        let measured = measure(&[(clicks, struck)], Model::Constant).expect("a result");
        assert_eq!((measured.latency.constant, measured.notes), (NanoSpan::millis(30), 16));
    }

    proptest! {
        #[test]
        fn any_notes_give_a_result_or_a_reason(times in prop::collection::vec((-2_000i64..20_000, 0u8..128), 0..60)) {
            let struck = times.iter().map(|&(ms, key)| Struck { at: Nanos(ms * 1_000_000), pitch: pitch(key) }).collect();
            if let Ok(measured) = measure(&[(clicks(), struck)], Model::Constant) {
                prop_assert!(measured.notes <= measured.of && measured.spread <= WIDEST);
                prop_assert!(measured.latency.constant.0.abs() <= BEAT / 2);
            }
        }
    }
}
