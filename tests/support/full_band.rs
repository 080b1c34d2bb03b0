//! A full band of any length for the audio callback: every part on, a click on every pulse.

use barwise::band::feel::USUAL_SWING_PERCENT;
use barwise::band::voices::Strike;
use barwise::band::{Accompaniment, Call, ClickOn, Seed, arrange};
use barwise::chart::backing::Backing;
use barwise::chart::{Chart, Feel, Turns};
use barwise::harmony::Overrides;
use barwise::judge::ChordSource;
use barwise::live::wires::{ToAudio, ToAudioEnd};
use barwise::theory::chord::BareSymbols;
use barwise::time::{FrameRate, Frames, Nanos, TempoMap, Ticks};

/// Frames a second.
pub const RATE: FrameRate = FrameRate::new(48_000).expect("a rate");
/// Frames of a block.
pub const BLOCK: usize = 256;
/// Frames that are sent ahead, as a session does.
const AHEAD: i64 = 48_000;

/// The band's notes at their frames at `rate`, in order; they last for `minutes` at least.
pub fn strikes(rate: FrameRate, minutes: u16) -> Vec<(Frames, Strike)> {
    let bpm = 240.0;
    let text = Backing::find("bus-shelter").expect("a chart that ships").text;
    let (chart, _) = Chart::parse("bus-shelter", text, BareSymbols::default()).expect("a chart");
    let ChordSource { form, reading, .. } = ChordSource::of_chart(&chart, &Overrides::default());
    let tempo = TempoMap::at_bpm(bpm);
    let beats = form.length().in_quarters();
    let call = Call {
        form: &form,
        reading: &reading,
        keys: &[],
        choruses: (f64::from(minutes) * bpm / beats).ceil() as u16,
        feel: Feel::Swing,
        swing_percent: USUAL_SWING_PERCENT,
        quarter: tempo.quarter(Ticks::ZERO),
        accompaniment: Accompaniment { click: ClickOn::EveryPulse, ..Accompaniment::default() },
        seed: Seed(1),
        turns: Turns::default(),
    };
    let frame = |at: Ticks| Frames::ZERO + rate.frames(tempo.nanos(at) - Nanos::ZERO);
    let strike = |note: &barwise::band::BandNote| {
        let at = frame(note.at);
        let length = frame(note.at + note.length) - at;
        (at, Strike { part: note.part, key: note.key.key(), velocity: note.velocity, length })
    };
    arrange(&call).notes.iter().map(strike).collect()
}

/// Sends what is due within a second of `now`; gives back what is left.
pub fn send_ahead<'s>(
    mut left: &'s [(Frames, Strike)],
    now: Frames,
    session: &mut ToAudioEnd,
) -> &'s [(Frames, Strike)] {
    while let Some((&(at, strike), rest)) = left.split_first() {
        if at.0 > now.0 + AHEAD || session.orders.push(ToAudio::Strike { at, strike }).is_err() {
            break;
        }
        left = rest;
    }
    left
}
