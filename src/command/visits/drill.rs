//! Where drills will be.

use crate::command::chord_args::{ChordArgs, ChordPlace};
use crate::command::exit_status::Failure;
use crate::screen::drill::{DrillScreen, Wish};

use super::{Visits, neck};

/// Shows the screen until it is left.
pub fn visit(visits: &mut Visits<'_, '_>) -> Result<(), Failure> {
    let mut screen = DrillScreen::default();
    loop {
        match visits.show(&mut screen)? {
            Wish::Back => return Ok(()),
            Wish::Neck(text) => {
                let chord = text.parse().unwrap_or(ChordPlace::Symbol(text));
                let asked = ChordArgs { chord, scale: None, next: None, names: false };
                let kept = visits.startup.kept(visits.out);
                let settings = &visits.startup.resolved.settings;
                match asked.find(settings.bare, &kept, settings.written) {
                    Ok(found) => neck::visit(visits, found)?,
                    Err(failure) => screen.say(failure.message()),
                }
            }
        }
    }
}
