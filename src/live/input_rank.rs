//! Which MIDI input comes first where several are there: what the player used last, then what one can touch.
//!
//! All of them are heard together; the order decides which is named first, and whose habits hold where they differ.

/// What an input seems to be, by its name alone: the system tells no more. Those that stand first are likelier meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum InputKind {
    /// The one used last.
    LastUsed,
    /// A device with a plug.
    Hardware,
    /// A port that a program offers.
    Virtual,
    /// What passes on what other programs send; never taken unasked.
    Through,
}

/// What the ports of programs are called (common practice of drivers and systems), in small letters.
const OF_PROGRAMS: [&str; 6] = ["virtual", "virmidi", "loopback", "loopmidi", "iac ", "network session"];

impl InputKind {
    /// What the input `name` seems to be; `last` is the one used last.
    pub fn of(name: &str, last: Option<&str>) -> Self {
        let small = name.to_lowercase();
        match () {
            () if last == Some(name) => Self::LastUsed,
            () if small.contains("midi through") => Self::Through,
            () if OF_PROGRAMS.iter().any(|word| small.contains(word)) => Self::Virtual,
            () => Self::Hardware,
        }
    }
}

/// The inputs, the likeliest first; those of one kind keep their order.
pub fn ranked(mut names: Vec<String>, last: Option<&str>) -> Vec<String> {
    names.sort_by_key(|name| InputKind::of(name, last));
    names
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_used_last_goes_first_and_through_ports_last() {
        let names =
            ["Midi Through:Port-0", "VirMIDI 1-0", "Keys", "Guitar", "Pad"].map(str::to_owned).to_vec();
        let expect = ["Pad", "Keys", "Guitar", "VirMIDI 1-0", "Midi Through:Port-0"];
        assert_eq!(ranked(names.clone(), Some("Pad")), expect);
        assert_eq!(ranked(names, None)[..3], ["Keys", "Guitar", "Pad"]);
    }
}
