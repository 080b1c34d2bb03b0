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
