//! `read`: says which key each stretch of a chart is in, and which scale fits each chord, and why.

mod kept;

use std::ffi::OsStr;
use std::path::{Path, PathBuf};

use clap::Args;

use crate::chart::Chart;
use crate::harmony::Overrides;
use crate::judge::{ChordSource, NoChords};
use crate::report::reading::ReadingDocument;
use crate::report::reading::text;
use crate::store::replace::replace;
use crate::theory::chord::BareSymbols;

use super::exit_status::{Ending, Failure};
use super::load;
use super::output::Output;
use super::startup::Startup;
use super::values::{BarNumber, ChartSource as ChartPlace, Chords, KeyFor, ScaleFor};

/// How a chart is written, in brief.
const IN_BRIEF: &str = "\
A chart is a text file:

  title: Two Lines
  key: Eb
  A | Ebmaj7 | Abm7 Db7 | Ebmaj7/G | C7=altered |
    |: Fm7 | Bb7 / / E7 :| Gm7 C7@2& | % |

The README has all of it under \"Writing a chart\". Where something does not read, its line is shown with what to write.";

/// What `read` takes.
#[derive(Clone, Debug, PartialEq, Eq, Args)]
#[command(after_long_help = IN_BRIEF)]
pub struct ReadArgs {
    /// The chart: a file, the name of a chart that ships, or - for standard input
    #[arg(value_name = "CHART")]
    pub chart: ChartPlace,
    /// Show the chords of this bar of the page only
    #[arg(long, value_name = "N")]
    pub bar: Option<BarNumber>,
    /// Set the scale of a chord: bar of the page, which of its chords, scale (5.1=altered); may be given again
    #[arg(long, value_name = "PLACE=SCALE")]
    pub set: Vec<ScaleFor>,
    /// Keep the scale of a chord, written as for --set: it wins wherever this chart is read, played or reviewed
    #[arg(long, value_name = "PLACE=SCALE", conflicts_with_all = ["set", "output"])]
    pub keep: Vec<ScaleFor>,
    /// Keep the key that a chord is heard in (9.1=G): as with --keep
    #[arg(long, value_name = "PLACE=KEY", conflicts_with_all = ["set", "output"])]
    pub keep_key: Vec<KeyFor>,
    /// Take out what is kept for a chord (5.1), or all that is kept for this chart
    #[arg(long, value_name = "PLACE", conflicts_with_all = ["set", "output"])]
    pub forget: Vec<Chords>,
    /// Write the chart, with the scales set, to this file (- for standard output)
    #[arg(short, long = "output", value_name = "F")]
    pub output: Option<PathBuf>,
}

/// Carries the command out.
pub fn run(args: &ReadArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let bare = startup.resolved.settings.bare;
    if let Some(source) = midi_file(&args.chart) {
        return read_midi(source, args, startup, out);
    }
    let loaded = load::chart(&args.chart, bare)?;
    for warning in &loaded.warnings {
        out.remark(&format!("{}:{warning}", loaded.chart.name()));
    }
    let kept = kept::change(args, &loaded.chart, startup, out)?;
    kept::tell_lost(&kept, &loaded.chart, out);
    let chart = with_scales(kept.on(loaded.chart), &args.set)?;
    if let Some(path) = &args.output {
        return write(&chart, path, bare, out);
    }
    let chords = ChordSource::of_chart(&chart, &Overrides::default());
    show(&chords.written_for(startup.written(out)), args.bar, out)
}

fn show(chords: &ChordSource, bar: Option<BarNumber>, out: &mut Output) -> Result<Ending, Failure> {
    let document = ReadingDocument::new(chords.id.clone(), &chords.form, &chords.reading);
    let bar = bar.map(BarNumber::get);
    let last = document.played_bars.iter().max().copied().unwrap_or_default();
    if let Some(bar) = bar.filter(|bar| !document.played_bars.contains(bar)) {
        return Err(Failure::bad_input(format!("--bar {bar}: the page has bars 1 to {last}")));
    }
    out.result(&text::chords(&document, bar, out.form()), &document)?;
    Ok(Ending::Fine)
}

/// The MIDI file that is named instead of a chart, if it is one.
fn midi_file(chart: &ChartPlace) -> Option<&Path> {
    match chart {
        ChartPlace::Named(path) if is_midi(path.extension()) => Some(path),
        ChartPlace::Named(_) | ChartPlace::Stdin | ChartPlace::Carried { .. } => None,
    }
}

fn is_midi(ending: Option<&OsStr>) -> bool {
    ending.is_some_and(|ending| ending.eq_ignore_ascii_case("mid") || ending.eq_ignore_ascii_case("midi"))
}

/// Reads the chord text of a MIDI file.
fn read_midi(path: &Path, args: &ReadArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let changes = !args.set.is_empty() || args.output.is_some();
    if changes || kept::is_asked(args) {
        return Err(Failure::bad_input("--set, --keep, --forget and -o are about charts: name a .bars file"));
    }
    let in_file = |error: String| Failure::bad_input(format!("{}: {error}", path.display()));
    let bytes = load::midi_bytes(path)?;
    let midi = crate::take::MidiFile::parse(&bytes).map_err(|error| in_file(error.to_string()))?;
    let chords = ChordSource::of_file(&midi, startup.resolved.settings.bare);
    let why = |error: NoChords| match error {
        NoChords::InFile(texts) => format!("the file says no chords: {texts}"),
        NoChords::Silent => error.to_string(),
    };
    let chords = chords.map_err(|error| in_file(why(error)))?;
    show(&chords.written_for(startup.written(out)), args.bar, out)
}

fn with_scales(chart: Chart, set: &[ScaleFor]) -> Result<Chart, Failure> {
    set.iter().try_fold(chart, |chart, set| {
        let changed = chart.with_scale(set.bar.get(), set.chord, &set.scale);
        changed.map_err(|error| {
            Failure::bad_input(format!("--set {}.{}={}: {error}", set.bar.get(), set.chord, set.scale))
        })
    })
}

fn write(chart: &Chart, path: &Path, bare: BareSymbols, out: &mut Output) -> Result<Ending, Failure> {
    if path == Path::new("-") {
        out.text(&chart.to_string())?;
    } else {
        spare_other_files(path, bare)?;
        let failed = |error: std::io::Error| Failure::store(format!("{}: {error}", path.display()));
        replace(path, &chart.to_string()).map_err(failed)?;
        out.remark(&format!("wrote {}", path.display()));
    }
    Ok(Ending::Fine)
}

/// Refuses to write over a file that is no chart: a slip in a name is to destroy nothing. What is no ordinary file (a
/// device, a pipe) holds nothing that could be lost.
fn spare_other_files(path: &Path, bare: BareSymbols) -> Result<(), Failure> {
    if !path.is_file() {
        return Ok(());
    }
    let why = if !path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("bars")) {
        "its name does not end in .bars"
    } else if load::chart(&ChartPlace::Named(path.to_owned()), bare).is_err() {
        "it does not read as a chart"
    } else {
        return Ok(());
    };
    Err(Failure::bad_input(format!(
        "-o {}: this file is there already, and {why}; it is left as it is. Write to a new name ending in .bars",
        path.display()
    )))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::values::tests::{parsed, refused};

    #[test]
    fn a_chart_may_come_from_anywhere() {
        let chart = |line: &[&str]| parsed::<ReadArgs>(line).chart;
        assert_eq!(chart(&["-"]), ChartPlace::Stdin);
        assert_eq!(chart(&["bus-shelter.bars"]), ChartPlace::Named("bus-shelter.bars".into()));
    }

    #[test]
    fn scales_are_set_one_by_one() {
        let args =
            parsed::<ReadArgs>(&["a.bars", "--set", "5.1=altered", "--set", "6.2=dorian", "-o", "b.bars"]);
        assert_eq!(args.set.len(), 2);
        assert_eq!(args.output, Some("b.bars".into()));
    }

    #[test]
    fn slips_name_the_flag_and_what_to_write() {
        let bar = refused::<ReadArgs>(&["a.bars", "--bar", "0"]);
        assert!(bar.contains("invalid value '0' for '--bar <N>': bars are counted 1, 2, 3"), "{bar}");
        let set = refused::<ReadArgs>(&["a.bars", "--set", "5=altered"]);
        assert!(set.contains("'--set <PLACE=SCALE>': write the bar, which of its chords"), "{set}");
    }
}
