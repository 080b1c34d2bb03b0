//! Where on the neck a stretch of a line lay: in which position of its key.
//!
//! A major key has seven positions of three notes a string, named by the note they begin with; a minor key shares those of
//! its relative major.

use crate::neck::{Place, Position, Tuning};
use crate::theory::{Mode, NoteName, Pitch};

/// Frets after which a neck repeats itself.
const OCTAVE: u8 = 12;

/// Fewest notes of the key from which a position is told.
const FEWEST: usize = 4;

/// The positions of a major key on strings tuned to `tuning`, one for each note of its scale.
pub fn positions(tuning: &Tuning, tonic: NoteName) -> Vec<Position> {
    let scale = Mode::Ionian.on(tonic);
    scale.names().into_iter().filter_map(|start| Position::of(&scale, start, tuning).ok()).collect()
}

/// Whether a place belongs to a position, there or an octave higher or lower on the neck.
fn holds(position: &Position, place: Place) -> bool {
    position
        .notes()
        .iter()
        .any(|note| note.place.string == place.string && note.place.fret.0 % OCTAVE == place.fret.0 % OCTAVE)
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
    let held = |position: &Position| of_key.iter().filter(|&&place| holds(position, place)).count();
    let most = positions.iter().map(held).max()?;
    if of_key.len() < FEWEST || most * 4 < of_key.len() * 3 {
        return None;
    }
    let best: Vec<NoteName> =
        positions.iter().filter(|position| held(position) == most).map(Position::start).collect();
    match best[..] {
        [only] => Some(only),
        _ => before.filter(|before| best.contains(before)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::neck::{Fret, StringNumber};

    fn name(text: &str) -> NoteName {
        text.parse().expect("a note name")
    }

    /// Strings and frets as places, with what sounds there.
    fn placed(places: &[(u8, u8)]) -> Vec<(Place, Pitch)> {
        let tuning = Tuning::standard();
        let place = |&(string, fret): &(u8, u8)| {
            let place = Place { string: StringNumber::new(string)?, fret: Fret(fret) };
            Some((place, tuning.pitch_at(place)?))
        };
        places.iter().filter_map(place).collect()
    }

    /// In which position of C major a bar lay.
    fn lay(places: &[(u8, u8)], before: Option<&str>) -> Option<String> {
        let all = positions(&Tuning::standard(), name("C"));
        let found = found(&all, &placed(places), name("C"), before.map(name));
        found.map(|start| start.to_string())
    }

    #[test]
    fn a_bar_is_found_in_the_position_that_holds_it() {
        let check = |places: &[(u8, u8)], expect: &str| {
            assert_eq!(lay(places, None).as_deref(), Some(expect), "{places:?}");
        };
        // Up the two top strings from C: 10 12 13, 10 12 13.
        check(&[(2, 10), (2, 12), (2, 13), (1, 10), (1, 12), (1, 13)], "C");
        check(&[(6, 1), (6, 3), (6, 5), (5, 2)], "F");
        check(&[(6, 13), (6, 15), (6, 17), (5, 14)], "F");
    }

    #[test]
    fn notes_that_two_positions_share_stay_where_the_line_was() {
        let shared = [(5, 3), (5, 5), (4, 3), (4, 5)];
        assert_eq!(lay(&shared, None), None);
        assert_eq!(lay(&shared, Some("G")).as_deref(), Some("G"));
        assert_eq!(lay(&shared, Some("B")), None);
    }

    #[test]
    fn a_few_notes_or_notes_all_over_the_neck_lie_nowhere() {
        assert_eq!(lay(&[(6, 1), (6, 3), (6, 5)], None), None);
        assert_eq!(lay(&[(6, 1), (6, 3), (1, 10), (1, 12), (3, 5), (4, 9)], None), None);
    }
}
