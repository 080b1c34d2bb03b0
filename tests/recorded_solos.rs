//! Real playing: annotated solos of the Weimar Jazz Database (Pfleiderer et al. 2017) as MIDI files with a key of which
//! chord each note belongs to. They stay outside the repository; `BARWISE_SOLOS` names their folder.
//!
//! The key's bars and beats come from a fixed quantiser on hand-set beats, not from human judgement (an onset up to 30 ms
//! before a beat counts as that beat): agreement is a check against accidents, never a target. Without the folder a
//! generated solo with a key made the same way is judged instead.

use std::path::Path;

use barwise::judge::{Choices, Question, judge};
use barwise::report::review::{Detail, NoteRecord, Review};
use barwise::take::{ChannelMessage, TakeFile};
use barwise::time::{Meter, Nanos, TempoMap, TickSpan, Ticks};
use serde::Deserialize;

#[derive(Clone, Deserialize)]
struct KeyRow {
    solo: String,
    pitch: u8,
    symbol: String,
    chord_tone: Option<u8>,
}

/// How often the chord found is the chord of the key.
#[derive(Default)]
struct Agreement {
    all: usize,
    agreed: usize,
    near: usize,
    near_agreed: usize,
    chord_tone_differs: Vec<String>,
}

fn review(bytes: &[u8]) -> Review {
    let choices = Choices::default();
    let question =
        Question { choices: &choices, chart: None, track: None, detail: Detail::Notes, bands: None };
    judge(bytes, None, question).expect("a solo with its chords").review
}

/// Whether a note was struck within a beat of a change of chord.
fn is_near(note: &NoteRecord, review: &Review) -> bool {
    let at = |bar: i64, beat: f64| (bar - 1) as f64 * 4.0 + beat - 1.0;
    let struck = at(note.bar, note.beat);
    let chords = review.chords.as_deref().unwrap_or_default();
    let changes = chords.windows(2).filter(|pair| pair[0].symbol != pair[1].symbol);
    changes.into_iter().any(|pair| (at(pair[1].bar as i64, pair[1].beat.0) - struck).abs() <= 1.0)
}

fn compare(review: &Review, key: &[KeyRow], agreement: &mut Agreement) {
    let notes = review.notes.as_deref().unwrap_or_default();
    assert_eq!(notes.len(), key.len(), "every note-on is listed");
    for (note, row) in notes.iter().zip(key) {
        assert_eq!(note.key, row.pitch);
        let agrees = note.chord == row.symbol;
        agreement.all += 1;
        agreement.agreed += usize::from(agrees);
        if is_near(note, review) {
            agreement.near += 1;
            agreement.near_agreed += usize::from(agrees);
        }
        let known = row.chord_tone.filter(|_| agrees && note.counted);
        if known.is_some_and(|tone| (tone == 1) != (note.class == "chord")) {
            agreement.chord_tone_differs.push(format!("{} over {}: {}", note.name, note.chord, note.class));
        }
    }
}

/// A made-up solo in swung eighths over a cycle of fifths, with its key.
fn generated() -> (Vec<u8>, Vec<KeyRow>) {
    let roots = ["C", "F", "Bb", "Eb", "Ab", "Db", "Gb", "B", "E", "A", "D", "G"];
    let bar = TickSpan::quarters(4);
    let tempo = TempoMap::at_bpm(160.0);
    let chords: Vec<(Ticks, String)> =
        (0..96).map(|i| (Ticks::ZERO + bar * i, format!("{}7", roots[i as usize % 12]))).collect();
    let mut solo: Vec<(Nanos, ChannelMessage)> = Vec::new();
    let mut key = Vec::new();
    for (index, &(start, ref symbol)) in chords.iter().enumerate() {
        for eighth in 0..7i64 {
            let at =
                start + TickSpan::quarters(eighth / 2) + TickSpan(if eighth % 2 == 1 { 12_600 } else { 0 });
            let pitch = 60 + ((index * 5 + eighth as usize * 4) % 12) as u8;
            let message = |wire: [u8; 3]| ChannelMessage::from_wire(&wire).expect("a message");
            solo.push((tempo.nanos(at), message([0x90, pitch, 80])));
            solo.push((tempo.nanos(at + TickSpan(7_000)), message([0x80, pitch, 0])));
            let root = (index * 5) % 12;
            let tone = [0, 4, 7, 10].contains(&((usize::from(pitch) + 12 - root) % 12));
            key.push(KeyRow {
                solo: String::new(),
                pitch,
                symbol: symbol.clone(),
                chord_tone: Some(u8::from(tone)),
            });
        }
    }
    let meters = vec![(Ticks::ZERO, Meter::FOUR_FOUR)];
    (TakeFile { tempo, meters, chords, solo, ..TakeFile::default() }.to_bytes(), key)
}

#[test]
fn notes_go_to_the_chord_of_the_key_as_often_as_measured() {
    let mut agreement = Agreement::default();
    if let Some(folder) = std::env::var_os("BARWISE_SOLOS") {
        let folder = Path::new(&folder);
        let mut reader = csv::Reader::from_path(folder.join("note_key.csv")).expect("the key");
        let key: Vec<KeyRow> = reader.deserialize().collect::<Result<_, _>>().expect("rows");
        let solos: Vec<&[KeyRow]> = key.chunk_by(|a, b| a.solo == b.solo).collect();
        assert_eq!(solos.len(), 12);
        for rows in solos {
            let bytes =
                std::fs::read(folder.join(format!("{}.mid", rows[0].solo))).expect("a file for each solo");
            compare(&review(&bytes), rows, &mut agreement);
        }
    } else {
        let (bytes, key) = generated();
        compare(&review(&bytes), &key, &mut agreement);
    }
    let share = |part: usize, all: usize| part as f64 / all as f64;
    let (all, near) = (share(agreement.agreed, agreement.all), share(agreement.near_agreed, agreement.near));
    println!(
        "{} notes: {:.2} % agree; {} near changes: {:.2} %",
        agreement.all,
        all * 100.0,
        agreement.near,
        near * 100.0
    );
    assert!(all >= 0.978, "{all}");
    assert!(near >= 0.957, "{near}");
    assert_eq!(agreement.chord_tone_differs, Vec::<String>::new());
}
