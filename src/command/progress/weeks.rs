//! The weeks of what is kept, looked at once and asked for chart by chart.

use jiff::civil::Date;

use super::super::exit_status::Failure;
use super::super::output::Output;
use super::super::startup::Startup;
use super::{Looked, form_of, kept};
use crate::practice::Digest;
use crate::practice::progress::{Asked, progress};
use crate::report::progress::ProgressDocument;
use crate::report::progress::rows::{By, Columns, rows};

/// What is said where no take is kept.
pub const NOTHING: &str = "No take is kept yet: play one, as in barwise play bus-shelter. \
                           barwise progress --demo shows invented weeks.";

/// Takes over weeks.
pub struct Weeks {
    digests: Vec<Digest>,
    today: Date,
}

impl Weeks {
    /// Those of every take that is kept.
    pub fn of_kept_takes(startup: &Startup, out: &mut Output) -> Result<Self, Failure> {
        let Looked { digests, today, .. } = kept::takes(startup, out)?;
        Ok(Self { digests, today })
    }

    /// Those of the invented takes.
    #[cfg(test)]
    pub fn invented(startup: &Startup) -> Result<Self, Failure> {
        let Looked { digests, today, .. } = super::invented(startup)?;
        Ok(Self { digests, today })
    }

    /// The forms there are takes of, the one that was played last first.
    pub fn forms(&self) -> Vec<String> {
        let mut forms: Vec<String> = Vec::new();
        let mut digests: Vec<&Digest> = self.digests.iter().collect();
        digests.sort_by_key(|digest| std::cmp::Reverse((digest.day, digest.take)));
        for digest in digests {
            if !forms.contains(&digest.form_sha256) {
                forms.push(digest.form_sha256.clone());
            }
        }
        forms
    }

    /// The form of a chart, by a part of its title, its file or its name.
    pub fn form_called(&self, chart: &str, startup: &Startup) -> Result<String, Failure> {
        form_of(chart, &self.digests, startup)
    }

    /// The weeks of a form; of nothing where there is none.
    pub fn document(&self, form: Option<&str>) -> ProgressDocument {
        let digests = if form.is_some() { &self.digests[..] } else { &[] };
        let asked = Asked { today: self.today, since: None, form, bands: None };
        ProgressDocument::from(&progress(digests, &asked))
    }
}

/// Weeks for a spreadsheet: by week, by kind of chord, by key and by position.
pub fn csv(document: &ProgressDocument) -> String {
    rows(document, &[By::Week, By::Chord, By::Key, By::Position], Columns::Full).csv()
}
