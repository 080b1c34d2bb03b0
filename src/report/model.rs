//! The model document, `barwise.model`: the teacher's take in an assignment bar by bar, and one of the student's beside it.

use schemars::JsonSchema;
use serde::Serialize;

use super::assignment::AssignmentName;
use super::number::{Count, percent};
use super::review::{ShareRecord, TOOL};
use super::table::{Column, Row, Table};
use crate::judge::Answer;
use crate::judge::assigned::Assigned;
use crate::practice::class::{PupilBar, bars_of};
use crate::tally::Kind;

/// A model take, and perhaps another, bar by bar.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "barwise.model")]
pub struct ModelDocument {
    /// `barwise.model`
    pub schema: &'static str,
    /// Version of the document.
    pub version: u32,
    /// The program and its version.
    pub tool: &'static str,
    /// The assignment.
    pub assignment: AssignmentName,
    /// Chord tones of the model.
    pub model_chord: ShareRecord,
    /// Chord tones of the take beside it.
    pub yours_chord: Option<ShareRecord>,
    /// Every bar of the form, all choruses together.
    pub bars: Vec<ModelBar>,
}

/// One bar.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ModelBar {
    /// Its number.
    pub bar: usize,
    /// The symbols that begin in it, as written.
    pub symbols: Vec<String>,
    /// The model in it.
    pub model: BarMix,
    /// The take beside it.
    pub yours: Option<BarMix>,
}

/// What was played in a bar, all choruses together.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BarMix {
    /// Notes counted.
    pub counted: Count,
    /// Chord tones.
    pub chord: Count,
    /// Scale tones, those of another scale among them.
    pub scale: Count,
    /// Outside notes.
    pub outside: Count,
    /// Outside notes left open.
    pub open: Count,
    /// Changes landed on.
    pub landed: usize,
    /// Changes that a note met.
    pub changes: usize,
}

impl ModelDocument {
    /// The document of a model and perhaps a take beside it.
    pub fn new(assigned: &Assigned, model: &Answer, yours: Option<&Answer>) -> Self {
        let form = &assigned.chords().form;
        let first = form.bars.first().map_or(1, |bar| bar.number);
        let of_model = mixes(model, first, form.bars.len());
        let of_yours = yours.map(|yours| mixes(yours, first, form.bars.len()));
        let bars = form.bars.iter().enumerate().map(|(index, bar)| {
            let here = form.chords.iter().filter(|chord| chord.bar == index);
            ModelBar {
                bar: bar.number,
                symbols: here.map(|chord| chord.text.clone()).collect(),
                model: of_model[index],
                yours: of_yours.as_ref().map(|mixes| mixes[index]),
            }
        });
        Self {
            schema: "barwise.model",
            version: 1,
            tool: TOOL,
            assignment: AssignmentName::of(assigned),
            model_chord: model.review.totals.chord.clone(),
            yours_chord: yours.map(|yours| yours.review.totals.chord.clone()),
            bars: bars.collect(),
        }
    }

    /// The bars as rows: `m` is the model, `y` the take beside it.
    pub fn table(&self) -> Table {
        let beside = self.yours_chord.is_some();
        let counts = ["m c", "m s", "m x", "m ?", "m land"].map(Column::numbers);
        let yours = ["y c", "y s", "y x", "y ?", "y land"].map(Column::numbers);
        let yours = yours.into_iter().filter(|_| beside);
        let columns = [Column::numbers("bar"), Column::words("chords")];
        let mut table = Table::new(columns.into_iter().chain(counts).chain(yours));
        for bar in &self.bars {
            let head = [bar.bar.to_string(), bar.symbols.join(" ")];
            let yours = bar.yours.into_iter().flat_map(cells);
            table.push(Row::new(head.into_iter().chain(cells(bar.model)).chain(yours).map(Into::into)));
        }
        table.note("c s x ?: chord, scale, outside, open; land: changes landed on, of those met; all choruses together.");
        table.note(share("m: the model", &self.model_chord));
        if let Some(chord) = &self.yours_chord {
            table.note(share("y: yours", chord));
        }
        table
    }
}

fn share(whose: &str, chord: &ShareRecord) -> String {
    let interval = chord.share.zip(chord.low).zip(chord.high);
    interval.map_or_else(
        || format!("{whose}: no counted note."),
        |((share, low), high)| {
            let [share, low, high] = [share, low, high].map(percent);
            format!("{whose}, chord tones {share} % ({low}-{high}). A way to play it, not the way.")
        },
    )
}

pub(super) fn cells(mix: BarMix) -> impl Iterator<Item = String> {
    let land = if mix.changes == 0 { "-".to_owned() } else { format!("{}/{}", mix.landed, mix.changes) };
    [mix.chord, mix.scale, mix.outside, mix.open].map(|count| count.to_string()).into_iter().chain([land])
}

/// What was played in each of so many bars from `first` on, all choruses together.
pub(super) fn mixes(answer: &Answer, first: usize, bars: usize) -> Vec<BarMix> {
    let landed = bars_of(&[&answer.tally], first, bars);
    let of_bar = |(index, bar): (usize, &PupilBar)| {
        let sum = |kinds: &[Kind]| {
            let here = answer.tally.mix.by_bar.iter().filter(|counts| counts.bar == first + index);
            Count(here.map(|counts| kinds.iter().map(|&kind| counts.counts.of(kind)).sum::<f64>()).sum())
        };
        BarMix {
            counted: Count(bar.counted),
            chord: sum(&[Kind::Chord]),
            scale: sum(&[Kind::Scale, Kind::Other]),
            outside: sum(&[Kind::Outside]),
            open: Count(bar.open),
            landed: bar.met - bar.missed,
            changes: bar.met,
        }
    };
    landed.iter().enumerate().map(of_bar).collect()
}
