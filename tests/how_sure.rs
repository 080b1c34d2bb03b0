//! How sure the intervals over weeks are, held by simulation: made-up players whose true shares are known. The whole table
//! is `cargo bench --bench how_sure`.

#[path = "support/draws.rs"]
mod draws;
#[path = "support/players.rs"]
mod players;

use barwise::statistics::between_takes;
use barwise::statistics::between_takes::Cluster;
use players::Players;

const PLAYERS: usize = 2_000;

fn in_use(groups: &[&[Cluster]]) -> f64 {
    between_takes(groups.iter().copied())
}

/// Players with takes that differ by chance alone, by half as much again, and by twice as much.
fn kinds() -> impl Iterator<Item = Players> {
    let sizes = [(40, 40), (100, 100), (40, 300)].into_iter();
    sizes.flat_map(|notes| [1.0, 1.5, 2.0].map(|factor| Players { share: 0.55, notes, factor }))
}

/// Intervals hold the truth at least 93 times in 100, and where takes differ as is usual at most 98 times.
fn check_held(held: f64, players: Players, what: &str) {
    assert!(held >= 0.93, "{players:?}, {what}: {held}");
    let is_usual = (players.factor - 1.5).abs() < 1e-9;
    assert!(!is_usual || held <= 0.98, "{players:?}, {what}: {held}");
}

#[test]
fn the_interval_of_a_week_holds_the_true_share() {
    for players in kinds() {
        for (weeks, takes) in [(1, 1), (1, 3), (7, 2)] {
            check_held(
                players.week(weeks, takes, PLAYERS, in_use),
                players,
                &format!("{weeks} weeks of {takes}"),
            );
        }
    }
}

#[test]
fn change_is_said_of_at_most_five_in_a_hundred_who_did_not_change() {
    for players in kinds() {
        for takes in [4, 6, 12] {
            let often = players.compared(takes, 0.0, PLAYERS, in_use);
            check_held(often.held, players, &format!("{takes} takes"));
            assert!(often.change <= 0.05, "{players:?}, {takes} takes: {often:?}");
        }
    }
}

#[test]
fn a_trend_is_said_of_at_most_five_in_a_hundred_who_did_not_change() {
    for players in kinds() {
        for sessions in [6, 10, 20] {
            let said = players.trends(sessions, PLAYERS);
            assert!(said <= 0.05, "{players:?}, {sessions} sessions: {said}");
        }
    }
}

#[test]
fn ten_points_more_are_seen_by_most_within_twelve_takes() {
    let players = Players { share: 0.55, notes: (40, 300), factor: 1.5 };
    let seen = players.compared(12, 0.1, PLAYERS, in_use).change;
    assert!(seen > 0.85, "{seen}");
}
