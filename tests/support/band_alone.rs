//! A chart as the band plays it, one chorus at a tempo, and the sound of some of its parts.

use barwise::band::sounded::{Sounding, sounded};
use barwise::band::{Accompaniment, Arrangement, BandNote, Call, ClickOn, Part, Seed, arrange};
use barwise::chart::{Chart, Turns};
use barwise::harmony::Overrides;
use barwise::judge::ChordSource;
use barwise::theory::chord::BareSymbols;
use barwise::time::{FrameRate, TempoMap, Ticks};

/// What is played, and how fast.
pub struct Played {
    pub arrangement: Arrangement,
    pub tempo: TempoMap,
    pub rate: FrameRate,
}

impl Played {
    /// One chorus of the chart `text` at `bpm` quarter notes a minute, at its own tempo where that is `None`, with a click
    /// on every pulse.
    pub fn new(text: &str, bpm: Option<f64>, rate: u32) -> Self {
        let (chart, _) = Chart::parse("chart", text, BareSymbols::default()).expect("a chart");
        let ChordSource { form, reading, .. } = ChordSource::of_chart(&chart, &Overrides::default());
        let tempo = TempoMap::at_bpm(bpm.unwrap_or(chart.header().tempo.get()));
        let arrangement = arrange(&Call {
            form: &form,
            reading: &reading,
            keys: &[],
            choruses: 1,
            feel: chart.header().feel,
            swing_percent: 70,
            quarter: tempo.quarter(Ticks::ZERO),
            accompaniment: Accompaniment { click: ClickOn::EveryPulse, ..Accompaniment::default() },
            seed: Seed(3),
            turns: Turns::default(),
        });
        Self { arrangement, tempo, rate: FrameRate::new(rate).expect("a rate") }
    }

    /// What is heard with all parts but `parts` muted.
    pub fn sound_of(&self, parts: &[Part], sounding: &Sounding) -> Vec<f32> {
        let mutes = Part::ALL.into_iter().filter(|part| !parts.contains(part)).collect();
        self.sound(&Sounding { mutes, ..sounding.clone() })
    }

    /// What is heard.
    pub fn sound(&self, sounding: &Sounding) -> Vec<f32> {
        // A muted part is silent whether it plays or not; that it need not be computed makes the tests faster.
        let heard = |note: &&BandNote| !sounding.mutes.contains(&note.part);
        let notes = self.arrangement.notes.iter().filter(heard).copied().collect();
        let arrangement = Arrangement { notes, ..self.arrangement.clone() };
        let mut frames = Vec::new();
        let all: Result<(), ()> = sounded(&arrangement, &self.tempo, self.rate, sounding, |block| {
            frames.extend_from_slice(block);
            Ok(())
        });
        all.expect("nothing stops it");
        frames
    }
}
