//! How a walking line goes from root to root, held against charts at random.

use std::cell::Cell;
use std::ops::RangeInclusive;

use super::played::{Played, Sounding, for_every_chart};
use super::*;

/// Where roots and the notes between lie.
const LANDINGS: RangeInclusive<i32> = 31..=50;
/// The widest leap to a note that is no root.
const WIDEST: i32 = 7;

/// A chord that is walked, by itself: nothing pushed, nothing tied, in a bar of the band, with its notes.
struct Walked<'p> {
    index: usize,
    chord: &'p Sounding,
    symbol: ChordSymbol,
    scale: crate::theory::PitchClassSet,
    /// What the bass strikes over it, the first on its start.
    keys: Vec<i32>,
    /// What it struck before it, where it is known: everywhere it plays in.
    before: i32,
}

impl Walked<'_> {
    fn pulses(&self) -> i64 {
        self.chord.lasts().0 / self.chord.place.pulse.0
    }

    fn tones(&self) -> crate::theory::PitchClassSet {
        self.symbol.tone_set()
    }

    fn is_a_whole_bar(&self) -> bool {
        self.chord.at == self.chord.place.at && self.chord.end == self.chord.place.end
    }
}

/// The chords that are walked in a chart in which the band plays every bar, so that the whole line is heard.
fn walked(played: &Played) -> Vec<Walked<'_>> {
    if !played.plays() || !played.every_bar_is_the_bands() {
        return Vec::new();
    }
    let bass = played.part(Part::Bass);
    let by_itself = |&(i, chord): &(usize, &Sounding)| {
        let tied = played.is_tied(i) || i > 0 && played.is_tied(i - 1);
        let ends_on_a_pulse = (chord.end - chord.place.at).0 % chord.place.pulse.0 == 0;
        !tied && !chord.is_off_the_pulses() && ends_on_a_pulse && played.walks_in(chord.place.chorus)
    };
    let chords = played.chords.iter().enumerate().filter(by_itself);
    let walked = chords.filter_map(|(index, chord)| {
        let within = |note: &&BandNote| (chord.at..chord.end).contains(&note.at);
        let key = |note: &BandNote| i32::from(note.key.key());
        let keys: Vec<i32> = bass.iter().filter(within).map(key).collect();
        let before = bass.iter().rfind(|note| note.at < chord.at).map_or(42, key);
        let of_form = index % played.case.form.chords.len();
        let scale = played.case.reading.chords[of_form].as_ref()?.scale.pitch_classes();
        Some(Walked { index, chord, symbol: chord.symbol?, scale, keys, before })
    });
    walked.collect()
}

/// The root nearest to a note among the landings; the lower one on a tie.
fn nearest_root(root: PitchClass, to: i32) -> i32 {
    let roots = LANDINGS.filter(|&key| PitchClass::from_semitones(key) == root);
    roots.min_by_key(|key| (key - to).abs()).expect("every note is among the landings")
}

/// Whether the chord before is the same and goes on in the same chorus.
fn goes_on(played: &Played, walked: &Walked) -> bool {
    walked.index > 0 && {
        let before = &played.chords[walked.index - 1];
        before.symbol == walked.chord.symbol && before.place.chorus == walked.chord.place.chorus
    }
}

#[test]
fn a_root_is_taken_in_the_octave_nearest_to_the_note_before() {
    for_every_chart(4_000, |played| {
        let mut seen = 0;
        for walked in walked(played).iter().filter(|walked| !goes_on(played, walked)) {
            let root = walked.symbol.heard().bass_or_root().pitch_class();
            let expected = nearest_root(root, walked.before);
            assert_eq!(walked.keys[0], expected, "chord {} {}", walked.index, played.tell());
            seen += 1;
        }
        seen
    });
}

#[test]
fn a_chord_has_a_note_a_pulse_and_a_short_one_its_root_alone() {
    for_every_chart(5_000, |played| {
        let walked = walked(played);
        for chord in &walked {
            let notes = chord.keys.len() as i64;
            assert_eq!(notes, chord.pulses().max(1), "chord {} {}", chord.index, played.tell());
        }
        walked.len() as u64
    });
}

#[test]
fn a_chord_that_goes_on_begins_every_second_bar_on_its_fifth_or_third() {
    for_every_chart(300, |played| {
        let mut seen = 0;
        let walked = walked(played);
        for pair in walked.windows(2).filter(|pair| pair[1].index == pair[0].index + 1) {
            let [first, second] = pair else { continue };
            let begins = !goes_on(played, first) && goes_on(played, second);
            if !begins || second.chord.at != second.chord.place.at {
                continue;
            }
            let struck = second.keys[0];
            let root = second.symbol.heard().bass_or_root().pitch_class();
            let inner = |key: &i32| {
                let class = PitchClass::from_semitones(*key);
                second.tones().has(class) && class != root && is_fifth_or_third(second.symbol, class)
            };
            let within_reach = second.before - WIDEST..=second.before + WIDEST;
            let reached = within_reach.filter(|key| (28..=55).contains(key)).any(|key| inner(&key));
            assert!(inner(&struck) || !reached, "chord {} {}", second.index, played.tell());
            seen += u64::from(inner(&struck));
        }
        seen
    });
}

fn is_fifth_or_third(symbol: ChordSymbol, class: PitchClass) -> bool {
    let above = class.above(symbol.heard().root.pitch_class());
    (6..=8).contains(&above) || symbol.guide_tones().first() == Some(&class)
}

#[test]
fn a_chord_that_goes_on_is_walked_up_and_down_by_turns() {
    for_every_chart(200, |played| {
        let mut seen = 0;
        let walked = walked(played);
        for pair in walked.windows(2).filter(|pair| pair[1].index == pair[0].index + 1) {
            let [first, second] = pair else { continue };
            let whole = |chord: &Walked| chord.is_a_whole_bar() && chord.pulses() >= 3;
            if first.symbol != second.symbol || !whole(first) || !whole(second) {
                continue;
            }
            let way = |chord: &Walked| (chord.keys[1] - chord.keys[0]).signum();
            let (from, other) = (second.keys[0], -way(first));
            let room = |notes: crate::theory::PitchClassSet| {
                let ahead = (1..=WIDEST).map(|distance| from + distance * other);
                ahead
                    .into_iter()
                    .any(|key| LANDINGS.contains(&key) && notes.has(PitchClass::from_semitones(key)))
            };
            let at_the_edge = !room(second.tones()) || !room(second.scale);
            assert!(way(second) == other || at_the_edge, "chord {} {}", second.index, played.tell());
            seen += u64::from(way(second) == other);
        }
        seen
    });
}

#[test]
fn the_notes_between_are_of_the_chord_or_its_scale_and_go_one_way_to_the_edge() {
    for_every_chart(5_000, |played| {
        let mut seen = 0;
        for chord in walked(played) {
            let leads_on = played.chords.get(chord.index + 1).is_none_or(|next| next.symbol.is_some());
            let between = chord.keys.len().saturating_sub(usize::from(leads_on));
            let inner = &chord.keys[..between.max(1)];
            for &key in &inner[1..] {
                let class = PitchClass::from_semitones(key);
                let known = chord.tones().has(class) || chord.scale.has(class);
                assert!(known && LANDINGS.contains(&key), "chord {} {}", chord.index, played.tell());
                seen += 1;
            }
            for three in inner.windows(3) {
                let turns = (three[1] - three[0]).signum() != (three[2] - three[1]).signum();
                let way = (three[1] - three[0]).signum();
                let edge = if way > 0 { *LANDINGS.end() } else { *LANDINGS.start() };
                assert!(
                    !turns || (edge - three[1]).abs() < WIDEST,
                    "chord {} {}",
                    chord.index,
                    played.tell()
                );
            }
        }
        seen
    });
}

#[test]
fn an_approach_comes_from_the_side_the_line_lies_on_by_semitone_step_or_fifth() {
    let semitones = Cell::new(0u32);
    let all = Cell::new(0u32);
    for_every_chart(1_500, |played| {
        let walked = walked(played);
        let mut seen = 0;
        for pair in walked.windows(2).filter(|pair| pair[1].index == pair[0].index + 1) {
            let [chord, next] = pair else { continue };
            let [.., before, approach] = chord.keys[..] else { continue };
            if goes_on(played, next) {
                continue;
            }
            let target = nearest_root(next.symbol.heard().bass_or_root().pitch_class(), before);
            let side = (before - target).signum();
            let ways = if side > 0 { [1, 2, 7] } else { [-1, -2, -5] };
            let either = [1, 2, 7, -1, -2, -5];
            let ways = if side == 0 { &either[..] } else { &ways[..] };
            let may_follow = |way: &i32| {
                let key = target + way;
                (28..=55).contains(&key) && key != before && (key - before).abs() <= WIDEST
            };
            let by = approach - target;
            let possible = ways.iter().any(may_follow);
            assert!(!possible || ways.contains(&by), "{by} chord {} {}", chord.index, played.tell());
            semitones.set(semitones.get() + u32::from(by.abs() == 1));
            all.set(all.get() + 1);
            seen += 1;
        }
        seen
    });
    // Six in ten are drawn; where another could not be reached it is a semitone, too.
    let share = f64::from(semitones.get()) / f64::from(all.get());
    assert!((0.5..0.8).contains(&share), "{share}");
}
