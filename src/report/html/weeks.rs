//! The page of weeks: for each chart a dot and its interval a week, what may be said of them, and the tables.
//!
//! The same picture stands in the page of a take of which there are others.

use crate::report::review::written_for;
use jiff::civil::Date;
use maud::{Markup, html};

use super::labels::{Area, Taken};
use super::page::Page;
use super::picture::{Drawing, Picture, Px, WIDTH, figure};
use super::table::{Title, folding, table};
use super::text_width::text_width;
use crate::report::number::percent;
use crate::report::progress::picture::day_words;
use crate::report::progress::words::{Said, all_charts, one_chart, title};
use crate::report::progress::{ChartRecord, GroupRecord, ProgressDocument, WeekRecord};
use crate::report::table::{Cell, Column, Row, Table};
use crate::tally::verdict::Measure;

/// A page of weeks.
#[derive(Clone, Copy, Debug)]
pub struct WeeksPage<'a> {
    /// The document.
    pub progress: &'a ProgressDocument,
}

impl WeeksPage<'_> {
    /// The whole file.
    pub fn write(&self) -> String {
        let progress = self.progress;
        let since = progress.since.as_ref().map(|since| format!(" · takes since {since}"));
        let written = written_for(progress.written).map(|words| format!(" · {words}"));
        let several = progress.charts.len() > 1;
        let body = html! {
            h1 { "Over the weeks" }
            p.meta { (progress.today) (since.unwrap_or_default()) (written.unwrap_or_default()) }
            p { (progress.caution) }
            @if progress.charts.is_empty() { p.lead { "No take is kept yet." } }
            @for (index, chart) in progress.charts.iter().enumerate() {
                section {
                    h2 { (title(chart)) }
                    (of_chart(progress, chart, index))
                    (groups(&chart.kinds, &format!("kinds-{index}"), "By kind of chord"))
                    (groups(&chart.regions, &format!("regions-{index}"), "By the key chords are heard in"))
                }
            }
            @if several {
                section {
                    h2 { "All charts" }
                    (said(&all_charts(progress)))
                    (groups(&progress.kinds, "kinds", "By kind of chord, all charts"))
                    (groups(&progress.keys, "keys", "By the key chords are heard in, all charts"))
                }
            }
            p.note { "Made by " (progress.tool) "." }
        };
        Page { title: "Over the weeks".to_owned(), body }.write()
    }
}

/// What may be said of a chart, its picture and the table of its weeks. `index` tells it from others on the page.
pub fn of_chart(progress: &ProgressDocument, chart: &ChartRecord, index: usize) -> Markup {
    let caption = caption(chart);
    html! {
        (said(&one_chart(progress, chart, Measure::Chord)))
        @if !chart.weeks.is_empty() {
            (figure(&[picture(progress, chart, index)], "Chord share by week"))
            (folding(&week_rows(chart), Title { id: &format!("weeks-{index}"), caption: &caption }))
        }
    }
}

/// Labels and words; what has no label goes on with the one above.
fn said(said: &Said) -> Markup {
    let mut paragraphs: Vec<(&str, String)> = Vec::new();
    for (label, words) in said.iter().filter(|(label, words)| !label.is_empty() || !words.is_empty()) {
        match paragraphs.last_mut() {
            Some((_, before)) if label.is_empty() => before.extend(["; ", words]),
            _ => paragraphs.push((label, words.clone())),
        }
    }
    // On a terminal blanks part what stands side by side.
    let parted = |words: &str| words.replace(":  ", ": ").replace("  ", ", ");
    html! { @for (label, words) in paragraphs { p { strong { (label) } ": " (parted(&words)) } } }
}

/// `Weeks of this chart at 124 to 132 beats a minute`, and how they were counted.
fn caption(chart: &ChartRecord) -> String {
    let tempi = chart.tempi_compared.map(|[low, high]| {
        if low < high {
            format!(" at {low} to {high} beats a minute")
        } else {
            format!(" at {low} beats a minute")
        }
    });
    let ways: Vec<String> =
        chart.counted.iter().map(|way| format!("{}, rules {}", way.counting, way.rules)).collect();
    format!("Weeks of this chart{}; counted {}", tempi.unwrap_or_default(), ways.join(", then "))
}

fn week_rows(chart: &ChartRecord) -> Table {
    let ways = (chart.counted.len() > 1).then(|| Column::numbers("way of counting"));
    let numbers = ["takes", "notes", "chord tones", "share", "interval", "landings", "all notes", "open"];
    let columns = [Column::words("week of")].into_iter().chain(numbers.map(Column::numbers)).chain(ways);
    let mut table = Table::new(columns);
    for week in &chart.weeks {
        let landings = &week.landings;
        let whole =
            |share: Option<f64>| share.map_or_else(String::new, |share| format!("{} %", percent(share)));
        let ends = week.chord.low.zip(week.chord.high);
        let ends = ends.map_or_else(String::new, |(low, high)| format!("{}–{}", percent(low), percent(high)));
        let cells = [
            week.monday.clone(),
            week.takes.to_string(),
            week.counted.to_string(),
            week.chord.n.to_string(),
            whole(week.chord.share),
            ends,
            format!("{} of {}", landings.n, landings.of),
            whole(landings.baseline),
            whole(week.open.share),
        ];
        let way = (chart.counted.len() > 1).then(|| (week.counted_as + 1).to_string());
        table.push(Row::new(cells.into_iter().chain(way).map(Cell::from)));
    }
    table
}

fn groups(groups: &[GroupRecord], id: &str, caption: &str) -> Markup {
    if groups.is_empty() {
        return Markup::default();
    }
    let numbers = ["takes", "notes", "chord share", "interval", "open", "landings"].map(Column::numbers);
    let mut rows = Table::new([Column::words("over")].into_iter().chain(numbers));
    for group in groups {
        let whole =
            |share: Option<f64>| share.map_or_else(String::new, |share| format!("{} %", percent(share)));
        let ends = group.chord.low.zip(group.chord.high);
        let ends = ends.map_or_else(String::new, |(low, high)| format!("{}–{}", percent(low), percent(high)));
        let cells = [
            group.name.clone(),
            group.takes.to_string(),
            group.counted.to_string(),
            whole(group.chord.share),
            ends,
            whole(group.open.share),
            format!("{} of {}", group.landings.n, group.landings.of),
        ];
        rows.push(Row::new(cells.map(Cell::from)));
    }
    table(&rows, Title { id, caption })
}

// The picture.

/// Where the weeks begin and end, and where the shares do.
const LEFT: f64 = 56.0;
const RIGHT: f64 = 730.0;
const TOP: f64 = 16.0;
const BOTTOM: f64 = 190.0;
const HEIGHT: f64 = 218.0;

/// The shares drawn, a little wider than what is shown.
struct Scale {
    low: f64,
    high: f64,
}

impl Scale {
    fn of(progress: &ProgressDocument, chart: &ChartRecord) -> Self {
        let ends = chart.weeks.iter().flat_map(|week| [week.chord.low, week.chord.high]).flatten();
        let shown = ends.chain(chart.running_the_scale).chain(progress.recorded_soloists);
        let (low, high) =
            shown.fold((1.0, 0.0), |(low, high), share| (f64::min(low, share), f64::max(high, share)));
        let tenth = |share: f64| (share * 10.0 + 1e-9).floor() / 10.0;
        Self { low: tenth(low).min(0.9), high: (tenth(high - 1e-6) + 0.1).min(1.0) }
    }

    fn y(&self, share: f64) -> f64 {
        BOTTOM - (share - self.low) / (self.high - self.low) * (BOTTOM - TOP)
    }
}

fn picture(progress: &ProgressDocument, chart: &ChartRecord, index: usize) -> Picture {
    let scale = Scale::of(progress, chart);
    let places = places(&chart.weeks);
    let mut drawing = Drawing::default();
    let tenths = ((scale.high - scale.low) * 10.0).round() as usize;
    for tenth in 0..=tenths {
        let share = scale.low + tenth as f64 / 10.0;
        let y = scale.y(share);
        drawing.line("hair", (LEFT - 8.0, y), (RIGHT + 8.0, y));
        drawing.text("m end", (LEFT - 14.0, y + 4.0), &percent(share).to_string());
    }
    comparisons(&mut drawing, progress, chart, &scale);
    let mut taken = Taken::nothing(Area::at(0.0, 0.0, WIDTH, HEIGHT));
    let with_year = year(chart.weeks.first()) != year(chart.weeks.last());
    for (number, (week, &x)) in chart.weeks.iter().zip(&places).enumerate() {
        if number > 0 && chart.weeks[number - 1].counted_as != week.counted_as {
            let between = f64::midpoint(places[number - 1], x);
            drawing.line("dash", (between, TOP), (between, BOTTOM));
        }
        let day = day_words(&week.monday, with_year);
        let width = text_width(day.trim(), 12.0);
        if taken.place([Area::at(x - width / 2.0 - 4.0, BOTTOM + 8.0, width + 8.0, 14.0)]).is_some() {
            drawing.text("m mid", (x, BOTTOM + 20.0), day.trim());
        }
        dot(&mut drawing, week, x, &scale, &mut taken);
    }
    Picture {
        id: format!("weeks-picture-{index}"),
        title: "Chord share by week".to_owned(),
        desc: description(chart),
        height: HEIGHT,
        drawing,
    }
}

fn description(chart: &ChartRecord) -> String {
    let share = |week: &WeekRecord| {
        let share = week.chord.share?;
        Some(format!("{}: {}", day_words(&week.monday, false).trim(), percent(share)))
    };
    let shares: Vec<String> = chart.weeks.iter().filter_map(share).collect();
    format!(
        "A dot for the chord share of each week with a line for its 95 percent interval. {}. A dashed line stands at running \
         the scale, a bracket at recorded soloists. A dashed upright, if there is one, parts ways of counting.",
        shares.join(", ")
    )
}

fn year(week: Option<&WeekRecord>) -> Option<&str> {
    week.and_then(|week| week.monday.get(..4))
}

/// Where each week stands: by its date. Weeks that share a date, counted in different ways, stand beside each other.
fn places(weeks: &[WeekRecord]) -> Vec<f64> {
    let day = |week: &WeekRecord| week.monday.parse::<Date>().ok();
    let first = weeks.first().and_then(day);
    let days = weeks.iter().enumerate().map(|(index, week)| {
        let since =
            first.zip(day(week)).and_then(|(first, day)| first.until(day).ok()).map(|span| span.get_days());
        let beside = if index > 0 && weeks[index - 1].monday == week.monday { 3.5 } else { 0.0 };
        since.map_or(index as f64 * 7.0, f64::from) + beside
    });
    let days: Vec<f64> = days.collect();
    let last = days.last().copied().unwrap_or(0.0);
    // Few weeks stand close together, not at the ends.
    let span = last.max(7.0 * 6.0);
    let left = LEFT + 20.0 + (span - last) / span * (RIGHT - LEFT - 40.0) / 2.0;
    days.iter().map(|day| left + day / span * (RIGHT - LEFT - 40.0)).collect()
}

fn dot(drawing: &mut Drawing, week: &WeekRecord, x: f64, scale: &Scale, taken: &mut Taken) {
    let Some(((share, low), high)) = week.chord.share.zip(week.chord.low).zip(week.chord.high) else {
        return;
    };
    let (y, low, high) = (scale.y(share), scale.y(low), scale.y(high));
    drawing.line("lc", (x, low), (x, high));
    for end in [low, high] {
        drawing.line("lc", (x - 5.0, end), (x + 5.0, end));
    }
    drawing.disc("c", (x, y), 5.0);
    taken.take(Area::at(x - 6.0, high.min(low), 12.0, (low - high).abs()));
    let number = percent(share).to_string();
    let width = text_width(&number, 13.0);
    let beside = [Area::at(x + 9.0, y - 7.0, width, 14.0), Area::at(x - 9.0 - width, y - 7.0, width, 14.0)];
    if let Some(at) = taken.place(beside) {
        drawing.text("b z13", (at.left, y + 4.5), &number);
    }
}

/// The dashed line of running the scale, and the bracket of recorded soloists, to the right of the weeks.
fn comparisons(drawing: &mut Drawing, progress: &ProgressDocument, chart: &ChartRecord, scale: &Scale) {
    let [low, high] = progress.recorded_soloists;
    let (y_low, y_high) = (scale.y(low), scale.y(high));
    let x = RIGHT + 14.0;
    drawing.path("rule", &format!("M{} {}h6V{}h-6", Px(x), Px(y_low), Px(y_high)));
    drawing.text("m", (x + 12.0, y_low), "recorded");
    drawing.text("m", (x + 12.0, y_low + 14.0), &format!("soloists {}–{}", percent(low), percent(high)));
    if let Some(running) = chart.running_the_scale {
        let y = scale.y(running);
        drawing.line("dash", (LEFT - 8.0, y), (RIGHT + 8.0, y));
        drawing.text("", (x + 12.0, y - 5.0), &format!("running the scale {}", percent(running)));
    }
}
