//! `review`: the report on takes that were played, whole or one note of one.

mod batch;
mod beside;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;

use crate::harmony::Overrides;
use crate::judge::{Answer, Choices, ChordSource, KeptScales, Question, judge};
use crate::practice::Assignment;
use crate::report::OutputForm;
use crate::report::html::take::TakePage;
use crate::report::review::notes::{notes_in, why};
use crate::report::review::page::{Asked as PageAsked, Part, page};
use crate::report::review::{Detail, Review};
use crate::report::takes::EnteredRecord;
use crate::report::verdict::VerdictDocument;
use crate::store::settings::Flag;
use crate::store::takes::{FOLDER_VARIABLE, KeptTake, TakeFolder};
use crate::take::{Imprint, MidiFile};
use crate::tally::NamedColours;
use crate::tally::verdict::Finding;
use crate::theory::Written;

use super::assign::journal;
use super::exit_status::{Ending, Failure};
use super::load;
use super::output::Output;
use super::pages;
use super::play::keeping::tell;
use super::progress::weeks_of_take;
use super::startup::Startup;
use super::takes::entered_of;
use super::values::{BarNumber, ChartSource as ChartPlace, Milliseconds, NotePlace, TakeChoice};

/// What `review` takes.
#[expect(clippy::struct_excessive_bools, reason = "one a flag, as typed; `view` makes one choice of them")]
#[derive(Clone, Debug, PartialEq, Args)]
pub struct ReviewArgs {
    /// The takes: MIDI files (- for standard input), numbers of takes that are kept, or last
    #[arg(value_name = "TAKE", required = true)]
    pub files: Vec<PathBuf>,
    /// Show another take of the same chart beside it, bar for bar
    #[arg(long, value_name = "TAKE", conflicts_with_all = ["notes", "bar", "why", "check", "html", "json_lines", "totals"])]
    pub beside: Option<PathBuf>,
    /// The chart they were played over; else the chord text in each file is read
    #[arg(long, value_name = "CHART")]
    pub chart: Option<ChartPlace>,
    /// The track to judge; else the one named Solo, else the only one with notes
    #[arg(long, value_name = "NAME")]
    pub track: Option<String>,
    /// How much later than played the notes arrive, in milliseconds
    #[arg(long, value_name = "MS", allow_hyphen_values = true)]
    pub offset_ms: Option<Milliseconds>,
    /// Count a note of another scale in use as scale, where the line leans that way
    #[arg(long)]
    pub lenient: bool,
    /// Show every note in order, with its class and why
    #[arg(long, group = "view")]
    pub notes: bool,
    /// Show this bar only (bars count as they are played)
    #[arg(long, value_name = "N")]
    pub bar: Option<BarNumber>,
    /// Show how one note was judged: 9.4 is the fourth note that counts in bar 9, as --notes lists it
    #[arg(long, value_name = "BAR.NOTE", group = "view", conflicts_with = "bar")]
    pub why: Option<NotePlace>,
    /// Compare with this assignment: exit 0 met, 1 clearly not met, 5 no verdict
    #[arg(long, value_name = "F")]
    pub check: Option<PathBuf>,
    /// Write the report as a page, to read, print or mail: one HTML file that needs no network (- for standard output)
    #[arg(long, value_name = "F", conflicts_with_all = ["notes", "bar", "why", "json_lines", "totals", "plain"])]
    pub html: Option<PathBuf>,
    /// Print one JSON document a line, one for each file, in the order given
    #[arg(long, conflicts_with_all = ["notes", "why", "plain", "check", "json"])]
    pub json_lines: bool,
    /// Leave out bars and notes
    #[arg(long, group = "view")]
    pub totals: bool,
    /// One line a bar, in words, for screen readers and small windows
    #[arg(long, group = "view")]
    pub plain: bool,
}

/// How a take is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum View {
    /// A part of the report.
    Part(Part),
    /// One note and how it was judged.
    Why(NotePlace),
}

impl ReviewArgs {
    /// How the takes are to be shown.
    pub const fn view(&self) -> View {
        match self {
            Self { why: Some(place), .. } => View::Why(*place),
            Self { notes: true, .. } => View::Part(Part::Notes),
            Self { totals: true, .. } => View::Part(Part::Totals),
            Self { plain: true, .. } => View::Part(Part::Plain),
            _ => View::Part(Part::Bars),
        }
    }

    /// The settings these flags give.
    pub fn settings(&self) -> Vec<Flag> {
        let lenient =
            self.lenient.then(|| Flag { flag: "--lenient", key: "counting", text: "lenient".to_owned() });
        let offset = self.offset_ms.map(|offset| {
            let text = offset.get().to_string();
            Flag { flag: "--offset-ms", key: "offset-ms", text }
        });
        lenient.into_iter().chain(offset).collect()
    }

    /// Refuses what cannot be answered together, above all what only one take can answer when several are given;
    /// `json` says whether one JSON document is asked for.
    pub fn checked(&self, json: bool) -> Result<(), Failure> {
        let refusal = match self {
            Self { json_lines: true, .. } if json => {
                Some("--json prints one document, --json-lines one a file: choose one")
            }
            Self { html: Some(_), .. } if json => {
                Some("--json prints a document, --html writes a page: choose one")
            }
            _ if self.files.len() == 1 => None,
            Self { html: Some(_), .. } => Some("--html writes the page of one take: name one file"),
            Self { beside: Some(_), .. } => {
                Some("--beside shows one take beside another: name one file before it")
            }
            Self { why: Some(_), .. } => Some("--why asks about one note of one take: name one file"),
            Self { check: Some(_), .. } => Some("--check compares one take: name one file"),
            _ if json => Some("--json prints one document: name one file, or write --json-lines for several"),
            _ => None,
        };
        refusal.map_or(Ok(()), |message| Err(Failure::bad_input(message)))
    }
}

/// Everything that the takes are judged with, loaded once.
struct Asked {
    choices: Choices,
    chart: Option<ChordSource>,
    assignment: Option<Assignment>,
    detail: Detail,
    /// The notes that the player brought back, by take.
    brought_back: Arc<BTreeMap<u32, BTreeSet<usize>>>,
    /// Whose names the reviews are in.
    written: Written,
}

impl Asked {
    fn load(args: &ReviewArgs, startup: &Startup, out: &mut Output) -> Result<Self, Failure> {
        let mut choices = startup.choices(&startup.resolved.settings, out);
        let assignment = args.check.as_deref().map(load::assignment).transpose()?;
        if let Some(assignment) = &assignment {
            follow(assignment, &mut choices);
        }
        let chart = args.chart.as_ref().map(|place| load::chart(place, choices.bare)).transpose()?;
        for warning in chart.iter().flat_map(|loaded| &loaded.warnings) {
            out.remark(&warning.to_string());
        }
        let chart =
            chart.map(|loaded| ChordSource::of_chart(&choices.kept.on(loaded.chart), &Overrides::default()));
        let detail = if args.totals { Detail::Totals } else { Detail::Notes };
        let brought_back = startup.brought_back(out);
        let written = if args.json_lines { Written::C } else { startup.written(out) };
        let choices = choices.written_for(written);
        Ok(Self { choices, chart, assignment, detail, brought_back, written })
    }

    /// Judges one of the takes named: a kept one by the settings of its day, any other file by today's.
    fn judge_named(&self, named: &Path, track: Option<&str>, startup: &Startup) -> Result<Answer, Failure> {
        match kept(named)? {
            Some(take) => self.judge_kept(&take, track, startup),
            None => self.judge(named, track),
        }
    }

    /// Judges a take that is kept, by the settings of its day.
    fn judge_kept(&self, take: &KeptTake, track: Option<&str>, startup: &Startup) -> Result<Answer, Failure> {
        let bytes = load::midi_bytes(&take.path).map_err(|error| Failure::store(error.to_string()))?;
        let stored = MidiFile::parse(&bytes).ok().and_then(|midi| Imprint::of(&midi));
        let stored = stored.map(|imprint| imprint.settings).unwrap_or_default();
        let choices =
            choices_of_day(&stored, self.assignment.as_ref(), Arc::clone(&self.choices.kept), startup)?;
        let brought_back = self.brought_back.get(&take.number).into_iter().flatten().copied().collect();
        let choices = Choices { brought_back, ..choices.written_for(self.written) };
        let file = take.path.display().to_string();
        let answer = judge(&bytes, None, self.question(&choices, track));
        let mut answer = answer.map_err(|error| Failure::store(format!("{file}: {error}")))?;
        answer.review.source.take = Some(take.number);
        Ok(answer)
    }

    fn question<'a>(&'a self, choices: &'a Choices, track: Option<&'a str>) -> Question<'a> {
        Question {
            choices,
            chart: self.chart.as_ref(),
            track,
            detail: self.detail,
            bands: self.assignment.as_ref().map(|assignment| &assignment.bands),
        }
    }

    /// Judges one take; a failure names its file.
    fn judge(&self, path: &Path, track: Option<&str>) -> Result<Answer, Failure> {
        let bytes = load::midi_bytes(path)?;
        let file = path.display().to_string();
        judge(&bytes, Some(file.clone()), self.question(&self.choices, track))
            .map_err(|error| Failure::bad_input(format!("{file}: {error}")))
    }
}

/// The take that is kept under a number, as the last one, or in the file named; `None` where another file is named.
pub(super) fn kept(named: &Path) -> Result<Option<KeptTake>, Failure> {
    let folder = TakeFolder::of_user(std::env::var_os(FOLDER_VARIABLE));
    match choice(named) {
        None => Ok(folder.ok().and_then(|folder| folder.holding(named))),
        Some(TakeChoice::Last) => Ok(Some(folder?.last()?)),
        Some(TakeChoice::Number(number)) => Ok(Some(folder?.find(number)?)),
    }
}

/// The kept take that is meant by `14` or `last`; `None` for the name of a file.
fn choice(named: &Path) -> Option<TakeChoice> {
    named.to_str()?.parse().ok()
}

/// Finishes takes that were cut off, if any of those named is a kept one.
pub(super) fn recover(files: &[PathBuf], startup: &Startup, out: &mut Output) -> Result<(), Failure> {
    if files.iter().any(|named| choice(named).is_some()) {
        let folder = TakeFolder::of_user(std::env::var_os(FOLDER_VARIABLE))?;
        tell(&folder.recover(startup.resolved.settings.bare), out);
    }
    Ok(())
}

/// What a kept take is judged with: the settings of its day, as far as no flag and no assignment says otherwise.
pub fn choices_of_day(
    stored: &serde_json::Map<String, serde_json::Value>,
    assignment: Option<&Assignment>,
    kept: Arc<KeptScales>,
    startup: &Startup,
) -> Result<Choices, Failure> {
    let mut choices = Choices { kept, ..startup.sources.resolve_for_take(stored)?.choices() };
    if let Some(assignment) = assignment {
        follow(assignment, &mut choices);
    }
    Ok(choices)
}

/// What an assignment says about counting wins over the player's settings.
fn follow(assignment: &Assignment, choices: &mut Choices) {
    if let Some(counting) = assignment.counting {
        choices.tally.counting = counting;
    }
    if let Some(named_colours) = assignment.named_colours {
        choices.tally.named_colours = named_colours;
        let on = named_colours == NamedColours::ChordTones;
        choices.named.insert("named_colours".to_owned(), on.into());
    }
}

/// Carries the command out.
pub fn run(args: &ReviewArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    args.checked(out.form() == OutputForm::Json)?;
    let asked = Asked::load(args, startup, out)?;
    recover(&args.files, startup, out)?;
    if args.json_lines || args.files.len() > 1 {
        return batch::run(args, &asked, startup, out);
    }
    if let Some(other) = &args.beside {
        return beside::show(args, other, &asked, startup, out);
    }
    let mut answer = asked.judge_named(&args.files[0], args.track.as_deref(), startup)?;
    answer.review.entered = entered(answer.review.source.take, out);
    tell_warnings(&answer.review, &args.files[0].display().to_string(), out);
    show(args, &answer, startup, out)?;
    Ok(answer.verdict.as_ref().map_or(Ending::Fine, |verdict| ending(verdict.finding)))
}

/// What was entered about a take that is kept, if anything; a journal that cannot be read keeps nobody from the figures.
fn entered(take: Option<u32>, out: &mut Output) -> Option<EnteredRecord> {
    let take = take?;
    let (_, state) = match journal(out) {
        Ok(read) => read,
        Err(failure) => {
            out.remark(failure.message());
            return None;
        }
    };
    Some(entered_of(&state, take)).filter(|entered| *entered != EnteredRecord::default())
}

/// Says on stderr what was odd about a take, called as it was `named`; the document has it too.
pub fn tell_warnings(review: &Review, named: &str, out: &mut Output) {
    for warning in review.warnings.iter().filter(|warning| !warning.is_beside_figures()) {
        out.remark(&format!("{named}: {}", warning.message));
    }
}

fn show(args: &ReviewArgs, answer: &Answer, startup: &Startup, out: &mut Output) -> Result<(), Failure> {
    let review = &answer.review;
    let bar = args.bar.map(BarNumber::get);
    if let Some(bar) = bar.filter(|&bar| !review.chart.has_bar(bar)) {
        return Err(Failure::bad_input(format!("--bar {bar}: {}", bars_there(review))));
    }
    let verdict = answer.verdict.as_ref().map(|verdict| VerdictDocument::new(review.source.clone(), verdict));
    if let Some(path) = &args.html {
        let weeks = match review.source.take {
            Some(take) => weeks_of_take(take, startup, out)?,
            None => None,
        };
        let page = TakePage { review, verdict: verdict.as_ref(), weeks: weeks.as_ref() };
        return pages::write(path, &page.write(), out);
    }
    if let View::Why(place) = args.view() {
        let lines = why_lines(review, place)?;
        if out.form() != OutputForm::Json {
            return out.text(&format!("{}\n", lines.join("\n")));
        }
    }
    match (out.form(), &verdict, args.view()) {
        (OutputForm::Json, Some(verdict), _) => out.document(verdict),
        (OutputForm::Json, None, _) => out.document(review),
        (form, verdict, view) => {
            let part = if let View::Part(part) = view { part } else { Part::Bars };
            out.text(&page(review, PageAsked { verdict: verdict.as_ref(), part, bar }, form))
        }
    }
}

/// How one note was judged, in every chorus that has it.
fn why_lines(review: &Review, place: NotePlace) -> Result<Vec<String>, Failure> {
    let bar = place.bar.get();
    let choruses =
        review.bars.iter().flatten().filter(|record| record.bar == bar).map(|record| record.chorus);
    let choruses: Vec<u32> = choruses.collect();
    let found = choruses.iter().filter_map(|&chorus| why(review, chorus, bar, place.note)).flatten();
    let lines: Vec<String> = found.collect();
    if !lines.is_empty() {
        return Ok(lines);
    }
    let asked = format!("--why {bar}.{}", place.note);
    let message = match choruses.iter().map(|&chorus| notes_in(review, chorus, bar)).max() {
        None => format!("{asked}: {}", bars_there(review)),
        Some(0) => format!("{asked}: bar {bar} has no counted note"),
        Some(most) => format!("{asked}: bar {bar} has notes {bar}.1 to {bar}.{most}"),
    };
    Err(Failure::bad_input(message))
}

fn bars_there(review: &Review) -> String {
    format!("the chords have bars {} to {}", review.chart.first_bar, review.chart.last_bar())
}

/// How a check ends.
pub const fn ending(finding: Finding) -> Ending {
    match finding {
        Finding::Met => Ending::Fine,
        Finding::ClearlyAbove | Finding::ClearlyBelow => Ending::NotMet,
        Finding::Undecided | Finding::NoVerdict => Ending::NoVerdict,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::values::tests::{parsed, refused};

    fn view(flags: &[&str]) -> View {
        parsed::<ReviewArgs>(&[&["a.mid"], flags].concat()).view()
    }

    #[test]
    fn bars_are_shown_unless_something_else_is_asked() {
        assert_eq!(view(&[]), View::Part(Part::Bars));
        assert_eq!(view(&["--bar", "9"]), View::Part(Part::Bars));
        assert_eq!(view(&["--notes", "--bar", "9"]), View::Part(Part::Notes));
        assert_eq!(view(&["--totals"]), View::Part(Part::Totals));
        assert_eq!(view(&["--plain"]), View::Part(Part::Plain));
        assert!(matches!(view(&["--why", "9.4"]), View::Why(NotePlace { note: 4, .. })));
    }

    #[test]
    fn views_exclude_each_other() {
        for flags in [["--notes", "--totals"], ["--plain", "--json-lines"], ["--totals", "--plain"]] {
            let message = refused::<ReviewArgs>(&[&["a.mid"][..], &flags].concat());
            assert!(message.contains("cannot be used with"), "{message}");
        }
    }

    #[test]
    fn flags_that_are_settings_are_handed_on_as_such() {
        let settings = parsed::<ReviewArgs>(&["a.mid", "--lenient", "--offset-ms", "-20"]).settings();
        let given: Vec<_> = settings.iter().map(|flag| (flag.key, flag.text.as_str())).collect();
        assert_eq!(given, [("counting", "lenient"), ("offset-ms", "-20")]);
    }

    #[test]
    fn what_only_one_take_can_answer_is_refused_for_two() {
        let refusal = |flags: &[&str], json| {
            let args = parsed::<ReviewArgs>(&[&["a.mid", "b.mid"], flags].concat());
            args.checked(json).is_err()
        };
        assert!(refusal(&["--why", "9.4"], false));
        assert!(refusal(&["--check", "a.toml"], false));
        assert!(refusal(&[], true));
        assert!(refusal(&["--html", "a.html"], false));
        assert!(!refusal(&[], false));
        assert!(!refusal(&["--json-lines"], false));
        assert!(refusal(&["--json-lines"], true));
    }

    #[test]
    fn an_offset_out_of_range_is_refused() {
        let message = refused::<ReviewArgs>(&["a.mid", "--offset-ms", "900"]);
        assert!(message.contains("milliseconds are a number from -500 to 500"), "{message}");
    }
}
