//! `assign new`: writes an assignment from flags.

use std::path::{Path, PathBuf};
use std::str::FromStr;

use clap::Args;
use clap::builder::PossibleValuesParser;

use super::super::exit_status::{Ending, Failure};
use super::super::load;
use super::super::load::NotLoaded;
use super::super::output::Output;
use super::super::startup::Startup;
use super::super::values::{BarRange, ChartSource as ChartPlace, Choruses, Day};
use super::looked::sent;
use super::show::{document, show};
use super::{assigned_of, keep};
use crate::chart::Feel;
use crate::judge::assigned::{Assigned, moved};
use crate::practice::Assignment;
use crate::practice::assignment::{TakesAsked, Task, TempoBand, Words, read_band, read_tempo};
use crate::report::assignment::text;
use crate::store::error_words::in_words;
use crate::store::journal::entry::AssignmentRole;
use crate::store::replace::replace;
use crate::tally::verdict::{Band, Bands, FEWEST_NOTES, Measure};
use crate::tally::{Counting, NamedColours};
use crate::theory::Key;

/// What `assign new` takes.
#[derive(Clone, Debug, PartialEq, Args)]
pub struct NewArgs {
    /// The file to write, as in week-3.toml
    #[arg(value_name = "F")]
    pub file: PathBuf,
    /// The chart: a file, or the name of a chart that ships. Its text goes into the assignment
    #[arg(long, value_name = "CHART", help_heading = TO_PLAY)]
    pub chart: ChartPlace,
    /// The keys it may be played in: Eb or Eb,F; else the chart's own
    #[arg(long, value_name = "KEYS", value_delimiter = ',', help_heading = TO_PLAY)]
    pub key: Vec<Key>,
    /// Only these bars of the form: 9-12
    #[arg(long, value_name = "FIRST-LAST", help_heading = TO_PLAY)]
    pub bars: Option<BarRange>,
    /// The tempos it may be played at: 116-132, or 120
    #[arg(long, value_name = "LOW-HIGH", help_heading = TO_PLAY)]
    pub tempo: Option<TempoValue>,
    /// How the backing moves
    #[arg(long, help_heading = TO_PLAY)]
    pub feel: Option<Feel>,
    /// The fewest whole choruses of a take
    #[arg(long, value_name = "N", help_heading = TO_PLAY)]
    pub choruses: Option<Choruses>,
    /// Chord tones, in percent of the counted notes: 55-70
    #[arg(long, value_name = BAND, allow_hyphen_values = true, help_heading = BANDS)]
    pub chord: Option<BandValue>,
    /// Scale tones
    #[arg(long, value_name = BAND, allow_hyphen_values = true, help_heading = BANDS)]
    pub scale: Option<BandValue>,
    /// Outside notes, approach notes and all
    #[arg(long, value_name = BAND, allow_hyphen_values = true, help_heading = BANDS)]
    pub outside: Option<BandValue>,
    /// Outside notes that resolve
    #[arg(long, value_name = BAND, allow_hyphen_values = true, help_heading = BANDS)]
    pub resolved: Option<BandValue>,
    /// Outside notes left open: 0-5
    #[arg(long, value_name = BAND, allow_hyphen_values = true, help_heading = BANDS)]
    pub open: Option<BandValue>,
    /// Changes landed on, in percent of those met: 50-
    #[arg(long, value_name = BAND, allow_hyphen_values = true, help_heading = BANDS)]
    pub landings: Option<BandValue>,
    /// Fewest counted notes of a take, 40 or more
    #[arg(long, value_name = "N", default_value_t = 60, value_parser = clap::value_parser!(u32).range(40..=100_000), help_heading = BANDS)]
    pub needs: u32,
    /// How notes of another scale in use count; else as your settings say
    #[arg(long, value_parser = PossibleValuesParser::new(["strict", "lenient"]), help_heading = BANDS)]
    pub counting: Option<String>,
    /// How a 9, 11 or 13 named in a symbol counts; else as your settings say
    #[arg(long, value_parser = PossibleValuesParser::new(["scale", "chord"]), help_heading = BANDS)]
    pub named_colours: Option<String>,
    /// The best two of all takes count, not of the last five
    #[arg(long, help_heading = BANDS)]
    pub any_two: bool,
    /// What it is called: "Thursday, room 4"
    #[arg(long, value_name = "TEXT", help_heading = WORDS)]
    pub title: Option<String>,
    /// Its number in the term
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=9_999), help_heading = WORDS)]
    pub number: Option<u32>,
    /// The day it is to be handed in: 2026-12-03
    #[arg(long, value_name = "DATE", help_heading = WORDS)]
    pub due: Option<Day>,
    /// What to practise beside the bands, not counted: a position, a pentatonic, pushes
    #[arg(long, value_name = "TEXT", help_heading = WORDS)]
    pub focus: Option<String>,
    /// What to listen for
    #[arg(long, value_name = "TEXT", help_heading = WORDS)]
    pub question: Option<String>,
    /// More, in your words
    #[arg(long, value_name = "TEXT", help_heading = WORDS)]
    pub comment: Option<String>,
    /// A take of your own that travels along, to hear and to compare: a number, last, or a file
    #[arg(long, value_name = "TAKE")]
    pub model: Option<PathBuf>,
    /// Write over an assignment that is there already
    #[arg(long)]
    pub replace: bool,
}

const TO_PLAY: &str = "What is to be played";
const BANDS: &str = "Bands, in percent from low to high; an end may be left open";
const WORDS: &str = "In words";
const BAND: &str = "LOW-HIGH";

/// A band on the command line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BandValue(Band);

/// Reads `55-70`, `50-`, `-5`.
impl FromStr for BandValue {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        band(text).map(Self)
    }
}

/// Reads a band, or says how one is written.
pub fn band(text: &str) -> Result<Band, String> {
    read_band(text).ok_or_else(|| "a band is percent from low to high, as in 55-70, 50- or 0-5".to_owned())
}

/// Tempos on the command line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TempoValue(TempoBand);

/// Reads `116-132`, `120`.
impl FromStr for TempoValue {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let tempo = read_tempo(text).map(Self);
        tempo.ok_or_else(|| "tempos are quarter notes a minute, 20 to 400, as in 116-132".to_owned())
    }
}

/// Carries the command out.
pub fn run(args: &NewArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    refuse_what_is_there(args)?;
    let settings = &startup.resolved.settings;
    let chart = load::chart(&args.chart, settings.bare)?;
    for warning in &chart.warnings {
        out.remark(&format!("{}:{warning}", chart.chart.name()));
    }
    let mut assignment = args.assignment(startup);
    // A single key is written into the chart itself, so that the student's own copy is the page to play from.
    let text = match assignment.task.keys.as_slice() {
        [key] => moved(&chart.chart, *key).map_err(|error| Failure::bad_input(format!("--key: {error}")))?,
        _ => chart.chart,
    };
    if assignment.task.keys.len() == 1 {
        assignment.task.keys.clear();
    }
    assignment.task.chart = Some(text.text().to_owned());
    let failed = |error| Failure::bad_input(format!("{error}"));
    let mut assigned = Assigned::new(assignment, settings.bare).map_err(failed)?;
    if let Some(model) = &args.model {
        let model = sent(model, &assigned).map_err(|failure| failure.named("--model"))?;
        let model = Some(crate::practice::SentTake { day: None, take: None, ..model });
        assigned =
            Assigned::new(Assignment { model, ..assigned.assignment }, settings.bare).map_err(failed)?;
    }
    write(args, &assigned, out)
}

/// Writes the file, reads it back as its student will, and shows it.
fn write(args: &NewArgs, written: &Assigned, out: &mut Output) -> Result<Ending, Failure> {
    let document = document(written);
    let (text, read) = text_of(written, &args.file.display().to_string())?;
    let failed =
        |error: std::io::Error| Failure::store(format!("{}: {}", args.file.display(), in_words(&error)));
    replace(&args.file, &text).map_err(failed)?;
    keep(&args.file, &read, AssignmentRole::Given, text, out);
    show(&document, out)?;
    out.remark(&format!("wrote {}", args.file.display()));
    Ok(Ending::Fine)
}

/// The text of the file of this name, and the assignment read back from it as its student will.
pub fn text_of(written: &Assigned, name: &str) -> Result<(String, Assigned), Failure> {
    let text = written.assignment.to_text(&text::lines(&document(written)));
    let read = Assignment::parse(name, &text).map_err(NotLoaded::from)?;
    let read = assigned_of(read, name)?;
    if read.rule_sha256 != written.rule_sha256 {
        return Err(Failure::bad_input(format!(
            "{name}: would not read back as it is written; nothing is written"
        )));
    }
    Ok((text, read))
}

fn refuse_what_is_there(args: &NewArgs) -> Result<(), Failure> {
    let is_there = |path: &Path| path.symlink_metadata().is_ok();
    if !args.replace && is_there(&args.file) {
        let file = args.file.display();
        return Err(Failure::bad_input(format!(
            "{file}: there is such a file already. Choose another name, or write --replace"
        )));
    }
    if args.replace && is_there(&args.file) && load::assignment(&args.file).is_err() {
        return Err(Failure::bad_input(format!(
            "{}: is no assignment, so it is not replaced. Choose another name",
            args.file.display()
        )));
    }
    Ok(())
}

impl NewArgs {
    fn bands(&self) -> Vec<(Measure, Band)> {
        let given = [self.chord, self.scale, self.outside, self.resolved, self.open, self.landings];
        let bands = Measure::ALL.into_iter().zip(given);
        bands.filter_map(|(measure, band)| Some((measure, band?.0))).collect()
    }

    /// The assignment that the flags and the teacher's settings give; without its chart and its model.
    fn assignment(&self, startup: &Startup) -> Assignment {
        let settings = &startup.resolved.settings;
        let bands = Bands { bands: self.bands(), needs: f64::from(self.needs).max(FEWEST_NOTES) };
        let counting = match self.counting.as_deref() {
            Some("lenient") => Counting::Lenient,
            Some(_) => Counting::Strict,
            None => settings.counting,
        };
        let colours = self.named_colours.as_ref().map_or(settings.named_colours, |word| word == "chord");
        Assignment {
            bands,
            counting: Some(counting),
            named_colours: Some(if colours { NamedColours::ChordTones } else { NamedColours::Scale }),
            task: Task {
                chart: None,
                keys: self.key.clone(),
                bars: self.bars.map(|bars| (bars.first().get(), bars.last().get())),
                tempo: self.tempo.map(|tempo| tempo.0),
                feel: self.feel,
                choruses: self.choruses.map(Choruses::get),
            },
            takes: if self.any_two { TakesAsked::AnyTwo } else { TakesAsked::default() },
            words: Words {
                title: self.title.clone(),
                number: self.number,
                due: self.due.map(Day::date),
                focus: self.focus.clone(),
                question: self.question.clone(),
                comment: self.comment.clone(),
            },
            settings: settings.rule(),
            model: None,
        }
    }
}
