//! The chunks of a file: its header, and where each track's bytes stand.

use super::file_time::Division;
use super::{MAX_FILE_BYTES, MAX_TRACKS, MidiFileError};
use crate::take::warning::Warning;

/// A file cut into chunks.
pub(super) struct Chunks<'a> {
    pub division: Division,
    pub tracks: Vec<TrackChunk<'a>>,
    pub warnings: Vec<Warning>,
}

/// The events of one track, undecoded.
pub(super) struct TrackChunk<'a> {
    /// Where `events` begin in the file.
    pub byte: usize,
    pub events: &'a [u8],
    /// How many bytes the chunk announces; fewer may be there.
    pub declared: usize,
}

/// The type and length that open every chunk.
const CHUNK_HEAD: usize = 8;
/// Format, count of tracks and division: what a header holds at least.
const HEADER: usize = 6;

/// Reads the header and finds the tracks.
pub(super) fn split(bytes: &[u8]) -> Result<Chunks<'_>, MidiFileError> {
    if bytes.is_empty() {
        return Err(MidiFileError::Empty);
    }
    if bytes.len() > MAX_FILE_BYTES {
        return Err(MidiFileError::TooLarge { bytes: bytes.len() });
    }
    let start = match bytes.first_chunk() {
        Some(b"MThd") => 0,
        Some(b"RIFF") => riff_data(bytes).ok_or(MidiFileError::RiffWithoutMidi)?,
        _ => return Err(MidiFileError::NotMidi),
    };
    let (declared, division, first_track) = read_header(&bytes[start..])?;
    let mut chunks =
        Chunks { division, tracks: Vec::with_capacity(declared.min(MAX_TRACKS)), warnings: Vec::new() };
    let byte = start + first_track;
    chunks.walk(bytes.get(byte..).unwrap_or_default(), byte)?;
    let found = chunks.tracks.len();
    if found == 0 {
        return Err(MidiFileError::NoTracks { byte });
    }
    if found != declared {
        chunks.warnings.push(Warning::TrackCount { declared, found });
    }
    Ok(chunks)
}

/// Where the MIDI file within an RMID file begins: the data chunk of a RIFF form, whose lengths are little-endian and
/// whose chunks are padded to even lengths.
fn riff_data(bytes: &[u8]) -> Option<usize> {
    if bytes.get(8..12)? != b"RMID" {
        return None;
    }
    let mut position = 12;
    loop {
        let (kind, rest) = bytes.get(position..)?.split_first_chunk::<4>()?;
        let length = u32::from_le_bytes(*rest.first_chunk()?) as usize;
        let start = position + CHUNK_HEAD;
        if kind == b"data" {
            return bytes[start..].starts_with(b"MThd").then_some(start);
        }
        position = start.checked_add(length)?.checked_next_multiple_of(2)?;
    }
}

/// The count of tracks, the division, and where the chunk after the header begins.
fn read_header(bytes: &[u8]) -> Result<(usize, Division, usize), MidiFileError> {
    let too_short = || MidiFileError::BadHeader { reason: "it is too short".to_owned() };
    let (_, length) = chunk_head(bytes).ok_or_else(too_short)?;
    let fields = bytes.get(CHUNK_HEAD..).and_then(|rest| rest.first_chunk::<HEADER>());
    let &[f1, f0, t1, t0, d1, d0] = fields.filter(|_| length >= HEADER).ok_or_else(too_short)?;
    match u16::from_be_bytes([f1, f0]) {
        0 | 1 => {}
        2 => return Err(MidiFileError::Format2),
        format => {
            let reason = format!("there is no format {format}");
            return Err(MidiFileError::BadHeader { reason });
        }
    }
    let division = Division::read([d1, d0])?;
    Ok((usize::from(u16::from_be_bytes([t1, t0])), division, CHUNK_HEAD.saturating_add(length)))
}

impl<'a> Chunks<'a> {
    /// Collects the tracks of `body`, which begins at byte `at` of the file; other chunks are passed over, as the
    /// standard asks.
    fn walk(&mut self, body: &'a [u8], at: usize) -> Result<(), MidiFileError> {
        let mut position = 0;
        while position < body.len() {
            let Some((kind, declared)) = chunk_head(&body[position..]) else {
                self.warnings.push(Warning::Junk { byte: at + position });
                return Ok(());
            };
            let start = position + CHUNK_HEAD;
            let end = start.saturating_add(declared).min(body.len());
            if kind == *b"MTrk" {
                if self.tracks.len() == MAX_TRACKS {
                    return Err(MidiFileError::TooManyTracks { byte: at + position });
                }
                self.push(&body[start..end], at + start, declared)?;
            }
            position = end;
        }
        Ok(())
    }

    /// A track that breaks off has lost notes, and with them what a review would say: it is refused.
    fn push(&mut self, events: &'a [u8], byte: usize, declared: usize) -> Result<(), MidiFileError> {
        let (track, found) = (self.tracks.len() + 1, events.len());
        if found < declared {
            return Err(MidiFileError::TruncatedTrack { track, byte, declared, found });
        }
        self.tracks.push(TrackChunk { byte, events, declared });
        Ok(())
    }
}

/// The type and announced length of a chunk; `None` where no chunk begins (a type is four printable characters).
fn chunk_head(bytes: &[u8]) -> Option<([u8; 4], usize)> {
    let (kind, rest) = bytes.split_first_chunk::<4>()?;
    let (length, _) = rest.split_first_chunk::<4>()?;
    let printable = kind.iter().all(|byte| (b' '..=b'~').contains(byte));
    printable.then_some((*kind, u32::from_be_bytes(*length) as usize))
}
