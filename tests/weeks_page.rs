//! The page of weeks: what every page keeps to, and its figures against the document that `--json` prints.

#[path = "support/page.rs"]
mod page;

use assert_cmd::Command;
use page::{check, tables};
use serde_json::Value;

fn run(flags: &[&str]) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    let run = Command::cargo_bin("barwise")
        .expect("the program")
        .env("BARWISE_CONFIG_DIR", folder.path())
        .env("BARWISE_DATA_DIR", folder.path())
        .arg("progress")
        .args(flags)
        .output();
    String::from_utf8(run.expect("a run").stdout).expect("text")
}

fn percent(share: &Value) -> String {
    share.as_f64().map_or_else(String::new, |share| format!("{} %", (share * 100.0).round()))
}

fn interval(share: &Value) -> String {
    let end = |name: &str| (share[name].as_f64().expect("an end") * 100.0).round();
    format!("{}–{}", end("low"), end("high"))
}

fn landings(landings: &Value) -> String {
    format!("{} of {}", landings["n"], landings["of"])
}

fn groups(groups: &Value) -> Vec<Vec<String>> {
    let row = |group: &Value| {
        vec![
            group["name"].as_str().expect("a name").to_owned(),
            group["takes"].to_string(),
            group["counted"].to_string(),
            percent(&group["chord"]["share"]),
            interval(&group["chord"]),
            percent(&group["open"]["share"]),
            landings(&group["landings"]),
        ]
    };
    groups.as_array().expect("groups").iter().map(row).collect()
}

#[test]
fn every_number_of_the_tables_is_that_of_the_json_document() {
    let html = run(&["--demo", "--html", "-"]);
    let document: Value = serde_json::from_str(&run(&["--demo", "--json"])).expect("a document");
    check(&html);
    let found = tables(&html);
    let chart = &document["charts"][0];
    let week = |week: &Value| {
        vec![
            week["monday"].as_str().expect("a day").to_owned(),
            week["takes"].to_string(),
            week["counted"].to_string(),
            week["chord"]["n"].to_string(),
            percent(&week["chord"]["share"]),
            interval(&week["chord"]),
            landings(&week["landings"]),
            percent(&week["landings"]["baseline"]),
            percent(&week["open"]["share"]),
        ]
    };
    let weeks: Vec<Vec<String>> = chart["weeks"].as_array().expect("weeks").iter().map(week).collect();
    assert!(weeks.len() > 1);
    assert_eq!(found["weeks-0"], weeks);
    assert_eq!(found["kinds-0"], groups(&chart["kinds"]));
    assert_eq!(found["regions-0"], groups(&chart["regions"]));
    assert_eq!(found.len(), 3, "{:?}", found.keys());
    assert!(html.contains("A tone mix is a study focus"));
}

#[test]
fn where_nothing_is_kept_no_page_is_written_and_that_is_said() {
    assert_eq!(run(&["--html", "-"]), "");
}
