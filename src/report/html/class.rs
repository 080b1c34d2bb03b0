//! The page of a class: a row a student, the bars of the form over all of them, the bands, the files. Made for printing.

use maud::{Markup, html};

use super::page::Page;
use super::picture::{Drawing, Picture, WIDTH, figure};
use super::table::{Title, table};
use super::text_width::text_width;
use crate::report::assignment::{AssignmentName, band_words, day_words};
use crate::report::cautions::FOCUS;
use crate::report::class::text::KEEP;
use crate::report::class::{ClassBarRecord, ClassDocument, ClassLandings, StudentRecord};
use crate::report::number::percent;
use crate::report::review::ShareRecord;
use crate::report::table::{Cell, Column, Row, Table};

/// A page of a class.
#[derive(Clone, Copy, Debug)]
pub struct ClassPage<'a> {
    /// The class.
    pub class: &'a ClassDocument,
}

impl ClassPage<'_> {
    /// The whole file.
    pub fn write(&self) -> String {
        let class = self.class;
        let name = title(&class.assignment);
        let body = html! {
            h1 { (name) }
            p.meta { (meta(&class.assignment)) }
            p.lead { strong { "Heard from " (class.heard) " of " (class.students.len()) ": " } (findings(class)) "." }
            p { "For study, not for marks. " (FOCUS) }
            section {
                h2 { "Students" }
                (table(&students(class), Title {
                    id: "students",
                    caption: "Who needs attention first, then by name; no ranking. Shares with their 95 % interval",
                }))
                p.note {
                    "Landings: changes met on the third or seventh. All notes: thirds and sevenths among all counted notes. \
                     Nothing is written to hand-ins."
                }
            }
            (bars(class))
            (bands(class))
            (words(class))
            (files(class))
        };
        Page { title: format!("{name}: class"), body }.write()
    }
}

fn title(assignment: &AssignmentName) -> &str {
    assignment.title.as_deref().unwrap_or(&assignment.chart)
}

/// `assignment 5 · Bus Shelter, Rain · due Thu 3 Dec`.
pub(super) fn meta(assignment: &AssignmentName) -> String {
    let number =
        assignment.number.map_or_else(|| "assignment".to_owned(), |number| format!("assignment {number}"));
    let due = assignment.due.as_deref().map(|due| match due.parse() {
        Ok(day) => format!("due {} ({due})", day_words(day)),
        Err(_) => format!("due {due}"),
    });
    [Some(number), Some(assignment.chart.clone()), due].into_iter().flatten().collect::<Vec<_>>().join(" · ")
}

fn findings(class: &ClassDocument) -> String {
    let found = &class.findings;
    let counts = [
        (found.met, "met"),
        (found.clearly_above, "clearly above"),
        (found.clearly_below, "clearly below"),
        (found.undecided, "undecided"),
        (found.no_verdict, "without a verdict"),
        (found.not_heard, "not heard"),
    ];
    let said = counts.iter().filter(|(count, _)| *count > 0).map(|(count, what)| format!("{count} {what}"));
    let said: Vec<String> = said.collect();
    if said.is_empty() { "nothing was handed in".to_owned() } else { said.join(", ") }
}

fn students(class: &ClassDocument) -> Table {
    let columns = [
        Column::words("student"),
        Column::numbers("takes"),
        Column::words("last"),
        Column::numbers("notes"),
        Column::numbers("chord share"),
        Column::numbers("open"),
        Column::numbers("landings"),
        Column::numbers("all notes"),
        Column::words("verdict"),
        Column::words("talk about"),
    ];
    let mut table = Table::new(columns);
    class.students.iter().for_each(|student| table.push(row(student)));
    table
}

fn row(student: &StudentRecord) -> Row {
    let heard = student.file.is_some();
    let landings = student.landings.as_ref();
    let late = if student.after_due { ", after the due day" } else { "" };
    let contested = student.verdict_as_contested.filter(|granted| *granted != student.verdict);
    let contested =
        contested.map_or_else(String::new, |granted| format!(" ({granted} if contests are granted)"));
    Row::new([
        Cell::from(student.student.as_str()),
        student.takes.to_string().into(),
        student.last_played.clone().unwrap_or_default().into(),
        if heard { student.counted.to_string() } else { String::new() }.into(),
        student.chord.as_ref().map(share_words).unwrap_or_default().into(),
        student.open.as_ref().map(share_words).unwrap_or_default().into(),
        landings.map(landings_words).unwrap_or_default().into(),
        landings.and_then(|landings| landings.all_notes).map(percent_words).unwrap_or_default().into(),
        format!("{}{contested}", student.verdict).into(),
        format!("{}{late}", student.talk_about).trim_start_matches(", ").into(),
    ])
}

fn percent_words(share: f64) -> String {
    format!("{} %", percent(share))
}

fn share_words(share: &ShareRecord) -> String {
    let known = share.share.zip(share.low).zip(share.high);
    known.map_or_else(String::new, |((share, low), high)| {
        format!("{} % ({}–{})", percent(share), percent(low), percent(high))
    })
}

fn landings_words(landings: &ClassLandings) -> String {
    format!("{} of {}, {} %", landings.n, landings.of, percent(landings.share))
}

// The bars.

/// Bars in a row.
const IN_A_ROW: usize = 8;

/// How high the tallest column is, and the most that one student takes.
const TALLEST: f64 = 110.0;
const STUDENT: f64 = 14.0;

fn bars(class: &ClassDocument) -> Markup {
    if class.bars.is_empty() {
        return Markup::default();
    }
    let most = class.bars.iter().map(|bar| bar.of).max().unwrap_or(0).max(1);
    let rows = class.bars.chunks(IN_A_ROW).enumerate();
    let pictures: Vec<Picture> = rows.map(|(index, bars)| bar_picture(index, bars, most)).collect();
    let same = class.same_bar.and_then(|number| class.bars.iter().find(|bar| bar.bar == number));
    html! {
        section {
            h2 { "Bar by bar" }
            @if let Some(bar) = same {
                p {
                    strong { "The same bar: " (bar.bar) " (" (bar.symbols.join(" ")) ")" }
                    ". " (bar.open) " of " (bar.of) " left an open note there. Worth a lesson."
                }
            }
            p.note {
                "Two columns a bar: dotted, the students who left an open note in it; plain, those who met a change in it and \
                 landed on none of its thirds and sevenths."
            }
            (figure(&pictures, "Bar by bar"))
            (table(&bar_rows(&class.bars), Title { id: "bars", caption: "Students by bar" }))
        }
    }
}

fn bar_rows(bars: &[ClassBarRecord]) -> Table {
    let columns = [
        Column::numbers("bar"),
        Column::words("chords"),
        Column::numbers("left an open note"),
        Column::numbers("landed on none"),
        Column::numbers("of"),
    ];
    let mut table = Table::new(columns);
    for bar in bars {
        let counts = [bar.open, bar.missed, bar.of].map(|count| Cell::from(count.to_string()));
        let first = [Cell::from(bar.bar.to_string()), Cell::from(bar.symbols.join(" "))];
        table.push(Row::new(first.into_iter().chain(counts)));
    }
    table
}

fn bar_picture(index: usize, bars: &[ClassBarRecord], most: usize) -> Picture {
    let width = WIDTH / IN_A_ROW as f64;
    let unit = (TALLEST / most as f64).min(STUDENT);
    let base = 30.0 + unit * most as f64;
    let mut drawing = Drawing::default();
    for (place, bar) in bars.iter().enumerate() {
        let left = place as f64 * width;
        drawing.text("m mid z11", (left + width / 2.0, 12.0), &bar.bar.to_string());
        for (class, count, at) in [("x", bar.open, 0.5), ("white", bar.missed, 0.5)] {
            let at = left + width * at + if class == "x" { -26.0 } else { 4.0 };
            let height = unit * count as f64;
            if count > 0 {
                drawing.rect(class, (at, base - height), (22.0, height), 2.0);
            }
            let number = if count > 0 { "b mid z11" } else { "m mid z11" };
            drawing.text(number, (at + 11.0, base - height - 4.0), &count.to_string());
        }
        drawing.line("rule", (left + 4.0, base), (left + width - 4.0, base));
        symbols(&mut drawing, bar, (left + width / 2.0, base + 16.0), width - 6.0);
        drawing.text("m mid z11", (left + width / 2.0, base + 31.0), &format!("of {}", bar.of));
    }
    let (first, last) = (bars.first().map_or(0, |bar| bar.bar), bars.last().map_or(0, |bar| bar.bar));
    Picture {
        id: format!("class-bars-{index}"),
        title: format!("Bars {first} to {last} over the class"),
        desc: "For each bar two columns with their numbers: students who left an open note in it, and students who landed on \
               none of its thirds and sevenths. The table below has the same numbers."
            .to_owned(),
        height: base + 38.0,
        drawing,
    }
}

/// The symbols of a bar, as many as its column takes.
fn symbols(drawing: &mut Drawing, bar: &ClassBarRecord, at: (f64, f64), width: f64) {
    let all = bar.symbols.join(" ");
    let fits = |text: &str| text_width(text, 12.0) <= width;
    let mut shown = all.clone();
    while !fits(&shown) && shown.pop().is_some() {}
    if shown.len() < all.len() {
        shown.pop();
        shown.push('…');
    }
    drawing.text("b mid", at, &shown);
}

// The bands, the words, the files.

fn bands(class: &ClassDocument) -> Markup {
    let columns = [
        Column::words("band"),
        Column::words("asked"),
        Column::numbers("with a verdict"),
        Column::numbers("met"),
        Column::numbers("undecided"),
        Column::words("too narrow?"),
    ];
    let mut rows = Table::new(columns);
    for band in &class.bands {
        let narrow = match (band.narrow, band.of) {
            (true, _) => "perhaps: many are undecided",
            (false, 0) => "no verdict yet",
            (false, _) => "no sign of it",
        };
        rows.push(Row::new([
            Cell::from(band.measure),
            band_words(band.asked_low, band.asked_high).into(),
            band.of.to_string().into(),
            band.met.to_string().into(),
            band.undecided.to_string().into(),
            narrow.into(),
        ]));
    }
    html! {
        section.keep {
            h2 { "The bands" }
            @if let Some(running) = class.running_the_scale {
                p { "Running the scale would give " (percent(running)) " % chord tones over these bars." }
            }
            div.small { (table(&rows, Title { id: "bands", caption: "What each band did" })) }
        }
    }
}

/// What students wrote and contested, and what their gear did.
fn words(class: &ClassDocument) -> Markup {
    let mut rows = Table::new(["student", "what"].map(Column::words));
    for student in &class.students {
        let note = student.note.iter().map(|note| format!("writes: {note}"));
        let contests = student.contests.iter().map(|contest| {
            format!(
                "take {}, {}: hears it as {}. {}",
                contest.take, contest.note, contest.heard_as, contest.reason
            )
        });
        let gear = student.gear.iter().map(|gear| format!("gear: {gear}"));
        for said in note.chain(contests).chain(gear) {
            rows.push(Row::new([Cell::from(student.student.as_str()), Cell::from(said)]));
        }
    }
    if rows.rows.is_empty() {
        return Markup::default();
    }
    html! {
        section {
            h2 { "What they say" }
            (table(&rows, Title { id: "words", caption: "Lines from students, contested notes, gear" }))
        }
    }
}

fn files(class: &ClassDocument) -> Markup {
    let mut rows = Table::new(["file", "what became of it", "why"].map(Column::words));
    for file in &class.files {
        rows.push(Row::new([file.file.as_str(), file.kind, file.message.as_str()].map(Cell::from)));
    }
    html! {
        section {
            h2 { "Files" }
            p { (class.files_read) " read. " (KEEP) }
            @if !class.files.is_empty() {
                (table(&rows, Title { id: "files", caption: "Files of which something is to be said" }))
            }
            p.note { "Made by " (class.tool) "." }
        }
    }
}
