//! A class of 30 and of 3,000 hand-ins, in one run: time, the ratio of the two for each hand-in, and the most memory this
//! process ever had. Then two hundred hostile hand-ins, each alone: the slowest.
//!
//! `cargo bench --bench class`. Hand-ins have five takes of 192 notes; a fifth of the class plays below the band.

use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

use barwise::command::class::{ClassArgs, run};
use barwise::command::output::Output;
use barwise::report::{Ink, OutputForm, Signs};

#[path = "../tests/support/hand_ins.rs"]
mod hand_ins;
#[path = "../tests/support/hostile.rs"]
mod hostile;

use hand_ins::{Player, assigned, assignment_text, hand_in, text};

fn main() {
    // `cargo test --benches` runs benchmarks too, to see that they run.
    let quick = std::env::args().any(|argument| argument == "--test");
    let large = if quick { 60 } else { 3_000 };
    let small = of_class(30);
    let time = |took: Duration| format!("{:.3} s", took.as_secs_f64());
    println!("30 hand-ins      {}   {}", time(small), peak_memory());
    let all = of_class(large);
    let each = |took: Duration, hand_ins: u32| took.as_secs_f64() / f64::from(hand_ins);
    let ratio = each(all, large) / each(small, 30);
    println!(
        "{large} hand-ins    {}   {}   each {ratio:.2} times as long as of 30",
        time(all),
        peak_memory()
    );
    let (slowest, name) = slowest_hostile();
    println!("hostile, alone   {} at the most: {name}", time(slowest));
}

/// How long a class of so many takes, its files written before.
fn of_class(hand_ins: u32) -> Duration {
    let home = tempfile::tempdir().expect("a folder");
    let inside = home.path().join("in");
    fs::create_dir(&inside).expect("a folder");
    fs::write(home.path().join("class.toml"), assignment_text()).expect("a file");
    let assigned = assigned();
    for student in 0..hand_ins {
        let below = Player { chord: 0.4, outside: 0.05, notes: 96 };
        let player = if student % 5 == 0 { below } else { Player::IN_THE_BAND };
        let name = format!("student-{student:04}");
        let hand_in = hand_in(&assigned, &name, player, 5, student.into());
        fs::write(inside.join(format!("{name}.toml")), text(&hand_in)).expect("a file");
    }
    shown(home.path())
}

/// How long it takes to show the class in a folder.
fn shown(home: &Path) -> Duration {
    let args = ClassArgs {
        folder: home.join("in"),
        assignment: home.join("class.toml"),
        students: None,
        bars: true,
        csv: None,
        html: None,
    };
    let mut page = Vec::new();
    let form = OutputForm::Terminal { width: 80, ink: Ink::Plain, signs: Signs::Unicode };
    let began = Instant::now();
    let mut out = Output::new(form, &mut page, std::io::sink());
    run(&args, &mut out).map_err(|failure| failure.message().to_owned()).expect("a class");
    drop(out);
    let took = began.elapsed();
    assert!(!page.is_empty());
    took
}

/// The hostile hand-in that takes longest.
fn slowest_hostile() -> (Duration, String) {
    let home = tempfile::tempdir().expect("a folder");
    fs::write(home.path().join("class.toml"), assignment_text()).expect("a file");
    let inside = home.path().join("in");
    fs::create_dir(&inside).expect("a folder");
    let each = hostile::all(&assigned()).into_iter().map(|(name, bytes)| {
        let path = inside.join(&name);
        fs::write(&path, bytes).expect("a file");
        let took = shown(home.path());
        fs::remove_file(&path).expect("away");
        (took, name)
    });
    each.max().expect("hostile hand-ins")
}

/// The most memory this process ever had, where the system says it.
fn peak_memory() -> String {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let peak = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    peak.map_or_else(String::new, |peak| format!("memory at the most {}", peak.trim()))
}
