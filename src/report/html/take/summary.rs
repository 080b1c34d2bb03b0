//! The head of the page: which take it is, five sentences with their counts, and what to do next.

use maud::{Markup, html};

use crate::report::number::{Count, percent};
use crate::report::review::text::plural;
use crate::report::review::{Review, ShareRecord};
use crate::report::verdict::VerdictDocument;

/// The name of the chart.
pub fn title(review: &Review) -> &str {
    if review.chart.title.is_empty() { "Chords of the file" } else { &review.chart.title }
}

/// Which take it is.
pub fn source(review: &Review) -> String {
    match (&review.source.take, &review.source.file) {
        (Some(take), _) => format!("take {take}"),
        (None, Some(file)) => file.clone(),
        (None, None) => "a take that is not kept".to_owned(),
    }
}

/// Title, the line under it, the sentences, what next.
pub fn summary(review: &Review, verdict: Option<&VerdictDocument>, choruses: usize) -> Markup {
    html! {
        h1 { (title(review)) }
        p.meta { (meta(review, choruses)) }
        p.lead {
            @if review.totals.counted.0 > 0.0 { (sentences(review)) } @else { "No note of this take counts." }
        }
        @if let Some(verdict) = verdict {
            p { strong { "Asked" } ": " (verdict.sentence) "." }
        }
        (next(review))
    }
}

fn meta(review: &Review, choruses: usize) -> String {
    let chart = &review.chart;
    let key = chart.key.as_ref().map(|key| format!("key {key}"));
    let times = (choruses > 1).then(|| format!("{choruses} choruses"));
    let tempo = format!("{} beats a minute", chart.tempo.round());
    let bars = format!("{} bars in {}", chart.bars, chart.meter);
    let counting = review.settings.counting.to_owned();
    let written = chart.written_for();
    let known = [Some(source(review)), Some(bars), times, Some(tempo), key, written, Some(counting)];
    known.into_iter().flatten().collect::<Vec<String>>().join(" · ")
}

fn sentences(review: &Review) -> Markup {
    let totals = &review.totals;
    let landings = &totals.landings;
    html! {
        strong { (totals.chord.n) " of " (totals.counted) " notes were chord tones" }
        (interval(&totals.chord)) ". "
        @if let Some(running) = totals.running_the_scale {
            "Running the scale would give " (percent(running)) ". "
        }
        @if totals.outside.n.0 > 0.0 {
            (were(totals.outside.n, "note")) " outside: " (totals.resolved.n) " resolved, " (totals.open.n) " stayed open. "
        } @else {
            "No note was outside. "
        }
        @if landings.of > 0 {
            strong { (landings.n) " of " (landings.of) " changes were landed" }
            " on the third or seventh"
            @if let Some(share) = landings.share { " (" (percent(share)) "\u{a0}%)" }
            @if let Some(all) = landings.baseline {
                "; of all notes, " (percent(all)) "\u{a0}% were thirds or sevenths"
            }
            ". "
        } @else {
            "No change was met with a note in its first beat. "
        }
        "The line rested for " (Count(totals.rests.beats)) " of " (totals.rests.of) " beats."
    }
}

/// `1 note was`, `2 notes were`.
fn were(count: Count, what: &str) -> String {
    let verb = if count == Count(1.0) { "was" } else { "were" };
    format!("{} {verb}", plural(count, what))
}

fn interval(share: &ShareRecord) -> String {
    let known = share.share.zip(share.low).zip(share.high);
    known.map_or_else(String::new, |((share, low), high)| {
        format!(" ({}\u{a0}%, between {} and {})", percent(share), percent(low), percent(high))
    })
}

fn next(review: &Review) -> Markup {
    html! {
        section.next {
            h2 { "What next" }
            @if review.next.is_empty() {
                p { "Another chorus, or rest." }
            } @else {
                ol { @for next in &review.next { li { strong { (next.what) } ". " (next.why) } } }
            }
        }
    }
}
