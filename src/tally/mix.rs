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

    /// Takes in what was counted elsewhere.
    fn add_all(&mut self, more: &Self) {
        self.chord += more.chord;
        self.scale += more.scale;
        self.other += more.other;
        self.outside += more.outside;
        self.resolved += more.resolved;
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
    /// By visit, the place of its bar in `by_bar`.
    pub bar_of_visit: Vec<usize>,
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
        let form = stage.laid().form;
        let mut by_bar: Vec<BarCounts> = Vec::new();
        let mut bar_of_visit = Vec::with_capacity(stage.visits().len());
        for visit in stage.visits() {
            let bar = form.bars[form.chords[visit.chord].bar].number;
            if by_bar.last().is_none_or(|last| (last.chorus, last.bar) != (visit.chorus, bar)) {
                by_bar.push(BarCounts { chorus: visit.chorus, bar, counts: Counts::default() });
            }
            bar_of_visit.push(by_bar.len() - 1);
        }
        let by_visit = vec![Counts::default(); stage.visits().len()];
        Self { total: Counts::default(), by_visit, by_bar, bar_of_visit }.recounted(judged)
    }

    /// The same places with these notes counted in them.
    #[must_use]
    pub fn recounted(mut self, judged: &[Judged]) -> Self {
        self.total = Counts::default();
        self.by_visit.fill(Counts::default());
        for bar in &mut self.by_bar {
            bar.counts = Counts::default();
        }
        for note in judged {
            if let Some(visit) = note.visit.filter(|_| note.is_counted()) {
                self.by_visit[visit].add(note);
                self.by_bar[self.bar_of_visit[visit]].counts.add(note);
                self.total.add(note);
            }
        }
        self
    }

    /// The share of one kind, its design effect taken from the take's own bars.
    pub fn share(&self, kind: Kind) -> Share {
        self.share_of(&[kind])
    }

    /// The share of scale tones with those of another scale added, as a lenient verdict counts them.
    pub fn scale_and_other(&self) -> Share {
        self.share_of(&[Kind::Scale, Kind::Other])
    }

    /// What was counted in a chorus (from 1).
    pub fn of_chorus(&self, chorus: u32) -> Counts {
        let mut all = Counts::default();
        for bar in self.by_bar.iter().filter(|bar| bar.chorus == chorus) {
            all.add_all(&bar.counts);
        }
        all
    }

    /// The share of one kind in a chorus. Its design effect is the take's: one chorus has too few bars for one of its own.
    pub fn share_in_chorus(&self, kind: Kind, chorus: u32) -> Share {
        let here = self.of_chorus(chorus);
        Share { n: here.of(kind), of: here.counted().notes(), ..self.share(kind) }
    }

    /// The share of several kinds together.
    pub fn share_of(&self, kinds: &[Kind]) -> Share {
        let n = kinds.iter().map(|&kind| self.total.of(kind)).sum();
        let design_effect = design_effect(self.clusters(kinds));
        Share { n, of: self.total.counted().notes(), design_effect }
    }

    /// The notes of these kinds and all counted notes, bar by bar.
    pub fn clusters(&self, kinds: &[Kind]) -> impl Iterator<Item = (f64, f64)> {
        self.by_bar.iter().map(|bar| {
            let of_kinds = kinds.iter().map(|&kind| bar.counts.of(kind)).sum();
            (of_kinds, bar.counts.counted().notes())
        })
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
