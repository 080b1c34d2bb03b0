//! The clicks that a calibration is played to, and the sessions that sound them.

use crate::band::{Accompaniment, BandNote, ClickOn, CountInBars, Levels, Part, Seed};
use crate::chart::{Chart, Feel, Turns};
use crate::command::exit_status::Failure;
use crate::harmony::Overrides;
use crate::judge::ChordSource;
use crate::live::calibration::{BPM, CLICKS, Model, Struck};
use crate::live::{NotesChoice, SessionPlan, SoundChoice};
use crate::theory::chord::BareSymbols;
use crate::time::{NanoSpan, Nanos};

/// Beats of a bar of clicks.
pub(super) const BEATS: usize = 4;
/// Bars between two rounds, to change the string in.
const PAUSE_BARS: usize = 1;

/// A round: its clicks, and the notes that were played to them.
pub(super) type Round = (Vec<Nanos>, Vec<Struck>);

/// When the clicks of each round sound, from the first: rounds of [`CLICKS`] and a bar between.
pub(super) fn click_times(model: Model) -> Vec<Vec<Nanos>> {
    let quarter = NanoSpan((60e9 / BPM).round() as i64);
    let starts: &[usize] = match model {
        Model::Constant => &[0],
        Model::PitchTracker => &[0, CLICKS + PAUSE_BARS * BEATS],
    };
    let round = |start: &usize| (*start..start + CLICKS).map(|i| Nanos::ZERO + quarter * i as i64).collect();
    starts.iter().map(round).collect()
}

/// The clicks of each round with the notes that were played in it.
pub(super) fn rounds(notes: &[Struck], model: Model) -> Vec<Round> {
    click_times(model).into_iter().map(|clicks| (clicks, notes.to_vec())).collect()
}

/// Clicks alone, for as many bars as the rounds take.
pub(super) fn to_play_to(
    model: Model,
    sound: SoundChoice,
    notes: NotesChoice,
) -> Result<SessionPlan, Failure> {
    let round = CLICKS / BEATS;
    let bars = match model {
        Model::Constant => round,
        Model::PitchTracker => 2 * round + PAUSE_BARS,
    };
    clicks_alone(bars, sound, notes)
}

/// So many bars of clicks with a `line` over them, after a bar of count-in.
pub(super) fn with_line(
    bars: usize,
    line: Vec<BandNote>,
    sound: SoundChoice,
) -> Result<SessionPlan, Failure> {
    let plan = clicks_alone(bars, sound, NotesChoice::Nobody)?;
    let accompaniment = Accompaniment { count_in: CountInBars::One, ..plan.accompaniment };
    Ok(SessionPlan { accompaniment, line, ..plan })
}

fn clicks_alone(bars: usize, sound: SoundChoice, notes: NotesChoice) -> Result<SessionPlan, Failure> {
    let text = format!("title: Clicks\n| {}\n", "N.C. | ".repeat(bars).trim_end());
    let (chart, _) = Chart::parse("clicks", &text, BareSymbols::default())
        .map_err(|error| Failure::bad_input(error.to_string()))?;
    let ChordSource { form, reading, .. } = ChordSource::of_chart(&chart, &Overrides::default());
    Ok(SessionPlan {
        form,
        reading,
        keys: Vec::new(),
        bpm: BPM,
        choruses: 1,
        feel: Feel::Straight,
        swing_percent: 0,
        seed: Seed::default(),
        mutes: vec![Part::Bass, Part::Comp, Part::Ride, Part::Hat, Part::Kick],
        levels: Levels::default(),
        sound_font: None,
        accompaniment: Accompaniment { click: ClickOn::EveryPulse, ..Accompaniment::default() },
        turns: Turns::default(),
        sound,
        notes,
        foot: None,
        line: Vec::new(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::TickSpan;

    #[test]
    fn the_clicks_are_on_the_beats_that_the_session_plays() {
        for (model, beats) in [(Model::Constant, 20), (Model::PitchTracker, 44)] {
            let plan = to_play_to(model, SoundChoice::Silent, NotesChoice::Nobody).expect("a plan");
            assert_eq!(plan.form.length(), TickSpan::quarters(beats));
            let last = click_times(model).concat().pop().expect("a click");
            let on_grid = plan.quarter() * (beats - 1);
            assert!(((last - Nanos::ZERO) - on_grid).0.abs() < 100_000, "within a tenth of a millisecond");
        }
    }
}
