//! Solos to measure with: the recorded ones where `BARWISE_SOLOS` names their folder, else made-up ones of the same shape.

use barwise::take::{ChannelMessage, TakeFile};
use barwise::time::{Meter, Nanos, TempoMap, TickSpan, Ticks};

/// The bytes of twelve MIDI files with chord text and a solo.
pub fn files() -> Vec<Vec<u8>> {
    match std::env::var_os("BARWISE_SOLOS") {
        Some(folder) => recorded(std::path::Path::new(&folder)),
        None => (0..12).map(generated).collect(),
    }
}

fn recorded(folder: &std::path::Path) -> Vec<Vec<u8>> {
    let entries = std::fs::read_dir(folder).expect("the folder of solos");
    let mut paths: Vec<_> = entries.map(|entry| entry.expect("an entry").path()).collect();
    paths.retain(|path| path.extension().is_some_and(|ending| ending == "mid"));
    paths.sort();
    paths.iter().map(|path| std::fs::read(path).expect("a solo")).collect()
}

/// About 440 notes in swung eighths over a 32-bar form of chords that wander through the keys, four times.
fn generated(seed: usize) -> Vec<u8> {
    let forms = ["m7", "7", "maj7", "m7b5", "7b9", "6"];
    let roots = ["C", "F", "Bb", "Eb", "Ab", "Db", "Gb", "B", "E", "A", "D", "G"];
    let bar = TickSpan::quarters(4);
    let tempo = TempoMap::at_bpm(150.0 + seed as f64 * 7.0);
    let chord = |i: usize| format!("{}{}", roots[(i * i + seed) % 12], forms[(i * 7 + seed) % 6]);
    let chords: Vec<(Ticks, String)> =
        (0..128).map(|i| (Ticks::ZERO + bar * i, chord(i as usize % 32))).collect();
    let mut solo: Vec<(Nanos, ChannelMessage)> = Vec::new();
    for eighth in 0..440i64 {
        let swung = if eighth % 2 == 1 { 12_600 } else { 0 };
        let at = Ticks::ZERO + TickSpan::quarters(eighth / 2 + eighth / 14) + TickSpan(swung);
        let key = 55 + ((eighth * eighth + seed as i64 * 5) % 24) as u8;
        let message = |wire: [u8; 3]| ChannelMessage::from_wire(&wire).expect("a message");
        solo.push((tempo.nanos(at), message([0x90, key, 80])));
        solo.push((tempo.nanos(at + TickSpan(7_000)), message([0x80, key, 0])));
    }
    let meters = vec![(Ticks::ZERO, Meter::FOUR_FOUR)];
    TakeFile { tempo, meters, chords, solo, ..TakeFile::default() }.to_bytes()
}
