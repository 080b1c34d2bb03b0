//! Takes one after the other, as the screens after each lead on: the same again, or what was suggested.

use crate::command::exit_status::{Ending, Failure};
use crate::command::output::Output;
use crate::command::startup::Startup;
use crate::command::values::{BarRange, Choruses, Tempo, TempoChoice};
use crate::command::visits::Visits;
use crate::command::visits::take::{AfterTake, TakeToShow, visit};
use crate::live::NotesChoice;
use crate::live::stop_signal::was_ever_asked;
use crate::report::OutputForm;
use crate::report::review::NextRecord;

use super::view::View;
use super::{PlayArgs, Taken, played, tell};

/// What is played, and what is asked of the player beside the chart.
#[derive(Clone)]
struct Start {
    args: PlayArgs,
    task: Option<String>,
    /// Whether the take takes the place of the one that was looked at last: the same is played again.
    replaces: bool,
}

/// A take with its screens, to come back to.
struct Looked {
    start: Start,
    shown: TakeToShow,
}

/// Plays a take and what the screens after it lead to. Whoever leaves a take that was suggested comes back to the one that
/// suggested it; behind the first the review is printed.
pub(super) fn takes(args: &PlayArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let mut start = Start { args: args.clone(), task: None, replaces: false };
    let mut before: Vec<Looked> = Vec::new();
    loop {
        let Taken { ending, review, view, shown } = played(&start.args, start.task.as_deref(), startup, out)?;
        let opens = view == View::Screen && out.form() != OutputForm::Json && Visits::are_possible();
        let goes_on = opens && ending != Ending::Interrupted;
        match (review, shown.filter(|_| goes_on), before.pop()) {
            (Some(_), Some(shown), earlier) => {
                before.extend(earlier.filter(|_| !start.replaces));
                before.push(Looked { start, shown });
            }
            // Stopped in the count-in: back to what led here, unless all is to end.
            (None, _, Some(earlier)) if !was_ever_asked() => before.push(earlier),
            (Some(review), None, _) => return tell(&review, view, out).map(|()| ending),
            (None, ..) => return Ok(ending),
        }
        match look(&mut before, startup, out)? {
            Some(next) => start = next,
            None => return Ok(ending),
        }
    }
}

/// Shows the last of these takes, and those before it as each is left; none where the first was left.
fn look(before: &mut Vec<Looked>, startup: &Startup, out: &mut Output) -> Result<Option<Start>, Failure> {
    while let Some(looked) = before.last() {
        let args = &looked.start.args;
        let mut visits = Visits { startup, out, sound: &args.sound, heard: cues_from(args) };
        match visit(&mut visits, &looked.shown) {
            Ok(AfterTake::Again) => return Ok(Some(Start { replaces: true, ..looked.start.clone() })),
            Ok(AfterTake::Next(next)) => {
                let (args, task) = led_to(args, &next)?;
                return Ok(Some(Start { args, task, replaces: false }));
            }
            Ok(AfterTake::Leave(review)) => {
                if before.len() == 1 {
                    tell(&review, View::Screen, out)?;
                }
            }
            Err(failure) if failure.ending() == Ending::Interrupted => return Err(failure),
            // The take is kept whatever becomes of its screens.
            Err(failure) => out.remark(failure.message()),
        }
        before.pop();
    }
    Ok(None)
}

/// The inputs that give cues once the clock has stopped: those of the take; a file gives none, so there the keys alone do.
fn cues_from(args: &PlayArgs) -> NotesChoice {
    match (&args.midi_file, &args.midi_from) {
        (Some(_), _) => NotesChoice::Nobody,
        (None, Some(name)) => NotesChoice::PortsNamed(name.clone()),
        (None, None) => NotesChoice::Ports,
    }
}

/// The arguments that a suggestion leads to, and what it asks of the player, where the arguments do not say it.
fn led_to(args: &PlayArgs, next: &NextRecord) -> Result<(PlayArgs, Option<String>), Failure> {
    let mut args = args.clone();
    // What comes next is played by the player, also where a file was heard before.
    args.midi_file = None;
    let choruses = |times: usize| times.to_string().parse::<Choruses>().map_err(refused);
    if let Some([first, last]) = next.bars {
        let tempo =
            next.tempo.map(|tempo| tempo.to_string().parse::<Tempo>().map_err(refused)).transpose()?;
        args.backing.bars = Some(format!("{first}-{last}").parse::<BarRange>().map_err(refused)?);
        args.backing.tempo = tempo.map(TempoChoice::Bpm).or(args.backing.tempo);
        args.backing.choruses = Some(choruses(next.times.unwrap_or(1))?);
        (args.backing.keys, args.backing.first_key) = (None, None);
        (args.band.head, args.band.trade) = (false, None);
        return Ok((args, None));
    }
    let task = (next.kind == "rests").then(|| format!("{}.", next.what));
    if !args.band.head && args.backing.keys.is_none() {
        args.backing.choruses = Some(choruses(1)?);
    }
    Ok((args, task))
}

#[expect(clippy::needless_pass_by_value, reason = "an error becomes another")]
fn refused(error: impl ToString) -> Failure {
    Failure::bad_input(error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::values::tests::parsed;
    use crate::report::number::Count;

    #[test]
    fn a_loop_is_played_as_its_numbers_say() {
        let args = parsed::<PlayArgs>(&["a.bars", "--choruses", "3", "--midi-file", "a.mid"]);
        let next = NextRecord {
            kind: "loop",
            bars: Some([12, 13]),
            tempo: Some(Count(116.0)),
            times: Some(4),
            ..NextRecord::default()
        };
        let (led, task) = led_to(&args, &next).expect("arguments");
        let expect = parsed::<PlayArgs>(&["a.bars", "--choruses", "4", "--bars", "12-13", "--tempo", "116"]);
        assert_eq!((led, task), (expect, None));
    }

    #[test]
    fn a_chorus_with_rests_says_what_is_asked() {
        let args = parsed::<PlayArgs>(&["a.bars", "--choruses", "3"]);
        let next =
            NextRecord { kind: "rests", what: "One chorus with a rest".to_owned(), ..NextRecord::default() };
        let (led, task) = led_to(&args, &next).expect("arguments");
        assert_eq!(led, parsed::<PlayArgs>(&["a.bars", "--choruses", "1"]));
        assert_eq!(task.as_deref(), Some("One chorus with a rest."));
    }
}
