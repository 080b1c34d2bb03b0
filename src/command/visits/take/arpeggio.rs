//! The arpeggio that was suggested, on the neck where the line lay. It is a picture to look at: there is no drill of it yet.

use crate::command::exit_status::{Ending, Failure};
use crate::command::visits::Visits;
use crate::judge::ChordSource;
use crate::judge::written::tuning;
use crate::neck::{Fret, FretRange};
use crate::report::neck::picture::{Drawn, Naming, neck_picture};
use crate::report::neck::{ChordOnNeck, words};
use crate::report::picture;
use crate::report::review::NextRecord;
use crate::screen::one_sheet::OneSheet;

/// Shows the chord of a suggestion on the neck.
pub(super) fn show(
    visits: &mut Visits<'_, '_>,
    next: &NextRecord,
    chords: &ChordSource,
) -> Result<Ending, Failure> {
    let symbol = next.symbol.as_deref().unwrap_or_default();
    let index = chords.form.chords.iter().position(|chord| chord.text == symbol);
    let found = index.and_then(|index| {
        let read = chords.reading.chords.get(index)?.as_ref()?;
        Some((chords.form.chords[index].symbol?, read))
    });
    let Some((chord, read)) = found else {
        return Err(Failure::bad_input(format!("{symbol} is in no chart of this take")));
    };
    let frets = next.frets.and_then(|[low, high]| FretRange::new(Fret(low), Fret(high)));
    let settings = &visits.startup.resolved.settings;
    let shown = ChordOnNeck {
        chord,
        scale: read.scale.clone(),
        next: None,
        tuning: tuning(&settings.tuning, settings.written),
        frets: frets.unwrap_or_else(|| crate::report::neck::frets_that_fit(80)),
        position: None,
    };
    let form = visits.out.form();
    let why = read.why.clone();
    let written = move |_| {
        let mut lines = words::heading(&shown, &why);
        lines.extend(neck_picture(&shown, Drawn::whole(Naming::Degrees)));
        lines.extend(words::legend(&shown));
        picture::text(&lines, form)
    };
    let title =
        format!("{}: {} Play it over and over; the drill of it is not there yet.", next.what, next.why);
    visits.show(&mut OneSheet::new(title, Box::new(written)))?;
    Ok(Ending::Fine)
}
