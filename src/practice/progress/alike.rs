//! What may be compared: whole takes that were read well, at tempi near the last one, and how each was counted.

use jiff::civil::Date;

use super::Digest;
use crate::tally::Counting;
use crate::tally::verdict::GHOSTS;

/// Tempi are compared within a tenth: so far apart, as a factor. Note density falls with tempo; shares hardly do.
const NEAR: f64 = 1.1;

/// Rounding of a tempo in a file may put a tempo at the edge beyond it.
const EDGE: f64 = 1e-6;

/// A way in which takes were counted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Way {
    /// The number of the counting rules.
    pub rules: u32,
    /// Strict or lenient.
    pub counting: Counting,
    /// The fingerprint of all settings that decide how notes are counted.
    pub settings_sha256: String,
    /// The day of its first take.
    pub from: Date,
    /// Takes counted in it.
    pub takes: usize,
}

impl Way {
    /// Whether a take was counted in this way.
    pub fn is_of(&self, digest: &Digest) -> bool {
        self.rules == digest.rules
            && self.counting == digest.counting
            && self.settings_sha256 == digest.settings_sha256
    }
}

/// A take that is not compared because too much of it was misread. Nothing counts against the player.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SetAside {
    /// Its number.
    pub take: u32,
    /// The misread part of its notes.
    pub ghosts: f64,
}

/// Takes sorted by what may be done with them.
pub(super) struct Alike<'a> {
    /// Those that are shown beside each other, in the order of time.
    pub compared: Vec<&'a Digest>,
    pub ways: Vec<Way>,
    pub other_tempi: Vec<(f64, usize)>,
    pub set_aside: Vec<SetAside>,
}

impl<'a> Alike<'a> {
    /// The takes that were counted as the last one was: only these are compared in figures.
    pub fn in_force(&self) -> Vec<&'a Digest> {
        let last = self.ways.last();
        self.compared.iter().copied().filter(|digest| last.is_some_and(|way| way.is_of(digest))).collect()
    }
}

/// Sorts the takes of one form, which are in the order of time.
pub(super) fn alike<'a>(takes: &[&'a Digest]) -> Alike<'a> {
    let whole = takes.iter().copied().filter(|digest| digest.is_whole() && digest.counted > 0.0);
    let (misread, read): (Vec<&Digest>, Vec<&Digest>) =
        whole.partition(|digest| digest.ghost_part() > GHOSTS);
    let set_aside =
        misread.iter().map(|digest| SetAside { take: digest.take, ghosts: digest.ghost_part() }).collect();
    let tempo = read.last().map_or(0.0, |digest| digest.tempo);
    let (compared, others): (Vec<&Digest>, Vec<&Digest>) =
        read.into_iter().partition(|digest| is_near(digest.tempo, tempo));
    Alike { ways: ways(&compared), other_tempi: tempi(&others), compared, set_aside }
}

/// Whether two tempi lie within a tenth of each other.
fn is_near(tempo: f64, other: f64) -> bool {
    (tempo / other).log2().abs() <= NEAR.log2() + EDGE
}

/// The ways, in the order in which each was used last.
fn ways(takes: &[&Digest]) -> Vec<Way> {
    let mut ways: Vec<Way> = Vec::new();
    for digest in takes {
        let known = ways.iter().position(|way| way.is_of(digest)).map(|index| ways.remove(index));
        let way = known.unwrap_or_else(|| Way {
            rules: digest.rules,
            counting: digest.counting,
            settings_sha256: digest.settings_sha256.clone(),
            from: digest.day,
            takes: 0,
        });
        ways.push(Way { takes: way.takes + 1, ..way });
    }
    ways
}

/// Tempi with how many takes had them, slowest first, in whole quarters a minute.
fn tempi(takes: &[&Digest]) -> Vec<(f64, usize)> {
    let mut tempi: Vec<f64> = takes.iter().map(|digest| digest.tempo.round()).collect();
    tempi.sort_by(f64::total_cmp);
    tempi.chunk_by(|a, b| a.total_cmp(b).is_eq()).map(|same| (same[0], same.len())).collect()
}
