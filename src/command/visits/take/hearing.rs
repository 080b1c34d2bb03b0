//! Bars of a take heard again over the backing, on the playing screen.

use std::ops::RangeInclusive;

use super::{Looked, TakeToShow};
use crate::band::feel::USUAL_SWING_PERCENT;
use crate::band::{Accompaniment, BandNote, Part as BandPart, Seed};
use crate::chart::{Feel, Turns};
use crate::command::exit_status::{Ending, Failure};
use crate::command::play::no_longer_shown;
use crate::command::play::view::theme;
use crate::command::visits::Visits;
use crate::command::voice_args::sound_font;
use crate::harmony::Changes;
use crate::judge::ChordSource;
use crate::live::keep::KeeperEnd;
use crate::live::{self, NotesChoice, SessionPlan};
use crate::report::review::chorus_words::Part;
use crate::screen::page::{Heading, Page};
use crate::screen::playing::{self, Shown};
use crate::take::{Imprint, MidiFile};
use crate::theory::Pitch;
use crate::time::{Nanos, Ticks};

/// Plays some bars of a part, or all of it.
pub(super) fn hear(
    visits: &mut Visits<'_, '_>,
    looked: &Looked,
    shown: &TakeToShow,
    part: Part,
    bars: Option<RangeInclusive<usize>>,
) -> Result<Ending, Failure> {
    let Some(heard) = Heard::of(looked, shown, part, bars) else {
        return Err(Failure::bad_input("there is nothing to hear in these bars".to_owned()));
    };
    let settings = &visits.startup.resolved.settings;
    let heading = Heading { choruses: heard.choruses, ..looked.seen.page.heading.clone() };
    let page = Page::new(&heard.chords.form, &heard.chords.reading, heading).in_keys(&heard.chords.keys);
    let plan = SessionPlan {
        form: heard.chords.form,
        reading: heard.chords.reading,
        keys: heard.chords.keys,
        bpm: looked.seen.review.chart.tempo,
        choruses: heard.choruses,
        feel: heard.feel,
        swing_percent: heard.swing_percent,
        seed: heard.seed,
        mutes: Vec::new(),
        levels: settings.levels,
        sound_font: sound_font(settings, visits.out)?,
        accompaniment: Accompaniment::default(),
        sound: visits.sound.choice()?,
        notes: NotesChoice::Nobody,
        foot: None,
        line: heard.line,
        turns: Turns::default(),
    };
    plan.check()?;
    let opening = Shown { tuning: settings.tuning.clone(), ..Shown::default() };
    let look = theme(visits.out.form());
    let played = live::play(&plan, KeeperEnd::nobody(), |end| {
        playing::run(&page, &opening, look, &mut |_| None, end)
    })?;
    match (&played.view, played.stopped) {
        (_, live::Stopped::Interrupted(_)) => Err(Failure::interrupted()),
        (Err(broke), _) => Err(Failure::store(no_longer_shown(broke))),
        (Ok(()), _) => Ok(Ending::Fine),
    }
}

/// What is heard: the chords, and the line over them.
struct Heard {
    chords: ChordSource,
    choruses: u16,
    line: Vec<BandNote>,
    feel: Feel,
    swing_percent: u8,
    seed: Seed,
}

impl Heard {
    fn of(
        looked: &Looked,
        shown: &TakeToShow,
        part: Part,
        bars: Option<RangeInclusive<usize>>,
    ) -> Option<Self> {
        let midi = MidiFile::parse(&shown.bytes).ok()?;
        let imprint = Imprint::of(&midi)?;
        let whole = &looked.chords;
        let chorus = if let Part::Chorus(chorus) = part { chorus } else { 1 };
        let mut chords = whole.clone();
        let mut choruses = looked.seen.choruses().max(1) as u16;
        if part != Part::Take {
            choruses = 1;
            chords.keys = Vec::new();
            if let Some(changes) = Changes::of_chorus(&whole.keys, chorus) {
                (chords.form, chords.reading) = (changes.form.clone(), changes.reading.clone());
            }
        }
        let before = whole.form.length() * i64::from(chorus - 1);
        let mut from = imprint.start() + before;
        if let Some(bars) = bars {
            let first = whole.form.bars.iter().position(|bar| bar.number == *bars.start())?;
            let last = whole.form.bars.iter().position(|bar| bar.number == *bars.end())?;
            from += whole.form.bars[first].start - Ticks::ZERO;
            chords = chords.only_bars(first + 1, last + 1).ok()?;
        }
        let until = from + chords.form.length() * i64::from(choruses);
        let line = looked.seen.review.notes.iter().flatten().filter_map(|note| {
            let nanos = |ms: f64| Nanos((ms * 1e6).round() as i64);
            let (on, off) = (nanos(note.onset_ms), nanos(note.onset_ms + note.duration_ms));
            let (on, off) = (midi.tempo.ticks(on), midi.tempo.ticks(off));
            (from..until).contains(&on).then_some(())?;
            Some(BandNote {
                part: BandPart::Line,
                at: Ticks::ZERO + (on - from),
                length: off.min(until) - on,
                key: Pitch::new(note.key)?,
                velocity: note.velocity,
            })
        });
        let band = imprint.band.unwrap_or_default();
        let swing = if band.swing_percent == 0 { USUAL_SWING_PERCENT } else { band.swing_percent };
        Some(Self {
            line: line.collect(),
            choruses,
            feel: imprint.feel.and_then(|feel| feel.parse().ok()).or(chords.feel).unwrap_or_default(),
            swing_percent: swing,
            seed: Seed(band.seed),
            chords,
        })
    }
}
