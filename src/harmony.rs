//! What the chords mean: the key each stretch is in, each chord's function in it, and one scale a chord with its reason.
//!
//! A form is reduced to roots and classes (`reduce`); if enough of it moves as keys do (`functional`), the cheapest way
//! through the keys is found (`regions`) from what each chord costs in each key (`local`). Key and function then put
//! forward scales (`scales`), the symbol has the last word on them (`fit`), and all of it is said in words (`label`,
//! `stretches`).
//!
//! It is not scoring: it never sees a note that was played. Pure; runs on whichever thread asks.

mod fit;
mod functional;
mod label;
mod local;
pub mod reading;
mod reduce;
mod regions;
mod scales;
mod sevenths;
mod stretches;
mod tonality;

use std::collections::BTreeMap;

use crate::chart::form::Form;
use crate::theory::{ChordSymbol, Key, PitchClassSet, ScaleRequest};

use fit::{Choice, Demands};
use label::Labelled;
use local::{InKey, local_cost};
use reduce::Progression;
use regions::Lattice;
use scales::{Placed, Sixth};
use stretches::{Stretch, stretches};
use tonality::Tonality;

pub use reading::{Centre, ChordReading, FunctionalMoves, Reading, Region};
pub use sevenths::assume_sevenths;

/// What a player has decided about a form; it wins over everything found here.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Overrides {
    /// The scale of a chord, by its index in the form.
    pub scales: BTreeMap<usize, ScaleRequest>,
    /// The key a chord is heard in, by its index in the form.
    pub keys: BTreeMap<usize, Key>,
}

/// Reads a form: regions, functions, scales and the reasons for them.
pub fn read(form: &Form, overrides: &Overrides) -> Reading {
    let progression = Progression::of(form);
    let moves = functional::count_moves(&progression);
    let has_key = functional::has_key(&progression, moves);
    let lattice = Lattice::of(&progression).filter(|_| has_key);
    let centres = centres(&progression, lattice.as_ref(), overrides);
    let stretches = stretches(&centres, form.loops);
    let reader = Reader { form, overrides, progression: &progression, moves };
    let mut chords = vec![None; form.chords.len()];
    for stretch in &stretches {
        let sixth = reader.sixth(stretch);
        let span = stretch.first..=stretch.last;
        for (index, chord) in span.clone().zip(&mut chords[span]) {
            *chord = reader.chord(index, stretch.centre, sixth);
        }
    }
    let whole_form = stretches.len() == 1;
    Reading {
        home: lattice.and_then(|lattice| lattice.home()).map(Tonality::key),
        regions: stretches.iter().map(|stretch| stretch.region(&progression, moves, whole_form)).collect(),
        chords,
        moves,
    }
}

/// What each chord is heard against: the player's key, else the one found, else nothing; `None` for N.C.
fn centres(
    progression: &Progression,
    lattice: Option<&Lattice>,
    overrides: &Overrides,
) -> Vec<Option<Centre>> {
    let keys = lattice.map(Lattice::keys_of_items);
    let found = |item: usize| {
        let keys = keys.as_ref();
        keys.map_or(Centre::Modal, |keys| Centre::Key(keys[item].key()))
    };
    let centre = |(index, item): (usize, &Option<usize>)| {
        let set = overrides.keys.get(&index).copied().map(Centre::Key);
        item.map(|item| set.unwrap_or_else(|| found(item)))
    };
    progression.item_of.iter().enumerate().map(centre).collect()
}

/// Reads one chord after the other once the keys are known.
struct Reader<'a> {
    form: &'a Form,
    overrides: &'a Overrides,
    progression: &'a Progression,
    moves: FunctionalMoves,
}

/// What is said of a chord: its function and the reason.
struct Words {
    function: String,
    why: String,
}

impl Reader<'_> {
    /// The sixth that the chords of a stretch in minor speak for.
    fn sixth(&self, stretch: &Stretch) -> Sixth {
        let Centre::Key(key) = stretch.centre else {
            return Sixth::Natural;
        };
        let mut symbols = stretch.chords.iter().filter_map(|&i| self.form.chords[i].symbol);
        if symbols.any(|symbol| scales::holds_flat_sixth(symbol, Tonality::of(key))) {
            Sixth::Flat
        } else {
            Sixth::Natural
        }
    }

    fn chord(&self, index: usize, centre: Centre, sixth: Sixth) -> Option<ChordReading> {
        let symbol = self.form.chords[index].symbol?;
        let item = self.progression.item_of[index]?;
        let (words, mut choice) = match centre {
            Centre::Key(key) => self.in_key(symbol, item, key, sixth),
            Centre::Modal => {
                let words = Words { function: label::MODAL.to_owned(), why: stretches::no_key(self.moves) };
                (words, scales::alone(symbol))
            }
        };
        let demands = Demands::of(symbol);
        choice.default = choice.default.patched(demands.bass(), PitchClassSet::EMPTY);
        let found = ChordReading {
            centre,
            function: words.function,
            why: if choice.set_by_symbol { words.why + ", set by the symbol" } else { words.why },
            scale: choice.default,
            alternatives: choice.alternatives,
            overridden: self.overrides.keys.contains_key(&index),
        };
        Some(self.with_scale_set(index, &demands, found))
    }

    fn in_key(&self, symbol: ChordSymbol, item: usize, key: Key, sixth: Sixth) -> (Words, Choice) {
        let tonality = Tonality::of(key);
        let context = self.progression.context(item);
        let chord = InKey::new(context, tonality);
        let function = local_cost(context, tonality).function;
        let next = self.progression.next(item);
        let labelled = Labelled {
            chord,
            key,
            function,
            symbol,
            next: next.map_or("", |next| self.text_of(next)),
            next_context: next.map(|next| self.progression.context(next)),
        };
        let words = Words { function: labelled.label(), why: labelled.reason() };
        let placed = Placed { chord, key, function, sixth };
        (words, scales::in_key(symbol, &placed))
    }

    /// The first chord of an item as it is written.
    fn text_of(&self, item: usize) -> &str {
        &self.form.chords[self.progression.items[item].chord].text
    }

    /// Puts the player's scale, or else the one written in the chart, in place of the default, which stays in use.
    fn with_scale_set(&self, index: usize, demands: &Demands, found: ChordReading) -> ChordReading {
        let set = self.overrides.scales.get(&index).map(|request| (request, "set by the player"));
        let written = self.form.chords[index].scale.as_ref();
        let Some((request, by)) = set.or(written.map(|request| (request, "written in the chart"))) else {
            return found;
        };
        let scale = request.on(demands.root()).patched(demands.joins_a_set_scale(), PitchClassSet::EMPTY);
        let others = std::iter::once(found.scale).chain(found.alternatives);
        ChordReading {
            alternatives: others.filter(|other| other.relative() != scale.relative()).collect(),
            why: format!("{}, scale {by}", found.why),
            scale,
            overridden: true,
            ..found
        }
    }
}
