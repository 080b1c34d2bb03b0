//! A line for plays that are to be short.

use barwise::take::{ChannelMessage, TakeFile, writer::writable};
use barwise::time::{TempoMap, TickSpan, Ticks};

/// A note each sixteenth at 400 quarters a minute.
pub fn dense_line(notes: i64) -> Vec<u8> {
    let tempo = writable(&TempoMap::at_bpm(400.0));
    let mut solo = Vec::new();
    for index in 0..notes {
        let at = Ticks::ZERO + TickSpan(5_040) * index;
        let key = 60 + (index * 7 % 24) as u8;
        let message = |wire: [u8; 3]| ChannelMessage::from_wire(&wire).expect("a message");
        solo.push((tempo.nanos(at), message([0x90, key, 90])));
        solo.push((tempo.nanos(at + TickSpan(4_000)), message([0x80, key, 0])));
    }
    TakeFile { tempo, solo, ..TakeFile::default() }.to_bytes()
}
