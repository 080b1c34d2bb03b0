//! What `render` makes, measured in its frames: every bass note where and as high as it was written, the swing of the
//! ride, how loud each part is, and that nothing clicks.
//!
//! Onsets, pitch and loudness are found in the frames alone (`support/attacks.rs`, `pitch.rs`, `loudness.rs`,
//! `weighted.rs`).

#[path = "support/attacks.rs"]
mod attacks;
#[path = "support/band_alone.rs"]
mod band_alone;
#[path = "support/loudness.rs"]
mod loudness;
#[path = "support/pitch.rs"]
mod pitch;
#[path = "support/weighted.rs"]
mod weighted;

use attacks::{Attack, largest_jump, onsets};
use band_alone::Played;
use barwise::band::sounded::Sounding;
use barwise::band::voices::{Strike, Voices};
use barwise::band::{BandNote, Part};
use barwise::chart::backing::Backing;
use barwise::time::{FrameRate, FrameSpan, Frames, Nanos, Ticks};
use loudness::{decibels, peak, rms_decibels};
use pitch::{cents_above, pitch};
use weighted::weighted_decibels;

/// Charts that ship, of every feel, and others: in three, in six, slow in two, with a meter that changes, very fast.
const SHIPPED: [&str; 5] = ["bus-shelter", "filing-cabinet", "two-lamps", "kettle-on", "night-window"];
const OTHERS: [&str; 5] = [
    "key: D\nmeter: 3/4\ntempo: 150\n| Dmaj7 | Bm7 | Em7 | A7 | F#m7b5 | B7 | Em7 A7@3 | D6 |\n",
    "key: Gm\nmeter: 6/8\ntempo: 120\n| Gm7 | % | Cm7 | F7 | Bbmaj7 | Ebmaj7 | Am7b5 D7 | Gm6 |\n",
    "key: Ab\ntempo: 60\nfeel: ballad\n| Abmaj7 | Fm7 | Bbm7 Eb7 | Cm7 F7 |\n",
    "key: E\ntempo: 126\n| Emaj7 | 3/4 C#m7 | 4/4 F#m7 B7 | G#m7 C#7@4 | F#m7 | 5/4 B7sus4 | 4/4 E6 |\n",
    "key: F\ntempo: 280\n| Fmaj7 | Em7b5 A7 | Dm7 | Cm7 F7 | Bb7 | Am7 D7 | Gm7 C7 | F6 |\n",
];

fn charts() -> Vec<(String, String)> {
    let shipped = SHIPPED.map(|name| (name, Backing::find(name).expect("a chart that ships").text));
    let others = OTHERS.map(|text| (text.lines().nth(1).unwrap_or_default(), text));
    shipped.into_iter().chain(others).map(|(name, text)| (name.to_owned(), text.to_owned())).collect()
}

/// The notes of a part.
fn notes(played: &Played, part: Part) -> Vec<BandNote> {
    played.arrangement.notes.iter().copied().filter(|note| note.part == part).collect()
}

/// The frame at which an instant of the take is.
fn frame(played: &Played, at: Ticks) -> usize {
    (Frames::ZERO + played.rate.frames(played.tempo.nanos(at) - Nanos::ZERO)).0 as usize
}

/// The frames of the chorus itself, count-in and closing left out.
fn chorus(played: &Played) -> std::ops::Range<usize> {
    let begins = Ticks::ZERO + played.arrangement.count_in;
    frame(played, begins)..frame(played, played.arrangement.end)
}

/// Checks every bass note of a chart; gives back how many there are, the furthest from its frame in milliseconds and the
/// furthest from its pitch in cents.
fn check_bass((name, text): &(String, String)) -> (usize, f64, f64) {
    let rate = 16_000;
    let played = Played::new(text, None, rate);
    let frames = played.sound_of(&[Part::Bass], &Sounding::default());
    let written = notes(&played, Part::Bass);
    let heard = onsets(&frames, rate, Attack { rise: 2.0, floor: 0.05 });
    assert_eq!(heard.len(), written.len(), "{name}: as many notes are heard as were written");
    let (mut latest, mut furthest) = (0.0_f64, 0.0_f64);
    for (i, (note, &onset)) in written.iter().zip(&heard).enumerate() {
        let late = (onset as f64 - frame(&played, note.at) as f64) * 1_000.0 / f64::from(rate);
        assert!(late.abs() <= 2.0, "{name}: note {i} is heard {late:.2} ms after its frame");
        // What is left of the note before has died away by then.
        let from = onset + rate as usize / 20;
        let until = heard.get(i + 1).copied().unwrap_or(frames.len()).min(onset + rate as usize * 2 / 5);
        let cents = cents_above(note.key.key(), pitch(&frames[from..until], rate, 38.0, 210.0));
        assert!(cents.abs() <= 20.0, "{name}: note {i}, key {}, is {cents:.1} cents off", note.key.key());
        (latest, furthest) = (latest.max(late.abs()), furthest.max(cents.abs()));
    }
    (written.len(), latest, furthest)
}

#[test]
fn every_bass_note_of_ten_charts_is_heard_at_its_frame_and_in_tune() {
    for chart in charts() {
        let (notes, latest, furthest) = check_bass(&chart);
        println!("{}: {notes} notes, within {latest:.2} ms and {furthest:.1} cents", chart.0);
        assert!(notes > 5, "{}", chart.0);
    }
}

#[test]
fn every_key_of_the_bass_is_in_tune() {
    let rate = 12_000;
    for key in 28..=55 {
        let mut voices = Voices::new(FrameRate::new(rate).expect("a rate"));
        voices.strike(Strike { part: Part::Bass, key, velocity: 80, length: FrameSpan(i64::from(rate)) });
        let mut frames = vec![0.0; rate as usize * 6 / 10];
        voices.render(&mut frames);
        let cents = cents_above(key, pitch(&frames[rate as usize / 20..], rate, 38.0, 210.0));
        assert!(cents.abs() < 5.0, "key {key}: {cents:.1} cents");
    }
}

/// The ride's off-beat by the tempo dependence published by Friberg & Sundström, of which the band takes 70 %, up to 2.6.
fn off_beat_millis(bpm: f64) -> f64 {
    let beat_millis = 60_000.0 / bpm;
    let measured = ((beat_millis - 100.0) / 100.0).clamp(1.0, 3.5);
    let used = (1.0 + 0.7 * (measured - 1.0)).min(2.6);
    beat_millis * used / (1.0 + used)
}

#[test]
fn the_ride_swings_as_its_tempo_asks_at_eight_tempi() {
    let rate = 24_000;
    for bpm in [90.0, 120.0, 140.0, 160.0, 180.0, 200.0, 240.0, 300.0] {
        let played = Played::new("tempo: 120\n| Dm7 | G7 | Cmaj7 |\n", Some(bpm), rate);
        let frames = played.sound_of(&[Part::Ride], &Sounding::default());
        let written = notes(&played, Part::Ride);
        let heard = onsets(&frames, rate, Attack { rise: 1.5, floor: 0.02 });
        assert_eq!(heard.len(), written.len(), "at {bpm}: {heard:?}");
        let millis = |frames: usize| frames as f64 * 1_000.0 / f64::from(rate);
        // In a bar: 1, 2, 2&, 3, 4, 4&; then the closing stroke.
        let bars = heard[..heard.len() - 1].chunks_exact(6);
        assert_eq!(bars.len(), 3);
        for bar in bars {
            for (beat, off_beat) in [(bar[1], bar[2]), (bar[4], bar[5])] {
                let (is, should) = (millis(off_beat - beat), off_beat_millis(bpm));
                assert!((is - should).abs() <= 1.0, "at {bpm}: {is:.2} ms for {should:.2}");
            }
        }
    }
}

/// Eight bars at a medium tempo.
const EIGHT_BARS: &str =
    "key: Eb\ntempo: 132\n| Ebmaj7 | Abm7 Db7 | Ebmaj7/G | C7 | Fm7 | Bb7 | Gm7 C7 | Fm7 Bb7 |\n";
const RATE: u32 = 32_000;

#[test]
fn each_part_has_its_loudness_in_a_chorus() {
    let played = Played::new(EIGHT_BARS, None, RATE);
    let loudness = |parts: &[Part]| {
        let frames = &played.sound_of(parts, &Sounding::default())[chorus(&played)];
        let (plain, weighted) = (rms_decibels(frames), weighted_decibels(frames, RATE));
        println!(
            "{parts:?}: {plain:.1} dB, as the ear weighs it {weighted:.1} dB, peak {:.1} dB",
            decibels(peak(frames).into())
        );
        (plain, weighted)
    };
    let [bass, comp, ride, hat, kick, click] = Part::BAND.map(|part| loudness(&[part]));
    let all = loudness(&Part::BAND);
    let check = |what: &str, is: f64, should: f64| {
        assert!((is - should).abs() < 1.5, "{what}: {is:.1} dB, not {should}");
    };
    // Quiet, with room above: -1 dBFS is the most that may come out.
    check("the band", all.0, -25.0);
    check("the bass carries it: against the band", bass.0 - all.0, -0.5);
    check("chords lie under the bass, to the ear", comp.1 - bass.1, -5.0);
    check("the ride is nearly as loud as the bass, to the ear", ride.1 - bass.1, -3.0);
    check("the hat is an accent, against the ride", hat.1 - ride.1, -8.0);
    check("the kick is felt more than heard, against the bass", kick.0 - bass.0, -12.0);
    check("a click is found through the ride", click.1 - ride.1, 0.0);
}

/// The largest jump of what is struck at one instant, alone: of the loudest.
fn attack_alone(notes: &[BandNote]) -> f32 {
    let jump = |together: &[BandNote]| {
        let mut voices = Voices::new(FrameRate::new(RATE).expect("a rate"));
        for note in together {
            let length = FrameSpan(i64::from(RATE));
            voices.strike(Strike { part: note.part, key: note.key.key(), velocity: note.velocity, length });
        }
        let mut frames = vec![0.0; RATE as usize / 10];
        voices.render(&mut frames);
        largest_jump(&frames)
    };
    notes.chunk_by(|a, b| a.at == b.at).map(jump).fold(0.0, f32::max)
}

#[test]
fn nothing_jumps_further_than_the_loudest_attack() {
    let played = Played::new(EIGHT_BARS, None, RATE);
    for part in Part::BAND {
        let frames = played.sound_of(&[part], &Sounding::default());
        let (jump, attack) = (largest_jump(&frames), attack_alone(&notes(&played, part)));
        println!("{part:?}: {jump:.4} in the chorus, {attack:.4} of the loudest attack alone");
        // What rings on lies under the attack of the next note.
        assert!(jump <= 1.35 * attack, "{part:?}: {jump} for {attack}");
    }
}
