//! The index against what happens to files and to itself. Whatever it is, the answer stays the same.

use std::collections::BTreeMap;
use std::fs;
use std::time::Duration;

use jiff::Timestamp;

use super::super::journal::entry::{AssignmentEntry, AssignmentRole, Entry, NoteToSelf};
use super::*;
use crate::judge::Choices;
use crate::judge::kept::{Line, take_file};
use crate::take::{ChannelMessage, Imprint};
use crate::theory::chord::BareSymbols;
use crate::time::{Nanos, TempoMap};

/// A data folder and the takes in it.
struct Home {
    folder: tempfile::TempDir,
}

const CHARTS: [&str; 3] = [
    "title: Two Doors\nkey: Eb\n| Fm7 | Bb7 |\n",
    "title: Odd Lamps\n| Am7 | D7 | Gmaj7 | % |\n",
    "title: two doors again\n| F7 |\n",
];

fn choices(settings: &serde_json::Map<String, serde_json::Value>) -> Choices {
    let named = settings.iter().map(|(name, value)| (name.clone(), value.clone()));
    Choices { named: named.collect(), ..Choices::default() }
}

const JUDGING: Judging<'_> = Judging { choices: &choices, progress: &|_, _| {} };

/// The bytes of a take over one of the charts, with so many notes.
fn take(chart: usize, notes: i64, settings: &[(&str, i64)]) -> Vec<u8> {
    let settings = settings.iter().map(|&(name, value)| (name.to_owned(), value.into()));
    let imprint = Imprint {
        chart: CHARTS[chart].to_owned(),
        chart_name: "a.bars".to_owned(),
        count_in_ticks: 0,
        choruses: 2,
        settings: settings.collect(),
        ..Imprint::default()
    };
    let wire = |bytes: [u8; 3]| ChannelMessage::from_wire(&bytes).expect("a message");
    let note = |index: i64| {
        let (at, key) = (Nanos(index * 250_000_000), 60 + (index * 5 % 12) as u8);
        [(at, wire([0x90, key, 80])), (Nanos(at.0 + 200_000_000), wire([0x80, key, 0]))]
    };
    let line = Line { solo: (0..notes).flat_map(note).collect(), gaps: Vec::new() };
    take_file(&imprint, &TempoMap::at_bpm(120.0), BareSymbols::default(), line).expect("a take").to_bytes()
}

impl Home {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        fs::create_dir_all(folder.path().join("takes")).expect("a folder");
        Self { folder }
    }

    /// A home with six takes and a few entries.
    fn lived_in() -> Self {
        let home = Self::new();
        for number in 1..=6 {
            home.keep(number, &take(number as usize % 3, 8 + i64::from(number), &[]));
        }
        home.enter(&[note(2, "lay back"), assignment("week 1"), note(5, "rests")]);
        home
    }

    fn keep(&self, number: u32, bytes: &[u8]) {
        fs::write(self.file(number), bytes).expect("a take");
        let day = std::time::UNIX_EPOCH + Duration::from_secs(1_790_000_000 + 86_400 * u64::from(number));
        let file = fs::File::options().write(true).open(self.file(number)).expect("the take");
        file.set_modified(day).expect("set");
    }

    fn file(&self, number: u32) -> PathBuf {
        self.folder.path().join(format!("takes/take-{number:04}.mid"))
    }

    fn enter(&self, entries: &[Entry]) {
        let journal = Journal::in_folder(self.folder.path());
        journal.append_all(entries.to_vec(), Timestamp::UNIX_EPOCH).expect("written");
    }

    fn path(&self) -> PathBuf {
        self.folder.path().join(FILE)
    }

    fn open(&self) -> Index {
        Index::open(self.folder.path()).expect("an index")
    }

    /// Everything that can be asked, and what was said.
    fn asked(&self) -> (Answers, Vec<Trouble>) {
        let mut index = self.open();
        let answers = Answers {
            takes: index.takes(&Filter::default(), JUDGING).expect("takes"),
            digests: index.digests(&Filter::default(), JUDGING).expect("digests"),
            unlisted: index.unlisted().expect("faults"),
            entered: index
                .records(About::Everything)
                .expect("entries")
                .into_iter()
                .map(|record| record.entry)
                .filter(|entry| !matches!(entry, Entry::Kept { .. }))
                .collect(),
        };
        (answers, index.troubles())
    }

    /// What the files say, by an index that was never on a disk.
    fn truth(&self) -> Answers {
        let elsewhere = Self::new();
        for entry in fs::read_dir(self.folder.path().join("takes")).expect("takes") {
            let from = entry.expect("an entry").path();
            let to = elsewhere.folder.path().join("takes").join(from.file_name().expect("a name"));
            fs::copy(&from, &to).expect("copied");
            let modified = fs::metadata(&from).and_then(|data| data.modified()).expect("a time");
            fs::File::options()
                .write(true)
                .open(&to)
                .and_then(|file| file.set_modified(modified))
                .expect("set");
        }
        let journal = self.folder.path().join(super::super::journal::FILE);
        if journal.exists() {
            fs::copy(journal, elsewhere.folder.path().join(super::super::journal::FILE)).expect("copied");
        }
        let (mut answers, troubles) = elsewhere.asked();
        assert_eq!(troubles, []);
        for take in &mut answers.takes {
            take.path = self.file(take.number);
        }
        let here = |text: &str| {
            text.replace(
                &elsewhere.folder.path().display().to_string(),
                &self.folder.path().display().to_string(),
            )
        };
        for (_, fault) in &mut answers.unlisted {
            *fault = here(fault);
        }
        answers
    }
}

#[derive(Clone, Debug, PartialEq)]
struct Answers {
    takes: Vec<ListedTake>,
    digests: Vec<Digest>,
    unlisted: Vec<(u32, String)>,
    entered: Vec<Entry>,
}

fn note(take: u32, text: &str) -> Entry {
    Entry::Note(NoteToSelf { take, text: text.to_owned() })
}

fn assignment(name: &str) -> Entry {
    let text = "chord = \"55-70\"\n".to_owned();
    Entry::Assignment(AssignmentEntry { name: name.to_owned(), role: AssignmentRole::Kept, text })
}

fn numbers(takes: &[ListedTake]) -> Vec<u32> {
    takes.iter().map(|take| take.number).collect()
}

#[test]
fn a_folder_that_is_not_there_has_no_takes_and_none_is_made() {
    let home = tempfile::tempdir().expect("a folder");
    let data = home.path().join("data");
    let mut index = Index::open(&data).expect("an index");
    assert_eq!(index.takes(&Filter::default(), JUDGING).expect("takes"), []);
    assert_eq!((index.troubles(), data.exists()), (vec![], false));
}

#[test]
fn new_changed_and_vanished_files_are_found_by_themselves() {
    let home = Home::lived_in();
    let done = |index: &mut Index| {
        let done = index.refresh(JUDGING).expect("refreshed");
        (done.takes, done.new, done.changed, done.gone, done.judged)
    };
    let mut index = home.open();
    assert_eq!(done(&mut index), (6, 6, 0, 0, 6));
    assert_eq!(done(&mut home.open()), (6, 0, 0, 0, 0), "nothing is judged twice");
    home.keep(7, &take(0, 40, &[]));
    home.keep(2, &take(1, 41, &[]));
    fs::remove_file(home.file(3)).expect("removed");
    assert_eq!(done(&mut index), (6, 1, 1, 1, 2));
    let takes = index.takes(&Filter::default(), JUDGING).expect("takes");
    assert_eq!(numbers(&takes), [1, 2, 4, 5, 6, 7]);
    assert_eq!(takes[1].title, "Odd Lamps");
    assert_eq!(home.asked().0, home.truth());
}

#[test]
fn takes_are_asked_for_by_what_they_are() {
    let home = Home::lived_in();
    let mut index = home.open();
    let mut check = |filter: Filter, expect: &[u32]| {
        assert_eq!(numbers(&index.takes(&filter, JUDGING).expect("takes")), expect, "{filter:?}");
        let digests = index.digests(&filter, JUDGING).expect("digests");
        assert_eq!(digests.iter().map(|digest| digest.take).collect::<Vec<_>>(), expect);
    };
    let all = Filter::default();
    check(all.clone(), &[1, 2, 3, 4, 5, 6]);
    check(Filter { title: Some("DOORS".to_owned()), ..all.clone() }, &[2, 3, 5, 6]);
    check(Filter { title: Some("odd".to_owned()), ..all.clone() }, &[1, 4]);
    let day = |number: u32| {
        home.open().digests(&Filter::default(), JUDGING).expect("digests")[number as usize - 1].day
    };
    check(Filter { since: Some(day(4)), ..all.clone() }, &[4, 5, 6]);
    check(Filter { until: Some(day(4)), ..all.clone() }, &[1, 2, 3, 4]);
    let third = home.open().digests(&Filter::default(), JUDGING).expect("digests").swap_remove(2);
    check(Filter { chart_sha256: Some(third.chart_sha256), ..all.clone() }, &[3, 6]);
    check(Filter { form_sha256: Some(third.form_sha256), ..all }, &[3, 6]);
}

#[test]
fn charts_are_told_with_their_last_take() {
    let home = Home::lived_in();
    let charts = home.open().charts(JUDGING).expect("charts");
    let told: Vec<_> =
        charts.iter().map(|chart| (chart.last.title.as_str(), chart.takes, chart.last.number)).collect();
    assert_eq!(told, [("Two Doors", 2, 6), ("two doors again", 2, 5), ("Odd Lamps", 2, 4)]);
    assert_eq!(charts[0].feel.as_deref(), Some("swing"));
}

#[test]
fn each_set_of_settings_has_a_tally_of_its_own() {
    let home = Home::new();
    home.keep(1, &take(0, 20, &[("run-share", 1)]));
    home.keep(2, &take(0, 20, &[]));
    let mut index = home.open();
    assert_eq!(index.refresh(JUDGING).expect("refreshed").judged, 2);
    let lenient = |settings: &serde_json::Map<String, serde_json::Value>| {
        let mut choices = choices(settings);
        choices.named.insert("counting".to_owned(), "lenient".into());
        choices
    };
    let other = Judging { choices: &lenient, ..JUDGING };
    assert_eq!(index.refresh(other).expect("refreshed").judged, 2);
    for judging in [JUDGING, other] {
        assert_eq!(index.refresh(judging).expect("refreshed").judged, 0, "both are kept");
        assert_eq!(index.takes(&Filter::default(), judging).expect("takes").len(), 2, "one row a take");
    }
    let print = |digest: &Digest| digest.settings_sha256.clone();
    let by = |judging: Judging<'_>| home.open().digests(&Filter::default(), judging).expect("digests");
    let prints: std::collections::BTreeSet<_> = by(JUDGING).iter().chain(&by(other)).map(print).collect();
    assert_eq!(prints.len(), 4);
}

#[test]
fn a_scale_that_is_kept_has_the_takes_of_its_chart_judged_again_and_no_others() {
    use crate::chart::{Chart, ChordPlace, Decided};
    let home = Home::lived_in();
    let (chart, _) = Chart::parse("a.bars", CHARTS[0], BareSymbols::default()).expect("a chart");
    let decided = Decided { scale: "1,b2".parse().ok(), key: None };
    let kept =
        crate::judge::KeptScale::of(&chart, ChordPlace { bar: 2, chord: 1 }, decided).expect("a chord");
    let kept = std::sync::Arc::new([kept].into_iter().collect());
    let keeping = |settings: &serde_json::Map<String, serde_json::Value>| Choices {
        kept: std::sync::Arc::clone(&kept),
        ..choices(settings)
    };
    let keeping = Judging { choices: &keeping, ..JUDGING };
    let mut index = home.open();
    let two_doors = Filter { title: Some("Two Doors".to_owned()), ..Filter::default() };
    let shares = |index: &mut Index, judging: Judging<'_>| -> Vec<f64> {
        let digests = index.digests(&two_doors, judging).expect("digests");
        digests.iter().filter(|digest| digest.title == "Two Doors").map(|digest| digest.outside.n).collect()
    };
    assert_eq!(index.refresh(JUDGING).expect("refreshed").judged, 6);
    let before = shares(&mut index, JUDGING);
    assert_eq!(index.refresh(keeping).expect("refreshed").judged, 2);
    let after = shares(&mut index, keeping);
    assert!(before.iter().sum::<f64>() < after.iter().sum(), "{before:?} {after:?}");
    assert_eq!(index.takes(&Filter::default(), keeping).expect("takes").len(), 6);
    assert_eq!(index.refresh(JUDGING).expect("refreshed").judged, 0, "both are kept");
    assert_eq!(shares(&mut index, JUDGING), before);
}

#[test]
fn what_cannot_be_judged_or_read_is_told_and_costs_nothing_else() {
    let home = Home::lived_in();
    home.keep(2, b"no MIDI file");
    fs::create_dir(home.file(9)).expect("a folder under the name of a take");
    for _ in 0..2 {
        let (answers, troubles) = home.asked();
        assert_eq!(numbers(&answers.takes), [1, 3, 4, 5, 6]);
        let told: Vec<_> = answers.unlisted.iter().map(|(number, why)| (*number, why.as_str())).collect();
        assert_eq!((told.len(), told[0].0, told[1].0), (2, 2, 9));
        assert!(told[0].1.contains("take-0002.mid: not a MIDI file"), "{told:?}");
        assert!(told[1].1.contains("take-0009.mid: is a folder"), "{told:?}");
        assert_eq!(troubles, []);
    }
}

#[test]
fn deleting_the_index_loses_nothing_that_was_entered() {
    let home = Home::lived_in();
    let before = home.asked().0;
    assert_eq!((before.takes.len(), before.entered.len()), (6, 3));
    fs::remove_file(home.path()).expect("deleted");
    assert_eq!(home.asked(), (before.clone(), vec![]));
    let mut index = home.open();
    let made = index.rebuild(JUDGING).expect("made");
    assert_eq!((made.takes, made.judged, made.entries), (6, 6, 3 + 6), "each take's day is an entry too");
    assert_eq!(home.asked(), (before, vec![]));
}

#[test]
fn the_day_of_a_take_outlives_the_time_of_its_file() {
    let home = Home::lived_in();
    let days = || home.asked().0.digests.iter().map(|digest| digest.day).collect::<Vec<_>>();
    let before = days();
    for number in 1..=6 {
        let file = fs::File::options().write(true).open(home.file(number)).expect("the take");
        file.set_modified(std::time::SystemTime::now()).expect("set");
    }
    assert_eq!(days(), before);
    fs::remove_file(home.path()).expect("deleted");
    assert_eq!(days(), before);
    home.keep(1, &take(2, 30, &[]));
    let another = fs::File::options().write(true).open(home.file(1)).expect("the take");
    another.set_modified(std::time::UNIX_EPOCH + Duration::from_hours(24 * 300)).expect("set");
    assert_ne!(days()[0], before[0], "another line in the file is another take");
}

#[test]
fn a_newer_programs_index_is_left_alone_and_said() {
    let home = Home::lived_in();
    let before = home.asked().0;
    let newer = Connection::open(home.path()).expect("the index");
    newer.pragma_update(None, "user_version", 99).expect("set");
    newer.execute_batch("DROP TABLE takes; CREATE TABLE takes (other)").expect("another layout");
    newer.pragma_update(None, "journal_mode", "DELETE").expect("set");
    drop(newer);
    let bytes = fs::read(home.path()).expect("bytes");
    home.keep(7, &take(0, 12, &[]));
    let (answers, troubles) = home.asked();
    assert_eq!(answers.takes.len(), 7);
    assert_eq!(answers.takes[..6], before.takes);
    assert_eq!(troubles, [Trouble::Newer { path: home.path(), layout: 99 }]);
    assert!(
        troubles[0].to_string().contains("a newer barwise made this index (layout 99); it is left alone")
    );
    assert_eq!(fs::read(home.path()).expect("bytes"), bytes);
}

/// Damages the file of the index as `draw` says; gives a word for it.
fn damage(path: &Path, draw: &mut impl FnMut(u64) -> u64) -> &'static str {
    let mut bytes = fs::read(path).expect("the index");
    let length = bytes.len() as u64;
    let at = draw(length) as usize;
    let end = (at + 1 + draw(4_096) as usize).min(bytes.len());
    let kind = match draw(6) {
        0 => {
            bytes.truncate(at);
            "cut off"
        }
        1 => {
            bytes[at..end].fill(0);
            "zeroes"
        }
        2 => {
            bytes[at..end].fill_with(|| draw(256) as u8);
            "noise"
        }
        3 => {
            bytes[at] ^= 1 << draw(8);
            "one bit"
        }
        4 => {
            let head = draw(100) as usize;
            bytes[head] ^= 1 + draw(255) as u8;
            "the header"
        }
        _ => {
            bytes.drain(at..end);
            "a piece lost"
        }
    };
    fs::write(path, bytes).expect("written");
    kind
}

/// A seeded generator (splitmix64): numbers below what it is given.
fn drawing(mut state: u64) -> impl FnMut(u64) -> u64 {
    move |most| {
        state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (z ^ (z >> 31)) % most.max(1)
    }
}

#[test]
fn a_hundred_damages_change_no_answer_and_each_is_said() {
    let home = Home::lived_in();
    let truth = home.asked().0;
    let whole = fs::read(home.path()).expect("the index");
    assert!(!seal::with_suffix(&home.path(), "-wal").exists(), "closed, it is one file");
    let mut draw = drawing(20_261_130);
    let mut counts: BTreeMap<&str, [u32; 2]> = BTreeMap::new();
    for round in 0..100 {
        fs::write(home.path(), &whole).expect("as it was");
        let kind = damage(&home.path(), &mut draw);
        let is_whole = Connection::open(home.path()).is_ok_and(|index| database::check(&index).is_ok());
        let (answers, troubles) = home.asked();
        assert_eq!(answers, truth, "round {round}: {kind}");
        let made_again =
            troubles.iter().any(|said| matches!(said, Trouble::Damaged { .. } | Trouble::Empty { .. }));
        let touched = troubles.contains(&Trouble::Touched { path: home.path() });
        assert!(made_again || (touched && is_whole), "round {round}: {kind}: {troubles:?}");
        counts.entry(kind).or_default()[usize::from(touched)] += 1;
        assert_eq!(home.asked(), (truth.clone(), vec![]), "round {round}: {kind}, mended");
    }
    println!("damages: made again, and where nothing is kept: {counts:?}");
    assert!(counts.values().map(|count| count[0]).sum::<u32>() >= 50, "{counts:?}");
}

#[test]
fn an_index_that_was_emptied_is_said() {
    let home = Home::lived_in();
    let truth = home.asked().0;
    fs::write(home.path(), b"").expect("emptied");
    assert_eq!(home.asked(), (truth, vec![Trouble::Empty { path: home.path() }]));
}

#[test]
fn a_disk_that_is_full_is_said_and_the_answer_is_the_same() {
    let lived_in = || {
        let home = Home::lived_in();
        for number in 7..=40 {
            home.keep(number, &take(1, i64::from(number), &[]));
        }
        home
    };
    let truth = lived_in().truth_numbers();
    let mut said = 0;
    for pages in 0..20 {
        let home = lived_in();
        let mut index = home.open();
        let now: i64 =
            index.connection.pragma_query_value(None, "page_count", |row| row.get(0)).expect("pages");
        // SQLite takes what lies beyond for a full disk.
        index.connection.pragma_update(None, "max_page_count", now + pages).expect("set");
        let takes = index.takes(&Filter::default(), JUDGING).expect("takes");
        assert_eq!(takes.iter().map(|take| take.counted).collect::<Vec<_>>(), truth, "{pages} pages");
        let troubles = index.troubles();
        let full = Trouble::Unusable { path: home.path(), why: "the disk is full".to_owned() };
        assert_eq!(troubles, [full], "{pages} pages");
        said += troubles.len();
        drop(index);
        let (answers, troubles) = home.asked();
        assert_eq!((answers.takes.len(), troubles), (40, vec![]), "with room again all is well");
    }
    assert_eq!(said, 20);
}

impl Home {
    fn truth_numbers(&self) -> Vec<f64> {
        self.truth().takes.iter().map(|take| take.counted).collect()
    }
}

#[test]
fn another_program_that_writes_on_is_said_and_not_waited_for_without_end() {
    let home = Home::lived_in();
    let truth = home.asked().0;
    let other = Connection::open(home.path()).expect("the index");
    other.execute_batch("BEGIN IMMEDIATE; DELETE FROM takes WHERE number = 1").expect("writing");
    home.keep(7, &take(0, 12, &[]));
    let mut index = home.open();
    index.connection.busy_timeout(Duration::ZERO).expect("set");
    let takes = index.takes(&Filter::default(), JUDGING).expect("takes");
    assert_eq!(takes.len(), 7);
    assert_eq!(takes[..6], truth.takes);
    assert_eq!(index.troubles(), [Trouble::Busy { path: home.path() }]);
    drop(index);
    other.execute_batch("ROLLBACK").expect("undone");
    drop(other);
    assert_eq!(home.asked().0.takes.len(), 7);
}

#[test]
fn two_programs_index_at_once_and_agree() {
    let home = Home::lived_in();
    let answers: Vec<_> = std::thread::scope(|scope| {
        let running: Vec<_> = (0..4).map(|_| scope.spawn(|| home.asked())).collect();
        running.into_iter().map(|running| running.join().expect("it runs")).collect()
    });
    let truth = home.truth();
    for (answers, troubles) in answers {
        assert_eq!((answers, troubles), (truth.clone(), vec![]));
    }
}

#[test]
fn an_index_that_cannot_be_made_is_said_and_done_without() {
    let home = Home::lived_in();
    fs::create_dir(home.path()).expect("a folder in the way");
    let (answers, troubles) = home.asked();
    assert_eq!(answers.takes, home.truth().takes);
    assert!(matches!(&troubles[..], [Trouble::Unusable { .. }]), "{troubles:?}");
    assert!(troubles[0].to_string().contains("the files are read instead"), "{}", troubles[0]);
}

#[test]
fn an_index_is_copied_into_memory_where_it_can_only_be_read() {
    let home = Home::lived_in();
    let truth = home.asked().0;
    let mut index = home.open();
    index.go_into_memory().expect("memory");
    assert_eq!(index.refresh(JUDGING).expect("refreshed").judged, 0, "what was judged is copied");
    assert_eq!(index.takes(&Filter::default(), JUDGING).expect("takes"), truth.takes);
}

#[test]
fn the_journal_is_read_on_and_read_anew_when_it_is_another() {
    let home = Home::lived_in();
    let mut index = home.open();
    let entered = |index: &mut Index, about| {
        let records = index.records(about).expect("entries");
        records.into_iter().map(|record| record.entry).collect::<Vec<_>>()
    };
    assert_eq!(entered(&mut index, About::Take(5)), [note(5, "rests")]);
    home.enter(&[note(5, "again"), assignment("week 2")]);
    assert_eq!(entered(&mut index, About::Take(5)), [note(5, "rests"), note(5, "again")]);
    assert_eq!(entered(&mut index, About::Kind("assignment")).len(), 2);
    assert_eq!(entered(&mut index, About::Subject("assignment", "week 2")), [assignment("week 2")]);
    home.enter(&[assignment("week 1")]);
    assert_eq!(
        entered(&mut index, About::LastOfEach("assignment")),
        [assignment("week 2"), assignment("week 1")]
    );
    assert_eq!(index.state(About::Everything).expect("a state").assignments.len(), 2);
    fs::remove_file(index.journal.path()).expect("removed");
    assert_eq!(entered(&mut index, About::Everything), []);
    home.enter(&[note(1, "a new journal")]);
    assert_eq!(entered(&mut index, About::Everything), [note(1, "a new journal")]);
}

#[test]
fn odd_lines_of_the_journal_are_told_each_time() {
    let home = Home::lived_in();
    let path = home.folder.path().join(super::super::journal::FILE);
    let text = fs::read_to_string(&path).expect("text");
    fs::write(&path, format!("{text}not an entry\n{{\"v\":9}}\n{{\"v\":1,\"at")).expect("written");
    let mut index = home.open();
    for _ in 0..2 {
        let told: Vec<String> = index.oddities().expect("told").iter().map(ToString::to_string).collect();
        assert_eq!(told.len(), 3, "{told:?}");
        assert!(told[0].contains("journal.jsonl:4: this line does not read"), "{told:?}");
        assert!(told[1].contains("journal.jsonl:5: a newer barwise"), "{told:?}");
        assert!(told[2].contains("journal.jsonl:6: this line was cut off"), "{told:?}");
    }
    assert_eq!(index.records(About::Everything).expect("entries").len(), 3);
    fs::remove_file(&path).expect("removed");
    fs::create_dir(&path).expect("a folder in the way");
    assert!(matches!(index.records(About::Everything), Err(IndexError::Journal(_))));
    assert_eq!(index.takes(&Filter::default(), JUDGING).expect("takes").len(), 6, "takes do not wait for it");
}
