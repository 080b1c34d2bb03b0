//! An invented class: hand-ins of the invented takes.

use barwise::judge::assigned::Assigned;
use barwise::practice::hand_in::{ForAssignment, Told};
use barwise::practice::{Assignment, HandIn};
use barwise::theory::chord::BareSymbols;

use super::draw::Draw;
use super::lines::{Player, assignment_text, take};

/// The assignment, read.
pub fn assigned() -> Assigned {
    let assignment = Assignment::parse("class.toml", &assignment_text()).expect("an assignment");
    Assigned::new(assignment, BareSymbols::default()).expect("a chart that reads")
}

/// What a player hands in: so many takes.
pub fn hand_in(assigned: &Assigned, name: &str, player: Player, takes: u32, seed: u64) -> HandIn {
    let mut draw = Draw(seed);
    let words = &assigned.assignment.words;
    HandIn {
        name: (!name.is_empty()).then(|| name.to_owned()),
        day: Some("2026-12-02".to_owned()),
        note: None,
        assignment: ForAssignment {
            title: words.title.clone(),
            number: words.number,
            rule_sha256: assigned.rule_sha256.clone(),
        },
        verdict: Told::default(),
        contest: Vec::new(),
        take: (1..=takes).map(|number| take(assigned, player, number, &mut draw)).collect(),
    }
}

/// The text of a hand-in, its fingerprint fitting whatever is in it.
pub fn text(hand_in: &HandIn) -> String {
    hand_in.to_text("barwise test")
}

/// A text as a hand-in whose fingerprint fits: what somebody can send who knows how.
pub fn sealed(body: &str) -> String {
    let print = barwise::judge::fingerprint(body.as_bytes());
    format!("# barwise hand-in, version 1, written by nobody.\nsha256 = \"{print}\"\n{body}")
}
