//! `neck`: where a chord lies inside its scale inside the twelve, on the strings.

use clap::Args;

use super::chord_args::{ChordArgs, ChordInScale};
use super::exit_status::{Ending, Failure};
use super::output::Output;
use super::startup::Startup;
use crate::judge::written::{self, by_itself};
use crate::neck::{Fret, FretRange, Position, Tuning};
use crate::report::neck::picture::{Drawn, Naming, neck_picture};
use crate::report::neck::words;
use crate::report::neck::{ChordOnNeck, NeckDocument, frets_that_fit};
use crate::report::{OutputForm, picture};
use crate::theory::NoteName;

/// What `neck` takes.
#[derive(Clone, Debug, PartialEq, Eq, Args)]
pub struct NeckArgs {
    /// The chord.
    #[command(flatten)]
    pub chord: ChordArgs,
    /// Only the position of the scale that starts on this note of the lowest string
    #[arg(long, value_name = "NOTE")]
    pub position: Option<NoteName>,
    /// The frets to show; without it the position's own, or as many as fit
    #[arg(long, value_name = "FIRST-LAST")]
    pub frets: Option<FretRange>,
    /// The open strings, instead of the setting: drop-d, or "D2 A2 D3 G3 B3 E4"
    #[arg(long, value_name = "STRINGS")]
    pub tuning: Option<Tuning>,
    /// Where a capo sits; frets count from it
    #[arg(long, value_name = "FRET", default_value = "0", value_parser = clap::value_parser!(u8).range(0..=i64::from(Fret::HIGHEST.0)), hide_default_value = true)]
    pub capo: u8,
}

/// Carries the command out.
pub fn run(args: &NeckArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let settings = &startup.resolved.settings;
    let kept = startup.kept(out);
    let read_in = startup.written(out);
    let found = args.chord.find(settings.bare, &kept, read_in)?;
    let open = args.tuning.as_ref().unwrap_or(&settings.tuning);
    let tuning = open.with_capo(Fret(args.capo)).ok_or_else(|| {
        Failure::bad_input(format!("--capo {}: the strings would sound above MIDI's range", args.capo))
    })?;
    let tuning = written::tuning(&tuning, read_in);
    let start = args.position.map(|start| by_itself(read_in).note(start));
    let position = start.map(|start| position(&found, start, &tuning)).transpose()?;
    let own = position.as_ref().map(Position::frets).and_then(|(first, last)| FretRange::new(first, last));
    let frets = args.frets.or(own).unwrap_or_else(|| frets_that_fit(out.form().width()));
    let ChordInScale { chord, scale, why, next } = found;
    let shown = ChordOnNeck { chord, scale, next, tuning, frets, position };
    if out.form() == OutputForm::Json {
        out.document(&NeckDocument::of(&shown))?;
        return Ok(Ending::Fine);
    }
    let naming = if args.chord.names { Naming::Names } else { Naming::Degrees };
    let mut lines = words::heading(&shown, &why);
    lines.extend(neck_picture(&shown, Drawn::whole(naming)));
    lines.extend(words::position_lines(&shown));
    lines.extend(words::legend(&shown));
    out.text(&picture::text(&lines, out.form()))?;
    Ok(Ending::Fine)
}

fn position(found: &ChordInScale, start: NoteName, tuning: &Tuning) -> Result<Position, Failure> {
    let position = Position::of(&found.scale, start, tuning);
    position.map_err(|error| Failure::bad_input(format!("--position: {error}")))
}
