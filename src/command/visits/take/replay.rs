//! Bars of a take heard again over the backing, on the playing screen.

use std::ops::RangeInclusive;

use super::TakeToShow;
use crate::command::exit_status::{Ending, Failure};
use crate::command::play::view_args::ViewArgs;
use crate::command::replay::{How, hear as play_again};
use crate::command::visits::Visits;
use crate::judge::replay::{HeardAgain, Wanted};
use crate::live::stop_signal::was_ever_asked;
use crate::report::review::chorus_words::Part;

/// Plays some bars of a part, or all of it.
pub(super) fn hear(
    visits: &mut Visits<'_, '_>,
    shown: &TakeToShow,
    part: Part,
    bars: Option<RangeInclusive<usize>>,
) -> Result<Ending, Failure> {
    let chorus = match part {
        Part::Chorus(chorus) => Some(chorus),
        Part::Take => None,
    };
    let wanted = Wanted { bars: bars.map(|bars| (*bars.start(), *bars.end())), chorus };
    let again = HeardAgain::of(&shown.bytes, wanted, &shown.choices)
        .map_err(|error| Failure::bad_input(error.to_string()))?;
    let view = ViewArgs::default();
    let how = How { tempo: None, solo: false, view: &view, sound: visits.sound };
    let settings = &visits.startup.resolved.settings;
    match play_again(&again, &how, shown.number, (settings, &shown.choices), visits.out)? {
        Ending::Interrupted if was_ever_asked() => Err(Failure::interrupted()),
        ending => Ok(ending),
    }
}
