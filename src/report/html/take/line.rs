//! The line over the chords: four bars a system, the notes by time and pitch over lanes of the chord's tones.

pub mod layout;

use std::fmt::Write;

use maud::{Markup, html};

use super::super::labels::Area;
use super::super::picture::{Drawing, Picture, Px, figure};
use super::super::table::{Title, folded, folding};
use super::Chorus;
use crate::report::number::Count;
use crate::report::review::Review;
use crate::report::review::notes::notes;
use crate::report::review::text::{Rows, ScaleNames, bars, plural};
use layout::{Drawn, Lane, System, Window, systems};

/// Picture and tables of each chorus.
pub fn section(review: &Review, choruses: &[Chorus<'_>]) -> Markup {
    let windows: Vec<Option<Window>> =
        choruses.iter().map(|chorus| Window::of(review, chorus.number)).collect();
    html! {
        section {
            h2 { "The line over the chords" }
            p.note {
                "Pale lanes are the tones of the chord of the moment, those of its third and seventh deeper and ruled. Over or \
                 under each note stands its degree. An arrow leads from a note that came early to the chord it is counted \
                 with; hollow notes are left out of the counts."
            }
            @for (chorus, window) in choruses.iter().zip(&windows) {
                @if !chorus.suffix.is_empty() { h3 { "Chorus " (chorus.number) } }
                @if let Some(window) = window {
                    (of_chorus(review, chorus, *window))
                } @else {
                    p { "No note counts here." }
                }
            }
            @if windows.iter().any(Option::is_some) {
                (folded(&notes(review, None), Title { id: "notes", caption: "Every note, with its reason" }, "long"))
            }
        }
    }
}

fn of_chorus(review: &Review, chorus: &Chorus<'_>, window: Window) -> Markup {
    let systems = systems(review, chorus.number, window);
    let crowded: usize = systems.iter().map(|system| system.unlabelled).sum();
    let pictures: Vec<Picture> =
        systems.iter().enumerate().map(|(index, system)| picture(chorus, index, system, window)).collect();
    let rows = bars(review, Rows { chorus: Some(chorus.number), bar: None, scales: ScaleNames::Full });
    let title = format!(
        "The notes in order{} (* landed; same: the chord goes on; none: no note in its first beat)",
        chorus.suffix
    );
    html! {
        (figure(&pictures, &format!("The line over the chords{}", chorus.suffix)))
        @if crowded > 0 {
            p.note {
                "Without room for their degree: " (plural(Count(crowded as f64), "note"))
                "; the table below has them all."
            }
        }
        (folding(&rows, Title { id: &format!("line-{}", chorus.number), caption: &title }))
    }
}

fn picture(chorus: &Chorus<'_>, index: usize, system: &System, window: Window) -> Picture {
    let mut drawing = Drawing::default();
    for lane in &system.lanes {
        draw_lane(&mut drawing, lane);
    }
    staff(&mut drawing, system, window);
    for header in &system.headers {
        drawing.text(header.class, (header.at.left, header.at.bottom - 2.5), &header.text);
    }
    draw_notes(&mut drawing, &system.notes);
    let (first, last) = (system.bars.first(), system.bars.last());
    let number = |bar: Option<&layout::Bar>| bar.map_or(0, |bar| bar.number);
    Picture {
        id: format!("line-{}-{index}", chorus.number),
        title: format!("The line, bars {} to {}{}", number(first), number(last), chorus.suffix),
        desc: "Notes by time and pitch over the tones of the chord of the moment. Chord tones are solid, scale tones \
               hatched, notes outside dotted. The notes are written out in the table below."
            .to_owned(),
        height: system.height,
        drawing,
    }
}

/// The lanes of one chord as two shapes, and the edges of those of third and seventh.
fn draw_lane(drawing: &mut Drawing, lane: &Lane) {
    let (left, width) = (Px(lane.left), Px(lane.right - lane.left));
    let bands = |at: &[f64], height: f64| {
        at.iter().fold(String::new(), |mut path, top| {
            // A string takes whatever is written into it.
            let _ = write!(path, "M{left} {}h{width}v{}h-{width}z", Px(*top), Px(height));
            path
        })
    };
    drawing.path("lane", &bands(&lane.tones, lane.height));
    drawing.path("guide", &bands(&lane.guides, lane.height));
    let edges = lane.guides.iter().flat_map(|top| [*top, top + lane.height]);
    let edges: Vec<String> = edges.map(|y| format!("M{left} {}h{width}", Px(y))).collect();
    drawing.path("edge", &edges.concat());
}

/// Barlines, the number of the first bar, and the octaves.
fn staff(drawing: &mut Drawing, system: &System, window: Window) {
    let bottom = system.height - 4.0;
    let lines = system.bars.iter().map(|bar| bar.left).chain([system.right()]);
    let lines: Vec<String> = lines.map(|x| format!("M{} 5V{}", Px(x), Px(bottom))).collect();
    drawing.path("rule", &lines.concat());
    if let Some(bar) = system.bars.first() {
        drawing.text("m end z11", (bar.left - 12.0, 15.0), &bar.number.to_string());
    }
    for octave in 0..=10u8 {
        let key = octave * 12;
        if window.has(key) {
            let name = format!("C{}", i32::from(octave) - 1);
            drawing.text("m end z11", (layout::LEFT - 12.0, window.y(key, system.top) + 4.0), &name);
        }
    }
}

fn draw_notes(drawing: &mut Drawing, notes: &[Drawn]) {
    let beside = |area: Area| Area {
        left: area.left - 1.5,
        top: area.top - 1.5,
        right: area.right + 1.5,
        bottom: area.bottom + 1.5,
    };
    let counted = notes.iter().filter(|note| note.fill != "u").map(|note| beside(note.area));
    let labels = notes.iter().flat_map(|note| &note.label).map(|label| label.at);
    let halo: String = labels.chain(counted).map(outline).collect();
    drawing.path("halo", &halo);
    for note in notes {
        let area = note.area;
        let size = (area.right - area.left, area.bottom - area.top);
        drawing.rect(note.fill, (area.left, area.top), size, f64::min(3.0, size.0 / 2.0));
    }
    for note in notes {
        if let Some(push) = &note.push {
            draw_push(drawing, note, push.to);
        }
        if let Some(label) = &note.label {
            let middle = f64::midpoint(label.at.left, label.at.right);
            if let Some((from, to)) = label.leader(note.area) {
                drawing.line("lead-line", from, to);
            }
            let class = if note.fill == "c" { "b mid z11" } else { "mid z11" };
            drawing.text(class, (middle, label.at.bottom - 1.5), &label.text);
        }
    }
}

/// The outline of an area, as a path.
fn outline(area: Area) -> String {
    let (left, top) = (Px(area.left), Px(area.top));
    let (width, height) = (Px(area.right - area.left), Px(area.bottom - area.top));
    format!("M{left} {top}h{width}v{height}h-{width}z")
}

/// A curved arrow from an early note over the barline into its chord.
fn draw_push(drawing: &mut Drawing, note: &Drawn, to: f64) {
    let (from, y) = (note.area.left + 1.0, note.area.top - 2.0);
    let [x1, x2] = [from, to].map(Px);
    let [low, high, tip] = [y, y - 11.0, y + 1.0].map(Px);
    drawing.path("arrow", &format!("M{x1} {low}C{x1} {high} {x2} {high} {x2} {low}"));
    let [left, right] = [to - 3.0, to + 3.0].map(Px);
    let wing = Px(y - 4.5);
    drawing.path("ink", &format!("M{left} {wing}H{right}L{x2} {tip}z"));
}
