//! What stands around the picture of a neck or of keys: the chord and its scale above, the position and the signs below.

use crate::report::neck::ChordOnNeck;
use crate::report::picture::Line;
use crate::report::theme::Role;
use crate::theory::{ChordSymbol, NoteName};

/// The chord, its scale and why; the notes; what comes next.
pub fn heading(shown: &ChordOnNeck, why: &str) -> Vec<Line> {
    let mut first = Line::default();
    first.push(shown.chord.to_string(), Some(Role::Chord));
    first.push(format!("   {}   ({why})", shown.scale), None);
    let tones: Vec<NoteName> = shown.chord.tones().into_iter().map(|tone| shown.name(tone)).collect();
    let scale = joined(&shown.scale.names());
    let notes = format!("{} = {}   in {scale}", degrees(shown.chord), joined(&tones));
    let next = shown.next.map(|next| Line::words(format!("next {next}   {}", guides(next))));
    [first, Line::words(notes)].into_iter().chain(next).chain([Line::default()]).collect()
}

/// Where the position lies, and the arpeggio in it from the lowest note to the highest.
pub fn position_lines(shown: &ChordOnNeck) -> Vec<Line> {
    let Some(position) = &shown.position else { return Vec::new() };
    let (first, last) = position.frets();
    let place = format!("position from {}, frets {first}-{last}", position.start());
    let arpeggio = match position.arpeggio(shown.chord.tone_set()) {
        Some(notes) => {
            let names: Vec<NoteName> = notes.iter().map(|note| note.name).collect();
            let places: Vec<String> = notes.iter().map(|note| note.place.to_string()).collect();
            format!("arpeggio  {} = {}", places.join(" "), joined(&names))
        }
        None => format!("arpeggio  {} has a tone that {} leaves out", shown.chord, shown.scale),
    };
    vec![Line::default(), Line::words(place), Line::words(arpeggio)]
}

/// What the signs mean.
pub fn legend(shown: &ChordOnNeck) -> Vec<Line> {
    let mut line = Line::default();
    let signs =
        [("·", Role::Dim, "chromatic"), ("o", Role::Scale, "scale"), ("[3]", Role::Chord, "chord tone")];
    for (sign, role, meaning) in signs {
        line.push(sign, Some(role));
        line.push(format!(" {meaning}   "), None);
    }
    if shown.next.is_some() {
        line.push("› next chord   » its 3 or 7", None);
    }
    vec![Line::default(), line]
}

fn joined(names: &[NoteName]) -> String {
    names.iter().map(NoteName::to_string).collect::<Vec<_>>().join(" ")
}

fn degrees(chord: ChordSymbol) -> String {
    chord.tones().into_iter().map(|tone| chord.degree_of(tone).to_string()).collect::<Vec<_>>().join(" ")
}

/// `3 = D   b7 = Ab`.
fn guides(chord: ChordSymbol) -> String {
    let guide = |tone| format!("{} = {}", chord.degree_of(tone), chord.spell(tone));
    chord.guide_tones().into_iter().map(guide).collect::<Vec<_>>().join("   ")
}
