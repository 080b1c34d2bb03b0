//! Progress over weeks: invented takes through the rooms, and the program over takes that are kept.

#[path = "support/desk.rs"]
mod desk;

use std::fs::{self, File};
use std::time::SystemTime;

use barwise::demo::weeks;
use barwise::judge::{Choices, Dated, digest};
use barwise::practice::Digest;
use barwise::practice::progress::{Asked, progress};
use barwise::report::progress::ProgressDocument;
use barwise::report::progress::rows::By;
use barwise::report::progress::text::{self, page};
use barwise::report::{Ink, OutputForm, Signs};
use barwise::tally::Counting;
use barwise::tally::verdict::Measure;
use desk::Desk;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use serde_json::Value;

/// The invented weeks, of which the last takes are counted leniently.
fn digests(lenient: usize) -> Vec<Digest> {
    let takes = weeks::takes();
    let strict = takes.len() - lenient;
    let judged = takes.into_iter().zip(1..).map(|((day, take), number)| {
        let mut choices = Choices::default();
        if number as usize > strict {
            choices.tally.counting = Counting::Lenient;
        }
        digest(&take.to_bytes(), Dated { take: number, day }, &choices).expect("a digest")
    });
    judged.collect()
}

fn document(digests: &[Digest]) -> ProgressDocument {
    let asked = Asked { today: weeks::TODAY, since: None, form: None, bands: None };
    ProgressDocument::from(&progress(digests, &asked))
}

/// The page of one chart on a terminal without colour.
fn shown(document: &ProgressDocument, width: usize, signs: Signs, measure: Measure, by: &[By]) -> String {
    let form = OutputForm::Terminal { width, ink: Ink::Plain, signs };
    let text = page(document, text::Asked { one_chart: true, by, measure }, form);
    let widest = text.lines().map(|line| line.chars().count()).max().unwrap_or(0);
    assert!(widest <= width, "{widest} columns of {width}:\n{text}");
    text
}

#[test]
fn a_chart_on_eighty_columns() {
    let document = document(&digests(0));
    insta::assert_snapshot!(shown(&document, 80, Signs::Unicode, Measure::Chord, &[]));
}

#[test]
fn a_chart_in_ascii_with_the_landings_drawn() {
    let text = shown(&document(&digests(0)), 80, Signs::Ascii, Measure::Landings, &[]);
    assert!(text.is_ascii());
    insta::assert_snapshot!(text);
}

#[test]
fn a_chart_counted_in_two_ways_has_a_broken_line_and_says_so() {
    insta::assert_snapshot!(shown(&document(&digests(3)), 80, Signs::Unicode, Measure::Chord, &[]));
}

#[test]
fn a_wide_terminal_draws_wider_and_rows_stand_below() {
    let rows = [By::Week, By::Chord, By::Key];
    insta::assert_snapshot!(shown(&document(&digests(0)), 120, Signs::Unicode, Measure::Open, &rows));
}

#[test]
fn the_first_take_reads_well_and_no_terminal_is_too_narrow() {
    let one = document(&digests(0)[..1]);
    insta::assert_snapshot!(shown(&one, 80, Signs::Unicode, Measure::Chord, &[]));
    for width in [1, 20, 40, 60, 300] {
        let form = OutputForm::Terminal { width, ink: Ink::Plain, signs: Signs::Unicode };
        let asked = text::Asked { one_chart: true, by: &[], measure: Measure::Chord };
        assert!(page(&one, asked, form).contains("12 Oct"));
    }
}

#[test]
fn several_charts_stand_one_a_row() {
    let mut digests = digests(0);
    let other = |digest: &Digest| Digest {
        title: "A Title of More Words than Most".to_owned(),
        form_sha256: "another".to_owned(),
        ..digest.clone()
    };
    let others: Vec<Digest> = digests[9..].iter().map(other).collect();
    digests.extend(others);
    let document = document(&digests);
    let asked = text::Asked { one_chart: false, by: &[], measure: Measure::Chord };
    for width in [80, 120] {
        let text =
            page(&document, asked, OutputForm::Terminal { width, ink: Ink::Plain, signs: Signs::Unicode });
        assert!(text.lines().all(|line| line.chars().count() <= width), "{text}");
        insta::assert_snapshot!(format!("several_charts_on_{width}"), text);
    }
    let piped = page(&document, asked, OutputForm::Piped { ink: Ink::Plain, signs: Signs::Unicode });
    assert!(
        piped.starts_with(
            "chart\tkey\tlast week\tscale\ttakes\tlast\tlast weeks against those before\tnote\n"
        )
    );
}

#[test]
fn every_figure_of_the_document_adds_up() {
    let digests = digests(0);
    let document = document(&digests);
    let chart = &document.charts[0];
    let sum = |of: fn(&Digest) -> f64| digests.iter().map(of).sum::<f64>();
    let weeks =
        |of: fn(&barwise::report::progress::WeekRecord) -> f64| chart.weeks.iter().map(of).sum::<f64>();
    let near = |one: f64, other: f64| assert!((one - other).abs() < 1e-6, "{one}, {other}");
    near(weeks(|week| week.counted.0), sum(|digest| digest.counted));
    near(weeks(|week| week.chord.n.0), sum(|digest| digest.chord.n));
    near(weeks(|week| week.landings.of.0), sum(|digest| digest.landings.of as f64));
    near(chart.kinds.iter().map(|kind| kind.counted.0).sum(), sum(|digest| digest.counted));
    assert_eq!(chart.weeks.iter().map(|week| week.takes).sum::<usize>(), digests.len());
}

/// Puts the invented takes into the folder of a desk, written at noon of their days.
fn keep(desk: &Desk) {
    let folder = desk.folder.path().join("data/takes");
    fs::create_dir_all(&folder).expect("a folder");
    for ((day, take), number) in weeks::takes().into_iter().zip(1..) {
        let path = folder.join(format!("take-{number:04}.mid"));
        fs::write(&path, take.to_bytes()).expect("a take");
        let file = File::options().write(true).open(&path).expect("the take");
        file.set_modified(noon(day)).expect("a time");
    }
}

fn noon(day: Date) -> SystemTime {
    day.at(12, 0, 0, 0).to_zoned_datetime(TimeZone::system()).expect("a noon").try_into().expect("a time")
}

fn json(desk: &Desk, arguments: &[&str]) -> Value {
    let document: Value = serde_json::from_str(&desk.printed(arguments)).expect("a document");
    assert_eq!(document["schema"], "barwise.progress");
    document
}

#[test]
fn kept_takes_give_the_weeks_that_they_were_played_in() {
    let desk = Desk::new();
    keep(&desk);
    let invented = json(&desk, &["progress", "--demo", "--json"]);
    for chart in ["bus-shelter", "Bus Shelter, Rain", "shelter"] {
        let kept = json(&desk, &["progress", chart, "--json"]);
        assert_eq!(kept["charts"][0]["weeks"], invented["charts"][0]["weeks"], "{chart}");
        assert_eq!(kept["charts"][0]["kinds"], invented["charts"][0]["kinds"]);
    }
    let since = json(&desk, &["progress", "--since", "2026-11-10", "--json"]);
    assert_eq!(since["charts"][0]["played"]["takes"], 6);
    let lenient = json(&desk, &["progress", "--counting", "lenient", "--json"]);
    assert_eq!(lenient["charts"][0]["counted"][0]["counting"], "lenient");
    let rows = desk.printed(&["progress", "shelter", "--by", "chord"]);
    assert_eq!(rows.lines().filter(|row| row.starts_with("chord\tBus Shelter, Rain\t")).count(), 4, "{rows}");
}

#[test]
fn bands_make_a_ladder() {
    let desk = Desk::new();
    keep(&desk);
    desk.write("bands.toml", b"chord = \"50-100\"\n");
    let met = json(&desk, &["progress", "--check", "bands.toml", "--json"]);
    let rungs = met["charts"][0]["tempi"].as_array().expect("tempi").clone();
    assert_eq!(
        rungs.iter().map(|rung| rung["tempo"].as_f64()).collect::<Vec<_>>(),
        [124.0, 128.0, 132.0].map(Some)
    );
    assert!(rungs.iter().all(|rung| rung["met"].as_u64() <= rung["takes"].as_u64()));
    assert_eq!(met["charts"][0]["bands_asked"], true);
}

/// Exit code, and what was said.
fn said(desk: &Desk, arguments: &[&str]) -> (Option<i32>, String) {
    let output = desk.command(arguments).output().expect("it runs");
    (output.status.code(), String::from_utf8(output.stderr).expect("text"))
}

#[test]
fn where_there_is_nothing_to_show_it_says_what_to_do() {
    let desk = Desk::new();
    let (code, words) = said(&desk, &["progress"]);
    assert!(code == Some(0) && words.contains("No take is kept yet: play one"), "{words}");
    keep(&desk);
    let (code, words) = said(&desk, &["progress", "cellar"]);
    assert!(code == Some(2) && words.contains("\"cellar\". Charts played: Bus Shelter, Rain"), "{words}");
    let (code, words) = said(&desk, &["progress", "--since", "2026-12-01"]);
    assert!(
        code == Some(0) && words.contains("no take since 2026-12-01; the last one is of 2026-11-24"),
        "{words}"
    );
}

#[test]
fn a_take_that_cannot_be_read_costs_only_itself() {
    let desk = Desk::new();
    keep(&desk);
    fs::write(desk.folder.path().join("data/takes/take-0003.mid"), b"MThd").expect("a file");
    let output = desk.command(&["progress", "--json"]).output().expect("it runs");
    let document: Value = serde_json::from_slice(&output.stdout).expect("a document");
    assert_eq!(document["charts"][0]["played"]["takes"], 13);
    assert_eq!(output.status.code(), Some(4));
    assert!(String::from_utf8_lossy(&output.stderr).contains("take 3 is left aside"));
}
