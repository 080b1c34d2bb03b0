//! Verdicts on made-up takes whose truth is known: 10,000 pairs of takes for each band and share, drawn with fixed seeds.
//! `cargo test --test made_up_takes -- --nocapture` prints the table.
//!
//! A player has a true share; each take drifts from it so that takes differ 1.5 times as much as notes drawn one by one
//! would (the design effect measured between halves of recorded solos), and each note is drawn from the share of its take.

use barwise::practice::odds::Odds;
use barwise::tally::judged::Weight;
use barwise::tally::mix::{BarCounts, Counts, Mix};
use barwise::tally::verdict::{Band, Bands, Finding, Measure, pooled_verdict};
use barwise::tally::{ByDuration, Landings, Rests, Settings, Tally};

#[path = "support/draw.rs"]
mod draw;

use draw::Draw;

/// Pairs of takes drawn for a cell.
const PAIRS: u32 = 10_000;
/// Notes of a take, in bars of four.
const NOTES: usize = 60;
/// How much more takes differ than independent notes would.
const EFFECT: f64 = 1.5;

/// Bands asked for, and the true shares they are tried with.
const BANDS: [(f64, f64); 3] = [(0.55, 0.70), (0.60, 0.66), (0.50, 1.0)];
const SHARES: [f64; 7] = [0.35, 0.45, 0.52, 0.57, 0.625, 0.68, 0.80];

/// How often each thing was said of a cell.
#[derive(Default)]
struct Said {
    met: u32,
    undecided: u32,
    below: u32,
    above: u32,
}

#[test]
fn verdicts_are_as_sure_as_they_say() {
    println!("band      true   met   undecided   below   above   exact: met   undecided   below   above");
    for (row, (low, high)) in BANDS.into_iter().enumerate() {
        let band = Band::new(low, high).expect("a band");
        for (column, share) in SHARES.into_iter().enumerate() {
            let said = simulated(band, share, (row * SHARES.len() + column) as u64);
            let exact = Odds::of(band, share, NOTES as f64, 1);
            let part = |count: u32| f64::from(count) / f64::from(PAIRS);
            let [met, undecided, below, above] = [said.met, said.undecided, said.below, said.above].map(part);
            println!(
                "{low:.2}-{high:.2} {share:.3} {met:.3}     {undecided:.3}     {below:.3}   {above:.3}        {:.3}       {:.3}     {:.3}   {:.3}",
                exact.met, exact.undecided, exact.below, exact.above
            );
            let inside = (low..=high).contains(&share);
            if inside {
                assert!(below + above <= 0.03, "clearly missed by luck alone: {band:?} {share}");
            }
            for (drawn, worked_out) in
                [(met, exact.met), (undecided, exact.undecided), (below, exact.below), (above, exact.above)]
            {
                assert!(
                    (drawn - worked_out).abs() < 0.06,
                    "{band:?} {share}: {drawn} drawn, {worked_out} exact"
                );
            }
        }
    }
}

fn simulated(band: Band, share: f64, seed: u64) -> Said {
    let bands = Bands { bands: vec![(Measure::Chord, band)], needs: NOTES as f64 };
    let mut draw = Draw(seed);
    let mut said = Said::default();
    for _ in 0..PAIRS {
        let [one, other] = [take(share, &mut draw), take(share, &mut draw)];
        match pooled_verdict(&[&one, &other], &bands).finding {
            Finding::Met => said.met += 1,
            Finding::Undecided => said.undecided += 1,
            Finding::ClearlyBelow => said.below += 1,
            Finding::ClearlyAbove => said.above += 1,
            Finding::NoVerdict => {}
        }
    }
    said
}

/// A take of bars of four notes each.
fn take(share: f64, draw: &mut Draw) -> Tally {
    let spread = ((EFFECT - 1.0) / (NOTES as f64 - 1.0) * share * (1.0 - share)).sqrt();
    // The sum of twelve even draws is near enough to normal.
    let normal = (0..12).map(|_| draw.below(1_000_000) as f64 / 1e6).sum::<f64>() - 6.0;
    let of_take = (share + spread * normal).clamp(0.0, 1.0);
    let bar = |bar| {
        let chord = (0..4).filter(|_| draw.share() < of_take).count();
        BarCounts { chorus: 1, bar, counts: counts(chord, 4 - chord) }
    };
    let by_bar: Vec<BarCounts> = (1..=NOTES / 4).map(bar).collect();
    let chord = by_bar.iter().map(|bar| bar.counts.chord).sum();
    let scale = by_bar.iter().map(|bar| bar.counts.scale).sum();
    Tally {
        settings: Settings::default(),
        notes: Vec::new(),
        mix: Mix {
            total: Counts { chord, scale, ..Counts::default() },
            by_visit: Vec::new(),
            by_bar,
            bar_of_visit: Vec::new(),
        },
        by_duration: ByDuration::default(),
        running_the_scale: None,
        landings: Landings { by_visit: Vec::new(), baseline: None },
        leanings: Vec::new(),
        rests: Rests { beats: 0.0, of: 0.0, longest_run: 0.0 },
        rests_of_choruses: Vec::new(),
    }
}

fn counts(chord: usize, scale: usize) -> Counts {
    let notes = |count: usize| (0..count).map(|_| Weight::one_of(1)).sum();
    Counts { chord: notes(chord), scale: notes(scale), ..Counts::default() }
}
