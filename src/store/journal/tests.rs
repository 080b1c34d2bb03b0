//! The journal against cuts, damages, newer programs, full disks and programs that write at once.

use std::thread;

use proptest::prelude::*;

use super::entry::*;
use super::*;

fn folder() -> (tempfile::TempDir, Journal) {
    let home = tempfile::tempdir().expect("a folder");
    let journal = Journal::in_folder(&home.path().join("data"));
    (home, journal)
}

fn at(second: i64) -> Timestamp {
    Timestamp::from_second(1_790_000_000 + second).expect("a time")
}

fn note(take: u32, text: &str) -> Entry {
    Entry::Note(NoteToSelf { take, text: text.to_owned() })
}

fn chart() -> ChartName {
    ChartName { title: "Bus Shelter, Rain".to_owned(), sha256: "ab12".to_owned() }
}

fn scale(chord: usize, scale: Option<&str>) -> Entry {
    Entry::Override(ScaleOverride {
        key: None,
        chart_key: None,
        chart: chart(),
        place: ChordPlace { bar: 5, chord },
        symbol: "Bb7".to_owned(),
        scale: scale.map(str::to_owned),
    })
}

fn assignment(role: AssignmentRole, text: &str) -> Entry {
    Entry::Assignment(AssignmentEntry { name: "week 3".to_owned(), role, text: text.to_owned() })
}

fn drill(answer: Answer) -> Entry {
    Entry::Drill(DrillAnswer { item: "find Ab on string 3".to_owned(), answer, ms: 2_140 })
}

fn contest(reason: &str) -> Entry {
    let place = NoteName::Place { chorus: 1, bar: 9, note: 4 };
    Entry::Contest(Contest {
        take: 14,
        note: place,
        heard_as: HeardAs::Over("Bb7alt".to_owned()),
        reason: reason.to_owned(),
    })
}

fn phrase(first_bar: usize) -> Phrase {
    Phrase { take: 14, chorus: 2, first_bar, last_bar: 8 }
}

/// One of every kind.
fn all_kinds() -> Vec<Entry> {
    let facts = serde_json::json!({ "offset_ms": 31.5, "foot": { "channel": 1 } });
    let facts = facts.as_object().expect("an object").clone();
    vec![
        assignment(AssignmentRole::Given, "chord = \"55-70\"\n"),
        scale(1, Some("altered")),
        contest("the band plays it so"),
        Entry::Withdrawn { contest: EntryId("00".to_owned()) },
        drill(Answer::Slip("Gb".to_owned())),
        note(14, "lay back \"more\"\nin bar 5: ♭9"),
        Entry::Phrase(phrase(5)),
        Entry::PhraseOut(phrase(1)),
        Entry::BroughtBack(LeftOutNote { take: 14, note: 61 }),
        Entry::SetAside(LeftOutNote { take: 14, note: 61 }),
        Entry::Device(DeviceLearnt { device: "Guitar: MIDI 1".to_owned(), facts }),
        Entry::Kept { take: 3, sha256: "cd34".to_owned(), kept_at: at(7) },
        Entry::Dropped { take: 3, to: DroppedTo::Bin },
        Entry::Restored { take: 3 },
    ]
}

/// Writes entries down, a second apart.
fn write(journal: &Journal, entries: &[Entry]) -> Vec<Record> {
    let each = (0..).zip(entries);
    each.map(|(second, entry)| journal.append(entry.clone(), at(second)).expect("written")).collect()
}

fn entries(read: &ReadBack) -> Vec<Entry> {
    read.records.iter().map(|(_, record)| record.entry.clone()).collect()
}

fn replay(entries: &[Entry]) -> State {
    let (_home, journal) = folder();
    State::replay(&write(&journal, entries))
}

#[test]
fn every_kind_is_read_back_as_it_was_entered() {
    let (_home, journal) = folder();
    assert_eq!(journal.read().expect("none yet"), ReadBack::default());
    let written = write(&journal, &all_kinds());
    let read = journal.read().expect("a journal");
    assert_eq!(read.records, (1..).zip(written).collect::<Vec<_>>());
    assert_eq!(read.oddities, []);
    let kinds: Vec<&str> = read.records.iter().map(|(_, record)| record.entry.kind()).collect();
    assert_eq!(kinds, Entry::KINDS, "each kind once, by the word in the file");
    for (line, (_, record)) in fs::read_to_string(journal.path()).expect("text").lines().zip(&read.records) {
        assert!(line.contains(&format!("\"entry\":\"{}\"", record.entry.kind())), "{line}");
    }
    let ids: std::collections::BTreeSet<_> = read.records.iter().map(|(_, record)| &record.id).collect();
    assert_eq!(ids.len(), read.records.len());
}

#[test]
fn the_shape_of_a_line_is_kept_for_good() {
    let record = Record::new(0, at(0), scale(1, Some("altered")));
    let expect = concat!(
        r#"{"v":1,"at":"2026-09-21T14:13:20Z","id":"ID","entry":"override","#,
        r#""chart":{"title":"Bus Shelter, Rain","sha256":"ab12"},"place":{"bar":5,"chord":1},"#,
        r#""symbol":"Bb7","scale":"altered"}"#,
        "\n"
    );
    assert_eq!(record.line(), expect.replace("ID", record.id.as_str()));
}

#[test]
fn a_reading_goes_on_where_one_before_it_came_to() {
    let (_home, journal) = folder();
    write(&journal, &[note(1, "a")]);
    let first = journal.read().expect("a journal");
    let tail = journal.tail(first.reach).expect("read");
    write(&journal, &[note(2, "b"), note(3, "c")]);
    let on = journal.read_on(first.reach).expect("a journal");
    assert_eq!(entries(&on), [note(2, "b"), note(3, "c")]);
    assert_eq!(on.records[0].0, 2, "lines are counted on");
    assert_eq!(on.reach, journal.read().expect("a journal").reach);
    assert_eq!(journal.tail(first.reach).expect("read"), tail, "the file still begins as it did");
    fs::write(journal.path(), "another one of more than a few bytes\n".repeat(40)).expect("written");
    assert_ne!(journal.tail(first.reach).expect("read"), tail);
    fs::write(journal.path(), "short").expect("written");
    assert_eq!(journal.tail(first.reach).expect("read"), None);
}

#[test]
fn what_a_newer_program_wrote_is_told_and_kept() {
    let (_home, journal) = folder();
    write(&journal, &[note(1, "a")]);
    let newer = [
        r#"{"v":2,"at":7,"id":{"x":1},"entry":"note","words":"?"}"#,
        r#"{"v":1,"at":"2026-09-21T14:13:20Z","id":"0a","entry":"recital","hall":"small"}"#,
    ];
    let text = fs::read_to_string(journal.path()).expect("text") + &newer.join("\n") + "\n";
    fs::write(journal.path(), &text).expect("written");
    write(&journal, &[note(2, "b")]);
    let read = journal.read().expect("a journal");
    assert_eq!(entries(&read), [note(1, "a"), note(2, "b")]);
    let odd = |line| Oddity { path: journal.path().to_owned(), line, kind: OddityKind::Newer };
    assert_eq!(read.oddities, [odd(2), odd(3)]);
    let said = read.oddities[0].to_string();
    assert!(
        said.ends_with(
            "journal.jsonl:2: a newer barwise wrote this line; it is passed over and stays in the file"
        ),
        "{said}"
    );
    assert!(fs::read_to_string(journal.path()).expect("text").starts_with(&text));
}

#[test]
fn a_damaged_line_is_told_with_its_place_and_stays() {
    let check = |line: &[u8], expect: &str| {
        let (_home, journal) = folder();
        write(&journal, &[note(1, "a")]);
        let text = [&fs::read(journal.path()).expect("bytes")[..], line, b"\n"].concat();
        fs::write(journal.path(), &text).expect("written");
        write(&journal, &[note(2, "b")]);
        let read = journal.read().expect("a journal");
        assert_eq!(entries(&read), [note(1, "a"), note(2, "b")]);
        let said: Vec<String> = read.oddities.iter().map(ToString::to_string).collect();
        assert_eq!(said.len(), 1, "{said:?}");
        assert!(said[0].contains(&format!("journal.jsonl:2: this line does not read ({expect}")), "{said:?}");
        assert!(fs::read(journal.path()).expect("bytes").starts_with(&text), "nothing is taken out");
    };
    check(b"{\"v\":1,\"at\":", "EOF while parsing a value in column 12");
    check(b"\xff\xfe", "no text");
    check(b"[1]", "invalid type: sequence, expected a map in column");
    check(br#"{"v":1,"at":"yesterday","id":"0a","entry":"note","take":1,"text":""}"#, "");
    check(
        br#"{"v":1,"at":"2026-09-21T14:13:20Z","id":"0a","entry":"note","take":-1,"text":""}"#,
        "invalid value",
    );
    check(br#"{"v":1,"at":"2026-09-21T14:13:20Z","id":"0a"}"#, "missing field `entry`");
    check(&b"x".repeat(LONGEST_LINE + 5), "more than 8388608 bytes");
}

#[test]
fn empty_lines_are_nothing_and_one_line_too_long_is_refused_before_it_is_written() {
    let (_home, journal) = folder();
    fs::create_dir_all(journal.path().parent().expect("a folder")).expect("made");
    fs::write(journal.path(), "\n\n").expect("written");
    let long = "x".repeat(LONGEST_LINE);
    let refused = journal.append(note(1, &long), at(0)).expect_err("too long").to_string();
    assert!(refused.contains("8388608 are the most"), "{refused}");
    write(&journal, &[note(1, "a")]);
    let read = journal.read().expect("a journal");
    assert_eq!((entries(&read), read.oddities.len()), (vec![note(1, "a")], 0));
}

#[test]
fn two_hundred_cuts_lose_no_whole_line_and_the_next_entry_stands_by_itself() {
    let (_home, journal) = folder();
    write(&journal, &(0..4).flat_map(|_| all_kinds()).collect::<Vec<_>>());
    let whole = fs::read(journal.path()).expect("bytes");
    // Places drawn with a seeded generator: the steps of a full-period sequence modulo the length.
    for draw in 0..200u64 {
        let cut = (draw.wrapping_mul(0x9E37_79B9_7F4A_7C15) % (whole.len() as u64 + 1)) as usize;
        fs::write(journal.path(), &whole[..cut]).expect("written");
        let lines = whole[..cut].split(|&byte| byte == b'\n').count() - 1;
        let rest = cut - whole[..cut].iter().rposition(|&byte| byte == b'\n').map_or(0, |at| at + 1);
        // A line that lacks nothing but its end says all it was to say.
        let says_all = rest > 0 && whole[cut] == b'\n';
        let read = journal.read().expect("a journal");
        assert_eq!(read.records.len(), lines + usize::from(says_all), "cut at {cut}");
        let torn = Oddity { path: journal.path().to_owned(), line: lines as u64 + 1, kind: OddityKind::Torn };
        assert_eq!(read.oddities, if rest > 0 && !says_all { vec![torn] } else { vec![] });
        journal.append(note(99, "after the cut"), at(99)).expect("written");
        let after = journal.read().expect("a journal");
        assert_eq!(after.records.len(), read.records.len() + 1, "cut at {cut}");
        assert_eq!(after.records.last().expect("one").1.entry, note(99, "after the cut"));
        assert_eq!(after.oddities.len(), read.oddities.len(), "the torn line is still told");
        assert!(fs::read(journal.path()).expect("bytes").starts_with(&whole[..cut]));
    }
}

#[test]
fn programs_that_write_at_once_never_mix_their_lines() {
    let (_home, journal) = folder();
    let text = "long ".repeat(4_000);
    thread::scope(|scope| {
        for take in 0..8 {
            let (journal, text) = (&journal, &text);
            scope.spawn(move || {
                for _ in 0..10 {
                    journal.append(note(take, text), at(0)).expect("written");
                }
            });
        }
    });
    let read = journal.read().expect("a journal");
    assert_eq!((read.records.len(), read.oddities.len()), (80, 0));
    let ids: std::collections::BTreeSet<_> = read.records.iter().map(|(_, record)| &record.id).collect();
    assert_eq!(ids.len(), 80, "entries made in the same instant have names of their own");
}

#[test]
fn a_place_that_cannot_be_written_is_said_with_the_way_out() {
    let home = tempfile::tempdir().expect("a folder");
    fs::write(home.path().join("data"), b"").expect("a file in the way");
    let journal = Journal::in_folder(&home.path().join("data"));
    let message = journal.append(note(1, "a"), at(0)).expect_err("no folder").to_string();
    assert!(message.contains("journal.jsonl: this was not written down: "), "{message}");
    assert!(message.contains("set BARWISE_DATA_DIR"), "{message}");
    let folder_there = Journal::in_folder(home.path());
    fs::create_dir(folder_there.path()).expect("a folder in the way");
    let message = folder_there.read().expect_err("a folder").to_string();
    assert!(message.contains("cannot be read"), "{message}");
}

#[test]
fn what_was_entered_last_holds() {
    let state = replay(&[
        scale(1, Some("altered")),
        scale(2, Some("dorian")),
        scale(1, Some("lydian-dominant")),
        scale(2, None),
        assignment(AssignmentRole::Given, "chord = \"50-70\""),
        assignment(AssignmentRole::Kept, "chord = \"55-70\""),
        drill(Answer::Slip("Gb".to_owned())),
        drill(Answer::Right),
        note(14, "a"),
        note(14, "b"),
        note(15, "c"),
        note(15, ""),
        Entry::Phrase(phrase(5)),
        Entry::Phrase(phrase(5)),
        Entry::Phrase(phrase(7)),
        Entry::PhraseOut(phrase(7)),
        Entry::BroughtBack(LeftOutNote { take: 14, note: 61 }),
        Entry::BroughtBack(LeftOutNote { take: 14, note: 7 }),
        Entry::SetAside(LeftOutNote { take: 14, note: 61 }),
        Entry::SetAside(LeftOutNote { take: 15, note: 7 }),
        Entry::Dropped { take: 3, to: DroppedTo::Bin },
        Entry::Dropped { take: 4, to: DroppedTo::Bin },
        Entry::Dropped { take: 5, to: DroppedTo::ForGood },
        Entry::Restored { take: 3 },
    ]);
    let scales: Vec<_> = state.scales_of("ab12").map(|kept| kept.scale.as_deref()).collect();
    assert_eq!(scales, [Some("lydian-dominant")]);
    assert_eq!(state.scales_of("other").count(), 0);
    let kept = &state.assignments["week 3"];
    assert_eq!((kept.at, kept.what.text.as_str()), (at(5), "chord = \"55-70\""));
    let answers: Vec<_> =
        state.drills["find Ab on string 3"].iter().map(|answer| &answer.what.answer).collect();
    assert_eq!(answers, [&Answer::Slip("Gb".to_owned()), &Answer::Right]);
    let notes: Vec<_> = state.notes.values().flatten().map(|note| note.what.text.as_str()).collect();
    assert_eq!(notes, ["a", "b"]);
    assert_eq!(state.phrases.iter().map(|kept| kept.what.first_bar).collect::<Vec<_>>(), [5]);
    assert_eq!(state.brought_back, [(14, [7].into())].into());
    assert_eq!(state.dropped, [(4, DroppedTo::Bin), (5, DroppedTo::ForGood)].into());
    assert_eq!(state.last_take, Some(15));
}

#[test]
fn a_contest_stands_until_it_is_taken_back_and_an_assignment_until_it_is_put_away() {
    let (_home, journal) = folder();
    let mut written = write(&journal, &[contest("a"), contest("b")]);
    let withdrawn = Entry::Withdrawn { contest: written[0].id.clone() };
    written.extend(write(&journal, &[withdrawn]));
    let state = State::replay(&written);
    let reasons: Vec<_> = state.contests.iter().map(|(_, contest)| contest.what.reason.as_str()).collect();
    assert_eq!(reasons, ["b"]);
    let put_away = [assignment(AssignmentRole::Kept, "x"), assignment(AssignmentRole::PutAway, "")];
    assert!(replay(&put_away).assignments.is_empty());
}

#[test]
fn facts_about_a_device_are_added_up() {
    let learnt = |json: serde_json::Value| {
        let facts = json.as_object().expect("an object").clone();
        Entry::Device(DeviceLearnt { device: "Keys".to_owned(), facts })
    };
    let state = replay(&[
        learnt(serde_json::json!({ "offset_ms": 5.0, "foot": 1 })),
        learnt(serde_json::json!({ "offset_ms": 7.5 })),
    ]);
    assert_eq!(serde_json::json!(state.devices["Keys"]), serde_json::json!({ "offset_ms": 7.5, "foot": 1 }));
}

proptest! {
    // Each case waits for the disk twice.
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn any_text_comes_back(text in ".{0,200}", reason in any::<String>(), take in any::<u32>(), seconds in 0i64..2_000_000_000) {
        let (_home, journal) = folder();
        let entered = [note(take, &text), contest(&reason)];
        let at = Timestamp::from_second(seconds).expect("a time");
        for entry in &entered {
            journal.append(entry.clone(), at).expect("written");
        }
        let read = journal.read().expect("a journal");
        prop_assert_eq!(entries(&read), entered);
        prop_assert!(read.records.iter().all(|(_, record)| record.at == at));
    }

    #[test]
    fn any_bytes_are_read_without_a_panic_and_never_changed(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let (_home, journal) = folder();
        fs::create_dir_all(journal.path().parent().expect("a folder")).expect("made");
        fs::write(journal.path(), &bytes).expect("written");
        let read = journal.read().expect("a journal");
        prop_assert!(read.records.is_empty());
        prop_assert_eq!(fs::read(journal.path()).expect("bytes"), bytes);
    }
}
