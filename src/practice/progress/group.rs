//! Takes added up by kind of chord, or by the key that chords are heard in.

use super::Digest;
use super::week::monday;
use crate::practice::digest::Group;
use crate::statistics::between_takes::Cluster;
use crate::statistics::{Pooled, between_takes};

/// One kind of chord, or one key.
#[derive(Clone, Debug, PartialEq)]
pub struct GroupRow {
    /// Its name.
    pub name: String,
    /// Takes it was met in.
    pub takes: usize,
    /// Notes counted over it.
    pub counted: f64,
    /// Thirds and sevenths among them.
    pub guide_tones: f64,
    /// Chord tones.
    pub chord: Pooled,
    /// Outside notes left open.
    pub open: Pooled,
    /// Changes to it landed on, of those met.
    pub landings: Pooled,
}

/// The groups of takes in the order of time, the one with most notes first.
pub(super) fn rows(takes: &[&Digest], groups: fn(&Digest) -> &[Group]) -> Vec<GroupRow> {
    let mut names: Vec<&str> = Vec::new();
    for group in takes.iter().flat_map(|digest| groups(digest)) {
        if !names.contains(&group.name.as_str()) {
            names.push(&group.name);
        }
    }
    let mut rows: Vec<GroupRow> = names.into_iter().map(|name| row(name, takes, groups)).collect();
    rows.sort_by(|a, b| b.counted.total_cmp(&a.counted));
    rows
}

fn row(name: &str, takes: &[&Digest], groups: fn(&Digest) -> &[Group]) -> GroupRow {
    let weeks: Vec<Vec<&Group>> = takes
        .chunk_by(|a, b| monday(a.day) == monday(b.day))
        .map(|week| {
            week.iter().flat_map(|digest| groups(digest)).filter(|group| group.name == name).collect()
        })
        .collect();
    let met = || weeks.iter().flatten().copied();
    GroupRow {
        name: name.to_owned(),
        takes: met().count(),
        counted: met().map(|group| group.counted).sum(),
        guide_tones: met().map(|group| group.guide_tones).sum(),
        chord: pooled(&weeks, |group| (group.chord, group.counted)),
        open: pooled(&weeks, |group| (group.open, group.counted)),
        landings: pooled(&weeks, |group| (group.landings.n as f64, group.landings.of as f64)),
    }
}

fn pooled(weeks: &[Vec<&Group>], cluster: fn(&Group) -> Cluster) -> Pooled {
    let clusters: Vec<Vec<Cluster>> =
        weeks.iter().map(|week| week.iter().map(|group| cluster(group)).collect()).collect();
    Pooled::of(&clusters.concat(), between_takes(clusters.iter().map(Vec::as_slice)))
}
