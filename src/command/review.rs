//! `review`: what is asked about takes that were played, and how it is to be shown.

use std::path::PathBuf;

use clap::Args;

use crate::store::settings::Flag;

use super::ending::Failure;
use super::values::{BarNumber, Milliseconds, NotePlace};

/// What `review` takes.
#[expect(clippy::struct_excessive_bools, reason = "one a flag, as typed; `view` makes one choice of them")]
#[derive(Clone, Debug, PartialEq, Args)]
pub struct ReviewArgs {
    /// The takes: MIDI files
    #[arg(value_name = "FILE.mid", required = true)]
    pub files: Vec<PathBuf>,
    /// The chart they were played over; else the chord text in each file is read
    #[arg(long, value_name = "CHART")]
    pub chart: Option<PathBuf>,
    /// The track to judge; else the one named Solo, else the only one with notes
    #[arg(long, value_name = "NAME")]
    pub track: Option<String>,
    /// How much later than played the notes arrive, in milliseconds
    #[arg(long, value_name = "MS", allow_hyphen_values = true)]
    pub offset_ms: Option<Milliseconds>,
    /// Count a note of another scale in use as scale, where the line leans that way
    #[arg(long)]
    pub lenient: bool,
    /// Show every note in order, with its class and why
    #[arg(long, group = "view")]
    pub notes: bool,
    /// Show this bar only
    #[arg(long, value_name = "N")]
    pub bar: Option<BarNumber>,
    /// Show how one note was judged: 9.4 is the fourth note of bar 9
    #[arg(long, value_name = "BAR.NOTE", group = "view", conflicts_with = "bar")]
    pub why: Option<NotePlace>,
    /// Compare with this assignment: exit 0 met, 1 clearly not met, 5 no verdict
    #[arg(long, value_name = "F")]
    pub check: Option<PathBuf>,
    /// Print one JSON document a line, one for each file, in the order given
    #[arg(long, conflicts_with_all = ["view", "json"])]
    pub json_lines: bool,
    /// Leave out bars and notes
    #[arg(long, group = "view")]
    pub totals: bool,
    /// One line a bar, in words, for screen readers and small windows
    #[arg(long, group = "view")]
    pub plain: bool,
}

/// How a take is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum View {
    /// The summary, then the bars.
    Bars,
    /// The summary.
    Totals,
    /// Every note in order.
    Notes,
    /// One note and how it was judged.
    Why(NotePlace),
    /// One line a bar, in words.
    Plain,
}

impl ReviewArgs {
    /// How the takes are to be shown.
    pub const fn view(&self) -> View {
        match self {
            Self { why: Some(place), .. } => View::Why(*place),
            Self { notes: true, .. } => View::Notes,
            Self { totals: true, .. } => View::Totals,
            Self { plain: true, .. } => View::Plain,
            _ => View::Bars,
        }
    }

    /// The settings these flags give.
    pub fn settings(&self) -> Vec<Flag> {
        let lenient =
            self.lenient.then(|| Flag { flag: "--lenient", key: "counting", text: "lenient".to_owned() });
        let offset = self.offset_ms.map(|offset| {
            let text = offset.get().to_string();
            Flag { flag: "--offset-ms", key: "offset-ms", text }
        });
        lenient.into_iter().chain(offset).collect()
    }

    /// Refuses what cannot be answered together, above all what only one take can answer when several are given;
    /// `json` says whether one JSON document is asked for.
    pub fn checked(&self, json: bool) -> Result<(), Failure> {
        let refusal = match self {
            Self { json_lines: true, .. } if json => {
                Some("--json prints one document, --json-lines one a file: choose one")
            }
            _ if self.files.len() == 1 => None,
            Self { why: Some(_), .. } => Some("--why asks about one note of one take: name one file"),
            Self { check: Some(_), .. } => Some("--check compares one take: name one file"),
            _ if json => Some("--json prints one document: name one file, or write --json-lines for several"),
            _ => None,
        };
        refusal.map_or(Ok(()), |message| Err(Failure::bad_input(message)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::values::tests::{parsed, refused};

    fn view(flags: &[&str]) -> View {
        parsed::<ReviewArgs>(&[&["a.mid"], flags].concat()).view()
    }

    #[test]
    fn bars_are_shown_unless_something_else_is_asked() {
        assert_eq!(view(&[]), View::Bars);
        assert_eq!(view(&["--bar", "9"]), View::Bars);
        assert_eq!(view(&["--notes", "--bar", "9"]), View::Notes);
        assert_eq!(view(&["--totals"]), View::Totals);
        assert_eq!(view(&["--plain"]), View::Plain);
        assert!(matches!(view(&["--why", "9.4"]), View::Why(NotePlace { note: 4, .. })));
    }

    #[test]
    fn views_exclude_each_other() {
        for flags in [["--notes", "--totals"], ["--plain", "--json-lines"], ["--totals", "--plain"]] {
            let message = refused::<ReviewArgs>(&[&["a.mid"][..], &flags].concat());
            assert!(message.contains("cannot be used with"), "{message}");
        }
    }

    #[test]
    fn flags_that_are_settings_are_handed_on_as_such() {
        let settings = parsed::<ReviewArgs>(&["a.mid", "--lenient", "--offset-ms", "-20"]).settings();
        let given: Vec<_> = settings.iter().map(|flag| (flag.key, flag.text.as_str())).collect();
        assert_eq!(given, [("counting", "lenient"), ("offset-ms", "-20")]);
    }

    #[test]
    fn what_only_one_take_can_answer_is_refused_for_two() {
        let refusal = |flags: &[&str], json| {
            let args = parsed::<ReviewArgs>(&[&["a.mid", "b.mid"], flags].concat());
            args.checked(json).is_err()
        };
        assert!(refusal(&["--why", "9.4"], false));
        assert!(refusal(&["--check", "a.toml"], false));
        assert!(refusal(&[], true));
        assert!(!refusal(&[], false));
        assert!(!refusal(&["--json-lines"], false));
        assert!(refusal(&["--json-lines"], true));
    }

    #[test]
    fn an_offset_out_of_range_is_refused() {
        let message = refused::<ReviewArgs>(&["a.mid", "--offset-ms", "900"]);
        assert!(message.contains("milliseconds are a number from -500 to 500"), "{message}");
    }
}
