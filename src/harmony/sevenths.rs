//! Sevenths for charts written in triads.
//!
//! Common practice among jazz players: dominants get their 7, every other major triad a major seventh, minor triads a minor
//! one, diminished triads become sevenths. Which triads are dominants is read from the triads themselves.

use crate::chart::form::Form;
use crate::theory::ChordSymbol;
use crate::theory::chord::{Arpeggio, Quality};

use super::functional;
use super::local::{Function, local_cost};
use super::reduce::Progression;
use super::regions::Lattice;

/// The form with sevenths for its plain triads: V and V/x get 7, other major triads maj7, minor m7, diminished dim7.
///
/// The text of each chord stays as written. Triads with a colour, and those heard as something else over their bass, stay.
pub fn assume_sevenths(form: &Form) -> Form {
    let functions = functions(form);
    let mut form = form.clone();
    for (chord, function) in form.chords.iter_mut().zip(functions) {
        chord.symbol = chord.symbol.map(|symbol| with_seventh(symbol, function));
    }
    form
}

/// The function of each chord in the key found; `None` for N.C. and where there is no key.
fn functions(form: &Form) -> Vec<Option<Function>> {
    let progression = Progression::of(form);
    let moves = functional::count_moves(&progression);
    let has_key = functional::has_key(&progression, moves);
    let keys = Lattice::of(&progression).filter(|_| has_key).map(|lattice| lattice.keys_of_items());
    let function = |item: usize| {
        let key = keys.as_ref()?.get(item)?;
        Some(local_cost(progression.context(item), *key).function)
    };
    progression.item_of.iter().map(|item| item.and_then(function)).collect()
}

fn with_seventh(symbol: ChordSymbol, function: Option<Function>) -> ChordSymbol {
    let dominant = matches!(function, Some(Function::DominantTriad | Function::Secondary));
    let seventh = match symbol.quality.arpeggio {
        Arpeggio::Major if dominant => Arpeggio::Dominant7,
        Arpeggio::Major => Arpeggio::Major7,
        Arpeggio::Minor => Arpeggio::Minor7,
        Arpeggio::DiminishedTriad => Arpeggio::Diminished7,
        _ => return symbol,
    };
    if !symbol.quality.colours.is_empty() || symbol.heard() != symbol {
        return symbol;
    }
    ChordSymbol { quality: Quality::plain(seventh), ..symbol }
}
