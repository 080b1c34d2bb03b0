//! From a file's own ticks to instants: one linear walk a track, one rounding an instant.

use super::{MAX_QUARTERS, MidiFileError, MidiTrack};
use crate::time::{NanoSpan, Nanos, TICKS_PER_QUARTER, TempoMap, TickSpan, Ticks};

/// Nanoseconds in a quarter note where no tempo is given: 120 a minute (Standard MIDI File 1.0).
const DEFAULT_QUARTER_NS: u64 = 500_000_000;
/// Seconds in the longest file that counts in frames.
const MAX_SMPTE_SECONDS: u64 = 86_400;

/// What a header's division says: how long a tick is, and how many there can be.
pub(super) struct Division {
    pub smpte: bool,
    /// Ticks in `span_ns` nanoseconds: in a quarter note, or in a second or 1001 of them under SMPTE.
    ticks: u64,
    /// Nanoseconds that `ticks` last before any tempo.
    span_ns: u64,
    pub last_tick: u64,
}

impl Division {
    /// Reads the division: ticks in a quarter note, or with the first bit set minus the frames in a second and the
    /// ticks in a frame (Standard MIDI File 1.0).
    pub(super) fn read(bytes: [u8; 2]) -> Result<Self, MidiFileError> {
        let [high, low] = bytes;
        let division = if high < 0x80 {
            Self::of_quarter(u64::from(u16::from_be_bytes(bytes)))
        } else {
            // 29 stands for 30 drop-frame, which runs at 30000/1001 frames a second.
            match high.wrapping_neg() {
                frames @ (24 | 25 | 30) => Self::of_frames(u64::from(frames), 1, low),
                29 => Self::of_frames(30_000, 1001, low),
                frames => {
                    let reason = format!("{frames} frames a second (byte 12) are none of 24, 25, 29, 30");
                    return Err(MidiFileError::BadHeader { reason });
                }
            }
        };
        if division.ticks == 0 {
            let reason = "its division (bytes 12 and 13) is 0".to_owned();
            return Err(MidiFileError::BadHeader { reason });
        }
        Ok(division)
    }

    fn of_quarter(ticks: u64) -> Self {
        Self { smpte: false, ticks, span_ns: DEFAULT_QUARTER_NS, last_tick: ticks * MAX_QUARTERS }
    }

    fn of_frames(frames: u64, seconds: u64, ticks_a_frame: u8) -> Self {
        let ticks = frames * u64::from(ticks_a_frame);
        Self {
            smpte: true,
            ticks,
            span_ns: seconds * 1_000_000_000,
            last_tick: ticks * MAX_SMPTE_SECONDS / seconds,
        }
    }
}

/// Where every file tick lies in time.
pub(super) struct FileTime {
    ticks: u64,
    smpte: bool,
    changes: Vec<Change>,
    tempo: TempoMap,
}

/// From file tick `from` on, `ticks` of [`FileTime`] last `span_ns`.
struct Change {
    from: u64,
    /// Nanoseconds at `from`, times `ticks`: kept unrounded.
    at_scaled: u128,
    span_ns: u64,
}

impl FileTime {
    /// The time of a file with these tempo events (file tick, microseconds a quarter), in any order.
    pub(super) fn new(division: &Division, tempos: &mut [(u64, u32)]) -> Self {
        tempos.sort_by_key(|&(tick, _)| tick);
        let mut time = Self {
            ticks: division.ticks,
            smpte: division.smpte,
            changes: vec![Change { from: 0, at_scaled: 0, span_ns: division.span_ns }],
            tempo: TempoMap::default(),
        };
        if division.smpte {
            time.tempo = time.smpte_tempo(tempos);
        } else {
            time.add_tempos(tempos);
        }
        time
    }

    fn add_tempos(&mut self, tempos: &[(u64, u32)]) {
        for &(from, micros) in tempos {
            let last = self.changes.last().map_or(0, |last| last.scaled(from));
            self.changes.push(Change { from, at_scaled: last, span_ns: u64::from(micros) * 1000 });
        }
        let changes = tempos.iter().map(|&(from, micros)| (self.proportional(from), quarter(micros)));
        self.tempo = TempoMap::from_changes(changes);
    }

    /// Under SMPTE the tempo events stand at instants; each tick follows from the tempo before it.
    fn smpte_tempo(&self, tempos: &[(u64, u32)]) -> TempoMap {
        let mut changes: Vec<(Ticks, NanoSpan)> = Vec::new();
        let (mut since, mut ticks, mut span) =
            (Nanos::ZERO, Ticks::ZERO, NanoSpan(DEFAULT_QUARTER_NS as i64));
        let mut walk = self.walk();
        for &(tick, micros) in tempos {
            let at = walk.nanos(tick);
            let passed = i128::from((at - since).0) * i128::from(TICKS_PER_QUARTER) / i128::from(span.0);
            ticks += TickSpan(passed as i64);
            (since, span) = (at, quarter(micros));
            changes.push((ticks, span));
        }
        TempoMap::from_changes(changes)
    }

    /// Our ticks for a file tick of a division in quarter notes, to the nearest.
    fn proportional(&self, tick: u64) -> Ticks {
        let scaled = u128::from(tick) * TICKS_PER_QUARTER as u128;
        let ticks = u128::from(self.ticks);
        Ticks(((scaled + ticks / 2) / ticks) as i64)
    }

    pub(super) fn walk(&self) -> Walk<'_> {
        Walk { time: self, change: 0 }
    }

    /// Turns the file ticks of a track into instants.
    pub(super) fn place_track(&self, track: &mut MidiTrack) {
        let mut walk = self.walk();
        for message in &mut track.messages {
            (message.at, message.ticks) = walk.place(message.ticks.0 as u64);
        }
        let mut walk = self.walk();
        for text in &mut track.texts {
            text.at = walk.place(text.at.0 as u64).1;
        }
    }

    pub(super) fn into_tempo(self) -> TempoMap {
        self.tempo
    }
}

impl Change {
    fn scaled(&self, tick: u64) -> u128 {
        self.at_scaled + u128::from(tick - self.from) * u128::from(self.span_ns)
    }
}

fn quarter(micros: u32) -> NanoSpan {
    NanoSpan(i64::from(micros) * 1000)
}

/// A walk through file ticks that never go back.
pub(super) struct Walk<'a> {
    time: &'a FileTime,
    change: usize,
}

impl Walk<'_> {
    /// The instant of a file tick, no earlier than the one asked for before.
    pub(super) fn nanos(&mut self, tick: u64) -> Nanos {
        let changes = &self.time.changes;
        while changes.get(self.change + 1).is_some_and(|next| next.from <= tick) {
            self.change += 1;
        }
        Nanos((changes[self.change].scaled(tick) / u128::from(self.time.ticks)) as i64)
    }

    /// The instant of a file tick and its place in our ticks.
    pub(super) fn place(&mut self, tick: u64) -> (Nanos, Ticks) {
        let at = self.nanos(tick);
        let ticks = if self.time.smpte { self.time.tempo.ticks(at) } else { self.time.proportional(tick) };
        (at, ticks)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn file_time(ticks: u16, tempos: &[(u64, u32)]) -> FileTime {
        let division = Division::read(ticks.to_be_bytes()).expect("a division");
        FileTime::new(&division, &mut tempos.to_vec())
    }

    #[test]
    fn a_division_that_does_not_divide_ours_still_gives_exact_instants() {
        // 384 to the quarter: one tick is 52.5 of ours and 1302083.33 ns at 120.
        let time = file_time(384, &[]);
        let mut walk = time.walk();
        assert_eq!(walk.place(1), (Nanos(1_302_083), Ticks(53)));
        assert_eq!(walk.place(384), (Nanos(500_000_000), Ticks(TICKS_PER_QUARTER)));
    }

    #[test]
    fn smpte_frames_of_29_97_last_1001_thirtieths() {
        let division = Division::read([(-29i8) as u8, 100]).expect("a division");
        let time = FileTime::new(&division, &mut Vec::new());
        assert_eq!(time.walk().nanos(3_000_000), Nanos(1_001_000_000_000));
    }

    #[test]
    fn smpte_tempo_changes_stand_at_instants() {
        let division = Division::read([(-25i8) as u8, 40]).expect("a division");
        let time = FileTime::new(&division, &mut [(1000, 1_000_000)]);
        let mut walk = time.walk();
        assert_eq!(walk.place(1000), (Nanos(1_000_000_000), Ticks(2 * TICKS_PER_QUARTER)));
        assert_eq!(walk.place(2000), (Nanos(2_000_000_000), Ticks(3 * TICKS_PER_QUARTER)));
    }

    proptest! {
        #[test]
        fn instants_agree_with_the_tempo_map_where_the_division_divides_ours(
            division in prop::sample::select(vec![96u16, 120, 192, 240, 480, 960, 20160]),
            tempos in prop::collection::vec((0u64..100_000, 1u32..2_000_000), 0..5),
            ticks in prop::collection::vec(0u64..200_000, 1..20),
        ) {
            let time = file_time(division, &tempos);
            let mut ticks = ticks;
            ticks.sort_unstable();
            let mut walk = time.walk();
            for tick in ticks {
                let (at, ours) = walk.place(tick);
                prop_assert_eq!(at, time.tempo.nanos(ours));
            }
        }
    }
}
