//! The mix: how the counted notes share out, each share with its count and its interval.

use crate::statistics::{Interval, Level, design_effect, wilson};

use super::judged::{Class, Judged, Tag, Weight};
use super::stage::Stage;

/// Counted notes by what was found about them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Counts {
    /// Chord tones.
    pub chord: Weight,
    /// Scale tones.
    pub scale: Weight,
    /// Notes of another listed scale.
    pub other: Weight,
    /// Outside notes.
    pub outside: Weight,
    /// Outside notes that resolved.
    pub resolved: Weight,
}

impl Counts {
    /// Takes in a counted note.
    pub fn add(&mut self, note: &Judged) {
        match note.class {
            Some(Class::Chord) => self.chord += note.weight,
            Some(Class::Scale) => self.scale += note.weight,
            Some(Class::Other) => self.other += note.weight,
            Some(Class::Outside) => self.outside += note.weight,
            None => {}
        }
        if matches!(note.tag, Some(Tag::Resolved(_))) {
            self.resolved += note.weight;
        }
    }

    /// All counted notes.
    pub fn counted(&self) -> Weight {
        [self.chord, self.scale, self.other, self.outside].into_iter().sum()
    }

    /// Notes of one kind.
    pub fn of(&self, kind: Kind) -> f64 {
        match kind {
            Kind::Chord => self.chord.notes(),
            Kind::Scale => self.scale.notes(),
            Kind::Other => self.other.notes(),
            Kind::Outside => self.outside.notes(),
            Kind::Resolved => self.resolved.notes(),
            Kind::Open => self.outside.notes() - self.resolved.notes(),
        }
    }
}

/// What a share is a share of: a class, or what became of the outside notes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// Chord tones.
    Chord,
    /// Scale tones.
    Scale,
    /// Notes of another listed scale.
    Other,
    /// Outside notes.
    Outside,
    /// Outside notes that resolved.
    Resolved,
    /// Outside notes that did not, held ones among them.
    Open,
}

/// A share of the counted notes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// Notes of the kind.
    pub n: f64,
    /// Counted notes.
    pub of: f64,
    /// How much less the notes say than independent draws would; 1 to 3.
    pub design_effect: f64,
}

impl Share {
    /// The share itself; `None` when nothing is counted.
    pub fn share(&self) -> Option<f64> {
        (self.of > 0.0).then(|| self.n / self.of)
    }

    /// Its interval; `None` when nothing is counted.
    pub fn interval(&self, level: Level) -> Option<Interval> {
        wilson(self.n / self.design_effect, self.of / self.design_effect, level)
    }
}

/// The counts of a take: whole, by chord's visit, and by bar.
#[derive(Clone, Debug, PartialEq)]
pub struct Mix {
    /// The whole take.
    pub total: Counts,
    /// By visit, in order.
    pub by_visit: Vec<Counts>,
    /// By bar, in order; a note counts in the bar of the chord it belongs to. Bars without notes too.
    pub by_bar: Vec<BarCounts>,
}

/// The counts of one bar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BarCounts {
    /// Times through, from 1.
    pub chorus: u32,
    /// Bar of the form, from 1.
    pub bar: usize,
    /// What was counted in it.
    pub counts: Counts,
}

impl Mix {
    /// Counts a judged take.
    pub fn of(judged: &[Judged], stage: &Stage<'_>) -> Self {
        let mut by_visit = vec![Counts::default(); stage.visits().len()];
        let mut total = Counts::default();
        for note in judged {
            if let Some(visit) = note.visit.filter(|_| note.is_counted()) {
                by_visit[visit].add(note);
                total.add(note);
            }
        }
        let mut by_bar: Vec<BarCounts> = Vec::new();
        for (visit, counts) in stage.visits().iter().zip(&by_visit) {
            let form = stage.laid().form;
            let bar = form.bars[form.chords[visit.chord].bar].number;
            match by_bar.last_mut().filter(|last| (last.chorus, last.bar) == (visit.chorus, bar)) {
                Some(last) => last.counts.join(counts),
                None => by_bar.push(BarCounts { chorus: visit.chorus, bar, counts: *counts }),
            }
        }
        Self { total, by_visit, by_bar }
    }

    /// The share of one kind, its design effect taken from the take's own bars.
    pub fn share(&self, kind: Kind) -> Share {
        let bars = self.by_bar.iter().map(|bar| (bar.counts.of(kind), bar.counts.counted().notes()));
        Share { n: self.total.of(kind), of: self.total.counted().notes(), design_effect: design_effect(bars) }
    }

    /// The share of scale tones with those of another scale added, as a lenient verdict counts them.
    pub fn scale_and_other(&self) -> Share {
        let both = |counts: &Counts| counts.of(Kind::Scale) + counts.of(Kind::Other);
        let bars = self.by_bar.iter().map(|bar| (both(&bar.counts), bar.counts.counted().notes()));
        Share { n: both(&self.total), of: self.total.counted().notes(), design_effect: design_effect(bars) }
    }
}

impl Counts {
    fn join(&mut self, other: &Self) {
        self.chord += other.chord;
        self.scale += other.scale;
        self.other += other.other;
        self.outside += other.outside;
        self.resolved += other.resolved;
    }
}

/// The chord share of running the scale: every scale note played equally often over every chord for as long as it lasts.
/// `None` when there is no chord.
pub fn running_the_scale(stage: &Stage<'_>) -> Option<f64> {
    let (mut chord_time, mut time) = (0.0, 0.0);
    for seen in stage.seen() {
        if let Some(layers) = seen.layers {
            let length = seen.chord.length.0 as f64;
            chord_time += length * layers.chord.len() as f64 / layers.scale.len() as f64;
            time += length;
        }
    }
    (time > 0.0).then(|| chord_time / time)
}

/// Chord share of the middle half of recorded soloists: 444 annotated solos with 40 notes or more, one scale a chord
/// (Weimar Jazz Database, 456 solos, our own count). A comparison, not a target.
pub const RECORDED_SOLOISTS: (f64, f64) = (0.48, 0.57);
