//! Weeks of what is kept, chart by chart, on a screen.

use std::path::Path;

use crate::command::exit_status::Failure;
use crate::command::progress::weeks::{NOTHING, Weeks, csv};
use crate::report::html::weeks::WeeksPage;
use crate::report::progress::ProgressDocument;
use crate::screen::progress::{ProgressScreen, Wish};
use crate::theory::Written;

use super::Visits;
use super::files::{said, write_new};

/// Shows the weeks of a chart, by a part of its title, its file or its name; without one, of the chart played last.
pub fn visit(visits: &mut Visits<'_, '_>, chart: Option<&str>) -> Result<(), Failure> {
    let weeks = Weeks::of_kept_takes(visits.startup, visits.out)?;
    let forms = weeks.forms();
    let called = chart.filter(|_| !forms.is_empty());
    let form = called.map(|chart| weeks.form_called(chart, visits.startup)).transpose()?;
    let mut at = form.and_then(|form| forms.iter().position(|other| *other == form)).unwrap_or(0);
    let mut document = weeks.document(forms.get(at).map(String::as_str));
    let written = visits.startup.resolved.settings.written;
    let mut screen = ProgressScreen::new(document.clone().written_for(written), NOTHING, visits.out.form());
    loop {
        match visits.show(&mut screen)? {
            Wish::Back => return Ok(()),
            Wish::OtherChart if forms.len() < 2 => screen.say("no other chart was played yet"),
            Wish::OtherChart => {
                at = (at + 1) % forms.len();
                document = weeks.document(forms.get(at).map(String::as_str));
                screen.replace(document.clone().written_for(written));
            }
            Wish::Export(name) => screen.say(&said(export(&document, &name, written))),
        }
    }
}

/// Writes the weeks as a page by the names of the player, or as they sound for a spreadsheet, as the name of the file says.
fn export(document: &ProgressDocument, name: &str, written: Written) -> Result<String, Failure> {
    let ending = Path::new(name).extension().map(|ending| ending.to_string_lossy().to_lowercase());
    match ending.as_deref() {
        Some("html" | "htm") => {
            let progress = &document.clone().written_for(written);
            write_new(name, &["html", "htm"], &WeeksPage { progress }.write())
        }
        Some("csv") => write_new(name, &["csv"], &csv(document)),
        _ => Err(Failure::bad_input(format!("{name}: choose a name that ends in .html or .csv"))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::Global;
    use crate::command::startup::{FileUse, Startup};

    fn weeks() -> Weeks {
        let startup = Startup::new(&Global::default(), Vec::new(), FileUse::Change).expect("settings");
        Weeks::invented(&startup).expect("weeks that ship")
    }

    #[test]
    fn an_export_holds_the_weeks_of_the_document() {
        let weeks = weeks();
        let forms = weeks.forms();
        let document = weeks.document(forms.first().map(String::as_str));
        let folder = tempfile::tempdir().expect("a folder");
        let path = |name: &str| folder.path().join(name).display().to_string();
        for name in ["weeks.csv", "weeks.html"] {
            assert!(said(export(&document, &path(name), Written::Bb)).starts_with("wrote"), "{name}");
        }
        let csv = std::fs::read_to_string(path("weeks.csv")).expect("written");
        let of_weeks = csv.lines().filter(|row| row.starts_with("week,")).count();
        assert_eq!(of_weeks, document.charts[0].weeks.len());
        assert!(said(export(&document, &path("weeks.txt"), Written::C)).contains(".html or .csv"));
    }

    #[test]
    fn without_takes_there_are_no_charts() {
        assert!(weeks().document(None).charts.is_empty());
    }
}
