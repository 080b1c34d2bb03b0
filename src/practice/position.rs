//! Positions of three notes a string: where on the neck a stretch of a line lay.
//!
//! A position begins with a note of the key on the lowest string and puts the next three notes of the scale on each
//! string in turn (common practice; a teaching frame after Leavitt, *A Modern Method for Guitar*, 1966, from memory). A
//! major key has seven, named by the note they begin with; a minor key shares those of its relative major.

use crate::theory::{Mode, NoteName, Pitch, PitchClass};

/// Notes that a position has on each string.
const NOTES_A_STRING: usize = 3;

/// Frets after which a neck repeats itself.
const OCTAVE: i32 = 12;

/// Fewest notes of the key from which a position is told.
const FEWEST: usize = 4;

/// A place on the neck: the string, 1 the highest, and the fret.
pub type Place = (u8, u8);

/// A position of a major key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Position {
    /// The note it begins with on the lowest string.
    pub start: NoteName,
    /// Its places, lowest note first, at the lowest frets it can be played at.
    pub places: Vec<Place>,
}

impl Position {
    /// Whether a place belongs to it, there or an octave higher up the neck.
    fn has(&self, (string, fret): Place) -> bool {
        self.places.iter().any(|&(on, at)| on == string && at % OCTAVE as u8 == fret % OCTAVE as u8)
    }
}

/// The seven positions of a major key on strings tuned to `tuning`, lowest first, by the degree they begin with.
pub fn positions(tuning: &[Pitch], tonic: NoteName) -> Vec<Position> {
    let scale = Mode::Ionian.on(tonic);
    scale.names().into_iter().filter_map(|start| position(tuning, &scale_classes(tonic), start)).collect()
}

fn scale_classes(tonic: NoteName) -> Vec<PitchClass> {
    Mode::Ionian.on(tonic).pitch_classes().iter_from(tonic.pitch_class()).collect()
}

/// One position; `None` where a note would lie past the range of MIDI, or past what a fret can be.
fn position(tuning: &[Pitch], scale: &[PitchClass], start: NoteName) -> Option<Position> {
    let lowest = tuning.first()?.up(1)?;
    let first = lowest.up(i32::from(start.pitch_class().above(lowest.pitch_class())))?;
    let in_scale = (0..).map_while(|up| first.up(up)).filter(|pitch| scale.contains(&pitch.pitch_class()));
    let notes: Vec<Pitch> = in_scale.take(tuning.len() * NOTES_A_STRING).collect();
    let strings = (1..=u8::try_from(tuning.len()).ok()?).rev();
    let frets: Vec<(u8, i32)> = strings
        .zip(tuning)
        .zip(notes.chunks(NOTES_A_STRING))
        .flat_map(|((string, &open), notes)| {
            notes.iter().map(move |note| (string, note.semitones_above(open)))
        })
        .collect();
    let up = if frets.iter().any(|&(_, fret)| fret < 0) { OCTAVE } else { 0 };
    let places = frets.into_iter().map(|(string, fret)| Some((string, u8::try_from(fret + up).ok()?)));
    Some(Position { start, places: places.collect::<Option<_>>()? })
}

/// The position that a few notes lay in: the one with most of those that belong to the key, at least three in four of
/// four or more. Of several alike the one the line was in `before`; else `None`, as where the notes lie in no position.
pub fn found(
    positions: &[Position],
    notes: &[(Place, Pitch)],
    tonic: NoteName,
    before: Option<NoteName>,
) -> Option<NoteName> {
    let scale = Mode::Ionian.on(tonic).pitch_classes();
    let of_key: Vec<Place> =
        notes.iter().filter(|(_, pitch)| scale.has(pitch.pitch_class())).map(|&(place, _)| place).collect();
    let held = |position: &Position| of_key.iter().filter(|&&place| position.has(place)).count();
    let most = positions.iter().map(held).max()?;
    if of_key.len() < FEWEST || most * 4 < of_key.len() * 3 {
        return None;
    }
    let best: Vec<NoteName> =
        positions.iter().filter(|position| held(position) == most).map(|position| position.start).collect();
    match best[..] {
        [only] => Some(only),
        _ => before.filter(|before| best.contains(before)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::take::clean::STANDARD_TUNING;

    fn name(text: &str) -> NoteName {
        text.parse().expect("a note name")
    }

    fn standard() -> Vec<Pitch> {
        STANDARD_TUNING.iter().filter_map(|&key| Pitch::new(key)).collect()
    }

    fn of(tonic: &str, start: &str) -> Position {
        let found = positions(&standard(), name(tonic)).into_iter().find(|p| p.start == name(start));
        found.expect("a start in the key")
    }

    /// Frets string by string from the lowest, as the printed tables of three-note positions have them.
    #[test]
    fn positions_of_c_major_lie_where_they_are_taught() {
        let check = |start: &str, expect: [u8; 18]| {
            let frets: Vec<u8> = of("C", start).places.iter().map(|&(_, fret)| fret).collect();
            assert_eq!(frets, expect, "from {start}");
        };
        check("F", [1, 3, 5, 2, 3, 5, 2, 3, 5, 2, 4, 5, 3, 5, 6, 3, 5, 7]);
        check("A", [5, 7, 8, 5, 7, 8, 5, 7, 9, 5, 7, 9, 6, 8, 10, 7, 8, 10]);
        check("C", [8, 10, 12, 8, 10, 12, 9, 10, 12, 9, 10, 12, 10, 12, 13, 10, 12, 13]);
        check("D", [10, 12, 13, 10, 12, 14, 10, 12, 14, 10, 12, 14, 12, 13, 15, 12, 13, 15]);
    }

    fn placed(places: &[Place]) -> Vec<(Place, Pitch)> {
        let open = standard();
        let pitch = |&(string, fret): &Place| open[6 - usize::from(string)].up(i32::from(fret));
        places.iter().filter_map(|place| Some((*place, pitch(place)?))).collect()
    }

    #[test]
    fn a_bar_is_found_in_the_position_that_holds_it() {
        let check = |places: &[Place], before: Option<&str>, expect: Option<&str>| {
            let all = positions(&standard(), name("C"));
            let found = found(&all, &placed(places), name("C"), before.map(name));
            assert_eq!(found, expect.map(name), "{places:?}");
        };
        // Up the two top strings from C: 10 12 13, 10 12 13.
        check(&[(2, 10), (2, 12), (2, 13), (1, 10), (1, 12), (1, 13)], None, Some("C"));
        check(&[(6, 1), (6, 3), (6, 5), (5, 2)], None, Some("F"));
        check(&[(6, 13), (6, 15), (6, 17), (5, 14)], None, Some("F"));
    }

    #[test]
    fn notes_that_two_positions_share_stay_where_the_line_was() {
        let all = positions(&standard(), name("C"));
        let shared = placed(&[(5, 3), (5, 5), (4, 3), (4, 5)]);
        let found = |before| found(&all, &shared, name("C"), before);
        assert_eq!(found(None), None);
        assert_eq!(found(Some(name("G"))), Some(name("G")));
        assert_eq!(found(Some(name("B"))), None);
    }

    #[test]
    fn a_few_notes_or_notes_all_over_the_neck_lie_nowhere() {
        let all = positions(&standard(), name("C"));
        let found = |places: &[Place]| found(&all, &placed(places), name("C"), None);
        assert_eq!(found(&[(6, 1), (6, 3), (6, 5)]), None);
        assert_eq!(found(&[(6, 1), (6, 3), (1, 10), (1, 12), (3, 5), (4, 9)]), None);
    }
}
