//! A class through the program's own door: rows, files said one by one, nothing changed in the folder.

use std::fs;
use std::path::PathBuf;

use barwise::practice::HandIn;
use barwise::store::journal::entry::{Contest, HeardAs, NoteName};
use serde_json::Value;

#[path = "support/desk.rs"]
mod desk;
#[path = "support/hand_ins.rs"]
mod hand_ins;

use desk::Desk;
use hand_ins::{Player, assigned, assignment_text, hand_in, sealed, text};

const BELOW: Player = Player { chord: 0.35, outside: 0.05, notes: 96 };
const FEW_NOTES: Player = Player { chord: 0.62, outside: 0.0, notes: 15 };

/// A desk with the assignment and a folder for hand-ins.
struct Class {
    desk: Desk,
}

impl Class {
    fn new() -> Self {
        let desk = Desk::new();
        fs::create_dir(desk.folder.path().join("in")).expect("a folder");
        desk.write("class.toml", assignment_text().as_bytes());
        Self { desk }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.desk.folder.path().join("in").join(name)
    }

    fn hands_in(self, file: &str, hand_in: &HandIn) -> Self {
        self.sends(file, &text(hand_in))
    }

    fn sends(self, file: &str, text: &str) -> Self {
        fs::write(self.path(file), text).expect("a file");
        self
    }

    fn printed(&self, more: &[&str]) -> String {
        self.desk.printed(&[&["class", "in", "--assignment", "class.toml"], more].concat())
    }

    fn document(&self) -> Value {
        serde_json::from_str(&self.printed(&["--json"])).expect("a document")
    }
}

fn student<'a>(document: &'a Value, name: &str) -> &'a Value {
    let students = document["students"].as_array().expect("students");
    students.iter().find(|student| student["student"] == name).expect(name)
}

/// What is said of a file.
fn said(document: &Value, file: &str) -> Vec<String> {
    let files = document["files"].as_array().expect("files").iter().filter(|said| said["file"] == file);
    files.map(|said| said["message"].as_str().expect("words").to_owned()).collect()
}

#[test]
fn who_needs_attention_comes_first() {
    let assigned = assigned();
    let of = |name: &str, player, takes, seed| hand_in(&assigned, name, player, takes, seed);
    let class = Class::new()
        .hands_in("a.toml", &of("student-01", Player::IN_THE_BAND, 5, 11))
        .hands_in("b.toml", &of("student-05", BELOW, 4, 12))
        .hands_in("c.toml", &of("student-02", FEW_NOTES, 2, 13))
        .hands_in("student-07.hand-in.toml", &of("", Player::IN_THE_BAND, 1, 14));
    class.desk.write("awaited.txt", b"student-01\nstudent-08 ; new strings\n\nstudent-05\n");
    let with = ["--students", "awaited.txt", "--json"];
    let document: Value = serde_json::from_str(&class.printed(&with)).expect("a document");
    let order: Vec<&str> = document["students"]
        .as_array()
        .expect("students")
        .iter()
        .map(|student| student["student"].as_str().expect("a name"))
        .collect();
    assert_eq!(order, ["student-08", "student-05", "student-02", "student-07", "student-01"]);
    let verdict = |name| student(&document, name)["verdict"].as_str().expect("a verdict").to_owned();
    assert_eq!(verdict("student-01"), "met");
    assert_eq!(verdict("student-05"), "clearly below");
    assert_eq!(verdict("student-02"), "no verdict");
    assert_eq!(student(&document, "student-08")["talk_about"], "new strings");
    assert_eq!(student(&document, "student-07")["talk_about"], "one more take");
    assert_eq!(student(&document, "student-02")["talk_about"], "more notes");
    assert_eq!((&document["heard"], &document["findings"]["not_heard"]), (&4.into(), &1.into()));
    let page = class.printed(&["--bars"]);
    for words in ["not for marks", "no ranking", "delete them after the term", "heard from 4 of 4"] {
        assert!(page.contains(words), "{words}: {page}");
    }
}

#[test]
fn verdicts_are_worked_out_from_the_notes_and_never_believed() {
    let assigned = assigned();
    let mut lied = hand_in(&assigned, "student-05", BELOW, 3, 12);
    lied.verdict.verdict = "met".to_owned();
    lied.verdict.sentence = "met".to_owned();
    let class = Class::new().hands_in("a.toml", &lied);
    assert_eq!(student(&class.document(), "student-05")["verdict"], "clearly below");
}

#[test]
fn files_that_are_no_hand_in_of_this_class_are_said_one_by_one() {
    let assigned = assigned();
    let whole = text(&hand_in(&assigned, "student-01", Player::IN_THE_BAND, 2, 1));
    let mut other = hand_in(&assigned, "student-02", Player::IN_THE_BAND, 2, 2);
    other.assignment.rule_sha256 = "0".repeat(64);
    let mut foreign = other.clone();
    foreign.assignment.title = Some("Monday".to_owned());
    let class = Class::new()
        .sends("whole.toml", &whole)
        .sends("cut.toml", &whole[..whole.len() / 2])
        .sends("changed.toml", &whole.replace("2026-11-21", "2026-11-22"))
        .sends("letter.txt", "Dear teacher")
        .sends("empty.toml", "")
        .sends("crlf.toml", &whole.replace('\n', "\r\n"))
        .hands_in("older.toml", &other)
        .hands_in("monday.toml", &foreign)
        .sends("no-take.toml", &sealed("take = 3\n"));
    fs::create_dir(class.path("folder")).expect("a folder");
    fs::write(class.path("bytes.toml"), [0xff, 0xfe, 0x00]).expect("a file");
    let before = listing(&class);
    let document = class.document();
    let check = |file: &str, expect: &str| {
        let said = said(&document, file);
        assert!(said.iter().any(|said| said.contains(expect)), "{file}: {said:?}");
    };
    check("cut.toml", "damaged: its fingerprint does not fit");
    check("changed.toml", "damaged: its fingerprint does not fit");
    check("letter.txt", "no hand-in");
    check("empty.toml", "no hand-in");
    check("older.toml", "another version of this assignment");
    check("monday.toml", "another assignment (Monday)");
    check("no-take.toml", "damaged: ");
    check("folder", "folders are not looked into");
    check("bytes.toml", "byte 0 is no UTF-8");
    // A file that a mail program wrote with other line ends is whole: the same hand-in comes twice.
    check("crlf.toml", "the later one is used: whole.toml");
    assert_eq!(document["heard"], 1);
    assert_eq!(listing(&class), before, "nothing is written to the folder");
}

/// Every file of the folder with its bytes.
fn listing(class: &Class) -> Vec<(PathBuf, Vec<u8>)> {
    let entries = fs::read_dir(class.path("")).expect("the folder");
    let mut files: Vec<_> = entries
        .map(|entry| entry.expect("an entry").path())
        .map(|path| (path.clone(), fs::read(&path).unwrap_or_default()))
        .collect();
    files.sort();
    files
}

#[cfg(unix)]
#[test]
fn no_link_is_followed() {
    let class = Class::new();
    let outside = class.desk.folder.path().join("outside.toml");
    fs::write(&outside, text(&hand_in(&assigned(), "student-01", Player::IN_THE_BAND, 2, 1)))
        .expect("a file");
    std::os::unix::fs::symlink(&outside, class.path("link.toml")).expect("a link");
    let document = class.document();
    assert_eq!(document["heard"], 0);
    assert_eq!(said(&document, "link.toml"), ["is a link; links are not followed"]);
}

#[test]
fn handed_in_twice_the_later_one_counts_and_copies_are_said() {
    let assigned = assigned();
    let early =
        HandIn { day: Some("2026-12-01".to_owned()), ..hand_in(&assigned, "student-05", BELOW, 3, 12) };
    let late = HandIn {
        day: Some("2026-12-05".to_owned()),
        ..hand_in(&assigned, "Student-05", Player::IN_THE_BAND, 3, 13)
    };
    let copied = HandIn { name: Some("student-06".to_owned()), ..late.clone() };
    let class = Class::new().hands_in("z.toml", &early).hands_in("b.toml", &late).hands_in("c.toml", &copied);
    let document = class.document();
    assert_eq!(student(&document, "Student-05")["verdict"], "met");
    assert!(said(&document, "z.toml")[0].contains("handed in twice; the later one is used: b.toml"));
    assert!(said(&document, "c.toml").iter().any(|said| said.contains("same notes as b.toml")));
    assert!(said(&document, "b.toml").iter().any(|said| said == "written on 2026-12-05, due 2026-12-03"));
    assert_eq!(student(&document, "Student-05")["after_due"], true);
}

#[test]
fn contested_notes_are_told_both_ways() {
    let assigned = assigned();
    let mut hand_in = hand_in(&assigned, "student-01", Player::IN_THE_BAND, 2, 3);
    let contest = |note| Contest {
        take: 1,
        note: NoteName::Index(note),
        heard_as: HeardAs::Chord,
        reason: "=the band".to_owned(),
    };
    hand_in.contest = (0..190).map(contest).collect();
    let class = Class::new().hands_in("a.toml", &hand_in);
    let document = class.document();
    let student = student(&document, "student-01");
    assert_eq!(
        (&student["verdict"], &student["verdict_as_contested"]),
        (&"met".into(), &"clearly above".into())
    );
    assert_eq!(student["contests"].as_array().map(Vec::len), Some(190));
    let csv = class.printed(&["--csv", "-"]);
    let mut rows = csv::Reader::from_reader(csv.as_bytes());
    let row = rows.records().next().expect("a row").expect("cells");
    assert_eq!((&row[0], &row[12], &row[13]), ("student-01", "clearly above", "190"));
}

#[test]
fn the_document_keeps_to_its_published_schema() {
    let class = Class::new().hands_in("a.toml", &hand_in(&assigned(), "student-01", BELOW, 3, 4));
    let document = class.document();
    let schema: Value =
        serde_json::from_str(&class.desk.printed(&["settings", "schema", "class"])).expect("a schema");
    check_fields(&document, &schema["properties"]);
    check_fields(&document["students"][0], &schema["$defs"]["StudentRecord"]["properties"]);
    check_fields(&document["bars"][0], &schema["$defs"]["ClassBarRecord"]["properties"]);
}

fn check_fields(document: &Value, properties: &Value) {
    for field in document.as_object().expect("an object").keys() {
        assert!(properties.get(field).is_some(), "{field} is not in the schema");
    }
}

#[test]
fn the_bar_that_a_third_stumbled_over_is_named() {
    let assigned = assigned();
    let outside = Player { chord: 0.5, outside: 0.3, notes: 96 };
    let class = (0..4).fold(Class::new(), |class, index| {
        let name = format!("student-{index:02}");
        class.hands_in(&format!("{name}.toml"), &hand_in(&assigned, &name, outside, 2, 40 + index))
    });
    let document = class.document();
    let number = document["same_bar"].as_u64().expect("a bar") as usize;
    let bar = &document["bars"][number - 1];
    assert!(bar["open"].as_u64() >= Some(2) && bar["of"] == 4, "{bar}");
    let most = document["bars"].as_array().expect("bars").iter().filter_map(|bar| bar["open"].as_u64()).max();
    assert_eq!(bar["open"].as_u64(), most);
}
