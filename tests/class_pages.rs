//! The pages of an assignment and of a class: what every page keeps to, and their figures against their documents.

#[path = "support/page.rs"]
mod page;

use barwise::report::assignment::{AskedBand, AssignmentDocument, AssignmentName, OddsRecord};
use barwise::report::class::{
    ClassBandRecord, ClassBarRecord, ClassDocument, ClassLandings, FileRecord, FindingCounts, StudentRecord,
};
use barwise::report::html::assignment::AssignmentPage;
use barwise::report::html::class::ClassPage;
use barwise::report::number::Count;
use barwise::report::review::{ShareRecord, TOOL};
use barwise::report::verdict::ContestRecord;
use page::{check, tables};

const HOSTILE: &str = "</td><script>alert(1)</script>=1+1";

fn name() -> AssignmentName {
    AssignmentName {
        title: Some("Thursday, room 4".to_owned()),
        number: Some(5),
        due: Some("2026-12-03".to_owned()),
        chart: "Bus Shelter, Rain".to_owned(),
        rule_sha256: "0".repeat(64),
    }
}

fn share(n: f64, share: f64, low: f64, high: f64) -> ShareRecord {
    ShareRecord { n: Count(n), share: Some(share), low: Some(low), high: Some(high), design_effect: 1.5 }
}

fn student(student: &str, verdict: &'static str) -> StudentRecord {
    StudentRecord {
        student: student.to_owned(),
        file: Some("hand-in.json".to_owned()),
        takes: 4,
        last_played: Some("2026-12-01".to_owned()),
        used: vec![3, 4],
        counted: Count(186.0),
        chord: Some(share(76.0, 0.41, 0.346, 0.474)),
        open: Some(share(17.0, 0.09, 0.05, 0.15)),
        landings: Some(ClassLandings {
            n: 13,
            of: 38,
            share: 0.342,
            low: 0.21,
            high: 0.5,
            all_notes: Some(0.31),
        }),
        verdict,
        sentence: verdict.to_owned(),
        bands: Vec::new(),
        verdict_as_contested: None,
        contests: Vec::new(),
        note: None,
        gear: Vec::new(),
        after_due: false,
        talk_about: "bars 13-14".to_owned(),
    }
}

fn bar(bar: usize, open: usize, missed: usize) -> ClassBarRecord {
    let symbols = vec!["Am7b5".to_owned(), "D7b9".to_owned()];
    ClassBarRecord { bar, symbols, open, missed, of: 7 }
}

fn class() -> ClassDocument {
    let contest = ContestRecord {
        take: 4,
        note: "chorus 1, note 9.4".to_owned(),
        heard_as: "a blue note".to_owned(),
        reason: HOSTILE.to_owned(),
    };
    let contesting = StudentRecord {
        contests: vec![contest],
        verdict_as_contested: Some("met"),
        note: Some(HOSTILE.to_owned()),
        after_due: true,
        ..student(HOSTILE, "undecided")
    };
    let silent = StudentRecord {
        file: None,
        takes: 0,
        last_played: None,
        chord: None,
        open: None,
        landings: None,
        talk_about: "19 days away".to_owned(),
        ..student("student-03", "not heard")
    };
    ClassDocument {
        schema: "barwise.class",
        version: 1,
        tool: TOOL,
        assignment: name(),
        heard: 2,
        findings: FindingCounts { clearly_below: 1, undecided: 1, not_heard: 1, ..FindingCounts::default() },
        students: vec![silent, student("student-05", "clearly below"), contesting],
        bars: (1..=16)
            .map(|number| bar(number, if number == 13 { 5 } else { number % 3 }, number % 2))
            .collect(),
        same_bar: Some(13),
        bands: vec![ClassBandRecord {
            measure: "chord",
            asked_low: 0.55,
            asked_high: 0.7,
            of: 7,
            met: 4,
            undecided: 1,
            narrow: false,
        }],
        running_the_scale: Some(0.571),
        files_read: 9,
        files: vec![FileRecord {
            file: HOSTILE.to_owned(),
            kind: "refused",
            message: "it is no hand-in".to_owned(),
        }],
    }
}

#[test]
fn a_class_has_a_row_a_student_and_a_picture_of_its_bars() {
    let class = class();
    let html = ClassPage { class: &class }.write();
    check(&html);
    assert!(html.contains("not for marks") && html.contains("delete them after the term"));
    assert!(html.contains("Heard from 2 of 3: "), "{html}");
    let tables = tables(&html);
    let students = &tables["students"];
    assert_eq!(
        students[1],
        [
            "student-05",
            "4",
            "2026-12-01",
            "186",
            "41 % (35–47)",
            "9 % (5–15)",
            "13 of 38, 34 %",
            "31 %",
            "clearly below",
            "bars 13-14"
        ]
    );
    assert_eq!(students[0], ["student-03", "0", "", "", "", "", "", "", "not heard", "19 days away"]);
    assert_eq!(students[2][0], HOSTILE);
    assert_eq!(
        students[2][8..],
        ["undecided (met if contests are granted)", "bars 13-14, after the due day"]
    );
    let bars: Vec<Vec<String>> = class
        .bars
        .iter()
        .map(|bar| {
            let counts = [bar.open, bar.missed, bar.of].map(|count| count.to_string());
            [vec![bar.bar.to_string(), bar.symbols.join(" ")], counts.to_vec()].concat()
        })
        .collect();
    assert_eq!(tables["bars"], bars);
    assert_eq!(tables["bands"], [["chord", "55 to 70 %", "7", "4", "1", "no sign of it"]]);
    assert_eq!(tables["files"], [[HOSTILE, "refused", "it is no hand-in"]]);
    assert_eq!(tables["words"].len(), 2);
}

#[test]
fn an_empty_class_has_a_page_too() {
    let class = ClassDocument {
        heard: 0,
        findings: FindingCounts::default(),
        students: Vec::new(),
        bars: Vec::new(),
        same_bar: None,
        files: Vec::new(),
        files_read: 0,
        ..class()
    };
    let html = ClassPage { class: &class }.write();
    check(&html);
    assert!(html.contains("nothing was handed in"));
}

fn assignment() -> AssignmentDocument {
    let odds = OddsRecord {
        share: 0.571,
        notes: Count(120.0),
        design_effect: 1.5,
        met: 0.61,
        undecided: 0.384,
        clearly_below: 0.006,
        clearly_above: 0.0,
        sentence: format!("chord: {HOSTILE}"),
    };
    let band = |measure, low, high, odds| AskedBand { measure, low, high, narrow: false, odds };
    AssignmentDocument {
        schema: "barwise.assignment",
        version: 1,
        tool: TOOL,
        assignment: name(),
        keys: Vec::new(),
        bars: Some((9, 12)),
        tempo: Some((116.0, 132.0)),
        feel: Some("swing"),
        choruses: Some(2),
        needs: Count(60.0),
        counting: "lenient",
        named_colours: "scale",
        takes: "last five",
        bands: vec![
            band("chord", 0.55, 0.7, vec![odds]),
            band("open", 0.0, 0.05, Vec::new()),
            band("landings", 0.5, 1.0, Vec::new()),
        ],
        running_the_scale: Some(0.571),
        recorded_soloists: [0.48, 0.57],
        focus: None,
        question: Some(HOSTILE.to_owned()),
        comment: None,
        has_model: true,
        cautions: Vec::new(),
    }
}

#[test]
fn an_assignment_says_what_is_asked_and_how_often_luck_decides() {
    let html = AssignmentPage { assignment: &assignment() }.write();
    check(&html);
    assert!(html.contains("not for marks") && html.contains("due Thu 3 Dec (2026-12-03)"));
    assert!(html.contains("bars 9 to 12, at 116 to 132 beats a minute, feel swing"), "{html}");
    let tables = tables(&html);
    assert_eq!(
        tables["asked"],
        [
            ["chord", "55 to 70 %", "running the scale 57; recorded soloists 48–57"],
            ["open", "at most 5 %", "resolved outside notes are free"],
            ["landings", "at least 50 %", "an exercise; recorded soloists 23"],
        ]
    );
    assert_eq!(tables["luck"], [["chord", "57 %", "120", "61", "38.4", "0.6", "0"]]);
}
