//! The page of an assignment, as the student gets it: what to play, what is asked, what to listen for, and how often luck
//! alone decides.

use maud::{Markup, html};

use super::class::meta;
use super::page::Page;
use super::picture::{Drawing, Picture, figure};
use super::table::{Title, table};
use crate::report::assignment::{AskedBand, AssignmentDocument, OddsRecord, RECORDED_LANDINGS, band_words};
use crate::report::cautions::FOCUS;
use crate::report::number::{Count, percent};
use crate::report::table::{Cell, Column, Row, Table};

/// A page of an assignment.
#[derive(Clone, Copy, Debug)]
pub struct AssignmentPage<'a> {
    /// The assignment.
    pub assignment: &'a AssignmentDocument,
}

impl AssignmentPage<'_> {
    /// The whole file.
    pub fn write(&self) -> String {
        let asked = self.assignment;
        let name = asked.assignment.title.as_deref().unwrap_or(&asked.assignment.chart);
        let body = html! {
            h1 { (name) }
            p.meta { (meta(&asked.assignment)) }
            p.lead { (task(asked)) }
            (words(asked))
            (bands(asked))
            (luck(asked))
            section {
                h2 { "How it is counted" }
                p { (counting(asked)) }
                p.note { (FOCUS) }
                p.note { "Made by " (asked.tool) "." }
            }
        };
        Page { title: format!("{name}: assignment"), body }.write()
    }
}

/// What to play, in sentences.
fn task(asked: &AssignmentDocument) -> Markup {
    let tempo = asked.tempo.map(|(low, high)| {
        if low < high {
            format!("at {low} to {high} beats a minute")
        } else {
            format!("at {low} beats a minute")
        }
    });
    let keys = (!asked.keys.is_empty()).then(|| format!("in {}", asked.keys.join(" or ")));
    let feel = asked.feel.map(|feel| format!("feel {feel}"));
    let bars = asked.bars.map(|(first, last)| format!("bars {first} to {last}"));
    let how: Vec<String> = [bars, keys, tempo, feel].into_iter().flatten().collect();
    html! {
        "Play " strong { (asked.assignment.chart) }
        @if !how.is_empty() { ", " (how.join(", ")) }
        "."
        @if let Some(choruses) = asked.choruses {
            " " (choruses) @if choruses == 1 { " chorus or more." } @else { " choruses or more." }
        }
        " Each take needs " (asked.needs) " notes. Take as many attempts as you like: "
        (if asked.takes == "any two" { "the best two count together." } else { "the best two of the last five count together." })
    }
}

fn words(asked: &AssignmentDocument) -> Markup {
    let said = [("Practise", &asked.focus), ("Listen for", &asked.question), ("More", &asked.comment)];
    let said: Vec<(&str, &String)> =
        said.into_iter().filter_map(|(head, text)| Some((head, text.as_ref()?))).collect();
    html! {
        @if !said.is_empty() || asked.has_model {
            section.next {
                h2 { "Beside the numbers" }
                @for (head, text) in said { p { strong { (head) } ": " (text) } }
                @if asked.has_model { p { strong { "Model" } ": a take travels along; barwise assign model plays it." } }
            }
        }
    }
}

fn bands(asked: &AssignmentDocument) -> Markup {
    let mut rows = Table::new(["band", "asked", "beside it"].map(Column::words));
    for band in &asked.bands {
        rows.push(Row::new([
            Cell::from(band.measure),
            band_words(band.low, band.high).into(),
            beside(band, asked).into(),
        ]));
    }
    html! {
        section.keep {
            h2 { "What is asked" }
            (figure(&[picture(asked)], "What is asked"))
            (table(&rows, Title { id: "asked", caption: "Percent of the counted notes; landings: of the changes met" }))
        }
    }
}

fn beside(band: &AskedBand, asked: &AssignmentDocument) -> String {
    let [low, high] = asked.recorded_soloists.map(percent);
    match band.measure {
        "chord" => {
            let running =
                asked.running_the_scale.map(|share| format!("running the scale {}; ", percent(share)));
            format!("{}recorded soloists {low}–{high}", running.unwrap_or_default())
        }
        "open" => "resolved outside notes are free".to_owned(),
        "landings" => format!("an exercise; recorded soloists {}", percent(RECORDED_LANDINGS)),
        "outside" => "approach notes and all".to_owned(),
        _ => String::new(),
    }
}

/// Where the scale begins and ends.
const LEFT: f64 = 112.0;
const RIGHT: f64 = 832.0;

/// The way from band to band.
const BAND: f64 = 46.0;

fn place(share: f64) -> f64 {
    LEFT + share * (RIGHT - LEFT)
}

/// The bands on one scale, with the two comparisons at the band for chord.
fn picture(asked: &AssignmentDocument) -> Picture {
    let bottom = 34.0 + asked.bands.len() as f64 * BAND;
    let mut drawing = Drawing::default();
    for tenth in 0..=10 {
        let x = place(f64::from(tenth) / 10.0);
        drawing.line("hair", (x, 24.0), (x, bottom));
        drawing.text("m mid", (x, bottom + 16.0), &(tenth * 10).to_string());
    }
    drawing.text("m", (RIGHT + 15.0, bottom + 16.0), "%");
    for (index, band) in asked.bands.iter().enumerate() {
        let y = 50.0 + index as f64 * BAND;
        let (left, right) = (place(band.low), place(band.high));
        drawing.text("b z14", (0.0, y + 5.0), band.measure);
        drawing.rect("band", (left, y - 11.0), (right - left, 22.0), 0.0);
        for x in [left, right] {
            drawing.line("rule", (x, y - 11.0), (x, y + 11.0));
        }
        if band.measure == "chord" {
            comparisons(&mut drawing, asked, y);
        }
        let (class, x) = if right < 790.0 { ("b z13", right + 8.0) } else { ("b z13 end", left - 8.0) };
        drawing.text(class, (x, y + 4.5), &band_words(band.low, band.high));
    }
    let said = asked.bands.iter().map(|band| format!("{} {}", band.measure, band_words(band.low, band.high)));
    Picture {
        id: "bands-picture".to_owned(),
        title: "The bands that are asked for".to_owned(),
        desc: format!("{}. The table below has the same.", said.collect::<Vec<_>>().join(", ")),
        height: bottom + 24.0,
        drawing,
    }
}

fn comparisons(drawing: &mut Drawing, asked: &AssignmentDocument, y: f64) {
    if let Some(running) = asked.running_the_scale {
        let x = place(running);
        drawing.line("dash", (x, y - 34.0), (x, y + 16.0));
        let (class, at) = if running > 0.5 { ("end", x - 6.0) } else { ("", x + 6.0) };
        drawing.text(class, (at, y - 30.0), &format!("running the scale {}", percent(running)));
    }
    let [low, high] = asked.recorded_soloists.map(place);
    drawing.path("rule", &format!("M{low} {}v6H{high}v-6", y + 15.0));
    let [low_percent, high_percent] = asked.recorded_soloists.map(percent);
    let words = format!("recorded soloists {low_percent}–{high_percent}");
    drawing.text("m end", (low - 7.0, y + 24.0), &words);
}

fn luck(asked: &AssignmentDocument) -> Markup {
    let words = [Column::words("band")].into_iter();
    let numbers =
        ["true share", "notes", "met", "undecided", "clearly below", "clearly above"].map(Column::numbers);
    let mut rows = Table::new(words.chain(numbers));
    for band in &asked.bands {
        for odds in &band.odds {
            rows.push(odds_row(band.measure, odds));
        }
    }
    if rows.rows.is_empty() {
        return Markup::default();
    }
    html! {
        section.keep {
            h2 { "How often luck alone decides" }
            @for odds in asked.bands.iter().flat_map(|band| &band.odds) { p { (odds.sentence) } }
            (table(&rows, Title { id: "luck", caption: "Of 100 pairs of takes by a player whose true share is given" }))
            p.note { "A miss reads \"undecided\", which is never a fail, unless \"clearly\" is said. Exact, by the binomial, with notes over a design effect of " (Count(effect(asked))) "." }
        }
    }
}

fn effect(asked: &AssignmentDocument) -> f64 {
    asked.bands.iter().flat_map(|band| &band.odds).map(|odds| odds.design_effect).next().unwrap_or(1.0)
}

fn odds_row(measure: &str, odds: &OddsRecord) -> Row {
    let chances = [odds.met, odds.undecided, odds.clearly_below, odds.clearly_above];
    let chances = chances.map(in_a_hundred);
    let first = [measure.to_owned(), format!("{} %", percent(odds.share)), odds.notes.to_string()];
    Row::new(first.into_iter().chain(chances).map(Cell::from))
}

/// Pairs of takes in a hundred; where there are fewer than are printed, that is said.
fn in_a_hundred(chance: f64) -> String {
    const LEAST: f64 = 0.05;
    let pairs = chance * 100.0;
    if pairs > 1e-6 && pairs < LEAST { "under 0.1".to_owned() } else { Count(pairs).to_string() }
}

fn counting(asked: &AssignmentDocument) -> String {
    let other = match asked.counting {
        "lenient" => "Other scales count as scale (lenient)",
        _ => "Other scales count as outside (strict)",
    };
    let colours = match asked.named_colours {
        "chord" => "named colours as chord tones",
        _ => "named colours as scale",
    };
    format!("{other}, {colours}. \"Undecided\" is never a fail: another take may tell.")
}
