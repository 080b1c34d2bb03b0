//! A chorus, or the whole take, in the few sentences that are read standing: landings, open notes, the chord share, rests.

use super::text::{landing, plural, spread};
use super::{ChordRecord, ChorusRecord, FitRecord, LandingsRecord, RestsRecord, Review, ShareRecord};
use crate::report::number::{Count, percent};
use crate::tally::verdict::{Bands, Measure};

/// What a look at a take is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// One chorus, from 1.
    Chorus(u32),
    /// The whole take.
    Take,
}

/// The figures of a chorus or of the take.
#[derive(Clone, Copy, Debug)]
pub struct Figures<'a> {
    /// Notes counted.
    pub counted: Count,
    /// Chord tones.
    pub chord: &'a ShareRecord,
    /// Scale tones.
    pub scale: &'a ShareRecord,
    /// Notes of another scale.
    pub other: &'a ShareRecord,
    /// Outside notes.
    pub outside: &'a ShareRecord,
    /// Outside notes that resolved.
    pub resolved: &'a ShareRecord,
    /// Outside notes that did not.
    pub open: &'a ShareRecord,
    /// Changes landed on.
    pub landings: &'a LandingsRecord,
    /// Silences.
    pub rests: &'a RestsRecord,
}

impl Part {
    /// Whether a chorus (from 1) belongs to it.
    pub fn has(self, chorus: u32) -> bool {
        match self {
            Self::Chorus(own) => own == chorus,
            Self::Take => true,
        }
    }

    /// Its figures in the document; those of the take where the document has no such chorus.
    pub fn figures(self, review: &Review) -> Figures<'_> {
        let totals = &review.totals;
        let own = |record: &&ChorusRecord| self == Self::Chorus(record.chorus);
        match review.choruses.iter().flatten().find(own) {
            Some(record) => Figures {
                counted: record.counted,
                chord: &record.chord,
                scale: &record.scale,
                other: &record.other,
                outside: &record.outside,
                resolved: &record.resolved,
                open: &record.open,
                landings: &record.landings,
                rests: &record.rests,
            },
            None => Figures {
                counted: totals.counted,
                chord: &totals.chord,
                scale: &totals.scale,
                other: &totals.other,
                outside: &totals.outside,
                resolved: &totals.resolved,
                open: &totals.open,
                landings: &totals.landings,
                rests: &totals.rests,
            },
        }
    }
}

/// `14 of 19 changes landed (*), 3 notes left open (?), all in bars 12 and 13`
pub fn landings(review: &Review, part: Part) -> String {
    let Figures { landings, open, .. } = part.figures(review);
    let changes = if landings.of == 1 { "change" } else { "changes" };
    let landed = match landings.of {
        0 => "no change was met by a note".to_owned(),
        of => format!("{} of {of} {changes} landed (*)", landings.n),
    };
    let open = match open.n {
        Count(n) if n <= 0.0 => "nothing left open".to_owned(),
        n => format!("{} left open (?){}", plural(n, "note"), where_open(review, part)),
    };
    format!("{landed}, {open}")
}

/// `14 of 19 landed (*), 3 open (?)`
pub fn landings_brief(review: &Review, part: Part) -> String {
    let Figures { landings, open, .. } = part.figures(review);
    format!("{} of {} landed (*), {} open (?)", landings.n, landings.of, open.n)
}

/// The bars that hold the open notes, where they are few: `, all in bars 12 and 13`.
fn where_open(review: &Review, part: Part) -> String {
    const MOST: usize = 3;
    let with_open = review.bars.iter().flatten().filter(|bar| part.has(bar.chorus) && bar.open.0 > 0.0);
    let mut bars: Vec<usize> = with_open.map(|bar| bar.bar).collect();
    bars.sort_unstable();
    bars.dedup();
    let numbers: Vec<String> = bars.iter().map(ToString::to_string).collect();
    match numbers.split_last() {
        Some((only, [])) => format!(", in bar {only}"),
        Some((last, others)) if numbers.len() <= MOST => {
            format!(", all in bars {} and {last}", others.join(", "))
        }
        Some(_) => format!(", in {} bars", numbers.len()),
        None => String::new(),
    }
}

/// `63 of 93 notes chord tones, 68 %`; none without a note.
pub fn chord_share(review: &Review, part: Part) -> Option<String> {
    let Figures { chord, counted, .. } = part.figures(review);
    let share = chord.share?;
    Some(format!("{} of {} chord tones, {} %", chord.n, plural(counted, "note"), percent(share)))
}

/// What is asked of a share, and whether it lies in it: `asked 55-70: in`. Of a chorus nothing more is said; of a take a
/// verdict is.
pub fn asked(measure: Measure, share: Option<f64>, bands: Option<&Bands>) -> Option<String> {
    let band = bands?.bands.iter().find(|(of, _)| *of == measure).map(|(_, band)| band)?;
    let is_in = (band.low()..=band.high()).contains(&share?);
    let (low, high) = (percent(band.low()), percent(band.high()));
    Some(format!("asked {low}-{high}: {}", if is_in { "in" } else { "not in" }))
}

/// `running the scale 57`
pub fn running_the_scale(review: &Review) -> Option<String> {
    review.totals.running_the_scale.map(|share| format!("running the scale {}", percent(share)))
}

/// `3 of 64 beats of rest; the longest stretch without one is 9 bars`
pub fn rests(review: &Review, part: Part) -> String {
    let rests = part.figures(review).rests;
    let run = run_in_bars(review, rests);
    format!("{} of {} beats of rest; the longest stretch without one is {run}", Count(rests.beats), rests.of)
}

/// `3 of 64 beats; 9 bars without`
pub fn rests_in_brief(review: &Review, part: Part) -> String {
    let rests = part.figures(review).rests;
    format!("rests {} of {} beats; {} without", Count(rests.beats), rests.of, run_in_bars(review, rests))
}

/// The longest stretch in bars, where all bars have as many beats; else in beats.
fn run_in_bars(review: &Review, rests: &RestsRecord) -> String {
    let mut beats = review.bars.iter().flatten().map(|bar| bar.beats.0);
    let first =
        beats.next().filter(|&first| first > 0.0 && beats.all(|beats| (beats - first).abs() < f64::EPSILON));
    match first.map(|beats| rests.longest_run_beats / beats) {
        Some(bars) if bars >= 1.0 => plural(Count(bars), "bar"),
        _ => plural(Count(rests.longest_run_beats), "beat"),
    }
}

/// The fit that is told first, the one with most notes, and how many more there are.
pub fn first_fit(review: &Review) -> Option<(&FitRecord, usize)> {
    let fits = &review.totals.fits;
    let most = fits.iter().rev().max_by(|a, b| a.notes_more.0.total_cmp(&b.notes_more.0))?;
    Some((most, fits.len() - 1))
}

/// `take: your line over Bb7 fits Bb lydian dominant: 5 notes more`, the fit with most notes; none under strict counting.
pub fn fit(review: &Review) -> Option<String> {
    let (fit, others) = first_fit(review).filter(|_| review.settings.counting != "strict")?;
    let more = plural(fit.notes_more, "note");
    let others = if others > 0 { format!(", {others} more such") } else { String::new() };
    Some(format!("take: your line over {} fits {}: {more} more{others}", fit.symbol, fit.scale))
}

/// `63 of 93  68 % (58-76)`
pub fn share_with_interval(share: &ShareRecord, counted: Count) -> String {
    let interval = share.share.zip(share.low).zip(share.high);
    let interval = interval.map_or_else(String::new, |((share, low), high)| spread(share, low, high));
    format!("{:>3} of {counted}  {interval}", share.n.to_string())
}

/// `14 of 19  74 % (51-88)`
pub fn landings_with_interval(landings: &LandingsRecord) -> String {
    let interval = landings.share.zip(landings.low).zip(landings.high);
    let interval = interval.map_or_else(String::new, |((share, low), high)| spread(share, low, high));
    format!("{:>3} of {}  {interval}", landings.n, landings.of)
}

/// How a chord was met, for the row below it on the chart.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Met {
    /// Whether it was landed on; of a take at least once.
    pub landed: bool,
    /// The degree of its first note, `-` where none came in its first beat, whose bar it is; of a take how often it was
    /// landed on: `2/3`.
    pub by: String,
    /// A `?` for each open note; `?5` where they are many.
    pub open: String,
}

/// How a chord of the form (from 1) was met in a part.
pub fn met(review: &Review, part: Part, chord_index: usize) -> Met {
    let of_part = |chord: &&ChordRecord| chord.chord_index == chord_index && part.has(chord.chorus);
    let soundings: Vec<&ChordRecord> = review.chords.iter().flatten().filter(of_part).collect();
    let open = soundings.iter().map(|chord| chord.open.0).sum::<f64>().ceil() as usize;
    let open = if open > 3 { format!("?{open}") } else { "?".repeat(open) };
    let [only] = soundings.as_slice() else { return Met { open, ..met_often(&soundings) } };
    let text = landing(only);
    let (landed, by) = match (text.trim(), &only.landing) {
        ("none", _) => (false, "-"),
        ("same", _) => (false, ""),
        (text, _) => (text.starts_with('*'), text.trim_start_matches(['*', ' '])),
    };
    Met { landed, by: by.to_owned(), open }
}

fn met_often(soundings: &[&ChordRecord]) -> Met {
    let met = soundings.iter().filter_map(|chord| chord.landing.as_ref()?.hit);
    let (landed, all) = met.fold((0, 0), |(landed, all), hit| (landed + usize::from(hit), all + 1));
    let by = if all > 0 { format!("{landed}/{all}") } else { String::new() };
    Met { landed: landed > 0, by, open: String::new() }
}
