//! The sentences below the chart, each in the longest form that has room, the weightiest first where there are few rows.

use super::seen::Seen;
use crate::report::review::chorus_words::{
    Part, asked, chord_share, fit, landings, landings_brief, rests, rests_in_brief, running_the_scale,
};
use crate::screen::canvas::Canvas;
use crate::screen::theme::Role;
use crate::tally::verdict::Measure;

/// A row of text.
pub(super) struct Sentence {
    /// Its text in forms from the longest to the shortest.
    forms: Vec<String>,
    /// Where there are few rows those of a low weight come first.
    weight: u8,
    /// Whether a blank row stands above it, where there is room.
    is_apart: bool,
}

impl Sentence {
    fn new(weight: u8, forms: impl IntoIterator<Item = String>) -> Self {
        Self { forms: forms.into_iter().collect(), weight, is_apart: false }
    }

    /// The longest form that so many columns hold; else the shortest, which is cut.
    fn fitting(&self, width: usize) -> &str {
        let fits = self.forms.iter().find(|form| form.chars().count() <= width);
        fits.or(self.forms.last()).map_or("", String::as_str)
    }
}

/// How many rows of text the screen should not go below.
pub(super) const FEWEST: u16 = 3;

/// All sentences of a part, in the order they are read.
pub(super) fn sentences(seen: &Seen, part: Part) -> Vec<Sentence> {
    let review = &seen.review;
    let mut all = Vec::new();
    if review.totals.counted.0 <= 0.0 {
        all.push(Sentence::new(0, ["no note counted in this take: nothing to tell".to_owned()]));
    } else {
        all.push(Sentence {
            is_apart: true,
            ..Sentence::new(0, [landings(review, part), landings_brief(review, part)])
        });
        let share = chord_share(review, part).unwrap_or_else(|| "no note counted here".to_owned());
        let found = part.figures(review).chord.share;
        let asked = asked(Measure::Chord, found, seen.bands.as_ref());
        let with_asked = asked.map_or_else(|| share.clone(), |asked| format!("{share}, {asked}"));
        let running =
            running_the_scale(review).map_or_else(String::new, |running| format!("      {running}"));
        all.push(Sentence::new(1, [format!("{with_asked}{running}"), with_asked, share]));
        all.push(Sentence::new(4, [rests(review, part), rests_in_brief(review, part)]));
    }
    all.extend(fit(review).map(|fit| Sentence::new(5, [format!("{fit}   s keep it"), fit])));
    all.extend(seen.granted.as_ref().map(|granted| Sentence::new(6, [granted.words(), granted.brief()])));
    all.extend(seen.notes_to_self.last().map(|note| Sentence::new(7, [format!("to self: {note}")])));
    all.extend(next(seen));
    all
}

/// What next, numbered by its keys.
fn next(seen: &Seen) -> impl Iterator<Item = Sentence> {
    let nothing = seen.review.next.is_empty();
    let nothing = nothing.then(|| vec!["next  another chorus, or rest".to_owned()]);
    let suggestions = (1..).zip(&seen.review.next).map(|(number, next)| {
        let lead = if number == 1 { "next" } else { "    " };
        let what = format!("{lead}  {number}  {}", small(&next.what));
        let why = small(next.why.trim_end_matches('.'));
        vec![format!("{what}: {why}"), what]
    });
    let all: Vec<Vec<String>> = nothing.into_iter().chain(suggestions).collect();
    (0..).zip(all).map(|(nth, forms)| {
        let weight = if nth == 0 { 2 } else { 8 + nth };
        Sentence { is_apart: nth == 0, ..Sentence::new(weight, forms) }
    })
}

/// A text that goes on in a sentence: with a small letter first.
pub(in crate::screen) fn small(text: &str) -> String {
    let mut signs = text.chars();
    signs.next().map(|first| first.to_lowercase().chain(signs).collect()).unwrap_or_default()
}

/// Draws the sentences between two rows, the second not included: the weightiest where not all have room.
pub(super) fn draw(all: &[Sentence], top: u16, end: u16, canvas: &mut Canvas<'_>) {
    let rows = usize::from(end.saturating_sub(top));
    let mut by_weight: Vec<usize> = (0..all.len()).collect();
    by_weight.sort_by_key(|&index| all[index].weight);
    by_weight.truncate(rows);
    let mut blanks = rows - by_weight.len();
    let mut y = top;
    for (index, sentence) in all.iter().enumerate().filter(|(index, _)| by_weight.contains(index)) {
        if sentence.is_apart && blanks > 0 {
            blanks -= 1;
            y += 1;
        }
        let width = canvas.width().saturating_sub(2);
        let role = if index == 0 { Role::Now } else { Role::Plain };
        canvas.write_within(1, y, width, sentence.fitting(width.into()), role);
        y += 1;
    }
}
