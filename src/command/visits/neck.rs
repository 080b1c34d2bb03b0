//! The neck of a chord, on a screen.

use crate::command::chord_args::ChordInScale;
use crate::command::exit_status::Failure;
use crate::judge::written::tuning;
use crate::report::neck::{ChordOnNeck, frets_that_fit};
use crate::screen::neck::NeckScreen;

use super::Visits;

/// Shows a chord in its scale until the screen is left.
pub fn visit(visits: &mut Visits<'_, '_>, found: ChordInScale) -> Result<(), Failure> {
    let form = visits.out.form();
    let ChordInScale { chord, scale, why, next } = found;
    let settings = &visits.startup.resolved.settings;
    let tuning = tuning(&settings.tuning, settings.written);
    let shown =
        ChordOnNeck { chord, scale, next, tuning, frets: frets_that_fit(form.width()), position: None };
    visits.show(&mut NeckScreen::new(shown, why, form))
}
