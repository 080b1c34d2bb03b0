//! Ghosts: notes that a converter misread. They stay listed and can be called back; the bounds are our choice.

use super::strings::StringMap;
use super::stroke::Stroke;
use crate::take::note::LeftOut;
use crate::time::NanoSpan;

/// Softer than this is soft, whatever the playing around it.
const SOFT: u8 = 20;
/// Hundredths of the running median below which a note is soft.
const SOFT_SHARE: u32 = 35;
/// How many notes the median runs over: the last ones, or the first of the take until there are so many.
const WINDOW: usize = 32;
/// A soft note is a ghost when shorter than this.
const SHORT: NanoSpan = NanoSpan::millis(60);
/// Intervals above a string's own note at which overtones sound: an octave, a twelfth, two octaves.
const OVERTONES: [u8; 3] = [12, 19, 24];
/// An overtone is a ghost when shorter than this, and when its string's note ended no longer ago than `OVERTONE_GAP`.
const OVERTONE_SHORT: NanoSpan = NanoSpan::millis(80);
const OVERTONE_GAP: NanoSpan = NanoSpan::millis(40);

/// Marks the ghosts among strokes. Overtones and notes below the open string are looked for only where each string
/// has its channel; elsewhere an octave leap would look the same.
pub(super) fn set_aside(strokes: &mut [Stroke], strings: Option<&StringMap>) {
    let mut last_kept: [Option<Stroke>; 16] = [None; 16];
    for index in 0..strokes.len() {
        let stroke = strokes[index];
        if stroke.left_out.is_some() {
            continue;
        }
        let channel = usize::from(stroke.channel);
        let on_string = strings.filter(|map| map.string(stroke.channel).is_some());
        let misread = on_string.is_some_and(|map| {
            map.fret(stroke.channel, stroke.key).is_none() || is_overtone(&stroke, last_kept[channel])
        });
        if misread || is_soft_and_short(strokes, index) {
            strokes[index].left_out = Some(LeftOut::Ghost);
        } else {
            last_kept[channel] = Some(stroke);
        }
    }
}

fn is_overtone(stroke: &Stroke, before: Option<Stroke>) -> bool {
    before.is_some_and(|before| {
        let interval = stroke.key.checked_sub(before.key);
        let overtone = interval.is_some_and(|interval| OVERTONES.contains(&interval));
        overtone && stroke.on - before.off < OVERTONE_GAP && stroke.length() < OVERTONE_SHORT
    })
}

/// Softer than 20 or than 0.35 of the running median, and short. A note as loud as the median is never soft, so a
/// take whose velocities are all the same loses nothing.
fn is_soft_and_short(strokes: &[Stroke], index: usize) -> bool {
    let stroke = &strokes[index];
    let loudest_soft = u32::from(SOFT).max(127 * SOFT_SHARE / 100 + 1);
    if stroke.length() >= SHORT || u32::from(stroke.velocity) >= loudest_soft {
        return false;
    }
    let median = running_median(strokes, index);
    let velocity = u32::from(stroke.velocity) * 100;
    let soft = (u32::from(SOFT) * 100).max(u32::from(median) * SOFT_SHARE);
    velocity < soft && stroke.velocity < median
}

/// The median velocity of the notes up to `index`; the upper one of two in the middle.
fn running_median(strokes: &[Stroke], index: usize) -> u8 {
    let end = (index + 1).max(WINDOW.min(strokes.len()));
    let window = &strokes[end.saturating_sub(WINDOW)..end];
    let mut velocities = [0; WINDOW];
    let velocities = &mut velocities[..window.len()];
    for (velocity, stroke) in velocities.iter_mut().zip(window) {
        *velocity = stroke.velocity;
    }
    velocities.sort_unstable();
    velocities[velocities.len() / 2]
}
