//! The layout of a SoundFont file, looked through before it is read: every chunk lies in the file, and every table points
//! into the next one.
//!
//! The format is RIFF (*SoundFont Technical Specification* 2.04, Creative Technology, sections 4 to 7): three lists, of
//! words, of samples, of tables. Sizes are bounded here too, so that a few bytes cannot ask for all the memory there is.

use std::io::{ErrorKind, Read, Seek, SeekFrom};

use super::NoSoundFont;

/// The longest words of a file: 64 kilobytes by the specification, some more for those who do not keep to it.
const LONGEST_WORDS: u64 = 1 << 20;
/// The largest table: more presets, zones and samples than a table of 16-bit numbers can point to.
const LARGEST_TABLE: u64 = 16 << 20;
/// The highest place of a sample: above it an offset could leave the range of the numbers it is kept in.
const HIGHEST_PLACE: u32 = 1 << 30;
/// The highest rate of a sample, in hertz.
const HIGHEST_RATE: u32 = 768_000;

/// What contradicts what in a file.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// It ends too soon.
    #[error("it ends in the midst of a part")]
    CutOff,
    /// A chunk is longer than what it lies in.
    #[error("a part of it is longer than the file")]
    TooLong,
    /// A list is missing or stands elsewhere.
    #[error("its list \"{0}\" is missing")]
    NoList(&'static str),
    /// A table has no whole number of rows, or none.
    #[error("its table \"{0}\" is cut off")]
    Rows(&'static str),
    /// A table points outside the next one.
    #[error("its table \"{0}\" points to what is not there")]
    Points(&'static str),
    /// A sample lies at an impossible place, or runs at an impossible rate.
    #[error("a sound lies outside the file")]
    Sample,
    /// A sound repeats a stretch too short for the pitch it is played at.
    #[error("a sound repeats a stretch that is too short")]
    Loop,
}

impl From<Fault> for NoSoundFont {
    fn from(fault: Fault) -> Self {
        Self::Damaged(fault)
    }
}

impl From<std::io::Error> for NoSoundFont {
    fn from(error: std::io::Error) -> Self {
        match error.kind() {
            ErrorKind::UnexpectedEof => Self::Damaged(Fault::CutOff),
            _ => Self::Unreadable(error),
        }
    }
}

/// A chunk's name and where its bytes lie.
struct Chunk {
    name: [u8; 4],
    start: u64,
    end: u64,
}

/// Looks through a file from its start.
pub(super) fn check(file: &mut (impl Read + Seek)) -> Result<(), NoSoundFont> {
    let length = file.seek(SeekFrom::End(0))?;
    file.seek(SeekFrom::Start(0))?;
    let mut head = [0; 12];
    match file.read_exact(&mut head) {
        Ok(()) if head.starts_with(b"RIFF") && head.ends_with(b"sfbk") => {}
        Ok(()) => return Err(NoSoundFont::Other),
        Err(error) if error.kind() == ErrorKind::UnexpectedEof => return Err(NoSoundFont::Other),
        Err(error) => return Err(error.into()),
    }
    let words = list(file, length, *b"INFO", Fault::NoList("INFO"))?;
    for chunk in chunks(file, &words)? {
        if chunk.end - chunk.start > LONGEST_WORDS {
            return Err(Fault::TooLong.into());
        }
    }
    file.seek(SeekFrom::Start(words.end))?;
    let samples = list(file, length, *b"sdta", Fault::NoList("sdta"))?;
    chunks(file, &samples)?;
    file.seek(SeekFrom::Start(samples.end))?;
    let tables = list(file, length, *b"pdta", Fault::NoList("pdta"))?;
    check_tables(file, &tables)
}

/// Reads the head of a chunk that must end before `end`.
fn chunk(file: &mut (impl Read + Seek), end: u64) -> Result<Chunk, NoSoundFont> {
    let mut head = [0; 8];
    file.read_exact(&mut head)?;
    let start = file.stream_position()?;
    let [a, b, c, d, size @ ..] = head;
    let chunk = Chunk { name: [a, b, c, d], start, end: start + u64::from(u32::from_le_bytes(size)) };
    if chunk.end > end { Err(Fault::TooLong.into()) } else { Ok(chunk) }
}

/// Reads the head of a list called `name`.
fn list(
    file: &mut (impl Read + Seek),
    length: u64,
    name: [u8; 4],
    missing: Fault,
) -> Result<Chunk, NoSoundFont> {
    let list = chunk(file, length)?;
    let mut found = [0; 4];
    file.read_exact(&mut found)?;
    if list.name != *b"LIST" || found != name || list.end < list.start + 4 {
        return Err(missing.into());
    }
    Ok(Chunk { start: list.start + 4, ..list })
}

/// The chunks of a list.
fn chunks(file: &mut (impl Read + Seek), list: &Chunk) -> Result<Vec<Chunk>, NoSoundFont> {
    let mut found = Vec::new();
    let mut at = list.start;
    while at < list.end {
        file.seek(SeekFrom::Start(at))?;
        let chunk = chunk(file, list.end)?;
        at = chunk.end;
        found.push(chunk);
    }
    Ok(found)
}

/// A table: its name, how many bytes a row has, and at which of them a number points into the next table.
type Table = (&'static str, usize, usize);

/// Presets point to zones, zones to generators; instruments likewise.
const CHAINS: [[Table; 3]; 2] =
    [[("phdr", 38, 24), ("pbag", 4, 0), ("pgen", 4, 0)], [("inst", 22, 20), ("ibag", 4, 0), ("igen", 4, 0)]];
const SAMPLE_TABLE: Table = ("shdr", 46, 0);

fn check_tables(file: &mut (impl Read + Seek), list: &Chunk) -> Result<(), NoSoundFont> {
    let chunks = chunks(file, list)?;
    for [heads, zones, generators] in CHAINS {
        let rows = |file: &mut _, table| read_table(file, &chunks, table);
        let (head_rows, zone_rows) = (rows(file, heads)?, rows(file, zones)?);
        let generator_rows = rows(file, generators)?;
        points_into(&head_rows, heads, &zone_rows)?;
        points_into(&zone_rows, zones, &generator_rows)?;
    }
    let samples = read_table(file, &chunks, SAMPLE_TABLE)?;
    // The last row only ends the table.
    let real = samples.len().saturating_sub(1);
    if samples[..real].iter().all(|row| is_possible(row)) { Ok(()) } else { Err(Fault::Sample.into()) }
}

/// The rows of a table.
fn read_table(
    file: &mut (impl Read + Seek),
    chunks: &[Chunk],
    (name, width, _): Table,
) -> Result<Vec<Vec<u8>>, NoSoundFont> {
    // Where a table is there twice the last one counts, as for whoever reads the file behind us.
    let chunk = chunks.iter().rev().find(|chunk| chunk.name == name.as_bytes());
    let chunk = chunk.ok_or(Fault::Rows(name))?;
    let size = chunk.end - chunk.start;
    if size == 0 || size > LARGEST_TABLE || !size.is_multiple_of(width as u64) {
        return Err(Fault::Rows(name).into());
    }
    file.seek(SeekFrom::Start(chunk.start))?;
    let mut bytes = vec![0; size as usize];
    file.read_exact(&mut bytes)?;
    Ok(bytes.chunks_exact(width).map(<[u8]>::to_vec).collect())
}

/// Whether the numbers of `rows` rise and stay within `next`, whose last row only ends it.
fn points_into(rows: &[Vec<u8>], (name, _, at): Table, next: &[Vec<u8>]) -> Result<(), NoSoundFont> {
    let numbers: Vec<usize> =
        rows.iter().map(|row| usize::from(u16::from_le_bytes([row[at], row[at + 1]]))).collect();
    let rise = numbers.is_sorted();
    let within = numbers.iter().all(|&number| number < next.len());
    if rise && within { Ok(()) } else { Err(Fault::Points(name).into()) }
}

/// Whether a row of the table of samples has numbers that can be counted with: start, end, loop, and the rate.
fn is_possible(row: &[u8]) -> bool {
    let number = |at: usize| u32::from_le_bytes([row[at], row[at + 1], row[at + 2], row[at + 3]]);
    [20, 24, 28, 32].into_iter().all(|at| number(at) <= HIGHEST_PLACE) && number(36) <= HIGHEST_RATE
}
