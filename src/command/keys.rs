//! `keys`: where a chord lies inside its scale inside the twelve, on a keyboard.

use super::chord_args::{ChordArgs, ChordInScale};
use super::exit_status::{Ending, Failure};
use super::output::Output;
use super::startup::Startup;
use crate::judge::written;
use crate::report::OutputForm;
use crate::report::neck::keyboard::keys_picture;
use crate::report::neck::picture::{Drawn, Naming};
use crate::report::neck::words;
use crate::report::neck::{ChordOnNeck, NeckDocument, frets_that_fit};
use crate::report::picture;

/// Carries the command out. The document is the neck's: a place is a string and a fret, and a key.
pub fn run(args: &ChordArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let settings = &startup.resolved.settings;
    let kept = startup.kept(out);
    let read_in = startup.written(out);
    let ChordInScale { chord, scale, why, next } = args.find(settings.bare, &kept, read_in)?;
    let width = out.form().width();
    let (tuning, frets) = (written::tuning(&settings.tuning, read_in), frets_that_fit(width));
    let shown = ChordOnNeck { chord, scale, next, tuning, frets, position: None };
    if out.form() == OutputForm::Json {
        out.document(&NeckDocument::of(&shown))?;
        return Ok(Ending::Fine);
    }
    let naming = if args.names { Naming::Names } else { Naming::Degrees };
    let mut lines = words::heading(&shown, &why);
    lines.extend(keys_picture(&shown, Drawn::whole(naming), width));
    lines.extend(words::legend(&shown));
    out.text(&picture::text(&lines, out.form()))?;
    Ok(Ending::Fine)
}
