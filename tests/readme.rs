//! The README against the program: what it shows is read by the program's own readers, what it lists is complete.

use std::process::Output;

use assert_cmd::Command;
use barwise::chart::Chart;
use barwise::chart::read::{MOST_BARS, MOST_BARS_PLAYED, MOST_COLUMNS};
use barwise::harmony::{Overrides, read};
use barwise::practice::Assignment;
use barwise::tally::verdict::{FEWEST_NOTES, Measure};
use barwise::theory::Mode;
use barwise::theory::chord::BareSymbols;

const README: &str = include_str!("../README.md");

/// The fenced examples in a language.
fn examples(text: &str, language: &str) -> Vec<String> {
    let fences = text.split("```").skip(1).step_by(2);
    let of_language = fences.filter_map(|fence| fence.strip_prefix(language)?.strip_prefix('\n'));
    of_language.map(str::to_owned).collect()
}

fn chart(text: &str) -> Chart {
    let read = Chart::parse("README.bars", text, BareSymbols::default());
    let (chart, warnings) = read.map_err(|errors| errors.to_string()).expect("a chart that reads");
    assert_eq!(warnings, [], "{text}");
    chart
}

#[test]
fn charts_of_the_readme_read_without_a_slip() {
    let charts = examples(README, "bars");
    assert_eq!(charts.len(), 2);
    let every_sign = chart(&charts[1]);
    let played: Vec<usize> = every_sign.unfold().bars.iter().map(|bar| bar.written).collect();
    let a = [1, 2, 3, 4, 5, 6, 1, 2, 3, 4, 7, 8].to_vec();
    let b = [[9, 10, 11, 12, 13].repeat(3), vec![14, 15, 16]].concat();
    assert_eq!(played, [a.clone(), b, a].concat());
    assert_eq!(chart(&charts[0]).title(), "Bus Shelter, Rain");
}

#[test]
fn the_line_to_try_out_reads_as_a_musician_expects() {
    let tried = examples(README, "sh").into_iter().find(|line| line.contains("read -")).expect("a line");
    let bars = tried.split('\'').nth(1).expect("bars in quotes");
    let reading = read(&chart(bars).unfold(), &Overrides::default());
    let functions: Vec<&str> = reading.chords.iter().flatten().map(|read| read.function.as_str()).collect();
    assert_eq!(functions, ["ii-7", "V7", "Imaj7"]);
    assert_eq!(reading.regions[0].why, "ii-V-I in G");
}

#[test]
fn bands_of_the_readme_read_and_are_those_there_are() {
    let bands = examples(README, "toml");
    assert_eq!(bands.len(), 1);
    let asked = Assignment::parse("README.toml", &bands[0]).expect("bands");
    assert_eq!(asked.bands.bands.len() + 1, Measure::ALL.len(), "scale is the one left out");
    assert!(asked.counting.is_some() && asked.named_colours.is_some());
    assert!(bands[0].contains(&format!("never under {FEWEST_NOTES}")));
}

#[test]
fn scales_headers_and_limits_are_all_named() {
    for mode in Mode::ALL {
        let name = format!("`{}`", mode.name().replace(' ', "-"));
        assert!(README.contains(&name), "{name}");
    }
    let slip =
        Chart::parse("README.bars", "foo: x\n| C |", BareSymbols::default()).expect_err("no such header");
    let slip = slip.to_string();
    let (_, headers) = slip.split_once("Headers are ").expect("a list");
    for header in headers.split(", ") {
        assert!(README.contains(&format!("{header}: ")), "{header}");
    }
    let thousands = |limit: usize| format!("{},{:03}", limit / 1_000, limit % 1_000);
    for limit in [MOST_BARS, MOST_BARS_PLAYED, MOST_COLUMNS].map(thousands) {
        assert!(README.contains(&limit), "{limit}");
    }
}

#[test]
fn help_for_reading_shows_a_chart_that_reads_and_where_the_rest_is_described() {
    let help: Output =
        Command::cargo_bin("barwise").expect("the program").args(["read", "--help"]).output().expect("help");
    let help = String::from_utf8(help.stdout).expect("text");
    let (_, brief) = help.split_once("A chart is a text file:").expect("the brief");
    let (example, after) =
        brief.split_once("The README has all of it under \"Writing a chart\"").expect("where");
    let lines: Vec<&str> = example.lines().filter_map(|line| line.strip_prefix("  ")).collect();
    assert_eq!(chart(&lines.join("\n")).title(), "Two Lines");
    assert!(after.contains("Where something does not read") && README.contains("## Writing a chart"));
}
