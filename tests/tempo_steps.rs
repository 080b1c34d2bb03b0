//! Tempo steps: two takes met by the bands in use offer the next tempo, and nothing is raised by itself.

#[path = "support/desk.rs"]
mod desk;

use barwise::judge::kept::{Line, take_file};
use barwise::take::{ChannelMessage, Imprint, MidiFile, TakeFile, writer::writable};
use barwise::theory::chord::BareSymbols;
use barwise::time::{TempoMap, TickSpan, Ticks};
use desk::Desk;

const CHART: &str = "title: One Chord\ntempo: 300\n| F7 |\n";

/// Sixteenths of an F7 up and down, chord tones all, four bars of them.
fn line(tempo: &TempoMap) -> Line {
    let mut solo = Vec::new();
    for index in 0..64 {
        let at = Ticks::ZERO + TickSpan(5_040) * index;
        let key = [53, 57, 60, 63, 65, 63, 60, 57][index as usize % 8];
        for (at, wire) in [(at, [0x90, key, 90]), (at + TickSpan(4_500), [0x80, key, 0])] {
            solo.push((tempo.nanos(at), ChannelMessage::from_wire(&wire).expect("a message")));
        }
    }
    Line { solo, gaps: Vec::new() }
}

fn desk() -> Desk {
    let desk = Desk::new();
    desk.write("one.bars", CHART.as_bytes());
    desk.write("easy.toml", b"chord = \"50-\"\n");
    desk.write("hard.toml", b"outside = \"90-\"\n");
    std::fs::create_dir_all(desk.folder.path().join("data/takes")).expect("a folder");
    desk
}

/// A desk with takes of these tempi in its folder.
fn with_takes(tempi: &[f64]) -> Desk {
    let desk = desk();
    for (number, &bpm) in (1..).zip(tempi) {
        let tempo = writable(&TempoMap::at_bpm(bpm));
        let imprint = Imprint { chart: CHART.to_owned(), choruses: 4, ..Imprint::default() };
        let take = take_file(&imprint, &tempo, BareSymbols::default(), line(&tempo)).expect("a take");
        desk.write(&format!("data/takes/take-{number:04}.mid"), &take.to_bytes());
    }
    desk
}

/// What `--tempo next` says, and the tempo it takes; heard from a backing, which takes no time to play.
fn next(desk: &Desk, flags: &[&str]) -> (String, f64) {
    let line = ["render", "one.bars", "-o", "b.mid", "--tempo", "next"];
    let run = desk.command(&[&line, flags].concat()).output().expect("it runs");
    let told = String::from_utf8_lossy(&run.stderr).into_owned();
    assert!(run.status.success(), "{told}");
    let file = std::fs::read(desk.folder.path().join("b.mid")).expect("a file");
    let quarter = MidiFile::parse(&file).expect("a MIDI file").tempo.quarter(Ticks::ZERO);
    (told, (60e9 / quarter.0 as f64).round())
}

fn check(desk: &Desk, flags: &[&str], expect: (&str, f64)) {
    let (told, tempo) = next(desk, flags);
    assert!(told.contains(expect.0) && (tempo - expect.1).abs() < 0.5, "{told} {tempo}");
}

#[test]
fn the_next_tempo_follows_from_the_takes_and_the_bands_in_use() {
    let without = desk();
    check(&without, &[], ("--tempo next: no take of it yet, so its own tempo: 300.", 300.0));
    let one = with_takes(&[240.0]);
    one.printed(&["settings", "assignment", "easy.toml"]);
    check(&one, &[], ("one take at 240, met; two are to be met: 240 again.", 240.0));
    let two = with_takes(&[240.0, 240.0]);
    check(&two, &[], ("240 as last time, for no bands say when a take is met", 240.0));
    two.printed(&["settings", "assignment", "hard.toml"]);
    check(&two, &[], ("none of the last 2 takes at 240 met, and two are to be: 240 again.", 240.0));
    two.printed(&["settings", "assignment", "easy.toml"]);
    check(&two, &[], ("--tempo next: two takes met at 240: 244.", 244.0));
    check(&two, &["--bars", "1"], ("no take of it yet", 300.0));
    let refused = two.command(&["settings", "assignment", "gone.toml"]).output().expect("it runs");
    assert_eq!(refused.status.code(), Some(2), "what is not there is not taken");
    std::fs::remove_file(two.folder.path().join("easy.toml")).expect("it was there");
    check(&two, &[], ("easy.toml: there is no such file", 240.0));
    let stepped = with_takes(&[240.0, 240.0, 244.0, 244.0]);
    stepped.printed(&["settings", "assignment", "easy.toml"]);
    check(&stepped, &[], ("up from 240 today, which is step enough for a day: 244 again.", 244.0));
}

#[test]
fn the_step_is_offered_behind_a_take_and_not_taken() {
    let desk = with_takes(&[300.0]);
    let tempo = writable(&TempoMap::at_bpm(300.0));
    let file = TakeFile { solo: line(&tempo).solo, tempo, ..TakeFile::default() };
    desk.write("line.mid", &file.to_bytes());
    let line = ["play", "one.bars", "--midi-file", "line.mid", "--no-audio", "--headless"];
    let run = desk.command(&[&line[..], &["--assignment", "easy.toml"]].concat()).output().expect("it runs");
    let told = String::from_utf8_lossy(&run.stderr);
    assert!(told.contains("two takes met at 300: 304 next time: --tempo 304"), "{told}");
    let file = std::fs::read(desk.folder.path().join("data/takes/take-0002.mid")).expect("the take");
    let quarter = MidiFile::parse(&file).expect("a MIDI file").tempo.quarter(Ticks::ZERO);
    assert_eq!(quarter.0, 200_000_000);
}
