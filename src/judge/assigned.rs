//! Takes heard for an assignment: by its chart, its bands and its way of counting, whoever asks, so that a student is told
//! what the teacher will see.

use crate::chart::{Chart, ChartErrors, Form, Sevenths, Turns};
use crate::harmony::{self, Overrides};
use crate::practice::standing::{Found, Standing, best_pair};
use crate::practice::{Assignment, SentTake, contests};
use crate::report::review::Detail;
use crate::store::journal::entry::Contest;
use crate::take::Imprint;
use crate::take::line_text::NoLine;
use crate::tally::mix::running_the_scale;
use crate::tally::verdict::set_aside;
use crate::tally::{Laid, Settings, Stage, Tally};
use crate::theory::chord::BareSymbols;
use crate::theory::{Key, KeyMode};
use crate::time::{TempoMap, Ticks};

use super::kept::{Line, take_file};
use super::{Answer, Choices, ChordSource, NoBars, NotJudged, Question, fingerprint, judge};

/// An assignment with its chart read, in each of its keys.
#[derive(Clone, Debug)]
pub struct Assigned {
    /// What is asked.
    pub assignment: Assignment,
    /// SHA-256 of its rule, in hexadecimal.
    pub rule_sha256: String,
    /// In each key, in their order.
    keys: Vec<InKey>,
    bare: BareSymbols,
}

/// The chart in one key.
#[derive(Clone, Debug)]
struct InKey {
    chart: Chart,
    /// All of its bars, to know the chart of a take again.
    whole: Form,
    /// The bars that are asked for, with what they mean.
    chords: ChordSource,
}

/// Says why no take can be heard for an assignment.
#[derive(Debug, thiserror::Error)]
pub enum NotAssigned {
    /// It names no chart.
    #[error(
        "names no chart, so no take can be known for it. Write it with barwise assign new F --chart CHART, or compare one \
         take by barwise review TAKE --check F"
    )]
    NoChart,
    /// Its chart has slips.
    #[error("the chart in it has slips:\n{0}")]
    Chart(ChartErrors),
    /// Its chart cannot be moved to one of its keys.
    #[error("key: {0}")]
    Key(String),
    /// It asks for bars that are not there.
    #[error(transparent)]
    Bars(#[from] NoBars),
}

/// A take that was heard.
#[derive(Clone, Debug)]
pub struct Heard {
    /// What becomes of it.
    pub standing: Standing,
    /// What was found; none where it is not for the assignment.
    pub answer: Option<Answer>,
    /// The tally as it would stand with every contested note granted; none where none is found.
    pub granted: Option<Tally>,
    /// How many of its notes are contested.
    pub contested: usize,
}

/// Why a take could not be heard.
#[derive(Debug, thiserror::Error)]
pub enum NotHeard {
    /// Its notes do not read.
    #[error(transparent)]
    Line(#[from] NoLine),
    /// It cannot be judged.
    #[error(transparent)]
    Judged(#[from] NotJudged),
}

impl Assigned {
    /// Reads the chart of an assignment. `bare` says what disputed symbols stand for.
    pub fn new(assignment: Assignment, bare: BareSymbols) -> Result<Self, NotAssigned> {
        let text = assignment.task.chart.as_deref().ok_or(NotAssigned::NoChart)?;
        let (chart, _) =
            Chart::parse("the chart of the assignment", text, bare).map_err(NotAssigned::Chart)?;
        let charts = if assignment.task.keys.is_empty() {
            vec![chart]
        } else {
            assignment.task.keys.iter().map(|&key| moved(&chart, key)).collect::<Result<_, _>>()?
        };
        let bars = assignment.task.bars;
        let keys = charts.into_iter().map(|chart| InKey::new(chart, bars)).collect::<Result<_, _>>()?;
        let rule_sha256 = fingerprint(assignment.rule().as_bytes());
        Ok(Self { assignment, rule_sha256, keys, bare })
    }

    /// The same chart and way of counting with no tempo, feel or number of choruses asked for.
    #[must_use]
    pub fn asking_nothing_of_takes(&self) -> Self {
        let mut any = self.clone();
        let task = &mut any.assignment.task;
        (task.tempo, task.feel, task.choruses) = (None, None, None);
        any
    }

    /// The chords that are asked for, in the first key.
    pub fn chords(&self) -> &ChordSource {
        &self.keys[0].chords
    }

    /// The chart in the first key.
    pub fn chart(&self) -> &Chart {
        &self.keys[0].chart
    }

    /// The chord share of running the scale over the bars asked for; `None` without a chord.
    pub fn running_the_scale(&self, settings: &Settings) -> Option<f64> {
        let chords = self.chords();
        let laid = Laid {
            form: &chords.form,
            reading: &chords.reading,
            tempo: &TempoMap::at_bpm(chords.id.tempo),
            start: Ticks::ZERO,
            choruses: 1,
            until: None,
            turns: Turns::default(),
        };
        running_the_scale(&Stage::new(laid, settings)?)
    }

    /// In which of the keys, from 0, a take of ours was played over the chart of the assignment; `None` where it was over
    /// another chart or other bars.
    pub fn key_of(&self, imprint: &Imprint) -> Option<usize> {
        if imprint.bars != self.assignment.task.bars {
            return None;
        }
        let known = self.keys.iter().position(|key| key.chart.text() == imprint.chart);
        known.or_else(|| {
            let (chart, _) = Chart::parse(&imprint.chart_name, &imprint.chart, self.bare).ok()?;
            let form = whole_form(&chart);
            self.keys.iter().position(|key| same_music(&key.whole, &form))
        })
    }

    /// Hears a take by the choices of the assignment; `contested` are the notes of this take that are contested.
    pub fn hear(&self, take: &SentTake, choices: &Choices, contested: &[Contest]) -> Result<Heard, NotHeard> {
        let key = self.keys.get(take.key);
        let unfit = key
            .map_or_else(|| Some("in a key that is not asked for".to_owned()), |key| self.unfit(take, key));
        let (Some(key), None) = (key, &unfit) else {
            let standing = Standing::NotForIt(unfit.unwrap_or_default());
            return Ok(Heard { standing, answer: None, granted: None, contested: 0 });
        };
        let meters = key.chords.form.meters_from(Ticks(take.count_in_ticks));
        let bytes = take.to_judge(meters, self.assignment.task.bars)?.to_bytes();
        let question = Question {
            choices,
            chart: Some(&key.chords),
            track: None,
            detail: Detail::Totals,
            bands: Some(&self.assignment.bands),
        };
        let answer = judge(&bytes, None, question)?;
        let aside = set_aside(&answer.tally, &self.assignment.bands, take.spread_ms);
        let heard = contests::found_in(&answer.tally, contested);
        let granted = (!heard.is_empty()).then(|| answer.tally.granting(&heard));
        let standing = aside.map_or(Standing::Counts, Standing::SetAside);
        Ok(Heard { standing, answer: Some(answer), granted, contested: heard.len() })
    }

    /// Why a take over the right chart is not what was asked for, if it is not.
    fn unfit(&self, take: &SentTake, key: &InKey) -> Option<String> {
        let task = &self.assignment.task;
        let tempo = task.tempo.filter(|tempo| !tempo.has(take.bpm()));
        let tempo = tempo.map(|tempo| format!("tempo {}, asked {tempo}", take.bpm().round()));
        let feel = task.feel.filter(|feel| take.feel.as_deref().is_some_and(|played| played != feel.name()));
        let feel =
            feel.map(|feel| format!("feel {}, asked {feel}", take.feel.as_deref().unwrap_or_default()));
        let whole = take.whole_choruses(key.chords.form.length());
        let choruses = task.choruses.filter(|&asked| whole < asked);
        let choruses = choruses.map(|asked| format!("{whole} whole choruses, asked {asked}"));
        let why: Vec<String> = [tempo, feel, choruses].into_iter().flatten().collect();
        (!why.is_empty()).then(|| why.join("; "))
    }

    /// What is found over these takes, oldest first; the indices of those that count together are into `heard`.
    pub fn found(&self, heard: &[Heard]) -> Found {
        self.found_in(heard, |heard| heard.answer.as_ref().map(|answer| &answer.tally))
    }

    /// The same with every contested note granted; `None` where none is contested.
    pub fn found_as_contested(&self, heard: &[Heard]) -> Option<Found> {
        heard.iter().any(|heard| heard.granted.is_some()).then(|| {
            self.found_in(heard, |heard| {
                heard.granted.as_ref().or(heard.answer.as_ref().map(|answer| &answer.tally))
            })
        })
    }

    fn found_in<'a>(&self, heard: &'a [Heard], tally: impl Fn(&'a Heard) -> Option<&'a Tally>) -> Found {
        let counting = heard.iter().enumerate().filter(|(_, heard)| heard.standing == Standing::Counts);
        let (places, tallies): (Vec<usize>, Vec<&Tally>) =
            counting.filter_map(|(place, heard)| Some((place, tally(heard)?))).unzip();
        let mut found = best_pair(&tallies, &self.assignment.bands, self.assignment.takes);
        for used in &mut found.used {
            *used = places[*used];
        }
        found
    }

    /// A take as a MIDI file of its own, with the chart in it: to hear, to replay, to review. `None` where it is in none
    /// of the keys.
    pub fn file_of(&self, take: &SentTake) -> Result<Option<Vec<u8>>, NoLine> {
        let Some(key) = self.keys.get(take.key) else { return Ok(None) };
        let imprint = take.imprint(key.chart.text(), "assignment.bars", self.assignment.task.bars);
        let tempo = take.tempo();
        let gaps = take.gaps().map(|(from, until)| (tempo.nanos(from), tempo.nanos(until))).collect();
        let file = take_file(&imprint, &tempo, self.bare, Line { solo: take.line()?, gaps });
        Ok(file.map(|file| file.to_bytes()))
    }
}

impl InKey {
    fn new(chart: Chart, bars: Option<(usize, usize)>) -> Result<Self, NoBars> {
        let all = ChordSource::of_chart(&chart, &Overrides::default());
        let whole = all.form.clone();
        let chords = match bars {
            Some((first, last)) => all.only_bars(first, last)?,
            None => all,
        };
        Ok(Self { chart, whole, chords })
    }
}

/// The form of a chart as it is played, triads heard as sevenths where the chart says so.
fn whole_form(chart: &Chart) -> Form {
    let written = chart.unfold();
    if written.sevenths == Sevenths::Assume { harmony::assume_sevenths(&written) } else { written }
}

/// Whether two forms have the same chords at the same places; titles, labels and scales do not matter.
fn same_music(one: &Form, other: &Form) -> bool {
    let bars = |form: &Form| form.bars.iter().map(|bar| (bar.start, bar.meter)).collect::<Vec<_>>();
    let chords = |form: &Form| {
        form.chords.iter().map(|chord| (chord.start, chord.length, chord.symbol)).collect::<Vec<_>>()
    };
    bars(one) == bars(other) && chords(one) == chords(other)
}

/// The chart in another key of its own mode.
pub fn moved(chart: &Chart, key: Key) -> Result<Chart, NotAssigned> {
    let home = || ChordSource::of_chart(chart, &Overrides::default()).reading.home;
    let from = chart.header().key.or_else(home).ok_or_else(|| {
        NotAssigned::Key(
            "the chart names no key and none is heard in it. Write key: in its header".to_owned(),
        )
    })?;
    let key = if key.mode == KeyMode::Major { Key { mode: from.mode, ..key } } else { key };
    if key.mode != from.mode {
        let tonic = key.tonic;
        return Err(NotAssigned::Key(format!("the chart is in {from} and keeps its mode. Write {tonic}")));
    }
    chart.transposed_from(from, key).map_err(|error| NotAssigned::Key(error.to_string()))
}
