//! The one MIDI input that is meant, where something is learnt about an instrument.

use crate::live;
use crate::live::input_rank::{InputKind, ranked};

use super::exit_status::Failure;

/// The input whose name holds `wanted`, or the only one that is connected; through ports are meant by name only.
pub fn one_input(wanted: Option<&str>, host: Option<&str>) -> Result<String, Failure> {
    meant(&ranked(live::notes_in_names(host), None), wanted)
}

fn meant(there: &[String], wanted: Option<&str>) -> Result<String, Failure> {
    let taken = |name: &&String| match wanted {
        Some(wanted) => name.to_lowercase().contains(&wanted.to_lowercase()),
        None => InputKind::of(name, None) != InputKind::Through,
    };
    let meant: Vec<&String> = there.iter().filter(taken).collect();
    match (meant.as_slice(), wanted) {
        ([one], _) => Ok((*one).clone()),
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

    fn check(there: &[&str], wanted: Option<&str>, expect: Result<&str, Ending>) {
        let there: Vec<String> = there.iter().map(|&name| name.to_owned()).collect();
        let found = meant(&there, wanted).map_err(|failure| failure.ending());
        assert_eq!(found, expect.map(str::to_owned));
    }

    #[test]
    fn the_only_one_is_meant_and_of_several_the_one_that_is_named() {
        check(&["Guitar", "Midi Through"], None, Ok("Guitar"));
        check(&["Guitar", "Keys"], None, Err(Ending::BadInput));
        check(&["Guitar", "Keys"], Some("KEY"), Ok("Keys"));
        check(&["Guitar"], Some("keys"), Err(Ending::Device));
        check(&["Midi Through"], None, Err(Ending::Device));
        check(&["Midi Through"], Some("through"), Ok("Midi Through"));
    }
}
