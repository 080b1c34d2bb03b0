//! An assignment on a screen: its text and bands, how takes stand by it, and the file that it becomes.

use std::path::Path;

use crate::command::assign::check;
use crate::command::assign::looked::looked;
use crate::command::assign::new::{band, text_of};
use crate::command::assign::show::document;
use crate::command::assign::{assigned, assigned_of, journal, keep};
use crate::command::exit_status::Failure;
use crate::command::load::NotLoaded;
use crate::judge::assigned::Assigned;
use crate::practice::Assignment;
use crate::report::html::assignment::AssignmentPage;
use crate::report::verdict::VerdictDocument;
use crate::screen::assignment::{AssignmentScreen, Wish};
use crate::store::journal::State;
use crate::store::journal::entry::AssignmentRole;
use crate::tally::verdict::Measure;

use super::Visits;
use super::ask::{Question, ask};
use super::files::{said, write_new};

/// Shows an assignment until it is left: that of `file`, else of the setting, else the one entered last, else one that is
/// asked for.
pub fn visit(visits: &mut Visits<'_, '_>, file: Option<&Path>) -> Result<(), Failure> {
    let Some(mut shown) = in_force(visits, file)? else { return Ok(()) };
    let mut screen = AssignmentScreen::new(document(&shown), visits.out.form());
    loop {
        let other = match visits.show(&mut screen)? {
            Wish::Back => return Ok(()),
            Wish::Change(measure, text) => changed(&shown, measure, &text),
            Wish::Other(name) => assigned(Path::new(&name)),
            Wish::Write(name) => {
                screen.say(&said(write(visits, &shown, &name)));
                continue;
            }
            Wish::Page(name) => {
                let page = AssignmentPage { assignment: &document(&shown) }.write();
                screen.say(&said(write_new(&name, &["html", "htm"], &page)));
                continue;
            }
            Wish::Try => {
                match tried(visits, &shown) {
                    Ok(verdict) => screen.show_verdict(verdict),
                    Err(failure) => screen.say(failure.message()),
                }
                continue;
            }
        };
        match other {
            Ok(other) => {
                shown = other;
                screen.replace(document(&shown));
            }
            Err(failure) => screen.say(failure.message()),
        }
    }
}

/// The assignment that is meant: that of `file`, else of the setting, else the one entered last, else one that is asked
/// for; none where that is left.
pub(super) fn in_force(
    visits: &mut Visits<'_, '_>,
    file: Option<&Path>,
) -> Result<Option<Assigned>, Failure> {
    let setting = visits.startup.resolved.settings.assignment.clone();
    if let Some(path) = file.or(setting.as_deref().map(Path::new)) {
        return assigned(path).map(Some);
    }
    let (_, state) = journal(visits.out)?;
    if let Some(entered) = entered_last(&state) {
        return entered.map(Some);
    }
    let question = Question {
        title: "assignment",
        words: "No assignment is kept yet. Which file is it in? barwise assign new F writes one.",
        line: "file",
    };
    ask(visits, question, |name| assigned(Path::new(name)))
}

/// The assignment that was entered last.
fn entered_last(state: &State) -> Option<Result<Assigned, Failure>> {
    let entered = state.assignments.values().max_by_key(|entered| entered.at)?;
    let name = &entered.what.name;
    let read = Assignment::parse(name, &entered.what.text).map_err(|error| NotLoaded::from(error).into());
    Some(read.and_then(|assignment| assigned_of(assignment, name)))
}

/// The assignment with another band, or without it where the text is empty.
fn changed(shown: &Assigned, measure: Measure, text: &str) -> Result<Assigned, Failure> {
    let mut assignment = shown.assignment.clone();
    let bands = &mut assignment.bands.bands;
    bands.retain(|(other, _)| *other != measure);
    if !text.is_empty() {
        bands.push((measure, band(text).map_err(Failure::bad_input)?));
    }
    if bands.is_empty() {
        return Err(Failure::bad_input("an assignment asks for one band at least"));
    }
    bands.sort_by_key(|(measure, _)| Measure::ALL.iter().position(|other| other == measure));
    assigned_of(assignment, "the assignment")
}

fn write(visits: &mut Visits<'_, '_>, shown: &Assigned, name: &str) -> Result<String, Failure> {
    let (text, read) = text_of(shown, name)?;
    let said = write_new(name, &["toml"], &text)?;
    keep(Path::new(name), &read, AssignmentRole::Given, text, visits.out);
    Ok(said)
}

/// How the last takes over its chart stand by it.
fn tried(visits: &mut Visits<'_, '_>, shown: &Assigned) -> Result<VerdictDocument, Failure> {
    let (_, state) = journal(visits.out)?;
    let looked = looked(&[], shown, &state, visits.startup, visits.out)?;
    if looked.is_empty() {
        return Err(Failure::bad_input("no take is kept over this chart yet: play it, then try again"));
    }
    Ok(check::document(shown, &looked, &state).0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Backing;

    fn shown() -> Assigned {
        let chart = Backing::find("bus-shelter").expect("a chart that ships").text;
        let text = format!("chord = \"55-70\"\nchart = '''\n{chart}'''\n");
        let assignment = Assignment::parse("a.toml", &text).expect("an assignment");
        assigned_of(assignment, "a.toml").expect("its chart reads")
    }

    #[test]
    fn a_band_is_changed_added_and_taken_out() {
        let open = changed(&shown(), Measure::Open, "0-5").expect("a band");
        let asked: Vec<Measure> = open.assignment.bands.bands.iter().map(|(measure, _)| *measure).collect();
        assert_eq!(asked, [Measure::Chord, Measure::Open]);
        assert_ne!(open.rule_sha256, shown().rule_sha256);
        let without = changed(&open, Measure::Open, "").expect("one is left");
        assert_eq!(without.rule_sha256, shown().rule_sha256);
    }

    #[test]
    fn a_slip_is_told_as_the_command_tells_it_and_the_last_band_stays() {
        let slip = |measure, text| {
            changed(&shown(), measure, text).err().map(|failure| failure.message().to_owned())
        };
        assert!(slip(Measure::Chord, "seventy").is_some_and(|said| said.contains("as in 55-70")));
        assert!(slip(Measure::Chord, "").is_some_and(|said| said.contains("one band at least")));
    }
}
