//! The backing band: an arranger that writes its notes, and the voices that sound them.
//!
//! It plays plainly and never looks at the player. [`arrange`] is pure: the same chart, feel and seed give the same notes.
//! [`voices`] obey the real-time law (no allocation, no lock, bounded work), for they run on the audio thread.

pub mod accompaniment;
mod bars;
mod bass;
pub mod chance;
pub mod click;
pub mod comping;
pub mod count_in;
mod cymbals;
mod drum_solo;
pub mod feel;
pub mod level;
pub mod sounded;
mod stretch;
pub mod voices;
pub mod written;

use std::sync::Arc;

use crate::chart::{Feel, Form, Turns};
use crate::harmony::{Changes, Reading};
use crate::theory::{Pitch, PitchClass};
use crate::time::{NanoSpan, TickSpan, Ticks};

pub use accompaniment::{Accompaniment, BandOut, BarsBefore, Opening, Playing};
pub use chance::Seed;
pub use click::{ClickOn, LoneClick};
pub use count_in::{CountIn, CountInBars};
pub use level::{Decibels, Levels};

use bars::Bar;
use chance::Chance;

/// A part of the band.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Part {
    /// The bass.
    Bass,
    /// Shell chords.
    Comp,
    /// The ride cymbal.
    Ride,
    /// The hi-hat, closed by foot.
    Hat,
    /// The bass drum.
    Kick,
    /// The click, count-in included.
    Click,
    /// A line that is played back over the band: of the demo, of a take.
    Line,
}

impl Part {
    /// Every part.
    pub const ALL: [Self; 7] =
        [Self::Bass, Self::Comp, Self::Ride, Self::Hat, Self::Kick, Self::Click, Self::Line];

    /// The parts that the band itself plays: those that can be muted.
    pub const BAND: [Self; 6] = [Self::Bass, Self::Comp, Self::Ride, Self::Hat, Self::Kick, Self::Click];

    /// The word that flags and files use.
    pub const fn word(self) -> &'static str {
        ["bass", "comp", "ride", "hat", "kick", "click", "line"][self as usize]
    }
}

/// Says that no part of the band has this name.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("no part \"{0}\": possible values: {words}", words = Part::BAND.map(Part::word).join(", "))]
pub struct NoPart(String);

impl std::str::FromStr for Part {
    type Err = NoPart;

    fn from_str(text: &str) -> Result<Self, NoPart> {
        Self::BAND.into_iter().find(|part| part.word() == text).ok_or_else(|| NoPart(text.to_owned()))
    }
}

/// One note of the band.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BandNote {
    /// Who plays it.
    pub part: Part,
    /// When it starts, from the first click of the count-in.
    pub at: Ticks,
    /// How long it sounds.
    pub length: TickSpan,
    /// The pitch; for cymbals, kick and click the key of the General MIDI percussion map.
    pub key: Pitch,
    /// How hard it is played, 1 to 127.
    pub velocity: u8,
}

/// What the band is asked to play.
#[derive(Clone, Copy, Debug)]
pub struct Call<'a> {
    /// The tune.
    pub form: &'a Form,
    /// What its chords mean: scales for the bass's steps, the home key for the last note.
    pub reading: &'a Reading,
    /// The same in the key of each chorus, where the tune goes through keys; none where it stays in one.
    pub keys: &'a [Arc<Changes>],
    /// Times through.
    pub choruses: u16,
    /// How it moves.
    pub feel: Feel,
    /// How much of the measured swing it takes, in percent.
    pub swing_percent: u8,
    /// How long a quarter note lasts.
    pub quarter: NanoSpan,
    /// How it plays with somebody who practises.
    pub accompaniment: Accompaniment,
    /// From which the choices follow.
    pub seed: Seed,
    /// Whose bars are whose.
    pub turns: Turns,
}

impl<'a> Call<'a> {
    /// The tune in a chorus (from 1), and what its chords mean there.
    pub fn changes(&self, chorus: u32) -> (&'a Form, &'a Reading) {
        let here = Changes::of_chorus(self.keys, chorus);
        here.map_or((self.form, self.reading), |changes| (&changes.form, &changes.reading))
    }
}

/// What the band plays, from the first click to the last held note.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Arrangement {
    /// The notes, by their start.
    pub notes: Vec<BandNote>,
    /// How long the count-in lasts: bar 1 starts there.
    pub count_in: TickSpan,
    /// The end of the last bar.
    pub end: Ticks,
    /// How long the closing tonic is held after it.
    pub closing: TickSpan,
}

/// Writes the notes of every part for the whole take.
///
/// Tick 0 is the first click of the count-in, so that no instant of a take is negative. An empty form gets no notes.
pub fn arrange(call: &Call) -> Arrangement {
    let count_in = CountIn::of(call.form, call.quarter, call.accompaniment.count_in);
    let bars = bars::unfold(call, Ticks::ZERO + count_in.length);
    let length = TickSpan(call.form.length().0 * i64::from(call.choruses));
    let end = Ticks::ZERO + count_in.length + length;
    let closing = call.form.bars.last().map_or(TickSpan::ZERO, |bar| bar.meter.bar());

    let mut notes = count_in.notes();
    notes.extend(click::clicks(call.accompaniment.click, &bars));
    if !matches!(call.accompaniment.click, ClickOn::Alone(_)) {
        notes.extend(band(call, &bars));
    }
    let last = last_of_bass(&notes);
    notes.extend(close(call, call.choruses.into(), (end, closing), last));
    notes.sort_by_key(|note| (note.at, note.part));
    Arrangement { notes, count_in: count_in.length, end, closing }
}

/// What the parts play in these bars.
fn band(call: &Call, bars: &[Bar]) -> Vec<BandNote> {
    let stretches = stretch::unfold(call, bars);
    let chance = |part| Chance::new(call.seed, part);
    let tonic = tonic(call, call.choruses.into());
    let bass = bass::line(call, &stretches, tonic, &mut chance(Part::Bass));
    let comp = comping::chords(bars, &stretches, &bass, &mut chance(Part::Comp));
    let mut notes = in_the_bands_bars([bass, comp].concat(), bars);
    notes.extend(cymbals::pattern(call.feel, bars, &stretches, &mut chance(Part::Ride)));
    notes.extend(drum_solo::solo(bars, &mut chance(Part::Kick)));
    notes
}

/// The notes that are struck in bars of the band, each let go at the latest where the band breaks off.
fn in_the_bands_bars(notes: Vec<BandNote>, bars: &[Bar]) -> Vec<BandNote> {
    let mut runs: Vec<(Ticks, Ticks)> = Vec::new();
    for bar in bars.iter().filter(|bar| bar.playing == Playing::Band) {
        match runs.last_mut() {
            Some((_, end)) if *end == bar.at => *end = bar.end(),
            _ => runs.push((bar.at, bar.end())),
        }
    }
    let within = |note: BandNote| {
        let begun = runs.partition_point(|&(start, _)| start <= note.at);
        let &(_, end) = runs.get(begun.checked_sub(1)?)?;
        (note.at < end).then(|| BandNote { length: note.length.min(end - note.at), ..note })
    };
    notes.into_iter().filter_map(within).collect()
}

/// The note of the bass that is struck last, if any is.
pub fn last_of_bass(notes: &[BandNote]) -> Option<Pitch> {
    let bass = notes.iter().filter(|note| note.part == Part::Bass);
    bass.max_by_key(|note| note.at).map(|note| note.key)
}

/// The band's last notes behind a chorus: the tonic of its key, held from beat 1, the bass as near as it can be to the
/// note it struck last. None where the click is all there is.
pub fn close(
    call: &Call,
    chorus: u32,
    (at, length): (Ticks, TickSpan),
    last: Option<Pitch>,
) -> Vec<BandNote> {
    let tonic = tonic(call, chorus).filter(|_| !matches!(call.accompaniment.click, ClickOn::Alone(_)));
    let Some(tonic) = tonic else { return Vec::new() };
    let bass = bass::closing(tonic, last);
    let bass = bass.map(|key| BandNote { part: Part::Bass, at, length, key, velocity: 80 });
    bass.into_iter().chain(cymbals::closing(at, length)).collect()
}

/// The tonic of the home key in a chorus; without one, the root of the first chord.
fn tonic(call: &Call, chorus: u32) -> Option<PitchClass> {
    let (form, reading) = call.changes(chorus);
    let home = reading.home.map(|key| key.tonic.pitch_class());
    let first = || form.chords.iter().find_map(|chord| chord.symbol);
    home.or_else(|| first().map(|symbol| symbol.heard().root.pitch_class()))
}

#[cfg(test)]
pub(crate) mod tests;
