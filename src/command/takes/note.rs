//! `takes note`: a note to self on a take, written into the journal, and taken out again.

use clap::Args;
use jiff::Timestamp;

use super::super::assign::journal;
use super::super::exit_status::{Ending, Failure};
use super::super::output::Output;
use super::super::values::TakeChoice;
use crate::store::journal::entry::{Entry, NoteToSelf};
use crate::store::takes::TakeFolder;

/// The longest note, in characters.
const LONGEST: usize = 500;

/// What `takes note` takes.
#[derive(Clone, Debug, PartialEq, Eq, Args)]
pub(super) struct NoteToSelfArgs {
    /// The take: its number, or last
    #[arg(value_name = "TAKE")]
    take: TakeChoice,
    /// Your words; it stays on this machine and is in no page and no hand-in
    #[arg(value_name = "WORDS", required_unless_present = "out", conflicts_with = "out")]
    words: Option<String>,
    /// Take out every note on this take
    #[arg(long)]
    out: bool,
}

/// Carries the command out.
pub(super) fn note(args: &NoteToSelfArgs, folder: &TakeFolder, out: &mut Output) -> Result<Ending, Failure> {
    let take = super::kept_take(args.take, folder)?.number;
    let text = one_line(args.words.as_deref().unwrap_or_default());
    let length = text.chars().count();
    let refused = |why: String| Err(Failure::bad_input(format!("take {take}: {why}")));
    if length > LONGEST {
        return refused(format!("the note has {length} characters, {LONGEST} are the most"));
    }
    if text.is_empty() && !args.out {
        return refused("a note has words; --out takes the notes out".to_owned());
    }
    let (journal, state) = journal(out)?;
    if args.out && state.of_take(take).0.is_empty() {
        return refused("there is no note to take out".to_owned());
    }
    let said = if args.out { "the notes are taken out" } else { "noted" };
    let kept = journal.append(Entry::Note(NoteToSelf { take, text }), Timestamp::now());
    kept.map_err(|error| Failure::store(error.to_string()))?;
    out.remark(&format!("take {take}: {said}"));
    Ok(Ending::Fine)
}

/// The words on one line, signs that steer a terminal left out.
fn one_line(text: &str) -> String {
    let shown: String = text.chars().map(|sign| if sign.is_control() { ' ' } else { sign }).collect();
    shown.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::super::super::values::tests::{parsed, refused};
    use super::*;

    #[test]
    fn a_note_is_one_line_of_words() {
        assert_eq!(one_line(" lay back,\n\u{1b}[2J rest  more "), "lay back, [2J rest more");
        assert_eq!(parsed::<NoteToSelfArgs>(&["14", "rest"]).words.as_deref(), Some("rest"));
        assert!(refused::<NoteToSelfArgs>(&["14"]).contains("<WORDS>"));
        assert!(refused::<NoteToSelfArgs>(&["14", "rest", "--out"]).contains("cannot be used with"));
    }
}
