//! What the chords mean: the key each stretch is in, each chord's function in it, and one scale a chord with its reason.
//!
//! A form is reduced to roots and classes (`reduce`); if enough of it moves as keys do (`functional`), the cheapest way
//! through the keys is found (`regions`) from what each chord costs in each key (`local`). Key and function then put
//! forward scales (`scales`), the symbol has the last word on them (`fit`), and all of it is said in words (`label`,
//! `stretches`).
//!
//! It is not scoring: it never sees a note that was played. Pure; runs on whichever thread asks.

pub mod changes;
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

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use crate::chart::form::Form;
use crate::theory::{ChordSymbol, Key, PitchClassSet, ScaleRequest};

use fit::{Choice, Demands};
use label::Labelled;
use local::{InKey, local_cost};
use reduce::{Kinds, Progression};
use regions::Lattice;
use scales::{Placed, Sixth};
use stretches::{Stretch, stretches};
use tonality::Tonality;

pub use changes::Changes;
pub use reading::{Centre, ChordReading, FunctionalMoves, Reading, Region};
pub use sevenths::assume_sevenths;

/// What is set for chords of a form, over what is decided about them in it; it wins over everything found here.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Overrides {
    /// The scale of a chord, by its index in the form.
    pub scales: BTreeMap<usize, ScaleRequest>,
    /// The key a chord is heard in, by its index in the form.
    pub keys: BTreeMap<usize, Key>,
}

impl Overrides {
    /// The key that a chord of the form is to be heard in: the one given here, else what is decided about the chord.
    fn key(&self, form: &Form, index: usize) -> Option<Key> {
        self.keys.get(&index).copied().or(form.chords[index].decided.key)
    }
}

/// Reads a form: regions, functions, scales and the reasons for them.
pub fn read(form: &Form, overrides: &Overrides) -> Reading {
    let progression = Progression::of(form);
    let moves = functional::count_moves(&progression);
    let has_key = functional::has_key(&progression, moves);
    let lattice = Lattice::of(&progression).filter(|_| has_key);
    let centres = centres(form, &progression, lattice.as_ref(), overrides);
    let stretches = stretches(&centres, form.loops);
    let reader = Reader { form, overrides, progression: &progression, moves };
    let mut chords = vec![None; form.chords.len()];
    let mut known: HashMap<Sight, Arc<ChordReading>> = HashMap::new();
    for stretch in &stretches {
        let sixth = reader.sixth(stretch);
        let span = stretch.first..=stretch.last;
        for (index, read) in span.clone().zip(&mut chords[span]) {
            let Some(sight) = reader.sight(index, stretch.centre, sixth) else { continue };
            let chord = known.entry(sight).or_insert_with(|| Arc::new(reader.chord(&sight, index)));
            *read = Some(Arc::clone(chord));
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
    form: &Form,
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
        let set = overrides.key(form, index).map(Centre::Key);
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

/// Everything that the reading of one chord depends on: chords seen alike are read once, as choruses repeat themselves.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
struct Sight<'a> {
    symbol: ChordSymbol,
    kinds: Kinds,
    next_kinds: Option<Kinds>,
    next_text: &'a str,
    centre: Centre,
    sixth: Sixth,
    scale_set: Option<(&'a ScaleRequest, &'static str)>,
    key_set: bool,
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

    /// What the chord at `index` is read from; `None` for N.C.
    fn sight(&self, index: usize, centre: Centre, sixth: Sixth) -> Option<Sight<'_>> {
        let symbol = self.form.chords[index].symbol?;
        let item = self.progression.item_of[index]?;
        let next = self.progression.next(item);
        let kinds = |item| self.progression.context(item).kinds();
        Some(Sight {
            symbol,
            kinds: kinds(item),
            next_kinds: next.map(kinds),
            next_text: next.map_or("", |next| self.text_of(next)),
            centre,
            sixth,
            scale_set: self.scale_set(index),
            key_set: self.overrides.key(self.form, index).is_some(),
        })
    }

    /// Reads the chord at `index`, the first that is seen as `sight`.
    fn chord(&self, sight: &Sight, index: usize) -> ChordReading {
        let (words, mut choice) = match (sight.centre, self.progression.item_of[index]) {
            (Centre::Key(key), Some(item)) => self.in_key(sight, item, key),
            (Centre::Modal, _) | (_, None) => {
                let words = Words { function: label::MODAL.to_owned(), why: stretches::no_key(self.moves) };
                (words, scales::alone(sight.symbol))
            }
        };
        let demands = Demands::of(sight.symbol);
        choice.default = choice.default.patched(demands.bass(), PitchClassSet::EMPTY);
        let found = ChordReading {
            centre: sight.centre,
            function: words.function,
            why: if choice.set_by_symbol { words.why + ", set by the symbol" } else { words.why },
            scale: choice.default,
            alternatives: choice.alternatives,
            overridden: sight.key_set,
        };
        match sight.scale_set {
            Some((request, by)) => with_scale_set(request, by, &demands, found),
            None => found,
        }
    }

    fn in_key(&self, sight: &Sight, item: usize, key: Key) -> (Words, Choice) {
        let tonality = Tonality::of(key);
        let context = self.progression.context(item);
        let chord = InKey::new(context, tonality);
        let function = local_cost(context, tonality).function;
        let next = self.progression.next(item);
        let labelled = Labelled {
            chord,
            key,
            function,
            symbol: sight.symbol,
            next: sight.next_text,
            next_context: next.map(|next| self.progression.context(next)),
        };
        let words = Words { function: labelled.label(), why: labelled.reason() };
        let placed = Placed { chord, key, function, sixth: sight.sixth };
        (words, scales::in_key(sight.symbol, &placed))
    }

    /// The first chord of an item as it is written.
    fn text_of(&self, item: usize) -> &str {
        &self.form.chords[self.progression.items[item].chord].text
    }

    /// The scale that the player, or else the chart, sets for a chord, and who it was.
    fn scale_set(&self, index: usize) -> Option<(&ScaleRequest, &'static str)> {
        let chord = &self.form.chords[index];
        let set = self.overrides.scales.get(&index).or(chord.decided.scale.as_ref());
        let written = chord.scale.as_ref();
        set.map(|request| (request, "set by the player"))
            .or(written.map(|request| (request, "written in the chart")))
    }
}

/// Puts a scale that was set in place of the default, which stays in use.
fn with_scale_set(request: &ScaleRequest, by: &str, demands: &Demands, found: ChordReading) -> ChordReading {
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
