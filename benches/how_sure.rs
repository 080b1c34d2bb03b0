//! How sure the intervals over weeks are: made-up players whose true shares are known, as tables.
//!
//! `cargo bench --bench how_sure`, with a number of players a cell behind `--` (2,000 where none is given). Seeds are
//! fixed: each run prints the same. `tests/how_sure.rs` holds the bounds.

#[path = "../tests/support/draws.rs"]
mod draws;
#[path = "../tests/support/players.rs"]
mod players;

use barwise::statistics::between_takes;
use barwise::statistics::between_takes::{Cluster, LEAST};
use players::{Players, Rule};

const FACTORS: [f64; 3] = [1.0, 1.5, 2.0];
const SIZES: [(u32, u32); 4] = [(40, 40), (100, 100), (300, 300), (40, 300)];
const SHARES: [f64; 2] = [0.55, 0.1];
const TAKES: [usize; 4] = [4, 6, 12, 24];
/// Weeks, and takes in each.
const WEEKS: [(usize, usize); 4] = [(1, 1), (1, 3), (7, 1), (7, 2)];
/// Sessions of a trend.
const SESSIONS: [usize; 4] = [6, 8, 12, 24];
const GAIN: f64 = 0.1;

fn main() {
    let asked = std::env::args().skip(1).find_map(|argument| argument.parse().ok());
    let players: usize = asked.unwrap_or(2_000);
    println!("{players} players a cell; in percent\n");
    let rules: [(&str, Rule); 2] =
        [("the rule in use", in_use), ("plain: max(1.5, effect over takes)", plain)];
    for (name, rule) in rules {
        println!("{name}\n");
        weeks(players, rule);
        comparisons(players, rule);
    }
    trends(players);
}

fn in_use(groups: &[&[Cluster]]) -> f64 {
    between_takes(groups.iter().copied())
}

/// The estimate without what is believed beforehand and without a margin.
fn plain(groups: &[&[Cluster]]) -> f64 {
    let free = |group: &[Cluster]| group.len() as f64 - 1.0;
    let effect = |group: &[Cluster]| {
        let (n, of) = group.iter().fold((0.0, 0.0), |sum, take| (sum.0 + take.0, sum.1 + take.1));
        let share = n / of;
        let squares: f64 = group.iter().map(|take| (take.0 - share * take.1).powi(2)).sum();
        group.len() as f64 / free(group) * squares / (of * share * (1.0 - share))
    };
    let told =
        || groups.iter().copied().filter(|group| group.len() > 1).filter(|group| effect(group).is_finite());
    let freedom: f64 = told().map(free).sum();
    let sum: f64 = told().map(|group| free(group) * effect(group)).sum();
    if freedom > 0.0 { (sum / freedom).max(LEAST) } else { LEAST }
}

fn kinds() -> impl Iterator<Item = Players> {
    let sized = SHARES.into_iter().flat_map(|share| SIZES.into_iter().map(move |notes| (share, notes)));
    sized.flat_map(|(share, notes)| FACTORS.into_iter().map(move |factor| Players { share, notes, factor }))
}

fn label(players: Players) -> String {
    let Players { share, notes: (fewest, most), factor } = players;
    let notes = if fewest == most { fewest.to_string() } else { format!("{fewest}-{most}") };
    format!("{share:>5.2}  {notes:>6}  {factor:>6.1}")
}

fn weeks(players: usize, rule: Rule) {
    let heads = WEEKS.map(|(weeks, takes)| format!("{weeks} x {takes}"));
    println!("How often the interval of one week holds the true share, by weeks x takes in each\n");
    println!("share   notes  factor  {}", heads.map(|head| format!("{head:>7}")).join(""));
    for kind in kinds() {
        let held = WEEKS.map(|(weeks, takes)| kind.week(weeks, takes, players, rule));
        println!("{}  {}", label(kind), held.map(|held| format!("{:>7.1}", held * 100.0)).join(""));
    }
    println!();
}

fn comparisons(players: usize, rule: Rule) {
    println!(
        "Half of the takes against the other half, by takes in all: how often the interval holds the true"
    );
    println!(
        "difference (none; +10 points), \"change\" said where there is none, and where there is one of +10 points\n"
    );
    let group = |name: &str| format!("{name:<24}");
    println!(
        "                       {}",
        ["holds: none", "holds: +10", "change: none", "change: +10"].map(group).join("")
    );
    let takes = TAKES.map(|takes| format!("{takes:>6}")).join("");
    println!("share   notes  factor  {}", [takes.as_str(); 4].join(""));
    for kind in kinds() {
        let same = TAKES.map(|takes| kind.compared(takes, 0.0, players, rule));
        let gained = TAKES.map(|takes| kind.compared(takes, GAIN, players, rule));
        let held = same.iter().chain(&gained).map(|often| often.held);
        let change = same.iter().chain(&gained).map(|often| often.change);
        let cells: Vec<String> = held.chain(change).map(|part| format!("{:>6.1}", part * 100.0)).collect();
        println!("{}  {}", label(kind), cells.join(""));
    }
    println!();
}

fn trends(players: usize) {
    println!("\"Change\" said of a trend of players who did not change, by sessions\n");
    println!("share   notes  factor  {}", SESSIONS.map(|sessions| format!("{sessions:>7}")).join(""));
    for kind in kinds() {
        let said = SESSIONS.map(|sessions| kind.trends(sessions, players));
        println!("{}  {}", label(kind), said.map(|said| format!("{:>7.1}", said * 100.0)).join(""));
    }
}
