//! The rules of every part, held against charts at random.
//!
//! What a chart asks for is worked out here once more from the form, in plain sight, not taken from the arranger.

use std::collections::BTreeSet;
use std::ops::Range;

use super::comping::sound_together;
use super::random_charts::{CHARTS, Case};
use super::*;
use crate::band::comping::cells::cells;
use crate::theory::Pitch;
use crate::time::TICKS_PER_QUARTER;

/// A pulse that divides in three: in it nothing swings.
const DOTTED_QUARTER: TickSpan = TickSpan(TICKS_PER_QUARTER * 3 / 2);

/// Where a chord sounds in the take, and in which bar it is written.
struct Sounding {
    at: Ticks,
    end: Ticks,
    symbol: Option<ChordSymbol>,
    place: Place,
}

/// A bar of the take.
#[derive(Clone, Copy)]
struct Place {
    chorus: u32,
    at: Ticks,
    end: Ticks,
    pulse: TickSpan,
    off_beat: TickSpan,
    playing: Playing,
}

impl Place {
    fn pulses(&self) -> i64 {
        (self.end - self.at).0 / self.pulse.0
    }

    fn hat_pulses(&self) -> Vec<Ticks> {
        let is_hat = |&i: &i64| if self.pulses() == 3 { i != 0 } else { i % 2 == 1 };
        (0..self.pulses()).filter(is_hat).map(|i| self.at + self.pulse * i).collect()
    }
}

impl Sounding {
    fn root(&self) -> Option<PitchClass> {
        self.symbol.map(|symbol| symbol.heard().bass_or_root().pitch_class())
    }

    fn lasts(&self) -> TickSpan {
        self.end - self.at
    }

    /// Whether it begins after the last pulse of its bar.
    fn is_behind_the_bar(&self) -> bool {
        self.at > self.place.end - self.place.pulse
    }

    fn is_off_the_pulses(&self) -> bool {
        (self.at - self.place.at).0 % self.place.pulse.0 != 0
    }
}

/// A case, what it asks for, and what is played.
struct Played {
    case: Case,
    bars: Vec<Place>,
    chords: Vec<Sounding>,
    arrangement: Arrangement,
}

impl Played {
    fn new(number: u64) -> Self {
        let case = Case::new(number);
        let arrangement = arrange(&case.call());
        let (mut bars, mut chords) = (Vec::new(), Vec::new());
        for chorus in 1..=u32::from(case.choruses) {
            let start = Ticks::ZERO + arrangement.count_in + case.form.length() * i64::from(chorus - 1);
            let moved = |at: Ticks| start + (at - Ticks::ZERO);
            for (index, bar) in case.form.bars.iter().enumerate() {
                let pulse = feel::pulse(bar.meter);
                let off_beat =
                    case.feel.off_beat(pulse, feel::lasts(pulse, case.quarter), case.swing_percent);
                let playing = case.playing(chorus, index);
                let (at, end) = (moved(bar.start), moved(bar.start) + bar.meter.bar());
                bars.push(Place { chorus, at, end, pulse, off_beat, playing });
            }
            let places = &bars[bars.len() - case.form.bars.len()..];
            for chord in &case.form.chords {
                let place = places[chord.bar];
                let played = |written: Ticks| {
                    let behind = TickSpan((written - place.at).0 % place.pulse.0);
                    if behind * 2 == place.pulse && place.pulse != DOTTED_QUARTER {
                        written - behind + place.off_beat
                    } else {
                        written
                    }
                };
                let (at, end) = (moved(chord.start), moved(chord.start) + chord.length);
                chords.push(Sounding { at: played(at), end: played(end), symbol: chord.symbol, place });
            }
        }
        Self { case, bars, chords, arrangement }
    }

    fn part(&self, part: Part) -> Vec<BandNote> {
        let before_the_end = |note: &BandNote| note.at < self.arrangement.end;
        of_part(&self.arrangement, part).into_iter().filter(before_the_end).collect()
    }

    fn plays(&self) -> bool {
        !matches!(self.case.accompaniment.click, ClickOn::Alone(_))
    }

    fn every_bar_is_the_bands(&self) -> bool {
        self.bars.iter().all(|bar| bar.playing == Playing::Band)
    }

    /// Whether the bass walks in a chorus: quarters, in no special pattern.
    fn walks_in(&self, chorus: u32) -> bool {
        let in_two = self.case.accompaniment.opening == Opening::TwoFeel && chorus == 1;
        matches!(self.case.feel, Feel::Swing | Feel::Straight) && !in_two
    }

    fn chord_at(&self, at: Ticks) -> Option<&Sounding> {
        self.chords.iter().find(|chord| (chord.at..chord.end).contains(&at))
    }

    /// Whether a chord is the push into the next one: that begins with it, half a pulse before its bar.
    fn is_tied(&self, i: usize) -> bool {
        let (Some(push), Some(next)) = (self.chords.get(i), self.chords.get(i + 1)) else { return false };
        push.is_behind_the_bar()
            && push.symbol.is_some()
            && push.symbol == next.symbol
            && push.place.playing == next.place.playing
    }

    fn tell(&self) -> String {
        let chords: Vec<&str> = self.case.form.chords.iter().map(|chord| chord.text.as_str()).collect();
        format!("chart {}, {}, {chords:?}, {:?}", self.case.number, self.case.feel, self.case.accompaniment)
    }
}

/// Holds a rule against every chart; it counts what it looked at, so that it cannot pass by looking at nothing.
fn for_every_chart(at_least: u64, rule: impl Fn(&Played) -> u64) {
    let mut charts = 0;
    let looked_at: u64 = (0..CHARTS)
        .map(|number| {
            charts += 1;
            rule(&Played::new(number))
        })
        .sum();
    assert_eq!(charts, 10_000);
    assert!(looked_at >= at_least, "{looked_at} cases of the rule");
}

#[test]
fn the_bass_keeps_its_range_and_plays_one_note_at_a_time() {
    for_every_chart(50_000, |played| {
        let bass = played.part(Part::Bass);
        for note in &bass {
            assert!((28..=55).contains(&note.key.key()) && note.length.0 > 0, "{note:?} {}", played.tell());
        }
        for pair in bass.windows(2) {
            assert!(pair[0].at + pair[0].length <= pair[1].at, "{pair:?} {}", played.tell());
        }
        bass.len() as u64
    });
}

#[test]
fn every_chord_begins_on_its_root() {
    for_every_chart(30_000, |played| {
        if !played.plays() {
            return 0;
        }
        let bass = played.part(Part::Bass);
        let mut seen = 0;
        for (i, chord) in played.chords.iter().enumerate() {
            let Some(root) = chord.root().filter(|_| chord.place.playing == Playing::Band) else { continue };
            let before = i.checked_sub(1).map(|i| &played.chords[i]);
            let tied = i > 0 && played.is_tied(i - 1);
            let at = if tied { played.chords[i - 1].at } else { chord.at };
            let struck = bass.iter().find(|note| note.at == at);
            let struck = struck.unwrap_or_else(|| panic!("nothing at {at:?}, chord {i} {}", played.tell()));
            // A push that is tied to its bar is one with it; what goes on is what was there before the push.
            let before = if tied { i.checked_sub(2).map(|i| &played.chords[i]) } else { before };
            let goes_on = before.is_some_and(|before| {
                before.symbol == chord.symbol
                    && before.place.chorus == chord.place.chorus
                    && before.place.playing == Playing::Band
            });
            if goes_on && played.walks_in(chord.place.chorus) {
                let tones = chord.symbol.map(ChordSymbol::tone_set).expect("a chord");
                assert!(tones.has(struck.key.pitch_class()), "chord {i} {}", played.tell());
            } else {
                assert_eq!(struck.key.pitch_class(), root, "chord {i} {}", played.tell());
                seen += 1;
            }
        }
        seen
    });
}

#[test]
fn an_approach_is_never_what_it_leads_to() {
    for_every_chart(5_000, |played| {
        let bass = played.part(Part::Bass);
        let mut seen = 0;
        for (i, chord) in played.chords.iter().enumerate() {
            let Some(next) = played.chords.get(i + 1) else { continue };
            let at_home = |chord: &Sounding| chord.place.playing == Playing::Band && chord.symbol.is_some();
            let long = chord.lasts().0 >= 2 * chord.place.pulse.0 && !played.is_tied(i);
            if !(long && at_home(chord) && at_home(next) && played.walks_in(chord.place.chorus)) {
                continue;
            }
            let approach = bass.iter().rfind(|note| note.at < next.at);
            let landing = bass.iter().find(|note| note.at >= next.at);
            if let Some((approach, landing)) = approach.zip(landing) {
                let same = approach.key.pitch_class() == landing.key.pitch_class();
                assert!(!same, "chord {i} {}", played.tell());
                seen += 1;
            }
        }
        seen
    });
}

#[test]
fn a_walking_line_never_repeats_a_note_and_leaps_only_to_roots() {
    for_every_chart(20_000, |played| {
        let bass = played.part(Part::Bass);
        let mut seen = 0;
        for pair in bass.windows(2) {
            let (Some(from), Some(to)) = (played.chord_at(pair[0].at), played.chord_at(pair[1].at)) else {
                continue;
            };
            let unbroken = played.chords.iter().all(|chord| {
                let between = chord.at < pair[1].at && pair[0].at < chord.end;
                !between || chord.symbol.is_some() && chord.place.playing == Playing::Band
            });
            if !unbroken || !played.walks_in(from.place.chorus) || !played.walks_in(to.place.chorus) {
                continue;
            }
            let leap = pair[1].key.semitones_above(pair[0].key).abs();
            let begins = pair[1].at == to.at;
            // A chord too short for more than its root leaves no room for an approach.
            let after_short = begins && from.lasts().0 < 2 * from.place.pulse.0;
            assert!(leap > 0 || after_short, "{pair:?} {}", played.tell());
            let is_root = begins && to.root() == Some(pair[1].key.pitch_class());
            assert!(leap <= 7 || is_root, "{pair:?} {}", played.tell());
            seen += 1;
        }
        seen
    });
}

/// The two notes of each chord that is struck.
fn shells(played: &Played) -> Vec<[BandNote; 2]> {
    let comp = played.part(Part::Comp);
    comp.chunks(2).map(|two| [two[0], two[1]]).collect()
}

/// The shells of a chord by the rule: two of its guide tones (of a triad its third and fifth) between C3 and E4, a minor
/// third apart or more.
fn voicings(chord: ChordSymbol) -> Vec<[i32; 2]> {
    let (guides, tones) = (chord.guide_tones(), chord.tones());
    let first = guides.first().copied().unwrap_or(tones[0]);
    let second = guides.get(1).copied();
    let second =
        second.or_else(|| tones.iter().rev().copied().find(|&tone| tone != first)).expect("two tones");
    let wanted = BTreeSet::from([first, second]);
    let pairs = (48..=64).flat_map(|low| (low + 3..=64).map(move |high| [low, high]));
    pairs
        .filter(|pair| {
            pair.iter().map(|&key| PitchClass::from_semitones(key)).collect::<BTreeSet<_>>() == wanted
        })
        .collect()
}

#[test]
fn the_comping_lies_above_the_bass_that_sounds() {
    for_every_chart(10_000, |played| {
        let bass = played.part(Part::Bass);
        let comp = played.part(Part::Comp);
        for chord in &comp {
            assert!((48..=64).contains(&chord.key.key()) && chord.length.0 > 0, "{}", played.tell());
            for note in bass.iter().filter(|note| sound_together(note, chord)) {
                assert!(note.key < chord.key, "{note:?} {chord:?} {}", played.tell());
            }
        }
        comp.len() as u64
    });
}

#[test]
fn the_comping_moves_as_little_as_it_can() {
    for_every_chart(5_000, |played| {
        // Where bars are left out, not every shell that the next one moved from is heard.
        if !played.every_bar_is_the_bands() {
            return 0;
        }
        let bass = played.part(Part::Bass);
        let motion = |from: [i32; 2], to: [i32; 2]| (from[0] - to[0]).abs() + (from[1] - to[1]).abs();
        let mut last = [53, 60];
        let mut seen = 0;
        for [low, high] in shells(played) {
            let shell = [low, high].map(|note| i32::from(note.key.key()));
            assert!(low.at == high.at && shell[1] - shell[0] >= 3, "{}", played.tell());
            let under = bass.iter().find(|note| note.at <= low.at && low.at < note.at + note.length);
            let floor = under.map_or(0, |note| i32::from(note.key.key()));
            let chords = sounding_chords(played, low.at);
            let chord = chords.iter().copied().find(|&chord| voicings(chord).contains(&shell));
            let Some(chord) = chord else {
                panic!("{shell:?} at {:?} is none of {chords:?} {}", low.at, played.tell());
            };
            let nearest = voicings(chord).into_iter().filter(|voicing| voicing[0] > floor);
            let nearest = nearest.map(|voicing| motion(last, voicing)).min();
            assert_eq!(Some(motion(last, shell)), nearest, "{shell:?} {}", played.tell());
            last = shell;
            seen += 1;
        }
        seen
    });
}

/// The chords that a strike at `at` may sound: on the off-beat before the barline the one that comes; in a bar of one
/// pulse, whose off-beat is no push of necessity, either.
fn sounding_chords(played: &Played, at: Ticks) -> Vec<ChordSymbol> {
    let Some(here) = played.chord_at(at) else { return Vec::new() };
    let place = here.place;
    let is_push = at == place.end - place.pulse + place.off_beat && here.at != at;
    let comes = played.chord_at(place.end).filter(|_| is_push);
    let stays = (!is_push || place.pulses() == 1).then_some(here);
    comes.into_iter().chain(stays).filter_map(|chord| chord.symbol).collect()
}

#[test]
fn chords_that_the_chart_pushes_are_struck_with_it() {
    for_every_chart(1_000, |played| {
        if !played.plays() {
            return 0;
        }
        let (bass, comp) = (played.part(Part::Bass), played.part(Part::Comp));
        let pushed = |chord: &&Sounding| chord.is_off_the_pulses() && chord.place.playing == Playing::Band;
        let mut seen = 0;
        for chord in played.chords.iter().filter(pushed) {
            let Some(symbol) = chord.symbol else { continue };
            let under = bass.iter().find(|note| note.at == chord.at);
            let under = under.unwrap_or_else(|| panic!("no bass at {:?} {}", chord.at, played.tell()));
            let has_room = voicings(symbol).iter().any(|voicing| voicing[0] > i32::from(under.key.key()));
            assert_eq!(comp.iter().any(|note| note.at == chord.at), has_room, "{}", played.tell());
            seen += 1;
        }
        seen
    });
}

#[test]
fn no_cell_comes_three_times_running() {
    for_every_chart(10_000, |played| {
        let bars = bars::unfold(&played.case.call(), Ticks::ZERO);
        let mut chance = Chance::new(Seed(played.case.number), Part::Comp);
        let drawn = cells(&bars, &mut chance);
        assert!(drawn.windows(3).all(|three| three[0] != three[1] || three[1] != three[2]));
        drawn.len().saturating_sub(2) as u64
    });
}

/// What is struck within `span`, and what of bass and comping still sounds in it.
fn heard(played: &Played, span: Range<Ticks>) -> Vec<BandNote> {
    let rings = |note: &BandNote| matches!(note.part, Part::Bass | Part::Comp) && note.at < span.end;
    let heard =
        |note: &&BandNote| span.contains(&note.at) || rings(note) && note.at + note.length > span.start;
    played.arrangement.notes.iter().filter(heard).copied().collect()
}

#[test]
fn in_a_break_the_foot_alone_is_heard() {
    for_every_chart(2_000, |played| {
        if !played.plays() {
            return 0;
        }
        let breaks = |chord: &&Sounding| chord.symbol.is_none() && chord.place.playing == Playing::Band;
        let mut seen = 0;
        for chord in played.chords.iter().filter(breaks) {
            let pulses = chord.place.hat_pulses().into_iter();
            let expected: Vec<Ticks> = pulses.filter(|at| (chord.at..chord.end).contains(at)).collect();
            let heard = heard(played, chord.at..chord.end);
            let foot = Pitch::new(44).expect("the pedal hi-hat");
            assert!(
                heard.iter().all(|note| note.part == Part::Hat && note.key == foot),
                "{heard:?} {}",
                played.tell()
            );
            assert_eq!(heard.iter().map(|note| note.at).collect::<Vec<_>>(), expected, "{}", played.tell());
            seen += 1;
        }
        seen
    });
}

#[test]
fn where_the_band_lays_out_nothing_is_heard() {
    for_every_chart(2_000, |played| {
        let out = |bar: &&Place| bar.playing == Playing::Nobody;
        let bars: Vec<&Place> = played.bars.iter().filter(out).collect();
        for bar in &bars {
            assert_eq!(heard(played, bar.at..bar.end), [], "{}", played.tell());
        }
        bars.len() as u64
    });
}

#[test]
fn in_their_turn_the_drums_alone_are_heard_and_keep_the_time() {
    for_every_chart(2_000, |played| {
        let turns = |bar: &&Place| bar.playing == Playing::DrumsAlone;
        let bars: Vec<&Place> = played.bars.iter().filter(turns).collect();
        for bar in &bars {
            let heard = heard(played, bar.at..bar.end);
            let drums = |note: &BandNote| matches!(note.part, Part::Ride | Part::Hat | Part::Kick);
            assert!(heard.iter().all(drums), "{heard:?} {}", played.tell());
            let hats = heard.iter().filter(|note| note.part == Part::Hat).map(|note| note.at);
            assert_eq!(hats.collect::<Vec<_>>(), bar.hat_pulses(), "{}", played.tell());
        }
        bars.len() as u64
    });
}

#[test]
fn a_click_alone_is_all_there_is() {
    for_every_chart(500, |played| {
        if played.plays() {
            return 0;
        }
        assert!(played.arrangement.notes.iter().all(|note| note.part == Part::Click), "{}", played.tell());
        1
    });
}

#[test]
fn nothing_comes_after_the_end_but_the_tonic() {
    for_every_chart(5_000, |played| {
        let arrangement = &played.arrangement;
        assert!(arrangement.notes.is_sorted_by_key(|note| note.at), "{}", played.tell());
        for note in &arrangement.notes {
            assert!(note.at >= Ticks::ZERO && (1..=127).contains(&note.velocity), "{}", played.tell());
            let rings = matches!(note.part, Part::Bass | Part::Comp);
            assert!(!rings || note.at >= arrangement.end || note.at + note.length <= arrangement.end);
        }
        let last = arrangement.notes.iter().filter(|note| note.at >= arrangement.end);
        let last: Vec<(Part, Ticks)> = last.map(|note| (note.part, note.at)).collect();
        let first = played.case.form.chords.iter().find_map(|chord| chord.symbol);
        let Some(first) = first.filter(|_| played.plays()) else {
            assert_eq!(last, [], "{}", played.tell());
            return 0;
        };
        let tonic = [Part::Bass, Part::Ride, Part::Kick].map(|part| (part, arrangement.end));
        assert_eq!(last, tonic, "{}", played.tell());
        let bass = of_part(arrangement, Part::Bass);
        let bass = bass.last().map(|note| (note.key.pitch_class(), note.length));
        assert_eq!(bass, Some((first.heard().root.pitch_class(), arrangement.closing)), "{}", played.tell());
        1
    });
}

#[test]
fn the_same_seed_plays_the_same_notes_and_another_does_not() {
    let differ = std::cell::Cell::new(0);
    for_every_chart(10_000, |played| {
        let call = played.case.call();
        assert_eq!(played.arrangement, arrange(&call), "{}", played.tell());
        let other = arrange(&Call { seed: Seed(played.case.number + 1), ..call });
        differ.set(differ.get() + u64::from(other != played.arrangement));
        1
    });
    assert!(differ.get() > CHARTS * 8 / 10, "{}", differ.get());
}
