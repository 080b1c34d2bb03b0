//! Kills, full disks and damages, through the program's own door: no take is lost, nothing that was entered is, and what
//! is wrong is said. Moments and damages are drawn with a seeded generator.

#[path = "support/desk.rs"]
mod desk;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

use desk::Desk;
use serde_json::Value;

/// Takes on the desk.
const TAKES: u32 = 8;

/// A seeded generator (splitmix64): numbers below what it is given.
struct Draw(u64);

impl Draw {
    fn below(&mut self, most: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (z ^ (z >> 31)) % most.max(1)
    }
}

/// A desk with takes on it, each unlike the others.
fn desk() -> Desk {
    let desk = Desk::new();
    fs::create_dir_all(data(&desk, "takes")).expect("a folder");
    desk.printed(&["demo", "-o", "demo.mid", "--headless"]);
    let demo = fs::read(desk.folder.path().join("demo.mid")).expect("the demo's take");
    for number in 1..=TAKES {
        // A track of its own at the end of the file, which no review looks at: a text with the number.
        let text = format!("take {number}");
        let event = [&[0, 0xFF, 0x01, text.len() as u8], text.as_bytes(), &[0, 0xFF, 0x2F, 0]].concat();
        let track = [&b"MTrk"[..], &(event.len() as u32).to_be_bytes(), &event].concat();
        let mut bytes = [&demo[..], &track].concat();
        bytes[11] += 1;
        desk.write(&format!("data/takes/take-{number:04}.mid"), &bytes);
    }
    desk
}

fn data(desk: &Desk, name: &str) -> PathBuf {
    desk.folder.path().join("data").join(name)
}

fn take(desk: &Desk, number: u32) -> PathBuf {
    data(desk, &format!("takes/take-{number:04}.mid"))
}

/// Every take's bytes by its number, wherever it lies; one that lies in two places is none.
fn takes_anywhere(desk: &Desk) -> BTreeMap<u32, Vec<u8>> {
    let places = |number| [take(desk, number), data(desk, &format!("takes/bin/take-{number:04}.mid"))];
    let read = |number| {
        let found: Vec<_> = places(number).iter().filter_map(|path| fs::read(path).ok()).collect();
        <[Vec<u8>; 1]>::try_from(found).ok().map(|[bytes]| (number, bytes))
    };
    (1..=TAKES).filter_map(read).collect()
}

fn journal(desk: &Desk) -> Vec<u8> {
    fs::read(data(desk, "journal.jsonl")).unwrap_or_default()
}

fn listed(output: &Output) -> Vec<u64> {
    let document: Value = serde_json::from_slice(&output.stdout).expect("a document");
    document["takes"].as_array().expect("takes").iter().filter_map(|take| take["take"].as_u64()).collect()
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

fn list(desk: &Desk) -> Output {
    desk.command(&["takes", "--json"]).output().expect("it runs")
}

/// Those that stand in the folder of takes.
fn numbers_kept(desk: &Desk) -> Vec<u64> {
    (1..=TAKES).filter(|&number| take(desk, number).exists()).map(u64::from).collect()
}

/// Kills to be made while the program runs.
const KILLS: u32 = 200;

/// What is killed.
const DOOMED: [&[&str]; 4] = [&["takes", "drop"], &["takes", "restore"], &["takes", "rebuild"], &["takes"]];

/// How long each of them takes here when nobody kills it.
fn whole_runs(desk: &Desk) -> [Duration; 4] {
    let run = |arguments: &[&str]| {
        let began = Instant::now();
        desk.printed(arguments);
        began.elapsed()
    };
    desk.printed(&["takes"]);
    [&["takes", "drop", "1"][..], &["takes", "restore", "1"], &["takes", "rebuild"], &["takes"]].map(run)
}

#[test]
fn two_hundred_kills_lose_no_take_and_no_entry() {
    let desk = desk();
    let before = takes_anywhere(&desk);
    let whole = whole_runs(&desk);
    let mut draw = Draw(20_261_130);
    let (mut killed, mut rounds) = (0, 0);
    while killed < KILLS {
        rounds += 1;
        assert!(rounds < 10 * KILLS, "{killed} of {rounds} runs were still there to be killed");
        let kind = draw.below(4) as usize;
        let number = (1 + draw.below(TAKES.into())).to_string();
        let arguments: Vec<&str> =
            DOOMED[kind].iter().copied().chain((kind < 2).then_some(number.as_str())).collect();
        if draw.below(8) == 0 {
            // It may be deleted at any time; just now it may not be there.
            let _ = fs::remove_file(data(&desk, "index.sqlite"));
        }
        let entered = journal(&desk);
        let mut command = desk.command(&arguments);
        let mut run = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().expect("it starts");
        let moment = Instant::now() + whole[kind].mul_f64(draw.below(1_000) as f64 / 1_000.0);
        while Instant::now() < moment {
            std::thread::yield_now();
        }
        if run.try_wait().expect("its state").is_none() {
            killed += 1;
            // It may end by itself this moment.
            let _ = run.kill();
        }
        run.wait().expect("it is gone");
        assert_eq!(takes_anywhere(&desk), before, "round {rounds}, {arguments:?}");
        assert!(journal(&desk).starts_with(&entered), "round {rounds}: something entered is gone");
        if rounds % 20 == 0 {
            let output = list(&desk);
            assert_eq!(listed(&output), numbers_kept(&desk), "round {rounds}: {}", said(&output));
        }
    }
    println!("{killed} of {rounds} runs were killed");
    let output = desk.command(&["takes", "rebuild"]).output().expect("it runs");
    let torn = said(&output).lines().filter(|line| line.contains("does not read")).count();
    assert!(output.status.success() || torn > 0, "{}", said(&output));
    assert_eq!(listed(&list(&desk)), numbers_kept(&desk));
}

/// The program with no file allowed to grow beyond so many blocks of 512 bytes: as on a disk that is full there.
#[cfg(unix)]
fn with_room(desk: &Desk, blocks: u64, arguments: &[&str]) -> Output {
    let told = desk.command(arguments);
    let mut shell = Command::new("sh");
    shell.args(["-c", "trap '' XFSZ; ulimit -f \"$0\"; exec \"$@\"", &blocks.to_string()]);
    shell.arg(told.get_program()).args(told.get_args()).stdin(Stdio::null());
    shell
        .current_dir(desk.folder.path())
        .envs(told.get_envs().filter_map(|(name, value)| Some((name, value?))));
    shell.output().expect("it runs")
}

#[cfg(unix)]
#[test]
fn a_disk_that_is_full_at_twenty_points_loses_nothing_and_is_said() {
    let desk = desk();
    let before = takes_anywhere(&desk);
    for point in 0..20 {
        let number = (1 + point % u64::from(TAKES)).to_string();
        let is_kept = take(&desk, 1 + (point % u64::from(TAKES)) as u32).exists();
        let entered = journal(&desk);
        fs::remove_file(data(&desk, "index.sqlite")).ok();
        let (drop, restore) = (["takes", "drop", &number], ["takes", "restore", &number]);
        // Room for the journal so far, and so many blocks more: for some points the entry fits, for others it does not.
        let blocks = point * 4;
        with_room(&desk, blocks, if is_kept { &drop } else { &restore });
        let output = with_room(&desk, blocks, &["takes", "--json"]);
        assert_eq!(takes_anywhere(&desk), before, "point {point}");
        assert!(journal(&desk).starts_with(&entered), "point {point}: something entered is gone");
        let told = said(&output);
        assert!(told.contains("the index cannot be used ("), "point {point}: {told}");
        assert_eq!(listed(&output), numbers_kept(&desk), "point {point}: {told}");
        let output = list(&desk);
        let told = said(&output);
        assert!(
            told.is_empty() || told.contains("the index was empty; it is made again"),
            "with room again: {told}"
        );
        assert_eq!(listed(&output), numbers_kept(&desk), "point {point}, with room again");
    }
}

/// Damages a file as it is drawn.
fn damage(path: &Path, draw: &mut Draw) {
    let mut bytes = fs::read(path).expect("a take");
    let at = draw.below(bytes.len() as u64) as usize;
    let end = (at + 1 + draw.below(200) as usize).min(bytes.len());
    match draw.below(4) {
        0 => bytes.truncate(at),
        1 => bytes[at..end].fill(0),
        2 => bytes[at] ^= 1 << draw.below(8),
        _ => bytes[at..end].fill_with(|| draw.below(256) as u8),
    }
    fs::write(path, bytes).expect("written");
}

#[test]
fn fifty_damages_to_take_files_are_said_and_cost_no_other_take() {
    let desk = desk();
    list(&desk);
    let mut draw = Draw(7);
    let mut still_read = 0;
    for round in 0..50 {
        let number = 1 + draw.below(TAKES.into()) as u32;
        let whole = fs::read(take(&desk, number)).expect("a take");
        while fs::read(take(&desk, number)).expect("a take") == whole {
            damage(&take(&desk, number), &mut draw);
        }
        let output = list(&desk);
        let (told, listed) = (said(&output), listed(&output));
        let name = format!("take-{number:04}.mid: ");
        assert!(told.contains(&name), "round {round}: {told}");
        let others: Vec<u64> = listed.iter().copied().filter(|&other| other != u64::from(number)).collect();
        assert_eq!(others.len() as u32, TAKES - 1, "round {round}: {told}");
        still_read += u32::from(listed.len() as u32 == TAKES);
        fs::write(take(&desk, number), &whole).expect("as it was");
        assert_eq!(self::listed(&list(&desk)).len() as u32, TAKES, "round {round}: mended");
    }
    println!("{still_read} of 50 damaged takes could still be judged");
}

#[test]
fn programs_that_start_at_once_agree_and_have_nothing_to_say() {
    let desk = desk();
    let start = || {
        let mut command = desk.command(&["takes", "--json"]);
        command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("it starts")
    };
    let running: Vec<_> = (0..8).map(|_| start()).collect();
    for run in running {
        let output = run.wait_with_output().expect("it ends");
        assert_eq!(said(&output), "");
        assert_eq!(listed(&output), numbers_kept(&desk));
    }
}

/// Runs the program as a user who may read the desk and write nothing there; `None` where that cannot be arranged.
#[cfg(unix)]
fn as_reader(desk: &Desk, arguments: &[&str]) -> Option<Output> {
    use std::os::unix::fs::PermissionsExt;
    use std::os::unix::process::CommandExt;
    let may = |path: &Path, mode| fs::set_permissions(path, fs::Permissions::from_mode(mode)).expect("set");
    for folder in [desk.folder.path().to_owned(), data(desk, ""), data(desk, "takes")] {
        may(&folder, 0o555);
    }
    let mut command = desk.command(arguments);
    if rustix::process::geteuid().is_root() {
        command.uid(65_534).gid(65_534);
    }
    // The program itself may lie where that user may not look.
    let output = command.output().ok();
    for folder in [desk.folder.path().to_owned(), data(desk, ""), data(desk, "takes")] {
        may(&folder, 0o755);
    }
    output
}

#[cfg(unix)]
#[test]
fn a_folder_that_can_only_be_read_is_said_and_read() {
    let desk = desk();
    let Some(output) = as_reader(&desk, &["takes", "--json"]) else { return };
    assert!(
        said(&output).contains("index.sqlite: the index cannot be used (it cannot be opened)"),
        "{}",
        said(&output)
    );
    assert_eq!(listed(&output), numbers_kept(&desk));
    list(&desk);
    let output = as_reader(&desk, &["takes", "--json"]).expect("as before");
    assert!(said(&output).contains("the index cannot be used (it cannot be written)"), "{}", said(&output));
    assert_eq!(listed(&output), numbers_kept(&desk));
    assert!(!data(&desk, "index.sqlite-wal").exists());
}

#[test]
fn everything_that_was_entered_outlives_the_index() {
    let desk = desk();
    desk.printed(&["takes", "drop", "2"]);
    desk.printed(&["takes", "drop", "3"]);
    desk.printed(&["takes", "restore", "3"]);
    let before = (listed(&list(&desk)), journal(&desk));
    fs::remove_file(data(&desk, "index.sqlite")).expect("deleted");
    assert_eq!((listed(&list(&desk)), journal(&desk)), before);
    let output = desk.command(&["takes", "rebuild"]).output().expect("it runs");
    let told = said(&output);
    assert!(told.contains("index.sqlite: made again from 7 takes and 10 lines of the journal in "), "{told}");
    assert_eq!((listed(&list(&desk)), journal(&desk)), before);
}

#[test]
fn a_copy_is_read_back_as_it_was() {
    let desk = desk();
    desk.printed(&["takes", "drop", "2"]);
    desk.printed(&["settings", "ascii", "on"]);
    let before: Value = serde_json::from_slice(&list(&desk).stdout).expect("a document");
    let output = desk.command(&["takes", "export", "-o", "copy"]).output().expect("it runs");
    assert!(said(&output).starts_with("copy: 7 takes, 1 in the bin, and the rest of "), "{}", said(&output));
    let copy = desk.folder.path().join("copy");
    assert!(copy.join("settings.toml").exists() && !copy.join("index.sqlite").exists());
    let mut elsewhere = desk.command(&["takes", "--json"]);
    let output = elsewhere.env("BARWISE_DATA_DIR", &copy).output().expect("it runs");
    let after: Value = serde_json::from_slice(&output.stdout).expect("a document");
    let but_for_files = |mut document: Value| {
        for take in document["takes"].as_array_mut().expect("takes") {
            take["file"] = Value::Null;
        }
        document
    };
    assert_eq!(but_for_files(before), but_for_files(after));
    let again = desk.command(&["takes", "export", "-o", "copy"]).output().expect("it runs");
    assert_eq!(again.status.code(), Some(2));
    assert!(said(&again).contains("copy: this is there already; name a folder that is not there yet"));
}

#[test]
fn what_is_deleted_for_good_is_said_first_and_everything_only_when_that_is_agreed_to() {
    let desk = desk();
    let run = |arguments: &[&str]| desk.command(arguments).output().expect("it runs");
    desk.printed(&["takes", "drop", "2"]);
    for number in ["2", "5"] {
        let told = said(&run(&["takes", "drop", number, "--for-good"]));
        assert!(told.starts_with(&format!("take {number}, Bus Shelter, Rain, kept 2")), "{told}");
    }
    assert_eq!(numbers_kept(&desk), [1, 3, 4, 6, 7, 8]);
    assert_eq!(run(&["takes", "restore", "2"]).status.code(), Some(2), "it is gone for good");
    let unasked = run(&["takes", "drop", "--all", "--for-good"]);
    assert_eq!(unasked.status.code(), Some(2));
    assert!(said(&unasked).contains("6 takes; 0 in the bin; the journal"), "{}", said(&unasked));
    assert!(
        said(&unasked).contains("nothing was deleted. --yes deletes without asking"),
        "{}",
        said(&unasked)
    );
    assert_eq!(numbers_kept(&desk).len(), 6);
    fs::write(data(&desk, "letter.txt"), "mine").expect("a file");
    let gone = run(&["takes", "drop", "--all", "--for-good", "--yes"]);
    assert!(gone.status.success(), "{}", said(&gone));
    assert!(said(&gone).contains("letter.txt: not ours, left where it is"), "{}", said(&gone));
    let left: Vec<_> = fs::read_dir(data(&desk, "")).expect("the folder").collect();
    assert_eq!(left.len(), 1, "{left:?}");
    assert_eq!(listed(&list(&desk)), Vec::<u64>::new());
}

#[test]
fn all_takes_go_to_the_bin_and_come_back_one_by_one() {
    let desk = desk();
    let before = takes_anywhere(&desk);
    desk.printed(&["takes", "drop", "--all"]);
    assert_eq!((numbers_kept(&desk), takes_anywhere(&desk)), (vec![], before));
    desk.printed(&["takes", "restore", "3"]);
    assert_eq!(listed(&list(&desk)), [3]);
}
