//! Another scale over a chord, beside the one in force: the notes that would come in and go out, and the chord tones that
//! it leaves out.

use crate::report::reading::{ReadChord, ScaleRecord};
use crate::theory::spelling::Accidental;
use crate::theory::{NoteName, PitchClass};

/// What another scale would change.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OtherScale {
    /// Notes that it has and the scale in force has not.
    pub comes_in: Vec<String>,
    /// Notes of the scale in force that it has not.
    pub goes_out: Vec<String>,
    /// Chord tones that it has not.
    pub leaves_out: Vec<String>,
}

impl OtherScale {
    /// What `other` would change over a chord.
    pub fn over(chord: &ReadChord, other: &ScaleRecord) -> Self {
        let none = Vec::new();
        let in_force = chord.scale.as_ref().map_or(&none, |scale| &scale.pitch_classes);
        let tones = chord.chord_tones.iter().filter(|tone| !other.pitch_classes.contains(tone));
        Self {
            comes_in: other.names_but(in_force),
            goes_out: chord.scale.as_ref().map_or_else(Vec::new, |now| now.names_but(&other.pitch_classes)),
            leaves_out: tones.map(|&tone| name(tone, chord)).collect(),
        }
    }

    /// The same in sentences.
    pub fn sentences(&self) -> Vec<String> {
        let notes = match (self.comes_in.is_empty(), self.goes_out.is_empty()) {
            (true, true) => "The same notes as the scale in force.".to_owned(),
            (false, true) => format!("{} in.", self.comes_in.join(" ")),
            (true, false) => format!("{} out.", self.goes_out.join(" ")),
            (false, false) => format!("{} in, {} out.", self.comes_in.join(" "), self.goes_out.join(" ")),
        };
        let tones = if self.leaves_out.is_empty() {
            "It has every chord tone.".to_owned()
        } else {
            format!(
                "It leaves out of the chord: {}, counted as chord tones all the same.",
                self.leaves_out.join(" ")
            )
        };
        vec![notes, tones]
    }
}

impl ScaleRecord {
    /// The names of its notes that are not among these.
    fn names_but(&self, others: &[u8]) -> Vec<String> {
        let named = self.pitch_classes.iter().zip(&self.names);
        named.filter(|(note, _)| !others.contains(note)).map(|(_, name)| name.clone()).collect()
    }
}

/// What a chord tone is called: as the scale in force spells it, where that has it.
fn name(tone: u8, chord: &ReadChord) -> String {
    let spelled = chord.scale.as_ref().and_then(|scale| {
        let at = scale.pitch_classes.iter().position(|&note| note == tone)?;
        scale.names.get(at).cloned()
    });
    spelled.unwrap_or_else(|| {
        NoteName::plain(PitchClass::from_semitones(tone.into()), Accidental::Flat).to_string()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Chart;
    use crate::harmony::Overrides;
    use crate::judge::ChordSource;
    use crate::report::reading::ReadingDocument;
    use crate::theory::ScaleRequest;
    use crate::theory::chord::BareSymbols;

    /// The sentences on `scale` over the only chord of a chart.
    fn check(chord: &str, scale: &str, expect: &[&str]) {
        let (chart, _) =
            Chart::parse("a.bars", &format!("| {chord} |"), BareSymbols::default()).expect("a chart");
        let source = ChordSource::of_chart(&chart, &Overrides::default());
        let reading = ReadingDocument::new(source.id, &source.form, &source.reading);
        let root = source.form.chords[0].symbol.expect("a chord").root;
        let request: ScaleRequest = scale.parse().expect("a scale");
        let other = ScaleRecord::of(&request.on(root));
        assert_eq!(OtherScale::over(&reading.chords[0], &other).sentences(), expect, "{chord} {scale}");
    }

    #[test]
    fn notes_come_in_and_go_out_and_chord_tones_stay() {
        check("Dm7=dorian", "dorian", &["The same notes as the scale in force.", "It has every chord tone."]);
        check("Dm7=dorian", "aeolian", &["Bb in, B out.", "It has every chord tone."]);
        let left_out = "It leaves out of the chord: D, counted as chord tones all the same.";
        check("G7=mixolydian", "altered", &["Ab Bb Db Eb in, A C D E out.", left_out]);
    }
}
