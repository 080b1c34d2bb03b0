//! `class`: what a folder of hand-ins says together. Nothing in the folder is changed.

mod folder;

use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};

use clap::Args;

use super::assign::assigned;
use super::assign::show::document as assignment_document;
use super::exit_status::{Ending, Failure};
use super::load;
use super::output::Output;
use super::pages;
use crate::command::output_file::may_write;
use crate::judge::assigned::Assigned;
use crate::practice::class::{Pupil, class_bands, class_bars, latest};
use crate::practice::hand_in::tame;
use crate::report::OutputForm;
use crate::report::assignment::AssignmentName;
use crate::report::class::text;
use crate::report::class::{ClassDocument, ClassParts, FileRecord};
use crate::report::html::class::ClassPage;
use crate::store::error_words::in_words;
use crate::store::replace::replace;

/// What `class` takes.
#[derive(Clone, Debug, PartialEq, Eq, Args)]
pub struct ClassArgs {
    /// The folder of hand-ins; folders in it are not looked into
    #[arg(value_name = "FOLDER")]
    pub folder: PathBuf,
    /// The assignment they are for
    #[arg(long, value_name = "F")]
    pub assignment: PathBuf,
    /// The students of whom hand-ins are awaited: a text file, a name a line; behind ; a remark of your own
    #[arg(long, value_name = "F")]
    pub students: Option<PathBuf>,
    /// Show every bar of the form, with how many left an open note in it
    #[arg(long)]
    pub bars: bool,
    /// Write a row a student for a spreadsheet; - is standard output
    #[arg(long, value_name = "F.csv")]
    pub csv: Option<PathBuf>,
    /// Write the class as a page, to read and print: one HTML file that needs no network; - is standard output
    #[arg(long, value_name = "F.html", conflicts_with = "bars")]
    pub html: Option<PathBuf>,
}

/// The longest name and remark that are read from the list of students, in characters.
const LONGEST_NAME: usize = 40;
const LONGEST_REMARK: usize = 60;

/// Carries the command out.
pub fn run(args: &ClassArgs, out: &mut Output) -> Result<Ending, Failure> {
    let assigned = assigned(&args.assignment)?;
    let awaited = args.students.as_deref().map(load::list_of_names).transpose()?;
    let own = [Some(&args.assignment), args.students.as_ref(), args.csv.as_ref(), args.html.as_ref()];
    let own: Vec<PathBuf> = own.into_iter().flatten().filter_map(|path| path.canonicalize().ok()).collect();
    let document = of_folder(&args.folder, &assigned, &own, &awaited.unwrap_or_default())?;
    match args.csv.as_deref() {
        Some(path) if path.as_os_str() == "-" => {
            out.text(&text::csv(&document))?;
            return Ok(Ending::Fine);
        }
        Some(path) => {
            let failed =
                |error: std::io::Error| Failure::store(format!("{}: {}", path.display(), in_words(&error)));
            may_write(path, &["csv"], "--csv")?;
            replace(path, &text::csv(&document)).map_err(failed)?;
            out.remark(&format!("wrote {}", path.display()));
        }
        None => {}
    }
    if let Some(path) = &args.html {
        return pages::write(path, &ClassPage { class: &document }.write(), out).map(|()| Ending::Fine);
    }
    match out.form() {
        OutputForm::Json => out.document(&document)?,
        form => out.text(&text::page(&document, args.bars, form))?,
    }
    Ok(Ending::Fine)
}

/// The class whose hand-ins are in a folder. `own` are files in it that are the teacher's own, `awaited` the text of the
/// teacher's list.
pub fn of_folder(
    folder: &Path,
    assigned: &Assigned,
    own: &[PathBuf],
    awaited: &str,
) -> Result<ClassDocument, Failure> {
    let folder::Gathered { pupils, files } = folder::gather(folder, assigned, own)?;
    Ok(document(assigned, pupils, files, awaited))
}

/// The document of a class from every hand-in that was read. `awaited` is the text of the teacher's list.
fn document(assigned: &Assigned, pupils: Vec<Pupil>, files: Vec<FileRecord>, awaited: &str) -> ClassDocument {
    let files_read = pupils.len();
    let mut files = files;
    let pupils = one_of_each(pupils, &mut files);
    same_notes(&pupils, &mut files);
    let due = assigned.assignment.words.due;
    files.extend(pupils.iter().filter_map(|pupil| {
        let (day, due) = (pupil.day?, due?);
        (day > due).then(|| FileRecord {
            file: pupil.file.clone(),
            kind: "after the due day",
            message: format!("written on {day}, due {due}"),
        })
    }));
    let not_heard = not_heard(awaited, &pupils);
    let form = &assigned.chords().form;
    ClassDocument::new(ClassParts {
        assignment: AssignmentName::of(assigned),
        asked: &assigned.assignment.bands,
        pupils: &pupils,
        not_heard: &not_heard,
        bars: &class_bars(&pupils, form),
        bands: &class_bands(&pupils, &assigned.assignment.bands),
        running_the_scale: assignment_document(assigned).running_the_scale,
        files_read,
        files,
    })
}

/// One hand-in of each student; the others are said.
fn one_of_each(pupils: Vec<Pupil>, files: &mut Vec<FileRecord>) -> Vec<Pupil> {
    let mut by_name: BTreeMap<String, Vec<Pupil>> = BTreeMap::new();
    for pupil in pupils {
        by_name.entry(pupil.name.to_lowercase()).or_default().push(pupil);
    }
    let mut kept = Vec::new();
    for (used, others) in by_name.into_values().filter_map(latest) {
        files.extend(others.iter().map(|other| {
            let same = if other.notes_sha256 == used.notes_sha256 { ", with the same notes" } else { "" };
            FileRecord {
                file: other.file.clone(),
                kind: "twice",
                message: format!("{} handed in twice{same}; the later one is used: {}", used.name, used.file),
            }
        }));
        kept.push(used);
    }
    kept
}

/// Says whose notes are those of another.
fn same_notes(pupils: &[Pupil], files: &mut Vec<FileRecord>) {
    let mut first: HashMap<&str, &Pupil> = HashMap::new();
    for pupil in pupils {
        match first.get(pupil.notes_sha256.as_str()) {
            None => _ = first.insert(&pupil.notes_sha256, pupil),
            Some(other) => files.push(FileRecord {
                file: pupil.file.clone(),
                kind: "same notes",
                message: format!("has the same notes as {}, of {}", other.file, other.name),
            }),
        }
    }
}

/// The students on the list of whom nothing came, each with the teacher's remark.
fn not_heard(awaited: &str, pupils: &[Pupil]) -> Vec<(String, String)> {
    let heard: Vec<String> = pupils.iter().map(|pupil| pupil.name.to_lowercase()).collect();
    let lines = awaited.lines().map(|line| line.split_once(';').unwrap_or((line, "")));
    let named = lines.map(|(name, remark)| (tame(name, LONGEST_NAME), tame(remark, LONGEST_REMARK)));
    named.filter(|(name, _)| !name.is_empty() && !heard.contains(&name.to_lowercase())).collect()
}
