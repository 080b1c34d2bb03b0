//! From what was found to a verdict on it and what to do: pure, one function a check.

use std::path::Path;

use serde_json::Value;

use crate::live::clock::Fineness;
use crate::live::input_rank::{InputKind, ranked};
use crate::live::look::SoundFacts;
use crate::report::soundcheck::Check;
use crate::time::NanoSpan;

const NOTES_IN: &str = "notes-in";
const SOUND_OUT: &str = "sound-out";
const TERMINAL: &str = "terminal";
const STORE: &str = "store";
const SETTINGS: &str = "settings";
const CLOCK: &str = "clock";

/// From here on a delay between playing and hearing is in the way: 20 to 30 ms may be acceptable in general
/// (Lago & Kon, ICMC 2004).
const LAG: NanoSpan = NanoSpan::millis(30);
/// Free space from which on a disk is no trouble: a take has about a hundred kilobytes, and logs and indexes need room.
const ROOM_BYTES: u64 = 100 << 20;
/// A clock that steps wider than this would show in the notes' times.
const COARSE: NanoSpan = NanoSpan::millis(1);
/// A machine that wakes this late is too busy to play along with.
const SLEEPY: NanoSpan = NanoSpan::millis(20);

/// The inputs there are, or why nobody can tell; `wanted` is a part of the name asked for.
pub fn notes_in(found: Result<Vec<String>, String>, wanted: Option<&str>, last: Option<&str>) -> Check {
    let names = match (found, wanted) {
        (Ok(names), _) => ranked(names, last),
        (Err(why), Some(_)) => return Check::fail(NOTES_IN, format!("none: {why}"), NO_MIDI),
        (Err(why), None) => return Check::warn(NOTES_IN, format!("none: {why}"), NO_MIDI),
    };
    let taken = |name: &&String| match wanted {
        Some(wanted) => name.to_lowercase().contains(&wanted.to_lowercase()),
        None => InputKind::of(name, last) != InputKind::Through,
    };
    let heard: Vec<String> = names.iter().filter(taken).cloned().collect();
    let check = match (heard.is_empty(), wanted) {
        (false, _) => Check::ok(NOTES_IN, heard.join(", ")),
        (true, None) => {
            let fix = "connect an instrument, or switch it on: it is heard as soon as it comes";
            Check::warn(NOTES_IN, "none", fix)
        }
        (true, Some(wanted)) => {
            let there = match names.join(", ") {
                none if none.is_empty() => "there is none at all".to_owned(),
                listed => format!("there are: {listed}"),
            };
            let fix = "name one that is there, or a part of its name";
            Check::fail(NOTES_IN, format!("none called \"{wanted}\"; {there}"), fix)
        }
    };
    check.with("inputs", heard.into_iter().map(Value::from).collect::<Vec<_>>())
}

const NO_MIDI: &str = "--midi-file F plays a file as if you did";

/// What is asked of the sound output.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asked {
    /// Whatever the system would take.
    Any,
    /// One by its name, which must be there.
    ByName,
}

/// The sound output, or why it cannot be played on.
pub fn sound_out(found: Result<SoundFacts, String>, asked: Asked) -> Check {
    let facts = match (found, asked) {
        (Ok(facts), _) => facts,
        (Err(why), Asked::ByName) => {
            return Check::fail(SOUND_OUT, format!("none: {why}"), "name one that is there");
        }
        (Err(why), Asked::Any) => {
            let fix = "connect one, or choose one with --audio-host or --audio-device; without, play goes on with the visible beat";
            return Check::warn(SOUND_OUT, format!("none: {why}"), fix);
        }
    };
    let latency = facts.latency.map(|latency| format!("{:.0} ms", latency.in_millis()));
    let found = format!(
        "{}, {}: {} Hz, {} frames a buffer, latency {}",
        facts.host,
        facts.name,
        facts.rate_hz,
        facts.buffer.0,
        latency.as_deref().unwrap_or("unknown: the device does not tell")
    );
    let wireless = ["bluetooth", "bluez"].iter().any(|word| facts.name.to_lowercase().contains(word));
    let check = match () {
        () if wireless => {
            let fix = "wireless sound lags by a tenth of a second and more: use a cable, or measure it with barwise calibrate";
            Check::warn(SOUND_OUT, found, fix)
        }
        () if facts.underruns > 0 => {
            let found = format!("{found}; it ran dry {} times", facts.underruns);
            Check::warn(
                SOUND_OUT,
                found,
                "end other programs that work hard; play asks for a larger buffer by itself where it must",
            )
        }
        () if facts.latency.is_some_and(|latency| latency > LAG) => Check::warn(
            SOUND_OUT,
            found,
            "more than 30 ms are felt as a lag: another --audio-host may be quicker",
        ),
        () => Check::ok(SOUND_OUT, found),
    };
    check
        .with("host", facts.host)
        .with("device", facts.name)
        .with("rate_hz", facts.rate_hz)
        .with("buffer_frames", facts.buffer.0)
        .with("latency_ms", facts.latency.map(NanoSpan::in_millis))
        .with("underruns", facts.underruns)
}

/// Sound that nobody asked for.
pub fn sound_left_out() -> Check {
    Check::ok(SOUND_OUT, "left out: --no-audio")
}

/// What a terminal is like; `None` in place of its size where standard output is none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TerminalFacts {
    /// Columns and rows.
    pub size: Option<(u16, u16)>,
    /// How many colours are printed, in words.
    pub colours: &'static str,
    /// Whether the locale says UTF-8.
    pub utf8: bool,
    /// Whether only ASCII signs are printed anyway.
    pub ascii: bool,
}

/// The terminal.
pub fn terminal(facts: TerminalFacts) -> Check {
    let signs = if facts.utf8 { "UTF-8" } else { "no UTF-8" };
    let found = match facts.size {
        Some((columns, rows)) => format!("{columns}x{rows}, {}, {signs}", facts.colours),
        None => format!("none: rows are separated by tabs, {}, {signs}", facts.colours),
    };
    let small = |(columns, rows): (u16, u16)| columns < 40 || rows < 10;
    let below_full = |(columns, rows): (u16, u16)| columns < 80 || rows < 24;
    let check = match () {
        () if facts.size.is_some_and(small) => {
            Check::warn(TERMINAL, found, "too small for a screen: 40x10 needed, or play --plain")
        }
        () if !facts.utf8 && !facts.ascii => {
            Check::warn(TERMINAL, found, "barwise settings ascii on, or a locale with UTF-8")
        }
        () if facts.size.is_some_and(below_full) => Check::warn(
            TERMINAL,
            found,
            "80x24 shows the whole playing screen; smaller shows the line, now and next",
        ),
        () => Check::ok(TERMINAL, found),
    };
    check
        .with("columns", facts.size.map(|size| size.0))
        .with("rows", facts.size.map(|size| size.1))
        .with("colours", facts.colours)
        .with("utf8", facts.utf8)
}

/// The folder of takes: whether it can be written, and how much room there is.
pub fn store(folder: &Path, written: std::io::Result<()>, free_bytes: Option<u64>) -> Check {
    let shown = folder.display().to_string();
    let megabytes = free_bytes.map(|bytes| bytes >> 20);
    let room = megabytes.map_or_else(|| "free space unknown".to_owned(), |free| format!("{free} MB free"));
    let check = match written {
        Err(error) => {
            Check::fail(STORE, error.to_string(), "set BARWISE_DATA_DIR to a folder that may be written")
        }
        Ok(()) if free_bytes.is_some_and(|free| free < ROOM_BYTES) => Check::warn(
            STORE,
            format!("{shown}, {room}"),
            "make room, or set BARWISE_DATA_DIR to a folder on another disk",
        ),
        Ok(()) => Check::ok(STORE, format!("{shown}, {room}")),
    };
    check.with("folder", shown).with("free_bytes", free_bytes)
}

/// No folder is known to keep takes in.
pub fn no_store(why: &str) -> Check {
    Check::fail(STORE, why, "set BARWISE_DATA_DIR to a folder")
}

/// The settings file: whether it is there, and what is not understood in it.
pub fn settings(path: &Path, is_there: bool, slips: usize) -> Check {
    let shown = path.display().to_string();
    let check = match (is_there, slips) {
        (false, _) => Check::ok(SETTINGS, format!("{shown}: not there yet, the defaults hold")),
        (true, 0) => Check::ok(SETTINGS, shown.clone()),
        (true, slips) => {
            let found = format!("{shown}: {slips} of its lines not understood");
            Check::warn(SETTINGS, found, "barwise settings says which, and how to mend them")
        }
    };
    check.with("file", shown).with("there", is_there).with("slips", slips)
}

/// The clock that times are taken from where no device keeps time.
pub fn clock(found: Fineness) -> Check {
    let words = format!(
        "steps of {} ns; a rest of 1 ms took {:.1} ms at most",
        found.step.0,
        found.longest_rest.in_millis()
    );
    let check = match () {
        () if found.step > COARSE => Check::warn(
            CLOCK,
            words,
            "notes are timed no finer than that here; another machine would do better",
        ),
        () if found.longest_rest > SLEEPY => {
            Check::warn(CLOCK, words, "the machine is busy: end other programs before you play")
        }
        () => Check::ok(CLOCK, words),
    };
    check.with("step_ns", found.step.0).with("longest_rest_ms", found.longest_rest.in_millis())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::soundcheck::Grade;
    use crate::time::FrameSpan;

    fn names(text: &str) -> Vec<String> {
        text.split(", ").map(str::to_owned).collect()
    }

    fn check_inputs(found: &str, wanted: Option<&str>, result: Grade, expect: &str) {
        let check = notes_in(Ok(names(found)), wanted, None);
        assert_eq!((check.result, check.found.as_str()), (result, expect));
    }

    #[test]
    fn inputs_are_named_the_likeliest_first_and_through_ports_left_out() {
        check_inputs("Midi Through, VirMIDI, Guitar", None, Grade::Ok, "Guitar, VirMIDI");
        check_inputs("Midi Through", None, Grade::Warn, "none");
        check_inputs("Midi Through", Some("through"), Grade::Ok, "Midi Through");
        check_inputs("Guitar", Some("keys"), Grade::Fail, "none called \"keys\"; there are: Guitar");
        assert_eq!(notes_in(Err("no".to_owned()), None, None).result, Grade::Warn);
        assert_eq!(notes_in(Err("no".to_owned()), Some("x"), None).result, Grade::Fail);
    }

    fn facts() -> SoundFacts {
        SoundFacts {
            host: "alsa".to_owned(),
            name: "Box".to_owned(),
            rate_hz: 48_000,
            buffer: FrameSpan(512),
            latency: Some(NanoSpan::millis(21)),
            underruns: 0,
        }
    }

    #[test]
    fn the_latency_is_told_or_said_to_be_unknown() {
        let known = sound_out(Ok(facts()), Asked::Any);
        assert_eq!(known.found, "alsa, Box: 48000 Hz, 512 frames a buffer, latency 21 ms");
        assert_eq!((known.result, &known.facts["latency_ms"]), (Grade::Ok, &Value::from(21.0)));
        let unknown = sound_out(Ok(SoundFacts { latency: None, ..facts() }), Asked::Any);
        assert!(unknown.found.ends_with("latency unknown: the device does not tell"), "{}", unknown.found);
        assert!(unknown.facts["latency_ms"].is_null());
    }

    #[test]
    fn what_is_in_the_way_of_playing_is_a_caution() {
        let result = |facts| sound_out(Ok(facts), Asked::Any).result;
        assert_eq!(result(SoundFacts { latency: Some(NanoSpan::millis(31)), ..facts() }), Grade::Warn);
        assert_eq!(result(SoundFacts { underruns: 1, ..facts() }), Grade::Warn);
        assert_eq!(result(SoundFacts { name: "Bluetooth phones".to_owned(), ..facts() }), Grade::Warn);
        let missing = |asked| sound_out(Err("no output device".to_owned()), asked).result;
        assert_eq!((missing(Asked::Any), missing(Asked::ByName)), (Grade::Warn, Grade::Fail));
    }

    #[test]
    fn a_terminal_is_judged_by_what_a_screen_needs() {
        let with = |columns, rows, utf8, ascii| {
            terminal(TerminalFacts { size: Some((columns, rows)), colours: "256 colours", utf8, ascii })
                .result
        };
        assert_eq!(with(80, 24, true, false), Grade::Ok);
        assert_eq!(with(80, 24, false, true), Grade::Ok);
        assert_eq!(with(80, 24, false, false), Grade::Warn);
        assert_eq!(with(56, 15, true, false), Grade::Warn);
        assert_eq!(with(39, 24, true, false), Grade::Warn);
        let pipe = terminal(TerminalFacts { size: None, colours: "no colour", utf8: true, ascii: false });
        assert_eq!(pipe.result, Grade::Ok);
    }

    #[test]
    fn a_store_needs_a_folder_and_room() {
        let folder = Path::new("takes");
        let result = |written, free| store(folder, written, free).result;
        assert_eq!(result(Ok(()), Some(ROOM_BYTES)), Grade::Ok);
        assert_eq!(result(Ok(()), None), Grade::Ok);
        assert_eq!(result(Ok(()), Some(ROOM_BYTES - 1)), Grade::Warn);
        assert_eq!(result(Err(std::io::Error::other("no")), None), Grade::Fail);
    }

    #[test]
    fn a_clock_is_coarse_or_late_or_good() {
        let result = |step, rest| {
            clock(Fineness { step: NanoSpan(step), longest_rest: NanoSpan::millis(rest) }).result
        };
        assert_eq!(
            (result(40, 2), result(2_000_000, 2), result(40, 21)),
            (Grade::Ok, Grade::Warn, Grade::Warn)
        );
    }
}
