//! Ten years of practice: 20,000 takes of 300 notes and 77,000 entries, made by a seeded generator in a temporary folder.
//! At a tenth, a half and all of them: how much disk they take, and how long it takes to open the index, to ask for what
//! the first screen shows, for the weeks of one chart and of all, and to make the index again. Beside each time stands
//! what it is of a bare reading and hashing of the same take files in the same run.
//!
//! `cargo bench --bench ten_years`; without `--bench`, as `cargo test --benches` runs it, a few takes only.

use std::fs::{self, File};
use std::hint::black_box;
use std::path::Path;
use std::time::{Duration, Instant, SystemTime};

use barwise::chart::Backing;
use barwise::judge::kept::{Line, take_file};
use barwise::judge::{Choices, fingerprint};
use barwise::store::index::{self, About, Filter, Index, Judging};
use barwise::store::journal::entry::{Answer, Contest, DrillAnswer, Entry, HeardAs, NoteName, NoteToSelf};
use barwise::store::journal::{self, Journal};
use barwise::take::{ChannelMessage, Imprint};
use barwise::theory::chord::BareSymbols;
use barwise::time::{Nanos, TempoMap};
use jiff::Timestamp;

/// Takes of ten years: five or six a day.
const TAKES: u32 = 20_000;
/// Notes of a take.
const NOTES: i64 = 300;
/// Answers in drills a take.
const ANSWERS: u32 = 7;
/// Items of the drills.
const ITEMS: u64 = 600;
/// The first day, in seconds from 1970.
const BEGAN: u64 = 1_480_000_000;
/// Seconds from one take to the next, over ten years.
const APART: u64 = 10 * 365 * 86_400 / TAKES as u64;
/// How often what is quick is asked; the median counts.
const TIMES: usize = 5;

/// A seeded generator (splitmix64): numbers below what it is given.
struct Draw(u64);

impl Draw {
    fn below(&mut self, most: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (z ^ (z >> 31)) % most
    }
}

fn main() {
    let is_bench = std::env::args().any(|argument| argument == "--bench");
    let all = if is_bench { TAKES } else { 20 };
    let folder = tempfile::tempdir().expect("a folder");
    let data = folder.path();
    println!("of {all} takes:     10 %, 50 %, 100 %; times as (share of a bare reading of the take files)");
    let mut made = 0;
    for takes in [all / 10, all / 2, all] {
        for number in made + 1..=takes {
            make_take(data, number);
        }
        make_entries(data, made, takes);
        made = takes;
        measure(data, takes);
    }
}

/// Writes one take, on its day.
fn make_take(data: &Path, number: u32) {
    let mut draw = Draw(number.into());
    let backing = &Backing::ALL[draw.below(Backing::ALL.len() as u64) as usize];
    let imprint = Imprint {
        chart: backing.text.to_owned(),
        chart_name: format!("{}.bars", backing.stem),
        count_in_ticks: 0,
        choruses: 3,
        ..Imprint::default()
    };
    let tempo = TempoMap::at_bpm(100.0 + draw.below(20) as f64 * 4.0);
    let wire = |bytes: [u8; 3]| ChannelMessage::from_wire(&bytes).expect("a message");
    let (mut at, mut key, mut solo) = (0, 64, Vec::new());
    for _ in 0..NOTES {
        key = (key + draw.below(9) as i64 - 4).clamp(45, 84);
        let length = [150, 250, 250, 400][draw.below(4) as usize] * 1_000_000;
        solo.push((Nanos(at), wire([0x90, key as u8, 60 + draw.below(50) as u8])));
        solo.push((Nanos(at + length * 9 / 10), wire([0x80, key as u8, 0])));
        at += length;
    }
    let line = Line { solo, gaps: Vec::new() };
    let file = take_file(&imprint, &tempo, BareSymbols::default(), line).expect("a chart that reads");
    let path = data.join(format!("takes/take-{number:04}.mid"));
    fs::create_dir_all(data.join("takes")).expect("a folder");
    fs::write(&path, file.to_bytes()).expect("a take");
    let written = SystemTime::UNIX_EPOCH + Duration::from_secs(BEGAN + APART * u64::from(number));
    File::options().write(true).open(&path).and_then(|file| file.set_modified(written)).expect("a time");
}

/// Enters what belongs to takes: answers in drills, notes to self, contests.
fn make_entries(data: &Path, after: u32, last: u32) {
    let journal = Journal::in_folder(data);
    let mut draw = Draw(u64::from(last) << 32);
    let numbers: Vec<u32> = (after + 1..=last).collect();
    for some in numbers.chunks(500) {
        let mut entries = Vec::new();
        for &take in some {
            for _ in 0..ANSWERS * u32::from(take % 2 == 0) {
                let item = format!("position from {} in key {}", draw.below(7), draw.below(ITEMS / 7));
                let answer = if draw.below(4) == 0 {
                    Answer::Slip("skipped its b7".to_owned())
                } else {
                    Answer::Right
                };
                entries.push(Entry::Drill(DrillAnswer { item, answer, ms: draw.below(9_000) as u32 }));
            }
            if take % 4 == 0 {
                entries.push(Entry::Note(NoteToSelf { take, text: "more space in the bridge".to_owned() }));
            }
            if take % 10 == 0 {
                let (note, reason) = (NoteName::Index(draw.below(300) as usize), "it leads on".to_owned());
                entries.push(Entry::Contest(Contest { take, note, heard_as: HeardAs::Resolved, reason }));
            }
        }
        let at = BEGAN + APART * u64::from(*some.last().expect("some takes"));
        let at = Timestamp::from_second(at.cast_signed()).expect("a time");
        journal.append_all(entries, at).expect("written");
    }
}

fn judging_choices(_: &serde_json::Map<String, serde_json::Value>) -> Choices {
    Choices::default()
}

const JUDGING: Judging<'_> = Judging { choices: &judging_choices, progress: &|_, _| {} };

fn measure(data: &Path, takes: u32) {
    let bare = timed(|| {
        for number in 1..=takes {
            let bytes = fs::read(data.join(format!("takes/take-{number:04}.mid"))).expect("a take");
            black_box(fingerprint(&bytes));
        }
    });
    let rebuilt = timed(|| {
        let mut index = Index::open(data).expect("an index");
        let done = index.rebuild(JUDGING).expect("made");
        assert_eq!((done.takes, done.judged), (takes as usize, takes as usize));
        assert_eq!(index.troubles(), []);
    });
    let open = median(|| drop(black_box(Index::open(data).expect("an index"))));
    let mut index = Index::open(data).expect("an index");
    let all = Filter::default();
    let digests = index.digests(&all, JUDGING).expect("digests");
    assert_eq!(digests.len(), takes as usize);
    let form_sha256 = digests.last().map(|digest| digest.form_sha256.clone());
    let one = Filter { form_sha256, ..all.clone() };
    let nothing_new = median(|| _ = black_box(index.refresh(JUDGING).expect("refreshed")));
    let home = median(|| {
        black_box(index.charts(JUDGING).expect("charts"));
        black_box(index.records(About::LastOfEach("drill")).expect("answers"));
        black_box(index.records(About::Kind("assignment")).expect("assignments"));
    });
    let listed = median(|| drop(black_box(index.takes(&all, JUDGING).expect("takes"))));
    let one_chart = median(|| drop(black_box(index.digests(&one, JUDGING).expect("digests"))));
    let all_charts = median(|| drop(black_box(index.digests(&all, JUDGING).expect("digests"))));
    let said = |name: &str, took: Duration| {
        let ratio = took.as_secs_f64() / bare.as_secs_f64();
        println!("  {name:<32} {:>10.1} ms   ({ratio:.2})", took.as_secs_f64() * 1e3);
    };
    let megabytes = |bytes: u64| bytes as f64 / 1e6;
    let size = |name: &str| fs::metadata(data.join(name)).map_or(0, |file| file.len());
    let takes_size: u64 = fs::read_dir(data.join("takes"))
        .expect("takes")
        .map(|entry| entry.expect("an entry").metadata().expect("a size").len())
        .sum();
    println!("{takes} takes, {} notes", i64::from(takes) * NOTES);
    println!(
        "  on the disk: takes {:.1} MB, journal {:.1} MB, index {:.1} MB",
        megabytes(takes_size),
        megabytes(size(journal::FILE)),
        megabytes(size(index::FILE))
    );
    said("a bare reading of the takes", bare);
    said("open the index", open);
    said("find that nothing is new", nothing_new);
    said("what the first screen asks", home);
    said("list all takes", listed);
    said("weeks of one chart", one_chart);
    said("weeks of all charts", all_charts);
    said("make the index again", rebuilt);
}

fn timed(work: impl FnOnce()) -> Duration {
    let began = Instant::now();
    work();
    began.elapsed()
}

fn median(mut work: impl FnMut()) -> Duration {
    let mut times: Vec<Duration> = (0..TIMES).map(|_| timed(&mut work)).collect();
    times.sort();
    times[TIMES / 2]
}
