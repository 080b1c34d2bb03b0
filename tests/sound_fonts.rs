//! SoundFonts in the place of our voices: what they play, when, how loud, and what is said of a file that is none.
//!
//! No SoundFont ships: those here are made in code (`support/sound_font.rs`).

#[path = "support/band_alone.rs"]
mod band_alone;
#[path = "support/desk.rs"]
mod desk;
#[path = "support/loudness.rs"]
mod loudness;
#[path = "support/pitch.rs"]
mod pitch;
#[path = "support/sound_font.rs"]
mod sound_font;

use std::fs::File;
use std::io::Cursor;

use band_alone::Played;
use barwise::band::sounded::Sounding;
use barwise::band::voices::sound_font::{BLOCK, SoundFont};
use barwise::band::voices::{Strike, Voices};
use barwise::band::{Levels, Part};
use barwise::time::{FrameRate, FrameSpan};
use desk::Desk;
use loudness::{peak, rms_decibels};
use pitch::{cents_above, pitch};
use proptest::prelude::*;
use sound_font::{Sound, sine};

/// Acoustic bass, electric piano, drums.
const BASS: (u16, u16) = (0, 32);
const PIANO: (u16, u16) = (0, 4);
const DRUMS: (u16, u16) = (128, 0);
const ALL: [(u16, u16); 3] = [BASS, PIANO, DRUMS];
const CHART: &str = "tempo: 200\n| Dm7 | G7 |\n";
/// -1 dBFS as a share of full scale: 10^(-1/20).
const PEAK: f32 = 0.891_251;

fn read(bytes: &[u8]) -> Result<SoundFont, String> {
    SoundFont::read(&mut Cursor::new(bytes)).map_err(|why| why.to_string())
}

fn with_font(presets: &[(u16, u16)]) -> Sounding {
    let font = read(&sound_font::file(&[sine()], presets)).expect("a SoundFont");
    Sounding { sound_font: Some(font), ..Sounding::default() }
}

/// Voices that a font plays, and a strike of a second.
fn struck(part: Part, key: u8, rate: u32, after: usize) -> Vec<f32> {
    let rate_of = FrameRate::new(rate).expect("a rate");
    let mut voices = with_font(&ALL).voices(rate_of);
    let strike = |key| Strike { part, key, velocity: 100, length: FrameSpan(i64::from(rate)) };
    // A note long before, at the other end of the range, sets the blocks going.
    voices.strike(Strike { length: FrameSpan(40), velocity: 1, ..strike(90) });
    let mut frames = vec![0.0; after];
    voices.render(&mut frames);
    voices.strike(strike(key));
    let mut frames = vec![0.0; rate as usize / 2];
    voices.render(&mut frames);
    frames
}

#[test]
fn it_plays_the_parts_it_has_and_our_voices_the_others() {
    let played = Played::new(CHART, None, 16_000);
    let (own, font) = (Sounding::default(), with_font(&[BASS, DRUMS]));
    for part in Part::BAND {
        let differs = played.sound_of(&[part], &own) != played.sound_of(&[part], &font);
        assert_eq!(differs, part != Part::Comp, "{part:?}");
    }
}

#[test]
fn its_notes_begin_within_a_block_of_their_frame_and_in_tune() {
    for rate in [16_000, 44_100, 48_000, 96_000] {
        let begins = |after| {
            let frames = struck(Part::Comp, 60, rate, after);
            frames.iter().position(|sample| sample.abs() > 1e-5).expect("a sound")
        };
        let late: Vec<usize> = (20_000..20_000 + BLOCK).map(begins).collect();
        let (first, last) = (late.iter().min().expect("some"), late.iter().max().expect("some"));
        println!("at {rate}: {first} to {last} frames late");
        assert!(last - first < BLOCK, "a note waits for its block: {late:?} at {rate}");
        // Each envelope of a SoundFont begins with a delay, of a thousandth of a second at least (section 8.1.2).
        assert!(*first <= rate as usize / 1_000 + BLOCK, "{late:?} at {rate}");
        for key in [28, 41, 55] {
            let frames = struck(Part::Bass, key, rate, 20_000);
            let cents = cents_above(key, pitch(&frames, rate, 38.0, 210.0));
            assert!(cents.abs() < 20.0, "key {key} at {rate}: {cents:.1} cents");
        }
    }
}

#[test]
fn levels_and_mutes_hold_for_its_parts() {
    let played = Played::new(CHART, None, 16_000);
    let font = with_font(&ALL);
    let levels: Levels = "bass=-6,comp=-6,ride=-6,hat=-6,kick=-6,click=-6".parse().expect("levels");
    let softer = Sounding { levels, ..font.clone() };
    for part in Part::BAND {
        let (usual, soft) = (played.sound_of(&[part], &font), played.sound_of(&[part], &softer));
        let less = rms_decibels(&soft) - rms_decibels(&usual);
        assert!((less + 6.0).abs() < 0.1, "{part:?}: {less:.2} dB");
    }
    let muted = Sounding { mutes: Part::ALL.to_vec(), ..font };
    let rate = FrameRate::new(48_000).expect("a rate");
    let mut voices = muted.voices(rate);
    let mut frames = [1.0; 2_000];
    for part in Part::BAND {
        voices.strike(Strike { part, key: 45, velocity: 127, length: FrameSpan(9_000) });
        voices.render(&mut frames);
        assert!(peak(&frames) <= 0.0, "{part:?}");
    }
}

#[test]
fn nothing_is_beyond_minus_one_decibel_however_loud() {
    let loud: Levels = "bass=+6,comp=+6,ride=+6,hat=+6,kick=+6,click=+6".parse().expect("levels");
    let mut voices =
        Sounding { levels: loud, ..with_font(&ALL) }.voices(FrameRate::new(48_000).expect("a rate"));
    let mut loudest = 0.0_f32;
    for i in 0..200_u8 {
        let part = Part::BAND[usize::from(i) % 6];
        voices.strike(Strike { part, key: 30 + i % 60, velocity: 127, length: FrameSpan(30_000) });
        let mut frames = [0.0; 331];
        voices.render(&mut frames);
        loudest = loudest.max(peak(&frames));
    }
    assert!((0.8..=PEAK).contains(&loudest), "{loudest}");
}

#[test]
fn a_part_that_is_let_go_as_a_whole_dies_away() {
    let mut voices = with_font(&ALL).voices(FrameRate::new(48_000).expect("a rate"));
    voices.strike(Strike { part: Part::Bass, key: 40, velocity: 127, length: FrameSpan(i64::MAX) });
    let mut frames = vec![0.0; 24_000];
    voices.render(&mut frames);
    assert!(peak(&frames[23_000..]) > 0.1, "it is held");
    voices.release();
    voices.render(&mut frames);
    assert!(peak(&frames[20_000..]) < 1e-4, "{}", peak(&frames[20_000..]));
}

#[test]
fn blocks_of_the_device_make_no_difference() {
    let rate = FrameRate::new(48_000).expect("a rate");
    let (mut whole, mut cut) = (with_font(&ALL).voices(rate), with_font(&ALL).voices(rate));
    let strike = |voices: &mut Voices, part| {
        voices.strike(Strike { part, key: 50, velocity: 90, length: FrameSpan(777) });
    };
    for part in Part::BAND {
        strike(&mut whole, part);
        strike(&mut cut, part);
    }
    let mut at_once = vec![0.0; 5_000];
    whole.render(&mut at_once);
    let mut in_blocks = vec![0.0; 5_000];
    in_blocks.chunks_mut(37).for_each(|block| cut.render(block));
    assert_eq!(at_once, in_blocks);
}

/// What the program says of a file, and that it wrote nothing.
fn refused(desk: &Desk, name: &str) -> String {
    let line = ["render", "bus-shelter", "-o", "b.wav", "--soundfont", name];
    let run = desk.command(&line).output().expect("it runs");
    assert_eq!(run.status.code(), Some(2), "{name}");
    assert!(!desk.folder.path().join("b.wav").exists(), "{name}: nothing is written");
    let told = String::from_utf8_lossy(&run.stderr).into_owned();
    assert!(told.contains("--soundfont none plays with barwise's own voices"), "{told}");
    told.lines().next().unwrap_or_default().to_owned()
}

#[test]
fn a_file_that_cannot_be_played_is_named_with_the_reason_and_what_to_do() {
    let desk = Desk::new();
    let good = sound_font::file(&[sine()], &ALL);
    let ogg = Sound { samples: vec![i16::from_le_bytes(*b"Og"), i16::from_le_bytes(*b"gS")], ..sine() };
    desk.write("cut.sf2", &good[..good.len() - 100]);
    desk.write("words.sf2", b"not a SoundFont at all");
    desk.write("empty.sf2", b"");
    desk.write("other.sf2", &sound_font::file(&[sine()], &[(0, 99)]));
    desk.write(
        "three.sf2",
        &sound_font::file(&[Sound { samples: [ogg.samples, sine().samples].concat(), ..sine() }], &ALL),
    );
    let huge = File::create(desk.folder.path().join("huge.sf2")).expect("a file");
    huge.set_len((1 << 30) + 1).expect("a file that is mostly not there");
    let check = |name: &str, expect: &str| {
        assert_eq!(refused(&desk, name), format!("barwise: {name}: {expect}"));
    };
    check("missing.sf2", "there is no such file or folder");
    check(".", "is a folder; name a SoundFont in it, a file whose name ends in .sf2");
    check("words.sf2", "is no SoundFont: choose a file whose name ends in .sf2");
    check("empty.sf2", "is no SoundFont: choose a file whose name ends in .sf2");
    check(
        "cut.sf2",
        "is damaged: a part of it is longer than the file. Copy or download it again, or choose another",
    );
    check("huge.sf2", "has more than 1024 megabytes, the most that is read: choose a smaller one");
    check(
        "three.sf2",
        "is a SoundFont 3, whose sounds are compressed, and that is not played: choose a SoundFont 2 (.sf2)",
    );
    check(
        "other.sf2",
        "has none of the sounds the band needs (33 acoustic bass, 5 electric piano, drums, bank 128, \
         27 jazz guitar): choose a General MIDI SoundFont",
    );
}

#[test]
fn it_is_a_flag_and_a_setting_and_says_what_it_leaves_to_our_voices() {
    let desk = Desk::new();
    desk.write("four.bars", CHART.as_bytes());
    desk.write("bass.sf2", &sound_font::file(&[sine()], &[BASS]));
    let render = |flags: &[&str]| {
        let run = desk.command(&[&["render", "four.bars", "-o", "b.wav"], flags].concat()).output();
        let run = run.expect("it runs");
        let told = String::from_utf8_lossy(&run.stderr).into_owned();
        assert!(run.status.success(), "{told}");
        (std::fs::read(desk.folder.path().join("b.wav")).expect("sound"), told)
    };
    let (own, _) = render(&[]);
    let (by_flag, told) = render(&["--soundfont", "bass.sf2"]);
    let said = "bass.sf2 has no sound for comp, ride, hat, kick, click: barwise's own voices play.";
    assert!(told.contains(said), "{told}");
    assert_ne!(own, by_flag);
    desk.printed(&["settings", "soundfont", "bass.sf2"]);
    assert_eq!(render(&[]).0, by_flag);
    assert_eq!(render(&["--soundfont", "none"]).0, own);

    desk.printed(&["settings", "levels", "bass=-6,ride=+3"]);
    assert_ne!(render(&["--soundfont", "none"]).0, own);
    assert_eq!(render(&["--soundfont", "none", "--level", "usual"]).0, own);
    let run = desk.command(&["render", "four.bars", "-o", "b.wav", "--level", "bass=9"]).output();
    let run = run.expect("it runs");
    assert_eq!(run.status.code(), Some(2));
    let told = String::from_utf8_lossy(&run.stderr).into_owned();
    assert!(told.contains("--level") && told.contains("bass is -40 to +6 decibels, as in bass=-6"), "{told}");
}

#[test]
fn a_loop_that_would_be_leapt_over_is_refused() {
    // Two samples that go round, at a rate of 700,000 a second: played in the top octave a step is far longer.
    let sound = Sound { hertz: 700_000, round_from: 998, ..sine() };
    let why = read(&sound_font::file(&[sound], &ALL)).expect_err("it would be leapt over");
    assert!(why.contains("a sound repeats a stretch that is too short"), "{why}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]
    #[test]
    fn a_damaged_file_is_refused_or_played_and_never_breaks_anything(
        changes in prop::collection::vec((0.0..1.0_f64, any::<u8>()), 1..12),
        key in 0_u8..128,
    ) {
        let mut bytes = sound_font::file(&[sine()], &ALL);
        // Most of the file is samples; what can be damaged stands before and behind them.
        let tables = bytes.len() - 700;
        for (place, byte) in changes {
            let at = if place < 0.2 { (place * 5.0 * 140.0) as usize } else { tables + (place * 700.0) as usize };
            let last = bytes.len() - 1;
            bytes[at.min(last)] = byte;
        }
        if let Ok(font) = read(&bytes) {
            let sounding = Sounding { sound_font: Some(font), ..Sounding::default() };
            let mut voices = sounding.voices(FrameRate::new(16_000).expect("a rate"));
            let mut frames = [0.0; 1_500];
            for part in Part::ALL {
                voices.strike(Strike { part, key, velocity: 100, length: FrameSpan(700) });
                voices.render(&mut frames);
                prop_assert!(frames.iter().all(|sample| sample.abs() <= PEAK));
            }
        }
    }
}
