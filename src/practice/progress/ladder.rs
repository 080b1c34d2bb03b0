//! The ladder of tempi: how fast a chart was played, and how fast twice within the bands asked for.

use super::Digest;
use super::alike::Way;
use super::week::cluster;
use crate::tally::settings::ShareBy;
use crate::tally::verdict::{Bands, FEWEST_NOTES, GHOSTS, Measure};

/// Takes at one tempo that make a rung.
pub const TAKES_A_RUNG: usize = 2;

/// The tempi of a chart.
#[derive(Clone, Debug, PartialEq)]
pub struct Ladder {
    /// Whether bands were asked for; without them no take is "met".
    pub asked: bool,
    /// Every tempo of whole takes counted as the last one, slowest first.
    pub rungs: Vec<Rung>,
}

/// One tempo.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rung {
    /// Quarter notes a minute, whole.
    pub tempo: f64,
    /// Takes.
    pub takes: usize,
    /// Of these, takes that met every band.
    pub met: usize,
}

impl Ladder {
    pub(super) fn of(takes: &[&Digest], way: Option<&Way>, bands: Option<&Bands>) -> Self {
        let counted_alike = |digest: &Digest| way.is_some_and(|way| way.is_of(digest));
        let mut whole: Vec<&Digest> =
            takes.iter().copied().filter(|digest| digest.is_whole() && counted_alike(digest)).collect();
        whole.sort_by(|a, b| a.tempo.total_cmp(&b.tempo));
        let rungs = whole.chunk_by(|a, b| a.tempo.round().total_cmp(&b.tempo.round()).is_eq());
        let rung = |takes: &[&Digest]| Rung {
            tempo: takes[0].tempo.round(),
            takes: takes.len(),
            met: takes.iter().filter(|digest| bands.is_some_and(|bands| is_met(digest, bands))).count(),
        };
        Self { asked: bands.is_some(), rungs: rungs.map(rung).collect() }
    }

    /// The tempi with two takes that met the bands, slowest first; where no bands were asked for, with two takes.
    pub fn climbed(&self) -> impl Iterator<Item = f64> {
        let takes = |rung: &Rung| if self.asked { rung.met } else { rung.takes };
        self.rungs.iter().filter(move |rung| takes(rung) >= TAKES_A_RUNG).map(|rung| rung.tempo)
    }
}

/// Whether a take lies in every band. A share in its band is met, whatever its interval; too few notes, or too many
/// misread ones, are no verdict.
fn is_met(digest: &Digest, bands: &Bands) -> bool {
    let enough = digest.counted >= bands.needs.max(FEWEST_NOTES) && digest.ghost_part() <= GHOSTS;
    enough
        && bands.bands.iter().all(|&(measure, band)| {
            share(digest, measure).is_some_and(|share| (band.low()..=band.high()).contains(&share))
        })
}

/// The share that a verdict looks at.
fn share(digest: &Digest, measure: Measure) -> Option<f64> {
    let [chord, scale, other, outside] = digest.by_duration;
    match (digest.share_by, measure) {
        (ShareBy::Duration, Measure::Chord) => Some(chord),
        (ShareBy::Duration, Measure::Scale) => Some(scale + other),
        (ShareBy::Duration, Measure::Outside) => Some(outside),
        _ => {
            let (n, of) = cluster(digest, measure);
            (of > 0.0).then(|| n / of)
        }
    }
}
