//! The backing as a file: sound and MIDI hold the same notes, and the MIDI file reads back as the chart it came from.

#[path = "support/desk.rs"]
mod desk;

use barwise::take::MidiFile;
use desk::Desk;
use serde_json::Value;

fn read(desk: &Desk, name: &str) -> Vec<u8> {
    std::fs::read(desk.folder.path().join(name)).expect("a file")
}

/// Where each note-on of a track begins, in seconds.
fn struck(bytes: &[u8], track: &str) -> Vec<f64> {
    let midi = MidiFile::parse(bytes).expect("a MIDI file");
    let track = midi.tracks.iter().find(|found| found.name.as_deref() == Some(track)).expect("a track");
    let ons = track.messages.iter().filter(|timed| timed.message.wire()[0] & 0xf0 == 0x90);
    ons.map(|timed| timed.at.0 as f64 / 1e9).collect()
}

/// Where sound begins after silence, in seconds.
fn onsets(wav: &[u8]) -> Vec<f64> {
    let mut file = hound::WavReader::new(wav).expect("a WAV file");
    let rate = f64::from(file.spec().sample_rate);
    let (mut onsets, mut silent) = (Vec::new(), usize::MAX);
    for (frame, sample) in file.samples::<i16>().enumerate() {
        let is_silent = sample.expect("a sample").abs() < 3;
        if !is_silent && silent > 2_000 {
            onsets.push(frame as f64 / rate);
        }
        silent = if is_silent { silent.saturating_add(1) } else { 0 };
    }
    onsets
}

#[test]
fn the_midi_file_names_its_tracks_and_reads_back_as_the_chart() {
    let desk = Desk::new();
    desk.printed(&["render", "bus-shelter", "-o", "b.mid", "--choruses", "2", "--seed", "7"]);
    let midi = MidiFile::parse(&read(&desk, "b.mid")).expect("a MIDI file");
    let names: Vec<_> = midi.tracks.iter().map(|track| track.name.clone().unwrap_or_default()).collect();
    assert_eq!(names, ["", "Chords", "Bass", "Comp", "Ride", "Hat", "Kick", "Click"]);
    let document = |line: &[&str]| -> Value { serde_json::from_str(&desk.printed(line)).expect("a reading") };
    let symbols = |reading: &Value| -> Vec<String> {
        let chords = reading["chords"].as_array().expect("chords").iter();
        let mut symbols: Vec<_> = chords.map(|chord| chord["symbol"].to_string()).collect();
        symbols.dedup();
        symbols
    };
    let chart = symbols(&document(&["read", "bus-shelter", "--json"]));
    let file = symbols(&document(&["read", "b.mid", "--json"]));
    let file: Vec<_> = file.into_iter().filter(|symbol| symbol != "\"\"" && symbol != "\"N.C.\"").collect();
    let mut twice = [chart.clone(), chart].concat();
    twice.dedup();
    assert_eq!(file, twice);
}

#[test]
fn the_same_seed_gives_the_same_file_and_another_does_not() {
    let desk = Desk::new();
    for (name, seed) in [("a.mid", "1"), ("b.mid", "1"), ("c.mid", "2")] {
        desk.printed(&["render", "bus-shelter", "-o", name, "--seed", seed]);
    }
    assert_eq!(read(&desk, "a.mid"), read(&desk, "b.mid"));
    assert_ne!(read(&desk, "a.mid"), read(&desk, "c.mid"));
}

#[test]
fn sound_and_midi_begin_each_note_at_the_same_instant() {
    let desk = Desk::new();
    desk.write("four.bars", b"key: Bb\ntempo: 120\n| Bbmaj7 | G7 |\n");
    let mutes = "comp,ride,hat,kick,bass";
    for name in ["a.wav", "a.mid"] {
        desk.printed(&["render", "four.bars", "-o", name, "--mute", mutes]);
    }
    let (sound, notes) = (onsets(&read(&desk, "a.wav")), struck(&read(&desk, "a.mid"), "Click"));
    assert_eq!((sound.len(), notes.len()), (6, 6), "the clicks of the count-in");
    for (heard, note) in sound.iter().zip(&notes) {
        assert!((heard - note).abs() < 0.001, "{heard} for {note}");
    }
}

#[test]
fn a_name_without_a_known_end_and_a_missing_folder_are_refused() {
    let desk = Desk::new();
    let refused = |output: &str| {
        let run = desk.command(&["render", "bus-shelter", "-o", output]).output().expect("it runs");
        (run.status.code(), String::from_utf8_lossy(&run.stderr).into_owned())
    };
    let (code, told) = refused("b.mp3");
    assert!(code == Some(2) && told.contains(".wav (sound) or .mid (MIDI)"), "{told}");
    let (code, told) = refused("nowhere/b.mid");
    assert!(code == Some(4) && told.contains("there is no folder nowhere"), "{told}");
}
