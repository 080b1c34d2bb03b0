//! Where the line was played: on the neck where strings are known, else on the keys.

use maud::{Markup, html};

use super::{keyboard, neck};
use crate::report::number::Count;
use crate::report::review::text::plural;
use crate::report::review::{LayerCounts, PlacesRecord, Review};

/// Picture and table.
pub fn section(review: &Review) -> Markup {
    let Some(places) = review.places.as_ref().filter(|places| !places.keys.is_empty()) else {
        return Markup::default();
    };
    let all: usize = places.keys.iter().map(|key| key.counts.notes).sum();
    let on_strings: usize = places.on_strings.iter().map(|place| place.counts.notes).sum();
    if on_strings * 2 > all { on_neck(places, all - on_strings) } else { on_keys(places) }
}

fn on_neck(places: &PlacesRecord, without: usize) -> Markup {
    html! {
        section.keep {
            h2 { "On the neck" }
            p.note {
                "Area and number: how often. Fill: the layer most often played at that place."
                @if without > 0 {
                    " Not drawn, as no string is known: " (plural(Count(without as f64), "note")) "."
                }
            }
            (neck::figure_and_table(places))
        }
    }
}

fn on_keys(places: &PlacesRecord) -> Markup {
    html! {
        section.keep {
            h2 { "On the keys" }
            p.note { "Area and number: how often. Fill: the layer most often played on that key." }
            (keyboard::figure_and_table(places))
        }
    }
}

/// The fill of the layer most often played at a place; of two alike the one nearer to the chord.
pub(super) fn commonest(counts: &LayerCounts) -> &'static str {
    let layers = [(counts.chord, "c"), (counts.scale, "s"), (counts.other, "o"), (counts.outside, "x")];
    layers.into_iter().rev().max_by_key(|layer| layer.0).map_or("u", |layer| layer.1)
}

/// The radius of a disc whose area says how often, where the most often played place has `largest`.
pub(super) fn radius(notes: usize, most: usize, largest: f64) -> f64 {
    const SMALLEST: f64 = 4.0;
    (largest * (notes as f64 / most.max(1) as f64).sqrt()).max(SMALLEST)
}
