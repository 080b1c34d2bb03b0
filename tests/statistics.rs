//! Intervals against statsmodels 0.15.0, trends against scipy 1.17.1 (see `reference/README.md`), and the coverage of one
//! take's intervals by simulation.

#[path = "support/draws.rs"]
mod draws;

use barwise::statistics::{Interval, Level, design_effect, newcombe, theil_sen, wilson};
use draws::Draws;
use serde::Deserialize;

#[derive(Deserialize)]
struct Row {
    what: String,
    k1: f64,
    n1: f64,
    k2: Option<f64>,
    n2: Option<f64>,
    low: f64,
    high: f64,
    low_3bands: Option<f64>,
    high_3bands: Option<f64>,
}

fn close(interval: Option<Interval>, low: f64, high: f64) -> bool {
    interval.is_some_and(|i| (i.low - low).abs() < 1e-9 && (i.high - high).abs() < 1e-9)
}

fn interval(row: &Row, level: Level) -> Option<Interval> {
    match (row.k2, row.n2) {
        (Some(k2), Some(n2)) => newcombe((row.k1, row.n1), (k2, n2), level),
        _ => wilson(row.k1, row.n1, level),
    }
}

#[test]
fn intervals_equal_the_reference_to_a_billionth() {
    let mut reader = csv::Reader::from_path("tests/reference/wilson_newcombe.csv").expect("the table");
    let rows: Vec<Row> = reader.deserialize().collect::<Result<_, _>>().expect("rows");
    assert_eq!(rows.len(), 60);
    for row in &rows {
        let label = format!("{} {}/{}", row.what, row.k1, row.n1);
        assert!(close(interval(row, Level::ONE), row.low, row.high), "{label}");
        if let (Some(low), Some(high)) = (row.low_3bands, row.high_3bands) {
            assert!(close(interval(row, Level::for_intervals(3)), low, high), "{label}, three bands");
        }
    }
}

#[derive(Deserialize)]
struct Series {
    x: String,
    y: String,
    slope: f64,
    intercept_separate: f64,
    low_slope: f64,
    high_slope: f64,
}

#[test]
fn trends_equal_the_reference_to_a_billionth() {
    let mut reader = csv::Reader::from_path("tests/reference/theil_sen.csv").expect("the table");
    let rows: Vec<Series> = reader.deserialize().collect::<Result<_, _>>().expect("rows");
    assert_eq!(rows.len(), 10);
    for row in &rows {
        let numbers = |text: &str| text.split(' ').map(|n| n.parse::<f64>().expect("a number")).collect();
        let (x, y): (Vec<f64>, Vec<f64>) = (numbers(&row.x), numbers(&row.y));
        let points: Vec<(f64, f64)> = x.into_iter().zip(y).collect();
        let trend = theil_sen(&points).expect("a trend");
        let found = [trend.slope, trend.intercept, trend.interval.low, trend.interval.high];
        let expect = [row.slope, row.intercept_separate, row.low_slope, row.high_slope];
        let near = found.iter().zip(&expect).all(|(found, expect)| (found - expect).abs() < 1e-9);
        assert!(near, "{}: {found:?}, not {expect:?}", row.x);
    }
}

/// How often the interval of one take holds the true share, when a bar's notes hang together with probability `bond`.
fn coverage(bars: usize, notes_a_bar: usize, truth: f64, bond: f64) -> f64 {
    let mut draws = Draws(17);
    let takes = 4_000;
    let mut held = 0;
    for _ in 0..takes {
        let clusters: Vec<(f64, f64)> = (0..bars)
            .map(|_| {
                let leader = f64::from(u8::from(draws.unit() < truth));
                let hits: f64 =
                    (0..notes_a_bar)
                        .map(|_| {
                            if draws.unit() < bond {
                                leader
                            } else {
                                f64::from(u8::from(draws.unit() < truth))
                            }
                        })
                        .sum();
                (hits, notes_a_bar as f64)
            })
            .collect();
        let effect = design_effect(clusters.iter().copied());
        let n: f64 = clusters.iter().map(|c| c.1).sum();
        let hits: f64 = clusters.iter().map(|c| c.0).sum();
        let interval = wilson(hits / effect, n / effect, Level::ONE).expect("notes");
        held += i32::from(interval.holds(truth));
    }
    f64::from(held) / f64::from(takes)
}

#[test]
fn the_interval_of_a_take_holds_the_truth_about_nineteen_times_in_twenty() {
    for (bars, notes, truth, bond) in
        [(24, 4, 0.55, 0.0), (32, 5, 0.6, 0.2), (48, 4, 0.3, 0.3), (64, 6, 0.5, 0.3)]
    {
        let share = coverage(bars, notes, truth, bond);
        assert!((0.93..=0.98).contains(&share), "{bars} bars of {notes}, bond {bond}: {share}");
    }
}
