//! The tone mix: shares with their intervals on one scale, what was asked, and the two comparisons.

use maud::{Markup, html};

use super::super::picture::{Drawing, Picture, WIDTH, figure};
use super::super::table::{Title, table};
use crate::report::number::{Count, percent};
use crate::report::review::text::{beside_figures, fits};
use crate::report::review::{Review, ShareRecord, Totals};
use crate::report::table::{Cell, Column, Row, Table};
use crate::report::verdict::{BandRecord, VerdictDocument};

/// Where the scale begins and ends.
const LEFT: f64 = 112.0;
const RIGHT: f64 = 832.0;

/// The height of the picture, and of its scale.
const HEIGHT: f64 = 190.0;
const GRID: (f64, f64) = (28.0, 166.0);

/// A row of the picture: what it shows, at which height, in which fill and line.
struct Layer<'a> {
    name: &'static str,
    share: &'a ShareRecord,
    y: f64,
    fill: &'static str,
    line: &'static str,
}

/// Where a share stands.
fn place(share: f64) -> f64 {
    LEFT + share * (RIGHT - LEFT)
}

/// Sentences, picture, table.
pub fn section(review: &Review, verdict: Option<&VerdictDocument>) -> Markup {
    html! {
        section {
            h2 { "Tone mix" }
            @for sentence in beside_figures(review).chain(fits(review)) { p { (sentence) } }
            (figure(&[picture(review, verdict)], "Tone mix"))
            (table(&rows(review, verdict), Title {
                id: "mix",
                caption: &format!("Shares of {} counted notes, with the 95 % interval", review.totals.counted),
            }))
            @if let Some(verdict) = verdict {
                @for sentence in verdict.sentences(review) { p.note { (sentence) } }
            }
        }
    }
}

fn picture(review: &Review, verdict: Option<&VerdictDocument>) -> Picture {
    let totals = &review.totals;
    let layers = [
        Layer { name: "chord", share: &totals.chord, y: 52.0, fill: "c", line: "lc" },
        Layer { name: "scale", share: &totals.scale, y: 108.0, fill: "s", line: "ls" },
        Layer { name: "outside", share: &totals.outside, y: 146.0, fill: "x", line: "lx" },
    ];
    let mut drawing = Drawing::default();
    grid(&mut drawing);
    for layer in &layers {
        if let Some(band) = band(verdict, layer.name) {
            asked(&mut drawing, band, layer.y);
        }
    }
    comparisons(&mut drawing, totals);
    for layer in &layers {
        share(&mut drawing, layer);
    }
    Picture {
        id: "mix-picture".to_owned(),
        title: "Tone mix with intervals".to_owned(),
        desc: description(totals),
        height: HEIGHT,
        drawing,
    }
}

fn description(totals: &Totals) -> String {
    let [low, high] = totals.recorded_soloists.map(percent);
    let running = totals.running_the_scale.map_or_else(String::new, |share| {
        format!(" A dashed line stands at {}, the chord share of running the scale.", percent(share))
    });
    format!(
        "Chord tones {} of {}, scale tones {}, outside {}. A mark shows each share, a line its 95 percent interval.{running} \
         A bracket marks {low} to {high}, the chord share of the middle half of recorded soloists.",
        totals.chord.n, totals.counted, totals.scale.n, totals.outside.n
    )
}

fn grid(drawing: &mut Drawing) {
    for tenth in 0..=10 {
        let x = place(f64::from(tenth) / 10.0);
        drawing.line("hair", (x, GRID.0), (x, GRID.1));
        drawing.text("m mid", (x, HEIGHT - 6.0), &(tenth * 10).to_string());
    }
    drawing.text("m", (RIGHT + 15.0, HEIGHT - 6.0), "%");
}

fn band<'a>(verdict: Option<&'a VerdictDocument>, measure: &str) -> Option<&'a BandRecord> {
    verdict?.bands.iter().find(|band| band.measure == measure)
}

/// A pale bar with ruled ends.
fn asked(drawing: &mut Drawing, band: &BandRecord, y: f64) {
    let (left, right) = (place(band.asked_low), place(band.asked_high));
    drawing.rect("band", (left, y - 13.0), (right - left, 26.0), 0.0);
    for x in [left, right] {
        drawing.line("rule", (x, y - 13.0), (x, y + 13.0));
    }
    drawing.text("m mid", (f64::midpoint(left, right), y - 17.0), &format!("asked {}", asked_words(band)));
}

/// The dashed line of running the scale and the bracket of recorded soloists, around the row of the chord.
fn comparisons(drawing: &mut Drawing, totals: &Totals) {
    if let Some(running) = totals.running_the_scale {
        let x = place(running);
        drawing.line("dash", (x, 16.0), (x, 70.0));
        let (class, at) = if running > 0.5 { ("end", x - 6.0) } else { ("", x + 6.0) };
        drawing.text(class, (at, 18.0), &format!("running the scale {}", percent(running)));
    }
    let [low, high] = totals.recorded_soloists.map(place);
    drawing.path("rule", &format!("M{low} 72v6H{high}v-6"));
    let [low_percent, high_percent] = totals.recorded_soloists.map(percent);
    let words = format!("recorded soloists {low_percent}–{high_percent}");
    drawing.text("m end", (low - 7.0, 81.0), &words);
}

/// The mark of a share in its interval, its count before it and its percentage behind.
fn share(drawing: &mut Drawing, layer: &Layer<'_>) {
    let Layer { name, share, y, fill, line } = layer;
    drawing.text("b z14", (0.0, y + 5.0), name);
    drawing.text("m end z13", (LEFT - 12.0, y + 5.0), &share.n.to_string());
    let Some(((part, low), high)) = share.share.zip(share.low).zip(share.high) else { return };
    let (left, right) = (place(low), place(high));
    drawing.line(line, (left, *y), (right, *y));
    for x in [left, right] {
        drawing.line(line, (x, y - 5.0), (x, y + 5.0));
    }
    drawing.rect(fill, (place(part) - 6.5, y - 6.5), (13.0, 13.0), 2.0);
    let words = format!("{} %", percent(part));
    let room = right + 10.0 + 40.0 < WIDTH;
    let (class, x) = if room { ("b z13", right + 10.0) } else { ("b z13 end", left - 10.0) };
    drawing.text(class, (x, y + 4.5), &words);
}

/// `55–70`, `at most 5`, `at least 50`.
fn asked_words(band: &BandRecord) -> String {
    match (percent(band.asked_low), percent(band.asked_high)) {
        (0, high) => format!("at most {high}"),
        (low, 100) => format!("at least {low}"),
        (low, high) => format!("{low}–{high}"),
    }
}

fn rows(review: &Review, verdict: Option<&VerdictDocument>) -> Table {
    let totals = &review.totals;
    let numbers = ["notes", "share", "interval"].map(Column::numbers);
    let words = verdict.map(|_| ["asked", "found"].map(Column::words)).into_iter().flatten();
    let columns = [Column::words("layer")].into_iter().chain(numbers).chain([Column::words("beside it")]);
    let mut table = Table::new(columns.chain(words));
    let mut push = |name: &str, measure: &str, figures: [String; 3], beside: String| {
        let band = band(verdict, measure);
        let asked = band.map_or_else(|| "any".to_owned(), asked_words);
        let found = band.map_or_else(String::new, |band| band.verdict.to_owned());
        let cells = [name.to_owned()].into_iter().chain(figures).chain([beside, asked, found]);
        table.push(Row::new(cells.map(Cell::from)));
    };
    let leaning = || format!("{} of another scale (~)", totals.other.n);
    push("chord", "chord", figures(&totals.chord), beside_chord(totals));
    push("scale", "scale", figures(&totals.scale), String::new());
    if totals.other.n.0 > 0.0 {
        push("another scale", "", figures(&totals.other), leaning());
    }
    push("outside", "outside", figures(&totals.outside), String::new());
    push("outside, resolved", "resolved", figures(&totals.resolved), String::new());
    push("outside, open", "open", figures(&totals.open), String::new());
    push("landings", "landings", landings(totals), beside_landings(totals));
    push("rests", "", rests(totals), beside_rests(totals));
    table
}

fn figures(share: &ShareRecord) -> [String; 3] {
    let part = share.share.map_or_else(String::new, |share| format!("{} %", percent(share)));
    [share.n.to_string(), part, interval(share.low, share.high)]
}

fn interval(low: Option<f64>, high: Option<f64>) -> String {
    low.zip(high).map_or_else(String::new, |(low, high)| format!("{}–{}", percent(low), percent(high)))
}

fn landings(totals: &Totals) -> [String; 3] {
    let landings = &totals.landings;
    let part = landings.share.map_or_else(String::new, |share| format!("{} %", percent(share)));
    [format!("{} of {}", landings.n, landings.of), part, interval(landings.low, landings.high)]
}

fn rests(totals: &Totals) -> [String; 3] {
    let rests = &totals.rests;
    [format!("{} of {}", Count(rests.beats), rests.of), String::new(), String::new()]
}

fn beside_chord(totals: &Totals) -> String {
    let [low, high] = totals.recorded_soloists.map(percent);
    let running = totals.running_the_scale.map(|share| format!("running the scale {}; ", percent(share)));
    format!("{}recorded soloists {low}–{high}", running.unwrap_or_default())
}

fn beside_landings(totals: &Totals) -> String {
    let all = totals
        .landings
        .baseline
        .map(|all| format!("thirds and sevenths among all notes: {} %", percent(all)));
    all.unwrap_or_default()
}

fn beside_rests(totals: &Totals) -> String {
    format!("beats; the longest stretch without a rest: {}", Count(totals.rests.longest_run_beats))
}
