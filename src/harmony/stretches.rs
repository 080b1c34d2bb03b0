//! Stretches of chords in one key, and the cadence that names each.
//!
//! Cadences are common practice: what leads to the tonic chord, the strongest first.

use crate::theory::{Key, KeyMode};

use super::label::degree_name;
use super::reading::{Centre, FunctionalMoves, Region};
use super::reduce::{Class, Item, Progression};
use super::tonality::Tonality;

/// Neighbouring chords heard against one centre.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Stretch {
    /// What they are heard against.
    pub(super) centre: Centre,
    /// Index of the first chord in the form.
    pub(super) first: usize,
    /// Index of the last chord in the form.
    pub(super) last: usize,
    /// Every chord of it as it is heard: the last stretch of a loop and the first are one if their keys agree.
    pub(super) chords: Vec<usize>,
}

/// Cuts a form into stretches. Chords without a key stand alone; N.C. (`None`) parts nothing.
pub(super) fn stretches(centres: &[Option<Centre>], loops: bool) -> Vec<Stretch> {
    let mut found: Vec<Stretch> = Vec::new();
    let chords = centres.iter().enumerate();
    for (index, centre) in chords.filter_map(|(i, centre)| centre.map(|c| (i, c))) {
        match found.last_mut() {
            Some(stretch) if stretch.centre == centre && centre != Centre::Modal => {
                stretch.last = index;
                stretch.chords.push(index);
            }
            _ => found.push(Stretch { centre, first: index, last: index, chords: vec![index] }),
        }
    }
    if loops {
        join_ends(&mut found);
    }
    found
}

fn join_ends(stretches: &mut [Stretch]) {
    if let [first, .., last] = stretches
        && first.centre == last.centre
        && first.centre != Centre::Modal
    {
        let joined = [&last.chords[..], &first.chords[..]].concat();
        first.chords.clone_from(&joined);
        last.chords = joined;
    }
}

impl Stretch {
    /// The region as it is reported.
    pub(super) fn region(
        &self,
        progression: &Progression,
        moves: FunctionalMoves,
        whole_form: bool,
    ) -> Region {
        let why = match self.centre {
            Centre::Modal => no_key(moves),
            Centre::Key(key) => self.reason(key, progression, whole_form),
        };
        Region { centre: self.centre, first: self.first, last: self.last, why }
    }

    fn reason(&self, key: Key, progression: &Progression, whole_form: bool) -> String {
        let items = self.items(progression, whole_form);
        let tonality = Tonality::of(key);
        let numeral = if key.mode == KeyMode::Minor { "i" } else { "I" };
        let found = CADENCES.iter().find(|(_, occurs)| occurs(&items, tonality));
        let reason = found.map_or_else(
            || "no cadence confirms it".to_owned(),
            |(name, _)| format!("{} in {}", name.replace('1', numeral), short(key)),
        );
        if whole_form && is_vamp(&items, tonality) {
            format!("{reason}, {} Dorian vamp", degree_name(key, 2))
        } else {
            reason
        }
    }

    /// The items of the stretch; where it is all of a loop, the first once more at the end.
    fn items<'a>(&self, progression: &'a Progression, whole_form: bool) -> Vec<&'a Item> {
        let mut places: Vec<usize> =
            self.chords.iter().filter_map(|&chord| progression.item_of[chord]).collect();
        places.dedup();
        let again = places.first().copied().filter(|_| whole_form && progression.loops);
        let again = again.filter(|_| places.len() > 1);
        places.into_iter().chain(again).map(|i| &progression.items[i]).collect()
    }
}

/// The sentence for a form without a key.
pub(super) fn no_key(moves: FunctionalMoves) -> String {
    let found = match moves.pairs {
        0 => "one chord".to_owned(),
        pairs => format!("{} of {pairs} changes lead on as in a key", f64::from(moves.halves) / 2.0),
    };
    format!("too little to hear a key by: {found}")
}

/// A key as musicians say it: a major one by its tonic alone.
fn short(key: Key) -> String {
    match key.mode {
        KeyMode::Major => key.tonic.to_string(),
        KeyMode::Minor | KeyMode::Blues => key.to_string(),
    }
}

type Occurs = fn(&[&Item], Tonality) -> bool;

/// Cadences from the strongest to the weakest; `1` stands for the tonic's numeral.
const CADENCES: &[(&str, Occurs)] = &[
    ("ii-V-1", |items, key| {
        items.windows(3).any(|w| is_two(w[0], key) && is_five(w[1], key) && key.is_tonic(w[2]))
    }),
    ("V-1", |items, key| resolves(items, key, is_five)),
    ("subV-1", |items, key| resolves(items, key, |item, key| is_dominant_on(item, key, 1))),
    ("bVII7-1", |items, key| {
        let major = key.mode == KeyMode::Major;
        major && resolves(items, key, |item, key| is_dominant_on(item, key, 10))
    }),
    ("vii°-1", |items, key| {
        resolves(items, key, |item, key| item.class == Class::Diminished && key.degree(item.root) == 11)
    }),
    ("I7-IV7", |items, key| {
        let blues = key.mode == KeyMode::Blues;
        blues && resolves(items, key, |item, key| is_dominant_on(item, key, 5))
    }),
    ("ii-V", |items, key| items.windows(2).any(|w| is_two(w[0], key) && is_five(w[1], key))),
];

fn resolves(items: &[&Item], key: Tonality, from: fn(&Item, Tonality) -> bool) -> bool {
    items.windows(2).any(|w| from(w[0], key) && key.is_tonic(w[1]))
}

fn is_two(item: &Item, key: Tonality) -> bool {
    item.class.is_two() && key.degree(item.root) == 2
}

fn is_five(item: &Item, key: Tonality) -> bool {
    (item.class.is_dominant() || item.plain) && key.degree(item.root) == 7
}

fn is_dominant_on(item: &Item, key: Tonality, degree: u8) -> bool {
    item.class == Class::Dominant && key.degree(item.root) == degree
}

/// Only a minor ii and its V, over and over: as well a Dorian vamp on the ii.
fn is_vamp(items: &[&Item], key: Tonality) -> bool {
    let two = |item: &Item| item.class == Class::Minor && key.degree(item.root) == 2;
    let only = items.iter().all(|item| two(item) || is_five(item, key));
    let both = items.iter().any(|item| two(item)) && items.iter().any(|item| is_five(item, key));
    only && both && key.mode == KeyMode::Major
}
