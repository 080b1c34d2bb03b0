//! What was learnt about the instrument that is heard, and holds where no setting says otherwise.

use crate::command::output::Output;
use crate::command::startup::Startup;
use crate::live::begin_cues::BeginCues;
use crate::live::input_rank::{InputKind, ranked};
use crate::live::{self, FootAction, FootSwitch, NotesChoice, Played};
use crate::store::device_facts::{DeviceFact, DeviceFacts, FootFact};
use crate::store::settings::choice::Choice;
use crate::store::settings::{Origin, Settings};
use crate::store::takes::FOLDER_VARIABLE;
use crate::theory::Pitch;

/// What holds for a take by what was learnt.
pub(super) struct Learnt {
    /// The settings: those given, and where nobody gave an offset, the one learnt for the instrument that is heard.
    pub settings: Settings,
    /// The foot switch of an instrument that is heard.
    pub foot: Option<FootSwitch>,
    /// How far the notes lay apart by which the offset was measured, in milliseconds, where the learnt one holds.
    pub spread_ms: Option<f64>,
}

impl Learnt {
    /// What was learnt about the instruments that a take hears.
    pub fn of(startup: &Startup, notes: &NotesChoice, host: Option<&str>, out: &mut Output) -> Self {
        let settings = startup.resolved.settings.clone();
        let mut heard = heard(notes, || live::notes_in_names(host));
        let facts = match DeviceFacts::of_user(std::env::var_os(FOLDER_VARIABLE)) {
            Ok(facts) if !heard.is_empty() => facts,
            Ok(_) => return Self { settings, foot: None, spread_ms: None },
            Err(error) => {
                out.remark(&format!("What was learnt about instruments is left out: {error}"));
                return Self { settings, foot: None, spread_ms: None };
            }
        };
        heard = ranked(heard, facts.last_input());
        let foot = foot_of(&heard, &facts);
        let is_given =
            |key: &&str| startup.resolved.origin(key).is_some_and(|origin| *origin != Origin::Default);
        let mut settings = settings;
        let mut spread_ms = None;
        if !["offset-ms", "offset-periods"].iter().any(is_given) {
            settings = with_offset(settings, &heard, &facts, out);
            let measured = heard.iter().filter_map(|name| facts.of(name));
            spread_ms = measured.filter(|fact| fact.offset_ms.is_some()).find_map(|fact| fact.spread_ms);
        }
        if !["first-string-channel", "string-order"].iter().any(is_given) {
            settings = with_strings(settings, &heard, &facts);
        }
        Self { settings, foot, spread_ms }
    }
}

/// What begins a take on the instruments that it will hear: the foot switch and the low notes that were learnt. While none
/// of them is there, those of all that may come. Facts that do not read are told by the take itself.
pub fn cues(notes: &NotesChoice, host: Option<&str>) -> BeginCues {
    let facts = DeviceFacts::of_user(std::env::var_os(FOLDER_VARIABLE));
    facts.map_or_else(|_| BeginCues::default(), |facts| cues_of(notes, || live::notes_in_names(host), &facts))
}

fn cues_of(notes: &NotesChoice, there: impl FnOnce() -> Vec<String>, facts: &DeviceFacts) -> BeginCues {
    let mut heard = heard(notes, there);
    if heard.is_empty() {
        heard = self::heard(notes, || facts.names().map(str::to_owned).collect());
    }
    let low_note = |name: &String| Pitch::new(facts.of(name)?.low_note?.key);
    BeginCues::new(foot_of(&heard, facts), heard.iter().filter_map(low_note).collect())
}

/// The foot switch of an instrument that is heard.
fn foot_of(heard: &[String], facts: &DeviceFacts) -> Option<FootSwitch> {
    heard.iter().find_map(|name| foot_switch(facts.of(name)?.foot?))
}

/// Writes down which input a take was played on: it goes first from now on.
pub(super) fn remember_input(played: &Played, out: &mut Output) {
    let Some(name) = &played.used else { return };
    let facts = DeviceFacts::of_user(std::env::var_os(FOLDER_VARIABLE));
    if let Err(error) = facts.and_then(|mut facts| facts.was_played(name)) {
        out.remark(&format!("That {name} was used last is not remembered: {error}"));
    }
}

/// The settings with the strings of the only instrument that is heard. Of several none holds for all: there the channels
/// are found out from what is played.
fn with_strings(settings: Settings, heard: &[String], facts: &DeviceFacts) -> Settings {
    let [only] = heard else { return settings };
    let Some(strings) = facts.of(only).and_then(|fact| fact.strings.as_ref()) else { return settings };
    let mut learnt = settings.clone();
    let order = learnt.string_order.choose(&strings.order);
    // The file may have been changed by hand: what no setting would take is left out.
    match order {
        Some(()) if (1..=16).contains(&strings.first_channel) => {
            Settings { first_string_channel: Some(strings.first_channel), ..learnt }
        }
        _ => settings,
    }
}

/// The switch of a fact; `None` where the file names none that there can be.
fn foot_switch(fact: FootFact) -> Option<FootSwitch> {
    let channel = fact.channel.checked_sub(1).filter(|&channel| channel < 16)?;
    let action = if fact.latching { FootAction::Latching } else { FootAction::Momentary };
    Some(FootSwitch { channel, controller: fact.controller, action })
}

/// The inputs that are heard, the likeliest first.
fn heard(notes: &NotesChoice, there: impl FnOnce() -> Vec<String>) -> Vec<String> {
    let mut names = match notes {
        NotesChoice::Ports | NotesChoice::PortsNamed(_) => ranked(there(), None),
        NotesChoice::File { .. } | NotesChoice::Nobody => Vec::new(),
    };
    names.retain(|name| match notes {
        NotesChoice::PortsNamed(wanted) => name.to_lowercase().contains(&wanted.to_lowercase()),
        _ => InputKind::of(name, None) != InputKind::Through,
    });
    names
}

/// The settings with the offset of the first instrument for which one was learnt. A take has one offset: where others
/// were measured otherwise, that is said.
fn with_offset(settings: Settings, heard: &[String], facts: &DeviceFacts, out: &mut Output) -> Settings {
    let offset = |fact: &DeviceFact| (fact.offset_ms, fact.offset_periods);
    let measured = heard.iter().filter_map(|name| Some((name, facts.of(name)?)));
    let mut measured = measured.filter(|(_, fact)| fact.offset_ms.is_some());
    let Some((name, fact)) = measured.next() else { return settings };
    let offset_ms = fact.offset_ms.unwrap_or_default();
    out.remark(&format!("Notes are taken to be {offset_ms} ms late, as measured for {name}."));
    for (other, otherwise) in measured.filter(|(_, other)| offset(other) != offset(fact)) {
        let late = otherwise.offset_ms.unwrap_or_default();
        out.remark(&format!("{other} was measured at {late} ms: --midi-from chooses one instrument."));
    }
    // The file may have been changed by hand: what a setting would not take is no offset.
    let offset_periods = fact.offset_periods.unwrap_or_default();
    Settings {
        offset_ms: in_range(offset_ms, -500.0, 500.0),
        offset_periods: in_range(offset_periods, 0.0, 8.0),
        ..settings
    }
}

fn in_range(value: f64, low: f64, high: f64) -> f64 {
    if value.is_finite() { value.clamp(low, high) } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::{Ink, OutputForm, Signs};

    fn offsets(heard: &[&str]) -> (f64, f64, String) {
        let folder = tempfile::tempdir().expect("a folder");
        let mut facts = DeviceFacts::of_user(Some(folder.path().into())).expect("nothing known yet");
        for (name, ms, periods) in [("Guitar", 5.0, 2.0), ("Keys", 12.5, 0.0)] {
            facts
                .learn(name, |fact| (fact.offset_ms, fact.offset_periods) = (Some(ms), Some(periods)))
                .expect("written");
        }
        let mut said = Vec::new();
        let form = OutputForm::Piped { ink: Ink::Plain, signs: Signs::Ascii };
        let heard: Vec<String> = heard.iter().map(|&name| name.to_owned()).collect();
        let mut out = Output::new(form, std::io::sink(), &mut said);
        let settings = with_offset(Settings::default(), &heard, &facts, &mut out);
        drop(out);
        (settings.offset_ms, settings.offset_periods, String::from_utf8(said).expect("text"))
    }

    #[test]
    fn the_offset_of_the_instrument_that_is_heard_holds() {
        let (ms, periods, said) = offsets(&["Pad", "Keys"]);
        assert_eq!((ms, periods), (12.5, 0.0));
        assert_eq!(said, "Notes are taken to be 12.5 ms late, as measured for Keys.\n");
        assert_eq!(offsets(&["Pad"]), (0.0, 0.0, String::new()));
    }

    #[test]
    fn of_two_instruments_the_first_counts_and_the_other_is_said() {
        let (ms, periods, said) = offsets(&["Guitar", "Keys"]);
        assert_eq!((ms, periods), (5.0, 2.0));
        assert!(said.contains("Keys was measured at 12.5 ms: --midi-from"), "{said}");
    }

    #[test]
    fn a_foot_switch_is_counted_from_channel_1_and_one_that_cannot_be_is_none() {
        let fact = FootFact { channel: 3, controller: 64, latching: false };
        let switch = FootSwitch { channel: 2, controller: 64, action: FootAction::Momentary };
        assert_eq!(foot_switch(fact), Some(switch));
        assert_eq!(foot_switch(FootFact { channel: 0, ..fact }), None);
        assert_eq!(foot_switch(FootFact { channel: 17, ..fact }), None);
    }

    #[test]
    fn the_strings_of_the_only_instrument_hold() {
        use crate::store::device_facts::StringsFact;
        use crate::take::clean::ChannelOrder;
        let folder = tempfile::tempdir().expect("a folder");
        let mut facts = DeviceFacts::of_user(Some(folder.path().into())).expect("nothing known yet");
        for (name, first_channel) in [("Guitar", 11), ("Odd", 17)] {
            let strings = StringsFact { first_channel, order: "low-first".to_owned() };
            facts.learn(name, |fact| fact.strings = Some(strings)).expect("written");
        }
        let found = |heard: &[&str]| {
            let heard: Vec<String> = heard.iter().map(|&name| name.to_owned()).collect();
            let settings = with_strings(Settings::default(), &heard, &facts);
            (settings.first_string_channel, settings.string_order)
        };
        assert_eq!(found(&["Guitar"]), (Some(11), ChannelOrder::LowFirst));
        for other in [["Guitar", "Keys"].as_slice(), &["Keys"], &["Odd"]] {
            assert_eq!(found(other), (None, ChannelOrder::Detect), "{other:?}");
        }
    }

    #[test]
    fn the_cues_are_those_of_what_is_heard_or_of_what_may_come() {
        use crate::store::device_facts::LowNoteFact;
        let folder = tempfile::tempdir().expect("a folder");
        let mut facts = DeviceFacts::of_user(Some(folder.path().into())).expect("nothing known yet");
        for (name, key) in [("Guitar", 40), ("Keys", 28)] {
            facts.learn(name, |fact| fact.low_note = Some(LowNoteFact { key })).expect("written");
        }
        let check = |notes: &NotesChoice, there: &[&str], expect: &[&str]| {
            let there = there.iter().map(|&name| name.to_owned()).collect();
            assert_eq!(cues_of(notes, || there, &facts).words(), expect);
        };
        let keys = NotesChoice::PortsNamed("keys".to_owned());
        check(&NotesChoice::Ports, &["Guitar"], &["E2 twice"]);
        check(&NotesChoice::Ports, &["Pad"], &[]);
        check(&NotesChoice::Ports, &[], &["E2 twice", "E1 twice"]);
        check(&keys, &[], &["E1 twice"]);
        check(&keys, &["Guitar", "Keys"], &["E1 twice"]);
        check(&NotesChoice::Nobody, &["Guitar"], &[]);
    }

    #[test]
    fn what_was_used_last_is_heard_first() {
        let folder = tempfile::tempdir().expect("a folder");
        let mut facts = DeviceFacts::of_user(Some(folder.path().into())).expect("nothing known yet");
        facts.was_played("Keys").expect("written");
        let there = ["Midi Through", "Guitar", "Keys"].map(str::to_owned).to_vec();
        let heard = ranked(heard(&NotesChoice::Ports, || there), facts.last_input());
        assert_eq!(heard, ["Keys", "Guitar"]);
    }

    #[test]
    fn only_what_is_opened_is_heard() {
        let there = || ["Midi Through", "Keys", "Guitar"].map(str::to_owned).to_vec();
        assert_eq!(heard(&NotesChoice::Ports, there), ["Keys", "Guitar"]);
        assert_eq!(heard(&NotesChoice::PortsNamed("gui".to_owned()), there), ["Guitar"]);
        assert!(heard(&NotesChoice::Nobody, there).is_empty());
    }
}
