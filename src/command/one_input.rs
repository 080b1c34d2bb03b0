//! The one MIDI input that is meant, where something is learnt about an instrument.

use crate::live;
use crate::live::input_rank::{InputKind, ranked};
use crate::store::device_facts::DeviceFacts;

use super::exit_status::Failure;

/// The input whose name holds `wanted`, or the only one that is connected, or of several the one used last; through ports
/// are meant by name only.
pub fn one_input(wanted: Option<&str>, host: Option<&str>, facts: &DeviceFacts) -> Result<String, Failure> {
    let last = facts.last_input();
    meant(&ranked(live::notes_in_names(host), last), wanted, last)
}

fn meant(there: &[String], wanted: Option<&str>, last: Option<&str>) -> Result<String, Failure> {
    let taken = |name: &&String| match wanted {
        Some(wanted) => name.to_lowercase().contains(&wanted.to_lowercase()),
        None => InputKind::of(name, last) != InputKind::Through,
    };
    let meant: Vec<&String> = there.iter().filter(taken).collect();
    match (meant.as_slice(), wanted) {
        ([one], _) => Ok((*one).clone()),
        ([first, ..], None) if InputKind::of(first, last) == InputKind::LastUsed => Ok((*first).clone()),
        ([], None) => Err(Failure::device("no instrument is connected by MIDI")),
        ([], Some(wanted)) if there.is_empty() => {
            Err(Failure::device(format!("no MIDI input is called \"{wanted}\"; there is none at all")))
        }
        ([], Some(wanted)) => {
            let there = there.join(", ");
            Err(Failure::device(format!("no MIDI input is called \"{wanted}\"; there are: {there}")))
        }
        (several, _) => {
            let several: Vec<&str> = several.iter().map(|name| name.as_str()).collect();
            Err(Failure::bad_input(format!(
                "one instrument at a time: name it with --midi-from; there are: {}",
                several.join(", ")
            )))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::exit_status::Ending;

    fn check(there: &[&str], (wanted, last): (Option<&str>, Option<&str>), expect: Result<&str, Ending>) {
        let there = ranked(there.iter().map(|&name| name.to_owned()).collect(), last);
        let found = meant(&there, wanted, last).map_err(|failure| failure.ending());
        assert_eq!(found, expect.map(str::to_owned));
    }

    #[test]
    fn the_only_one_is_meant_and_of_several_the_one_that_is_named() {
        check(&["Guitar", "Midi Through"], (None, None), Ok("Guitar"));
        check(&["Guitar", "Keys"], (None, None), Err(Ending::BadInput));
        check(&["Guitar", "Keys"], (Some("KEY"), None), Ok("Keys"));
        check(&["Guitar"], (Some("keys"), None), Err(Ending::Device));
        check(&["Midi Through"], (None, None), Err(Ending::Device));
        check(&["Midi Through"], (Some("through"), None), Ok("Midi Through"));
    }

    #[test]
    fn of_several_that_nobody_named_the_one_used_last_is_meant() {
        check(&["Guitar", "Keys"], (None, Some("Keys")), Ok("Keys"));
        check(&["Guitar", "Keys"], (None, Some("Pad")), Err(Ending::BadInput));
        check(&["Keys a", "Keys b"], (Some("keys"), Some("Keys b")), Err(Ending::BadInput));
    }
}
