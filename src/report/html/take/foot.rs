//! How the take was read: what was left out, the rules and settings, how intervals were made, sources and cautions.

use maud::{Markup, html};

use super::super::table::{Title, folded};
use crate::report::number::{hundredths, percent};
use crate::report::review::text::{foot, left_out};
use crate::report::review::{Review, ShareRecord};
use crate::report::table::{Cell, Column, Row, Table};

/// Two columns of small print, then the settings.
pub fn section(review: &Review) -> Markup {
    html! {
        section {
            h2 { "How this was read" }
            div.two {
                div {
                    p.note { (rules(review)) }
                    p.note { (left_out(&review.totals).unwrap_or_else(|| "No note was left out.".to_owned())) }
                    @for warning in review.warnings.iter().filter(|warning| !warning.is_beside_figures()) {
                        p.note { (warning.message) }
                    }
                    p.note { (intervals(review)) }
                    p.note { (origin(review)) }
                }
                div { @for sentence in foot() { p.note { (sentence) } } }
            }
            div.small {
                (folded(&settings(review), Title { id: "settings", caption: "Settings that could change a figure" }, "short"))
            }
        }
    }
}

/// The rules of the count in a few sentences, with the numbers that are settings.
fn rules(review: &Review) -> String {
    let number = |name: &str| review.settings.others.get(name).and_then(serde_json::Value::as_f64);
    let rings = |name: &str| number(name).map_or_else(String::new, |share| format!("{} %", percent(share)));
    let (space, run) = (rings("space_share"), rings("run_share"));
    let other = match review.settings.counting {
        "lenient" => "it counts as scale",
        _ => "counted strictly, it is outside",
    };
    format!(
        "A note struck early belongs to the next chord when {space} of it rings into that chord, {run} in a running line. \
         Another scale (~): a listed alternative that explains at least 4 notes, and 5 %, more than the scale in force over all \
         visits to that chord; {other}. It tells where the line leans, not that the chord was heard. Landing: the first note of \
         a new chord, if it comes within its first beat. Outside is a count: an approach note is in it too, marked >. Rest: half \
         a beat or more of silence. A note struck together with others counts as a part. Rules {}.",
        review.rules
    )
}

/// Where intervals come from, with the design effects they were made with.
fn intervals(review: &Review) -> String {
    let totals = &review.totals;
    let shares = [
        ("chord", &totals.chord),
        ("scale", &totals.scale),
        ("outside", &totals.outside),
        ("resolved", &totals.resolved),
        ("open", &totals.open),
    ];
    let effect = |(name, share): (&str, &ShareRecord)| format!("{name} {}", hundredths(share.design_effect));
    format!(
        "Intervals: Wilson, 95 %. Notes of a bar hang together, so a count may stand for fewer; by how much is taken from the \
         bars of this take, between 1 and 3: {}.",
        shares.map(effect).join(", ")
    )
}

/// Which program, which file, which chart.
fn origin(review: &Review) -> String {
    let short = |hash: &str| hash.chars().take(12).collect::<String>();
    let take = review.source.sha256.as_deref().map(|hash| format!(" Take {}.", short(hash)));
    format!(
        "Made by {}. Chart {}.{} (The first twelve signs of their SHA-256.)",
        review.tool,
        short(&review.chart.sha256),
        take.unwrap_or_default()
    )
}

fn settings(review: &Review) -> Table {
    let mut table = Table::new([Column::words("setting"), Column::words("value")]);
    let counting = [("counting".to_owned(), review.settings.counting.to_owned())].into_iter();
    let others = review.settings.others.iter().map(|(name, value)| {
        let value = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
        (name.replace('_', "-"), value)
    });
    for (name, value) in counting.chain(others) {
        table.push(Row::new([Cell::from(name), Cell::from(value)]));
    }
    table
}
