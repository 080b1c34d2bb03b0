//! The marks: which fill a layer has, and the list that says so.
//!
//! The nearer a note is to the chord, the more ink: solid, hatched, dotted.

use maud::{Markup, PreEscaped, html};

use crate::report::review::NoteRecord;

/// The layer of a counted note, as documents name it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Layer {
    /// A chord tone.
    Chord,
    /// A scale tone.
    Scale,
    /// A note of another scale.
    Other,
    /// Outside.
    Outside,
}

impl Layer {
    /// Every layer, from the chord outwards.
    pub const ALL: [Self; 4] = [Self::Chord, Self::Scale, Self::Other, Self::Outside];

    /// The layer by the word that documents have; `None` for a note that does not count.
    pub fn of(class: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|layer| layer.word() == class)
    }

    const fn word(self) -> &'static str {
        match self {
            Self::Chord => "chord",
            Self::Scale => "scale",
            Self::Other => "other",
            Self::Outside => "outside",
        }
    }

    /// The class of its fill in the style sheet.
    pub const fn fill(self) -> &'static str {
        match self {
            Self::Chord => "c",
            Self::Scale => "s",
            Self::Other => "o",
            Self::Outside => "x",
        }
    }
}

/// The degree of a note with the sign of what became of it: `b3`, `#11~`, `b9>`, `b9?`.
pub fn degree(note: &NoteRecord) -> String {
    let degree = note.degree.as_deref().unwrap_or_default();
    let sign = match (note.class, note.tag) {
        ("other", _) => "~",
        (_, Some("resolved")) => ">",
        ("outside", _) => "?",
        _ => "",
    };
    format!("{degree}{sign}")
}

/// What the marks mean.
pub fn key() -> Markup {
    let marks = [
        ("c", "[3] chord tone"),
        ("s", "9 scale"),
        ("o", "#11~ another scale"),
        ("x", "b9> outside, resolved"),
        ("x", "b9? outside, open"),
    ];
    html! {
        ul.key aria-label="Marks" {
            @for (fill, words) in marks { li { (icon(fill)) (words) } }
            li { "▼ landed on the third or seventh" }
            li { "< came early" }
        }
    }
}

fn icon(fill: &str) -> Markup {
    PreEscaped(format!(
        "<svg class=\"icon\" viewBox=\"0 0 14 14\" aria-hidden=\"true\">\
         <rect class=\"{fill}\" x=\"1.5\" y=\"1.5\" width=\"11\" height=\"11\" rx=\"2\"/></svg>"
    ))
}
