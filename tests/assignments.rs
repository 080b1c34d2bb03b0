//! Assignments through the program's own door: written, read as their student reads them, checked, handed in.

use std::fs;
use std::path::PathBuf;

use barwise::judge::assigned::Assigned;
use barwise::practice::assignment::TempoBand;
use barwise::practice::{Assignment, HandIn, SentTake};
use barwise::theory::chord::BareSymbols;
use serde_json::Value;

#[path = "support/desk.rs"]
mod desk;
#[path = "support/draw.rs"]
mod draw;
#[path = "support/lines.rs"]
mod lines;

use desk::Desk;
use draw::Draw;
use lines::{Player, assignment_text, take};

const BELOW: Player = Player { chord: 0.3, outside: 0.0, notes: 96 };

/// A student's desk with an assignment and takes.
struct Student {
    desk: Desk,
    assigned: Assigned,
    draw: Draw,
    takes: u32,
}

/// What a run gave.
struct Run {
    code: Option<i32>,
    stdout: String,
    stderr: String,
}

impl Student {
    fn new() -> Self {
        Self::with(&assignment_text())
    }

    fn with(text: &str) -> Self {
        let desk = Desk::new();
        fs::create_dir_all(desk.folder.path().join("data/takes")).expect("a folder");
        desk.write("week.toml", text.as_bytes());
        let assignment = Assignment::parse("week.toml", text).expect("an assignment");
        let assigned = Assigned::new(assignment, BareSymbols::default()).expect("a chart");
        Self { desk, assigned, draw: Draw(7), takes: 0 }
    }

    fn plays(self, player: Player) -> Self {
        self.plays_otherwise(player, |take| take)
    }

    /// Keeps a take, changed before it is kept.
    fn plays_otherwise(mut self, player: Player, change: impl Fn(SentTake) -> SentTake) -> Self {
        self.takes += 1;
        let sent = change(take(&self.assigned, player, self.takes, &mut self.draw));
        let bytes = self.assigned.file_of(&sent).expect("notes that read").expect("its key");
        self.desk.write(&format!("data/takes/take-{:04}.mid", self.takes), &bytes);
        self
    }

    fn run(&self, line: &[&str]) -> Run {
        let output = self.desk.command(line).output().expect("it runs");
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
        Run { code: output.status.code(), stdout: text(output.stdout), stderr: text(output.stderr) }
    }

    fn verdict(&self) -> (Option<i32>, Value) {
        let run = self.run(&["assign", "check", "week.toml", "--json"]);
        (run.code, serde_json::from_str(&run.stdout).unwrap_or_else(|_| Value::from(run.stderr)))
    }

    fn path(&self, name: &str) -> PathBuf {
        self.desk.folder.path().join(name)
    }

    fn handed_in(&self) -> String {
        fs::read_to_string(self.path("week.hand-in.toml")).expect("a hand-in")
    }
}

#[test]
fn two_takes_in_the_band_are_met_and_exit_0() {
    let student = Student::new().plays(Player::IN_THE_BAND).plays(Player::IN_THE_BAND);
    let (code, verdict) = student.verdict();
    assert_eq!((code, &verdict["verdict"]), (Some(0), &"met".into()), "{verdict}");
    assert_eq!(verdict["takes"][0]["used"], true);
}

#[test]
fn clearly_below_exits_1_and_one_take_or_none_exits_5() {
    let student = Student::new();
    let (code, verdict) = student.verdict();
    assert_eq!(
        (code, &verdict["sentence"]),
        (Some(5), &"no verdict: no take counts yet, 2 are asked for".into())
    );
    let student = student.plays(BELOW);
    let (code, verdict) = student.verdict();
    let expect = "no verdict: one take counts so far, 2 are asked for";
    assert_eq!((code, &verdict["sentence"]), (Some(5), &expect.into()));
    let (code, verdict) = student.plays(BELOW).verdict();
    assert_eq!((code, &verdict["verdict"]), (Some(1), &"clearly below".into()));
}

#[test]
fn the_best_two_of_the_last_five_count_so_practice_is_free() {
    let student = Student::new().plays(Player::IN_THE_BAND).plays(BELOW).plays(BELOW);
    let student = student.plays(Player::IN_THE_BAND).plays(BELOW);
    let (_, verdict) = student.verdict();
    let used: Vec<bool> = used(&verdict);
    assert_eq!((&verdict["verdict"], used), (&"met".into(), vec![true, false, false, true, false]));
    let (_, verdict) = student.plays(BELOW).verdict();
    assert_eq!(verdict["verdict"], "undecided", "the first one is not among the last five: {verdict}");
}

fn used(verdict: &Value) -> Vec<bool> {
    verdict["takes"].as_array().expect("takes").iter().map(|take| take["used"] == true).collect()
}

#[test]
fn takes_with_technical_faults_are_set_aside_and_nothing_counts_against_the_player() {
    let few = Player { notes: 15, ..Player::IN_THE_BAND };
    let ghosts = |take: SentTake| {
        // A ghost a bar: soft and short.
        let soft = take.notes.replacen("54 ", "0a ", 16).replacen("9480/80", "400/80", 16);
        SentTake { notes: soft, ..take }
    };
    let student = Student::new()
        .plays(few)
        .plays_otherwise(BELOW, |take| SentTake { spread_ms: Some(31.0), ..take })
        .plays_otherwise(BELOW, ghosts)
        .plays(Player::IN_THE_BAND)
        .plays_otherwise(Player::IN_THE_BAND, |take| SentTake { spread_ms: Some(19.0), ..take });
    let (code, verdict) = student.verdict();
    assert_eq!((code, used(&verdict)), (Some(0), vec![false, false, false, true, true]), "{verdict}");
    let why = |index: usize| verdict["takes"][index]["why"].as_str().unwrap_or_default().to_owned();
    assert!(why(0).starts_with("no verdict: 30 notes, 60 are needed"), "{}", why(0));
    assert!(
        why(1).contains("measured within 31 ms") && why(1).contains("Nothing counts against you"),
        "{}",
        why(1)
    );
    assert!(
        why(2).starts_with("take set aside: ghosts") && why(2).ends_with("Nothing counts against you"),
        "{}",
        why(2)
    );
}

#[test]
fn takes_that_are_not_for_the_assignment_say_why_and_other_charts_are_passed_over() {
    let slow = |take: SentTake| SentTake { quarter_us: 600_000, ..take };
    let bossa = |take: SentTake| SentTake { feel: Some("bossa".to_owned()), ..take };
    let stopped = |take: SentTake| SentTake { stopped: Some(take.end_ticks / 2 + 9_999), ..take };
    let text = assignment_text() + "feel = \"swing\"\n";
    let student = Student::with(&text)
        .plays_otherwise(Player::IN_THE_BAND, slow)
        .plays_otherwise(Player::IN_THE_BAND, bossa)
        .plays_otherwise(Player::IN_THE_BAND, stopped);
    assert_eq!(student.run(&["demo", "-o", "data/takes/take-0009.mid"]).code, Some(0));
    let other = student.path("other.bars");
    fs::write(&other, "| F7 | Bb7 |\n").expect("a chart");
    let (_, verdict) = student.verdict();
    let why: Vec<&str> =
        verdict["takes"].as_array().expect("takes").iter().filter_map(|take| take["why"].as_str()).collect();
    let expect = ["tempo 100, asked 116-132", "feel bossa, asked swing", "1 whole choruses, asked 2"];
    assert_eq!(why, expect, "{verdict}");
    assert_eq!(verdict["takes"].as_array().map(Vec::len), Some(4), "the demo is over the same chart");
}

#[test]
fn a_student_is_told_what_a_review_of_the_take_has() {
    let student = Student::new().plays(Player::IN_THE_BAND).plays(BELOW);
    let (_, verdict) = student.verdict();
    for take in [1, 2] {
        let run = student.run(&["review", &take.to_string(), "--lenient", "--json"]);
        let review: Value = serde_json::from_str(&run.stdout).expect("a review");
        let chord = &verdict["takes"][take - 1]["bands"][0];
        assert_eq!(chord["n"], review["totals"]["chord"]["n"], "take {take}");
        assert_eq!(chord["of"], review["totals"]["counted"], "take {take}");
    }
}

#[test]
fn a_hand_in_shows_what_it_holds_and_is_not_written_unasked() {
    let student = Student::new().plays(Player::IN_THE_BAND).plays(Player::IN_THE_BAND);
    let run = student.run(&["assign", "hand-in", "week.toml"]);
    assert_eq!((run.code, run.stdout.as_str()), (Some(2), ""));
    for words in ["No sound, no name, no time of day", "Under age: as your school and parents agree", "--yes"]
    {
        assert!(run.stderr.contains(words), "{words}: {}", run.stderr);
    }
    assert!(!student.path("week.hand-in.toml").exists());
    let run = student.run(&["assign", "hand-in", "week.toml", "--yes", "--note", "Bar 9 was hard"]);
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    let hand_in = HandIn::parse(&student.handed_in()).expect("a hand-in");
    assert_eq!(hand_in.note.as_deref(), Some("Bar 9 was hard"));
    assert_eq!((hand_in.name, hand_in.take.len(), hand_in.verdict.verdict.as_str()), (None, 2, "met"));
}

#[test]
fn a_hand_in_has_no_name_no_path_and_no_time_of_day() {
    let student = Student::new().plays(Player::IN_THE_BAND).plays(Player::IN_THE_BAND);
    // A take whose file says more than it should: a chart with a name in it, a path, a text with a time.
    let path = student.path("data/takes/take-0001.mid");
    let midi = barwise::take::MidiFile::parse(&fs::read(&path).expect("a take")).expect("MIDI");
    let imprint = barwise::take::Imprint::of(&midi).expect("an imprint");
    let chart = imprint.chart.replace("title:", "by: Anna Blume\ntitle:");
    let mut settings = imprint.settings.clone();
    settings.insert("owner".to_owned(), "Anna Blume".into());
    let imprint =
        barwise::take::Imprint { chart, chart_name: "/home/anna/bus.bars".to_owned(), settings, ..imprint };
    let file = barwise::take::TakeFile {
        tempo: midi.tempo.clone(),
        meters: midi.meters.clone(),
        markers: vec![(barwise::time::Ticks(9), "recorded 2026-11-25T18:04:09 by Anna Blume".to_owned())],
        solo: midi.tracks[2].messages.iter().map(|timed| (timed.at, timed.message)).collect(),
        texts: vec![imprint.to_text(), "Anna Blume, 18:04".to_owned()],
        ..barwise::take::TakeFile::default()
    };
    fs::write(&path, file.to_bytes()).expect("a take");
    let run = student.run(&["assign", "hand-in", "week.toml", "--yes"]);
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    let text = student.handed_in();
    assert_eq!(HandIn::parse(&text).expect("a hand-in").take.len(), 2, "{}", run.stderr);
    let home = student.desk.folder.path().display().to_string();
    for private in ["Anna", "anna", "18:04", "owner", "bars", home.as_str()] {
        assert!(!text.contains(private), "{private}");
    }
    let time = text.lines().filter(|line| !line.starts_with(|sign: char| sign.is_ascii_digit()));
    let time: Vec<&str> = time.filter(|line| line.contains(':') && !line.starts_with('#')).collect();
    assert_eq!(time, Vec::<&str>::new(), "a time of day would have a colon");
}

#[test]
fn a_name_stands_in_the_file_where_it_is_asked_for_and_that_is_said() {
    let student = Student::new().plays(Player::IN_THE_BAND).plays(Player::IN_THE_BAND);
    let run =
        student.run(&["assign", "hand-in", "week.toml", "--yes", "--name", "student-05", "-o", "g.toml"]);
    assert!(
        run.stderr.contains("your name: student-05") && !run.stderr.contains("no name"),
        "{}",
        run.stderr
    );
    let text = fs::read_to_string(student.path("g.toml")).expect("a hand-in");
    assert!(text.contains("Your name.") && !text.contains("no name"), "{text}");
    fs::write(student.path("letter.toml"), "Dear teacher").expect("a file");
    let run = student.run(&["assign", "hand-in", "week.toml", "--yes", "-o", "letter.toml"]);
    assert_eq!(run.code, Some(2));
    assert_eq!(fs::read_to_string(student.path("letter.toml")).expect("text"), "Dear teacher");
}

#[test]
fn what_the_teacher_sees_is_what_the_student_was_told() {
    let student = Student::new().plays(Player::IN_THE_BAND).plays(BELOW).plays(BELOW);
    let (_, verdict) = student.verdict();
    assert_eq!(student.run(&["assign", "hand-in", "week.toml", "--yes", "-o", "in.toml"]).code, Some(0));
    fs::create_dir(student.path("in")).expect("a folder");
    fs::rename(student.path("in.toml"), student.path("in/in.toml")).expect("moved");
    let run = student.run(&["class", "in", "--assignment", "week.toml", "--json"]);
    let class: Value = serde_json::from_str(&run.stdout).expect("a document");
    assert_eq!(class["students"][0]["sentence"], verdict["sentence"]);
    assert_eq!(class["students"][0]["bands"], verdict["bands"]);
}

#[test]
fn a_note_is_contested_counted_both_ways_and_withdrawn() {
    let student = Student::new().plays(BELOW).plays(BELOW);
    let contest = ["takes", "contest", "1", "9.2", "--as", "chord", "--reason", "the band plays it"];
    let run = student.run(&contest);
    assert!(
        run.code == Some(2) && run.stderr.contains("is in choruses 1, 2: write --chorus N"),
        "{}",
        run.stderr
    );
    let run = student.run(&[&contest[..], &["--chorus", "2"]].concat());
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    let (_, verdict) = student.verdict();
    assert_eq!(
        (&verdict["contested"]["notes"], &verdict["contested"]["verdict"]),
        (&1.into(), &"clearly below".into())
    );
    assert_eq!(verdict["contested"]["contests"][0]["reason"], "the band plays it");
    assert_eq!(student.run(&["assign", "hand-in", "week.toml", "--yes"]).code, Some(0));
    assert_eq!(HandIn::parse(&student.handed_in()).expect("a hand-in").contest.len(), 1);
    let withdraw = ["takes", "withdraw", "1", "9.2", "--chorus", "2"];
    assert_eq!(student.run(&withdraw).code, Some(0));
    assert_eq!(student.verdict().1.get("contested"), None);
    let run = student.run(&withdraw);
    assert!(run.code == Some(2) && run.stderr.contains("is not contested"), "{}", run.stderr);
}

const NEW: [&str; 20] = [
    "assign",
    "new",
    "new.toml",
    "--chart",
    "bus-shelter",
    "--tempo",
    "116-132",
    "--choruses",
    "2",
    "--chord",
    "55-70",
    "--open",
    "-5",
    "--landings",
    "50-",
    "--due",
    "2026-12-03",
    "--title",
    "Thursday \"4\"",
    "--any-two",
];

#[test]
fn an_assignment_is_written_shown_and_read_back() {
    let student = Student::new();
    let run = student.run(&[&NEW[..], &["--question", "Does bar 9 turn to G?"]].concat());
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    let text = fs::read_to_string(student.path("new.toml")).expect("a file");
    let seen: Vec<String> =
        run.stdout.lines().map(|line| format!("# {line}").trim_end().to_owned()).collect();
    let comments: Vec<&str> = text.lines().take(seen.len()).collect();
    assert_eq!(comments, seen, "what the student sees is word for word in the file");
    assert!(seen.iter().all(|line| line.chars().count() <= 80), "{seen:#?}");
    for words in
        ["running the scale here: 57", "recorded soloists: 48 to 57", "not for marks", "By luck alone"]
    {
        assert!(run.stdout.contains(words), "{words}: {}", run.stdout);
    }
    let read = Assignment::parse("new.toml", &text).expect("an assignment");
    assert_eq!(read.task.tempo, TempoBand::new(116.0, 132.0));
    assert_eq!(read.words.title.as_deref(), Some("Thursday \"4\""));
    assert_eq!(student.run(&["assign", "show", "new.toml"]).stdout, run.stdout);
    let again = student.run(&NEW);
    assert!(
        again.code == Some(2) && again.stderr.contains("there is such a file already"),
        "{}",
        again.stderr
    );
    let as_bands = student.run(&["demo", "-o", "demo.mid"]).code;
    assert_eq!(as_bands, Some(0));
    let check = student.run(&["review", "demo.mid", "--check", "new.toml", "--json"]);
    assert!(check.stdout.contains("barwise.verdict"), "the same file is one of bands: {}", check.stderr);
}

#[test]
fn narrow_bands_and_bands_that_scales_run_into_are_warned_of() {
    let line = |band| ["assign", "new", "x.toml", "--chart", "bus-shelter", "--chord", band];
    let student = Student::new();
    let run = student.run(&line("60-70"));
    assert!(run.stderr.contains("narrower than 15 points"), "{}", run.stderr);
    let run = student.run(&[&line("50-65")[..], &["--replace"]].concat());
    assert!(
        !run.stderr.contains("narrower") && run.stderr.contains("Running the scale, 57 %"),
        "{}",
        run.stderr
    );
}

#[test]
fn a_model_take_travels_and_can_be_heard_and_compared() {
    let student = Student::new().plays(Player::IN_THE_BAND).plays(BELOW);
    let run = student.run(&[&NEW[..], &["--model", "1"]].concat());
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    let text = fs::read_to_string(student.path("new.toml")).expect("a file");
    let read = Assignment::parse("new.toml", &text).expect("an assignment").model.expect("a model");
    assert_eq!((read.take, read.day.as_deref()), (None, None), "no number and no day of the teacher's");
    let run = student.run(&["assign", "model", "new.toml", "2", "--json"]);
    let model: Value = serde_json::from_str(&run.stdout).expect("a document");
    assert_eq!(model["bars"].as_array().map(Vec::len), Some(16));
    assert!(model["bars"][0]["yours"]["counted"].as_f64() > Some(0.0), "{model}");
    assert_eq!(student.run(&["assign", "model", "new.toml", "-o", "model.mid"]).code, Some(0));
    let totals = |named: &str| {
        let printed = student.desk.printed(&["review", named, "--totals", "--json"]);
        serde_json::from_str::<Value>(&printed).expect("a review")["totals"].clone()
    };
    assert_eq!(totals("model.mid"), totals("1"), "the model sounds and counts as the take did");
}

#[test]
fn any_of_several_keys_will_do() {
    let text = assignment_text() + "key = \"Eb, F\"\n";
    let in_f = |take: SentTake| SentTake { key: 1, ..take };
    let student = Student::with(&text).plays_otherwise(Player::IN_THE_BAND, in_f).plays(Player::IN_THE_BAND);
    let (_, verdict) = student.verdict();
    let standing: Vec<&Value> =
        verdict["takes"].as_array().expect("takes").iter().map(|take| &take["standing"]).collect();
    assert_eq!(standing, ["counts", "counts"], "{verdict}");
}

#[test]
fn a_file_of_bands_alone_says_what_it_lacks() {
    let student = Student::with(&assignment_text());
    student.desk.write("bands.toml", b"chord = \"55-70\"\n");
    let run = student.run(&["assign", "check", "bands.toml"]);
    assert!(run.code == Some(2) && run.stderr.contains("bands.toml: names no chart"), "{}", run.stderr);
    student.desk.write("odd.toml", (assignment_text() + "[settings]\nsuss = \"7\"\n").as_bytes());
    let run = student.run(&["assign", "show", "odd.toml"]);
    assert!(run.code == Some(2) && run.stderr.contains("odd.toml: settings: "), "{}", run.stderr);
    let slip = assignment_text().replace("Ebmaj7", "Ebmj7");
    student.desk.write("slip.toml", slip.as_bytes());
    let run = student.run(&["assign", "show", "slip.toml"]);
    assert!(run.code == Some(2) && run.stderr.contains("Did you mean Ebmaj7?"), "{}", run.stderr);
}
