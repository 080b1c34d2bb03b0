//! A measured offset, confirmed by ear: the clicks, and the player's own notes where they are after the correction.
//!
//! What was measured is player and gear together (`live/calibration.rs`), so the player has the last word.

use std::io::BufRead;

use crate::band::{BandNote, Part};
use crate::command::exit_status::Failure;
use crate::command::output::Output;
use crate::live::calibration::BPM;
use crate::live::keep::KeeperEnd;
use crate::live::{self, SoundChoice, Stopped};
use crate::take::clean::Latency;
use crate::time::{NanoSpan, Nanos, TempoMap, TickSpan, Ticks};

use super::clicks::{BEATS, Round, with_line};

/// How many clicks of a round are heard again, its last: two bars.
const AGAIN: usize = 2 * BEATS;
/// How long a note is heard.
const HALF_BEAT: TickSpan = TickSpan(TickSpan::quarters(1).0 / 2);
/// How hard: softly.
const VELOCITY: u8 = 64;
/// An offset moves within this much either way, as the setting does.
const FURTHEST: NanoSpan = NanoSpan::millis(500);

/// What the player answers.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Answer {
    Keep,
    /// By so many milliseconds.
    Move(f64),
    Drop,
    Unclear,
}

impl Answer {
    /// Reads a line; none at all means that nobody is there any more.
    fn of(line: Option<&str>) -> Self {
        match line.map(str::trim) {
            None | Some("n" | "no" | "q") => Self::Drop,
            Some("" | "y" | "yes") => Self::Keep,
            Some(text) => match text.parse::<f64>() {
                Ok(by) if by.abs() <= FURTHEST.in_millis() => Self::Move(by),
                _ => Self::Unclear,
            },
        }
    }
}

/// Plays, asks, and moves the offset until the player keeps it; `None` where it is dropped. `play` says whether it was heard
/// to its end.
pub(super) fn confirmed(
    mut latency: Latency,
    answers: &mut impl BufRead,
    mut play: impl FnMut(Latency, &mut Output) -> Result<Heard, Failure>,
    out: &mut Output,
) -> Result<Option<Latency>, Failure> {
    out.remark("Now the clicks again, with your own notes as they will be counted.");
    loop {
        if play(latency, out)? == Heard::BrokenOff {
            return Ok(None);
        }
        let by = loop {
            out.remark(&format!(
                "Do they lie on the clicks? Enter keeps {:.1} ms. A number moves it and plays again: 5 where they come late, -5 where early. n keeps nothing.",
                latency.constant.in_millis()
            ));
            let mut line = String::new();
            let is_there = answers.read_line(&mut line)? > 0;
            match Answer::of(is_there.then_some(line.as_str())) {
                Answer::Keep => return Ok(Some(latency)),
                Answer::Drop => return Ok(None),
                Answer::Move(by) => break by,
                Answer::Unclear => {}
            }
        };
        let moved = latency.constant.0 + (by * 1e6).round() as i64;
        latency.constant = NanoSpan(moved.clamp(-FURTHEST.0, FURTHEST.0));
    }
}

/// Whether it was heard to its end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Heard {
    ToTheEnd,
    BrokenOff,
}

/// Plays the last two bars of each round.
pub(super) fn play(
    rounds: &[Round],
    latency: Latency,
    sound: &SoundChoice,
    out: &mut Output,
) -> Result<Heard, Failure> {
    let plan = with_line(rounds.len() * AGAIN / BEATS, line(rounds, latency), sound.clone())?;
    let played = live::play(&plan, KeeperEnd::nobody(), live::headless)?;
    for sentence in &played.said {
        out.remark(sentence);
    }
    Ok(if played.stopped == Stopped::AtTheEnd { Heard::ToTheEnd } else { Heard::BrokenOff })
}

/// The notes of the last two bars of each round, corrected by `latency`, the rounds one behind the other.
fn line(rounds: &[Round], latency: Latency) -> Vec<BandNote> {
    let tempo = TempoMap::at_bpm(BPM);
    let mut line = Vec::new();
    for (round, (clicks, struck)) in rounds.iter().enumerate() {
        let Some(&first) = clicks.iter().rev().nth(AGAIN - 1) else { continue };
        let beats = (round * AGAIN) as i64;
        // From half a beat before the first click to half a beat after the last.
        let heard = TickSpan(-HALF_BEAT.0)..TickSpan::quarters(AGAIN as i64) - HALF_BEAT;
        for note in struck {
            let into = tempo.ticks(Nanos::ZERO + (note.at - latency.of(note.pitch) - first)) - Ticks::ZERO;
            if heard.contains(&into) {
                let at = Ticks::ZERO + TickSpan::quarters(beats) + into;
                line.push(BandNote {
                    part: Part::Line,
                    at,
                    length: HALF_BEAT,
                    key: note.pitch,
                    velocity: VELOCITY,
                });
            }
        }
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::calibrate::clicks::{click_times, rounds};
    use crate::live::calibration::{Model, Struck};
    use crate::report::{Ink, OutputForm, Signs};
    use crate::theory::Pitch;

    /// What comes of the answers given, the offsets that were heard, and what was said.
    fn confirm(answers: &str, ends: Heard) -> (Option<f64>, Vec<f64>, String) {
        let mut said = Vec::new();
        let form = OutputForm::Piped { ink: Ink::Plain, signs: Signs::Ascii };
        let mut out = Output::new(form, std::io::sink(), &mut said);
        let mut heard = Vec::new();
        let play = |latency: Latency, _: &mut Output| {
            heard.push(latency.constant.in_millis());
            Ok(ends)
        };
        let latency = Latency { constant: NanoSpan::millis(31), periods: 2.0 };
        let kept = confirmed(latency, &mut answers.as_bytes(), play, &mut out).expect("no trouble");
        drop(out);
        let kept = kept.map(|latency| latency.constant.in_millis());
        (kept, heard, String::from_utf8(said).expect("text"))
    }

    #[test]
    fn it_is_kept_moved_and_heard_again_or_dropped_as_the_player_says() {
        let check = |answers: &str, kept: Option<f64>, heard: &[f64]| {
            let (found, played, _) = confirm(answers, Heard::ToTheEnd);
            assert_eq!((found, played.as_slice()), (kept, heard), "{answers:?}");
        };
        check("\n", Some(31.0), &[31.0]);
        check("5\n-2.5\ny\n", Some(33.5), &[31.0, 36.0, 33.5]);
        check("n\n", None, &[31.0]);
        check("", None, &[31.0]);
        check("what?\n501\nyes\n", Some(31.0), &[31.0]);
        check("499\n499\n\n", Some(500.0), &[31.0, 500.0, 500.0]);
        assert_eq!(confirm("\n", Heard::BrokenOff).0, None, "a signal while it plays");
        assert!(confirm("\n", Heard::ToTheEnd).2.contains("Enter keeps 31.0 ms"));
    }

    #[test]
    fn each_note_is_heard_where_the_correction_puts_it() {
        let latency = Latency { constant: NanoSpan::millis(5), periods: 2.0 };
        let strings = click_times(Model::PitchTracker).into_iter().zip([40, 64]);
        let struck: Vec<Struck> = strings
            .flat_map(|(clicks, key)| {
                let pitch = Pitch::new(key).expect("a key");
                // Every other note comes 3 ms later still.
                clicks.into_iter().zip([0, 3].into_iter().cycle()).map(move |(click, ms)| Struck {
                    at: click + latency.of(pitch) + NanoSpan::millis(ms),
                    pitch,
                })
            })
            .collect();
        let line = line(&rounds(&struck, Model::PitchTracker), latency);
        let keys: Vec<u8> = line.iter().map(|note| note.key.key()).collect();
        assert_eq!(keys, [[40; 8], [64; 8]].concat());
        let tempo = TempoMap::at_bpm(BPM);
        for (note, beat) in line.iter().zip(0..) {
            let on = tempo.nanos(Ticks::ZERO + TickSpan::quarters(beat));
            let off = (tempo.nanos(note.at) - on).in_millis();
            assert!((off - [0.0, 3.0][beat as usize % 2]).abs() < 0.05, "beat {beat}: {off} ms");
        }
    }

    #[test]
    fn the_session_counts_one_bar_in_and_sounds_the_line() {
        let rounds = rounds(&[], Model::Constant);
        let plan =
            with_line(AGAIN / BEATS, line(&rounds, Latency::default()), SoundChoice::Silent).expect("a plan");
        assert_eq!(plan.form.length(), TickSpan::quarters(8));
        assert_eq!(plan.count_in().length, TickSpan::quarters(4));
        assert!(!plan.mutes.contains(&Part::Line) && !plan.mutes.contains(&Part::Click));
    }
}
