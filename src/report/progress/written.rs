//! Weeks as the player of a transposing instrument reads them: keys, positions and the notes of the line.

use super::{GroupRecord, LineRecord, ProgressDocument};
use crate::chart::header::key_text;
use crate::judge::written::by_itself;
use crate::theory::{Key, NoteName, Pitch, Written};

impl ProgressDocument {
    /// The document by the names of a player in `written`, to be shown; what is written to files stays as it sounds.
    #[must_use]
    pub fn written_for(mut self, written: Written) -> Self {
        if written.is_concert() {
            return self;
        }
        for chart in &mut self.charts {
            chart.keys.iter_mut().for_each(|key| *key = key_name(key, written));
            groups(&mut chart.regions, written);
            chart.line.iter_mut().for_each(|line| line_of(line, written));
        }
        groups(&mut self.keys, written);
        for position in &mut self.positions.heard {
            position.key = key_name(&position.key, written);
            if let Ok(start) = position.start.parse::<NoteName>() {
                position.start = by_itself(written).note(start).to_string();
            }
        }
        self.written = written;
        self
    }
}

fn groups(keys: &mut [GroupRecord], written: Written) {
    for group in keys {
        group.name = key_name(&group.name, written);
    }
}

/// A key in the way it was named, `Eb major` or `Eb`; what is no key (`modal`) stays.
fn key_name(sounding: &str, written: Written) -> String {
    let Ok(key) = sounding.parse::<Key>().map(|key| written.key(key)) else { return sounding.to_owned() };
    if sounding.contains(' ') { key.to_string() } else { key_text(key) }
}

fn line_of(line: &mut LineRecord, written: Written) {
    let ends: Vec<Pitch> = [line.lowest, line.highest].into_iter().filter_map(Pitch::new).collect();
    let Some(by) = written.shift_of(&ends) else { return };
    let moved = |key: u8| Pitch::new(key).and_then(|pitch| pitch.up(by)).map_or(key, Pitch::key);
    line.lowest = moved(line.lowest);
    line.middle = line.middle.map(moved);
    line.highest = moved(line.highest);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_keep_the_way_they_are_named() {
        let named = |key| key_name(key, Written::Bb);
        assert_eq!(
            [named("Eb"), named("Eb major"), named("Cm"), named("modal")],
            ["F", "F major", "Dm", "modal"]
        );
    }
}
