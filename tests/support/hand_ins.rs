//! An invented class: an assignment and hand-ins drawn with a seeded generator.

use barwise::judge::assigned::Assigned;
use barwise::practice::hand_in::{ForAssignment, Told};
use barwise::practice::{Assignment, HandIn, SentTake};
use barwise::take::{ChannelMessage, TimedMessage, line_text};
use barwise::tally::{Settings, stage::Stage};
use barwise::theory::chord::BareSymbols;
use barwise::time::{Nanos, TempoMap, TickSpan, Ticks};

/// The assignment, but for its chart.
const ASKED: &str = r#"title = "Thursday, room 4"
number = 5
due = 2026-12-03
tempo = "116-132"
choruses = 2
chord = "55-70"
open = "0-5"
landings = "30-"
needs = 60
counting = "lenient"
takes = "two of the last five"
"#;

/// The text of the assignment.
pub fn assignment_text() -> String {
    let chart = barwise::chart::Backing::find("bus-shelter").expect("a chart that ships").text;
    format!("{ASKED}chart = '''\n{chart}'''\n")
}

/// The assignment, read.
pub fn assigned() -> Assigned {
    let assignment = Assignment::parse("class.toml", &assignment_text()).expect("an assignment");
    Assigned::new(assignment, BareSymbols::default()).expect("a chart that reads")
}

/// Numbers that follow from a seed: `SplitMix64`.
pub struct Draw(pub u64);

impl Draw {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// From 0 up to 1.
    pub fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn below(&mut self, bound: usize) -> usize {
        (self.next() % bound as u64) as usize
    }
}

/// How a player of the class plays: shares of chord tones and of notes outside; the rest are scale tones.
#[derive(Clone, Copy)]
pub struct Player {
    pub chord: f64,
    pub outside: f64,
    /// Notes of a chorus.
    pub notes: usize,
}

impl Player {
    pub const IN_THE_BAND: Self = Self { chord: 0.62, outside: 0.0, notes: 96 };
}

/// A take of two choruses: notes on the eighths, each drawn from what sounds there.
pub fn take(assigned: &Assigned, player: Player, number: u32, draw: &mut Draw) -> SentTake {
    let chords = assigned.chords();
    let tempo = TempoMap::at_bpm(124.0);
    let laid = barwise::tally::Laid {
        form: &chords.form,
        reading: &chords.reading,
        tempo: &tempo,
        start: Ticks::ZERO,
        choruses: 1,
        until: None,
        turns: barwise::chart::Turns::default(),
    };
    let stage = Stage::new(laid, &Settings::default()).expect("a stage");
    let length = chords.form.length();
    let eighth = TickSpan::quarters(1).0 / 2;
    let eighths = (length.0 / eighth) as usize;
    let mut messages = Vec::new();
    for chorus in 0..2 {
        for note in 0..player.notes {
            let within = Ticks((note * eighths / player.notes) as i64 * eighth);
            let at = within + length * chorus;
            let chord = chords.form.chord_at(within).expect("a chord");
            let layers = stage.layers_of_chord(chord).expect("a chord that sounds");
            let drawn = draw.share();
            let is_wanted = |key: u8| {
                let pitch_class = barwise::theory::Pitch::new(key).expect("a key").pitch_class();
                let (of_chord, of_scale) = (layers.chord.has(pitch_class), layers.scale.has(pitch_class));
                match drawn {
                    drawn if drawn < player.chord => of_chord,
                    drawn if drawn < player.chord + player.outside => !of_scale,
                    _ => of_scale && !of_chord,
                }
            };
            let keys: Vec<u8> = (55..80).filter(|&key| is_wanted(key)).collect();
            let key = if keys.is_empty() { 60 } else { keys[draw.below(keys.len())] };
            for (at, wire) in [(at, [0x90, key, 84]), (at + TickSpan(eighth - 600), [0x80, key, 0])] {
                let message = ChannelMessage::from_wire(&wire).expect("a message");
                messages.push(TimedMessage { at: Nanos::ZERO, ticks: at, message });
            }
        }
    }
    messages.sort_by_key(|timed| (timed.ticks, timed.message.wire()[0]));
    SentTake {
        take: Some(number),
        day: Some(format!("2026-11-{:02}", 20 + number % 10)),
        quarter_us: 483_871,
        choruses: 2,
        feel: Some("swing".to_owned()),
        end_ticks: length.0 * 2,
        notes: line_text::write(&messages),
        ..SentTake::default()
    }
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
