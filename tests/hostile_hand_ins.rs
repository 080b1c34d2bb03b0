//! Hostile hand-ins: none gets out of its cell, none makes the program panic or write, none hides the honest one among
//! them. How long they take is shown by `cargo bench --bench class`.

use std::fs::{self, File};
use std::path::{Path, PathBuf};

use barwise::command::class::{ClassArgs, run};
use barwise::command::exit_status::Ending;
use barwise::command::output::Output;
use barwise::report::theme::{Depth, Ground};
use barwise::report::{Ink, OutputForm, Signs};
use tempfile::TempDir;
use unicode_width::UnicodeWidthStr;

#[path = "support/hand_ins.rs"]
mod hand_ins;
#[path = "support/draw.rs"]
mod draw;
#[path = "support/lines.rs"]
mod lines;
#[path = "support/hostile.rs"]
mod hostile;

use hand_ins::{assigned, hand_in, text};
use lines::{Player, assignment_text};

/// The folder with all of them, an honest hand-in, and a file that says it has a gigabyte.
fn folder() -> TempDir {
    let home = tempfile::tempdir().expect("a folder");
    let inside = home.path().join("in");
    fs::create_dir(&inside).expect("a folder");
    fs::write(home.path().join("class.toml"), assignment_text()).expect("a file");
    let assigned = assigned();
    let files = hostile::all(&assigned);
    assert!(files.len() >= 200, "{}", files.len());
    for (name, bytes) in files {
        fs::write(inside.join(name), bytes).expect("a file");
    }
    let honest = hand_in(&assigned, "the honest one", Player::IN_THE_BAND, 3, 9);
    fs::write(inside.join("honest.toml"), text(&honest)).expect("a file");
    File::create(inside.join("huge.toml")).and_then(|file| file.set_len(1 << 30)).expect("a sparse file");
    home
}

fn printed(home: &Path, form: OutputForm, csv: bool) -> String {
    let args = ClassArgs {
        folder: home.join("in"),
        assignment: home.join("class.toml"),
        students: None,
        bars: true,
        csv: csv.then(|| PathBuf::from("-")),
        html: None,
    };
    let (mut stdout, mut stderr) = (Vec::new(), Vec::new());
    let mut out = Output::new(form, &mut stdout, &mut stderr);
    assert_eq!(run(&args, &mut out).map_err(|failure| failure.message().to_owned()), Ok(Ending::Fine));
    drop(out);
    String::from_utf8(stdout).expect("text")
}

/// The signs that may not come through: those that steer a terminal or the direction of writing.
fn steering(text: &str) -> Vec<char> {
    let steers = |sign: &char| {
        sign.is_control() && !['\n', '\t', '\r'].contains(sign)
            || matches!(sign, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}'
                | '\u{2028}' | '\u{2029}' | '\u{e0000}'..='\u{e0fff}')
    };
    text.chars().filter(steers).collect()
}

/// Everything in a folder by name and size.
fn listing(folder: &Path) -> Vec<(PathBuf, u64)> {
    let mut files: Vec<(PathBuf, u64)> = fs::read_dir(folder)
        .expect("a folder")
        .map(|entry| entry.expect("an entry"))
        .map(|entry| (entry.path(), entry.metadata().expect("a size").len()))
        .collect();
    files.sort();
    files
}

#[test]
fn no_hostile_hand_in_gets_out_of_its_cell() {
    let home = folder();
    let before = (listing(home.path()), listing(&home.path().join("in")));
    let signs = Signs::Unicode;
    let terminal = printed(home.path(), OutputForm::Terminal { width: 80, ink: Ink::Plain, signs }, false);
    assert_eq!(steering(&terminal), [], "on a terminal");
    let rows =
        terminal.lines().skip_while(|line| !line.starts_with("student")).take_while(|line| !line.is_empty());
    for row in rows {
        assert!(row.width() <= 80, "{row}");
    }
    let piped = printed(home.path(), OutputForm::Piped { ink: Ink::Plain, signs }, false);
    assert_eq!(steering(&piped), [], "in a pipe");
    let csv = printed(home.path(), OutputForm::Piped { ink: Ink::Plain, signs }, true);
    assert_eq!(steering(&csv), [], "in a spreadsheet");
    check_cells(&csv);
    let json = printed(home.path(), OutputForm::Json, false);
    let document: serde_json::Value = serde_json::from_str(&json).expect("one document");
    assert_eq!(steering(&json), [], "in the document");
    check_document(&document, before.1.len());
    let ink = Ink::Colour { ground: Ground::Dark, depth: Depth::True };
    let ascii = OutputForm::Terminal { width: 80, ink, signs: Signs::Ascii };
    assert!(printed(home.path(), ascii, false).is_ascii());
    assert_eq!((listing(home.path()), listing(&home.path().join("in"))), before, "nothing was written");
}

/// Every row has the cells of the header, and no cell is a formula.
fn check_cells(csv: &str) {
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let columns = reader.headers().expect("a header").len();
    for row in reader.records() {
        let row = row.expect("a row like the header");
        assert_eq!(row.len(), columns);
        for cell in &row {
            assert!(!cell.starts_with(['=', '+', '-', '@', '＝', '＋']), "{cell}");
            assert!(!cell.contains('\n'), "{cell}");
        }
    }
}

/// The honest hand-in stands as if it were alone, and every file is accounted for.
fn check_document(document: &serde_json::Value, files: usize) {
    let students = document["students"].as_array().expect("students");
    let honest = students.iter().find(|student| student["student"] == "the honest one").expect("there");
    assert_eq!(honest["verdict"], "met");
    let said = document["files"].as_array().expect("files");
    let refused = said.iter().filter(|file| file["kind"] == "refused").count();
    assert_eq!(document["files_read"].as_u64().map(|read| read as usize + refused), Some(files));
    let huge = said.iter().find(|file| file["file"] == "huge.toml").expect("said");
    assert_eq!(huge["message"], "has 1073741824 bytes, 4194304 are the most that is read");
    for student in students {
        let name = student["student"].as_str().expect("a name");
        assert!(name.chars().count() <= 60 && !name.contains('\n'), "{name}");
    }
}

#[test]
fn each_hostile_hand_in_alone_is_read_or_refused() {
    let home = tempfile::tempdir().expect("a folder");
    fs::write(home.path().join("class.toml"), assignment_text()).expect("a file");
    let inside = home.path().join("in");
    fs::create_dir(&inside).expect("a folder");
    for (name, bytes) in hostile::all(&assigned()) {
        let path = inside.join(&name);
        fs::write(&path, bytes).expect("a file");
        let json = printed(home.path(), OutputForm::Json, false);
        let document: serde_json::Value = serde_json::from_str(&json).expect("one document");
        let refused = document["files"].as_array().expect("files").len();
        assert!(document["files_read"] == 1 || refused == 1, "{name}: {document}");
        fs::remove_file(&path).expect("away");
    }
}
