//! Where takes stand by an assignment: which of them count, which two count together, and what is found.

use crate::tally::Tally;
use crate::tally::verdict::{Bands, Finding, NoVerdict, Verdict, pooled_verdict};

use super::assignment::TakesAsked;

/// What becomes of one take.
#[derive(Clone, Debug, PartialEq)]
pub enum Standing {
    /// It counts.
    Counts,
    /// It is set aside: nothing counts against the player.
    SetAside(NoVerdict),
    /// It is not what was asked for: another chart, another tempo.
    NotForIt(String),
}

/// What is found over the takes that count, and which two they are: indices into those given.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// The verdict.
    pub verdict: Verdict,
    /// The takes it is over; none where too few count.
    pub used: Vec<usize>,
}

/// Judges `takes`, oldest first, each of which counts: the two together that stand best.
pub fn best_pair(takes: &[&Tally], bands: &Bands, asked: TakesAsked) -> Found {
    let first = asked.of_last().map_or(0, |last| takes.len().saturating_sub(last));
    let pairs = (first..takes.len()).flat_map(|later| (first..later).map(move |earlier| (earlier, later)));
    let judged = pairs.map(|(earlier, later)| {
        let verdict = pooled_verdict(&[takes[earlier], takes[later]], bands);
        Found { verdict, used: vec![earlier, later] }
    });
    // Of pairs that stand alike the later one counts: `min_by` keeps the first of equals, so they are gone through from
    // the end.
    let judged: Vec<Found> = judged.collect();
    let best = judged.into_iter().rev().min_by(|a, b| rank(a).total_cmp(&rank(b)));
    best.unwrap_or_else(|| too_few(takes, bands))
}

/// How far a pair is from being met: nothing where it is; undecided before clearly missed; then by how far the shares
/// lie off their bands.
fn rank(found: &Found) -> f64 {
    let step = match found.verdict.finding {
        Finding::Met => return 0.0,
        Finding::Undecided => 1.0,
        Finding::ClearlyAbove | Finding::ClearlyBelow => 100.0,
        Finding::NoVerdict => 1_000.0,
    };
    let off = |judged: &crate::tally::verdict::Judgement| {
        let share = judged.share.share().unwrap_or(0.0);
        (judged.band.low() - share).max(share - judged.band.high()).max(0.0)
    };
    step + found.verdict.bands.iter().map(off).sum::<f64>()
}

/// No verdict: fewer takes count than count together.
fn too_few(takes: &[&Tally], bands: &Bands) -> Found {
    let mut verdict = pooled_verdict(takes, bands);
    let reason = NoVerdict::FewTakes { takes: takes.len(), asked: TakesAsked::TOGETHER };
    verdict.reason = Some(reason);
    verdict.finding = Finding::NoVerdict;
    for band in &mut verdict.bands {
        band.finding = Finding::NoVerdict;
    }
    Found { verdict, used: Vec::new() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tally::judged::Weight;
    use crate::tally::mix::{BarCounts, Counts, Mix};
    use crate::tally::verdict::{Band, Measure};
    use crate::tally::{ByDuration, Landings, Rests, Settings};

    /// A take with so many chord tones of a hundred notes.
    fn take(chord: usize) -> Tally {
        let notes = |count: usize| (0..count).map(|_| Weight::one_of(1)).sum();
        let total = Counts { chord: notes(chord), scale: notes(100 - chord), ..Counts::default() };
        Tally {
            settings: Settings::default(),
            notes: Vec::new(),
            mix: Mix {
                total,
                by_visit: Vec::new(),
                by_bar: vec![BarCounts { chorus: 1, bar: 1, counts: total }],
                bar_of_visit: Vec::new(),
            },
            by_duration: ByDuration::default(),
            running_the_scale: None,
            landings: Landings { by_visit: Vec::new(), baseline: None },
            leanings: Vec::new(),
            rests: Rests { beats: 0.0, of: 0.0, longest_run: 0.0 },
            rests_of_choruses: Vec::new(),
        }
    }

    fn check(chords: &[usize], asked: TakesAsked, expect: (Finding, &[usize])) {
        let takes: Vec<Tally> = chords.iter().map(|&chord| take(chord)).collect();
        let takes: Vec<&Tally> = takes.iter().collect();
        let bands =
            Bands { bands: vec![(Measure::Chord, Band::new(0.55, 0.7).expect("a band"))], needs: 60.0 };
        let found = best_pair(&takes, &bands, asked);
        assert_eq!((found.verdict.finding, found.used.as_slice()), expect, "{chords:?}");
    }

    #[test]
    fn the_two_that_stand_best_count_together() {
        let last_five = TakesAsked::TwoOfTheLastFive;
        check(&[60, 62], last_five, (Finding::Met, &[0, 1]));
        check(&[30, 62, 31, 60], last_five, (Finding::Met, &[1, 3]));
        check(&[62, 30, 31, 32, 33, 34], last_five, (Finding::ClearlyBelow, &[4, 5]));
        check(&[62, 62, 30, 31, 32, 33, 34], TakesAsked::AnyTwo, (Finding::Met, &[0, 1]));
        check(&[50, 30, 52], last_five, (Finding::Undecided, &[0, 2]));
        check(&[60, 60, 60], last_five, (Finding::Met, &[1, 2]));
        check(&[90, 92, 91], last_five, (Finding::ClearlyAbove, &[0, 2]));
    }

    #[test]
    fn one_take_is_no_verdict() {
        check(&[62], TakesAsked::TwoOfTheLastFive, (Finding::NoVerdict, &[]));
        check(&[], TakesAsked::AnyTwo, (Finding::NoVerdict, &[]));
    }

    #[test]
    fn two_takes_say_less_than_their_notes_would() {
        let one = pooled_verdict(
            &[&take(62)],
            &Bands { bands: vec![(Measure::Chord, Band::new(0.0, 1.0).expect("a band"))], needs: 0.0 },
        );
        let two = pooled_verdict(
            &[&take(62), &take(62)],
            &Bands { bands: vec![(Measure::Chord, Band::new(0.0, 1.0).expect("a band"))], needs: 0.0 },
        );
        let effect = |verdict: &Verdict| verdict.bands[0].share.design_effect;
        assert!((effect(&one) - 1.0).abs() < 1e-9 && (effect(&two) - 1.5).abs() < 1e-9);
    }
}
