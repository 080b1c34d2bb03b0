//! How chords share a bar that does not say where they stand, and what to write where they cannot.

use crate::time::Meter;

use super::model::BeatPlace;

/// Whether so many chords share a bar of `meter` evenly, each beginning on a beat.
pub(super) const fn fall_on_beats(chords: usize, meter: Meter) -> bool {
    chords == 0 || (meter.beats() as usize).is_multiple_of(chords)
}

/// What to write so that these chords share a bar of `meter`: earlier chords take what is left over.
pub(super) fn say_where(chords: &[&str], meter: Meter) -> String {
    let beats = usize::from(meter.beats());
    if chords.len() > 2 * beats {
        return format!("A bar of {meter} holds at most {}", 2 * beats);
    }
    if chords.len() > beats {
        return format!("Say where: \"{}\"", placed(chords, &shares(2 * beats, chords.len())));
    }
    let lengths = shares(beats, chords.len());
    let in_halves: Vec<usize> = lengths.iter().map(|beats| 2 * beats).collect();
    format!("Say where: \"{}\" or \"{}\"", slots(chords, &lengths), placed(chords, &in_halves))
}

/// `total` dealt out to `count`, in whole numbers, the first ones getting one more where it does not come out even.
fn shares(total: usize, count: usize) -> Vec<usize> {
    (0..count).map(|i| total / count + usize::from(i < total % count)).collect()
}

fn slots(chords: &[&str], beats: &[usize]) -> String {
    let slots = chords.iter().zip(beats).flat_map(|(&chord, &beats)| {
        std::iter::once(chord).chain(std::iter::repeat_n("/", beats.saturating_sub(1)))
    });
    slots.collect::<Vec<_>>().join(" ")
}

fn placed(chords: &[&str], half_beats: &[usize]) -> String {
    let mut at = 0;
    let mut texts = Vec::new();
    for (&chord, length) in chords.iter().zip(half_beats) {
        texts.push(match at {
            0 => chord.to_owned(),
            _ => format!("{chord}@{}", BeatPlace::after_half_beats(at)),
        });
        at += length;
    }
    texts.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_suggestion_gives_the_first_chords_what_is_left_over() {
        let check = |chords: &str, meter: &str, expect: &str| {
            let chords: Vec<&str> = chords.split(' ').collect();
            assert_eq!(say_where(&chords, meter.parse().expect("a meter")), expect);
        };
        check("Fm7 Bb7 C7", "4/4", "Say where: \"Fm7 / Bb7 C7\" or \"Fm7 Bb7@3 C7@4\"");
        check("Dm7 G7", "3/4", "Say where: \"Dm7 / G7\" or \"Dm7 G7@3\"");
        check("C F", "5/4", "Say where: \"C / / F /\" or \"C F@4\"");
        check("C D E F G", "4/4", "Say where: \"C D@2 E@3 F@4 G@4&\"");
        check("C D E", "1/4", "A bar of 1/4 holds at most 2");
    }
}
