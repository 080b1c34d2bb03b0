//! A class on a screen: the hand-ins of a folder beside their assignment.

use std::path::{Path, PathBuf};

use crate::command::class::of_folder;
use crate::command::exit_status::Failure;
use crate::report::class::text::csv;
use crate::report::html::class::ClassPage;
use crate::screen::class::{ClassScreen, Wish};

use super::Visits;
use super::ask::{Question, ask};
use super::assignment::in_force;
use super::files::{said, write_new};

/// Shows the class whose hand-ins are in `folder`, else in one that is asked for; `file` is their assignment, else the one
/// in force.
pub fn visit(visits: &mut Visits<'_, '_>, folder: Option<&Path>, file: Option<&Path>) -> Result<(), Failure> {
    let Some(assigned) = in_force(visits, file)? else { return Ok(()) };
    let setting = visits.startup.resolved.settings.assignment.as_deref().map(Path::new);
    let own: Vec<PathBuf> =
        file.or(setting).into_iter().filter_map(|path| path.canonicalize().ok()).collect();
    let gathered = |folder: &str| of_folder(Path::new(folder), &assigned, &own, "");
    let document = if let Some(folder) = folder {
        Some(of_folder(folder, &assigned, &own, "")?)
    } else {
        let words = "Which folder are the hand-ins in? Nothing in it is changed.";
        ask(visits, Question { title: "class", words, line: "folder" }, gathered)?
    };
    let Some(document) = document else { return Ok(()) };
    let mut screen = ClassScreen::new(document.clone(), visits.out.form());
    loop {
        let written = match visits.show(&mut screen)? {
            Wish::Back => return Ok(()),
            Wish::Page(name) => write_new(&name, &["html", "htm"], &ClassPage { class: &document }.write()),
            Wish::Export(name) => write_new(&name, &["csv"], &csv(&document)),
        };
        screen.say(&said(written));
    }
}
