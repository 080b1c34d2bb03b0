//! SoundFonts made in code: the bytes of a file with a sound, one instrument, and presets as asked for.
//!
//! The layout is that of the *SoundFont Technical Specification* 2.04, sections 4 to 7. No sound of anybody's is in them.

/// A sound: its samples at `hertz`, struck as key 60, and where it goes round once it is through.
#[derive(Clone)]
pub struct Sound {
    pub samples: Vec<i16>,
    pub hertz: u32,
    pub round_from: u32,
}

/// Middle C is 261.626 Hz.
const MIDDLE_C_HERTZ: f64 = 261.6256;
/// Samples of a period of the sine; at 100 times middle C a second they sound as that.
const PERIOD: usize = 100;
/// Numbers of generators (section 8.1.2).
const PAN: u16 = 17;
const RELEASE: u16 = 38;
const INSTRUMENT: u16 = 41;
const SAMPLE: u16 = 53;
const SAMPLE_MODE: u16 = 54;

/// A sine at middle C, of ten periods that go round for ever.
pub fn sine() -> Sound {
    let sample = |i: usize| (26_000.0 * (i as f64 / PERIOD as f64 * std::f64::consts::TAU).sin()) as i16;
    Sound {
        samples: (0..10 * PERIOD).map(sample).collect(),
        hertz: (MIDDLE_C_HERTZ * PERIOD as f64).round() as u32,
        round_from: 0,
    }
}

/// A file whose instrument sounds with these sounds, spread from left to right, and which has it at each of `presets`,
/// a bank and a number.
pub fn file(sounds: &[Sound], presets: &[(u16, u16)]) -> Vec<u8> {
    let mut samples = Vec::new();
    let mut headers = Vec::new();
    for sound in sounds {
        let start = samples.len() as u32 / 2;
        let end = start + sound.samples.len() as u32;
        samples.extend(sound.samples.iter().flat_map(|sample| sample.to_le_bytes()));
        // Silence behind each sound, as the specification asks for.
        samples.extend([0; 2 * 46]);
        headers.extend(name("sound"));
        let places = [start, end, start + sound.round_from, end, sound.hertz];
        headers.extend(places.into_iter().flat_map(u32::to_le_bytes));
        headers.extend([60, 0]);
        headers.extend([0, 1].into_iter().flat_map(u16::to_le_bytes));
    }
    headers.extend([0; 46]);
    let words = list(*b"INFO", &[chunk(*b"ifil", &[2, 0, 1, 0]), chunk(*b"INAM", b"made in code\0\0")]);
    let sampled = list(*b"sdta", &[chunk(*b"smpl", &samples)]);
    chunk(*b"RIFF", &[b"sfbk".to_vec(), words, sampled, tables(sounds.len(), presets, &headers)].concat())
}

fn tables(sounds: usize, presets: &[(u16, u16)], headers: &[u8]) -> Vec<u8> {
    let words = |words: &[u16]| words.iter().flat_map(|word| word.to_le_bytes()).collect::<Vec<u8>>();
    let mut heads = Vec::new();
    for (i, &(bank, number)) in presets.iter().enumerate() {
        heads.extend([name("preset"), words(&[number, bank, i as u16]), vec![0; 12]].concat());
    }
    heads.extend([name("EOP"), words(&[0, 0, presets.len() as u16]), vec![0; 12]].concat());
    let zones = |count: usize, each: usize| -> Vec<u8> {
        (0..=count).flat_map(|i| words(&[(i * each) as u16, 0])).collect()
    };
    let preset_generators: Vec<u8> =
        presets.iter().flat_map(|_| words(&[INSTRUMENT, 0])).chain([0; 4]).collect();
    let instruments = [name("instrument"), words(&[0]), name("EOI"), words(&[sounds as u16])].concat();
    let spread = |i: usize| (1000 * i / (sounds - 1).max(1)) as i16 - 500;
    let generators = |i: usize| {
        let pan = if sounds == 1 { 0 } else { spread(i) };
        words(&[PAN, pan as u16, RELEASE, -3600_i16 as u16, SAMPLE_MODE, 1, SAMPLE, i as u16])
    };
    let generators: Vec<u8> = (0..sounds).flat_map(generators).chain([0; 4]).collect();
    list(
        *b"pdta",
        &[
            chunk(*b"phdr", &heads),
            chunk(*b"pbag", &zones(presets.len(), 1)),
            chunk(*b"pmod", &[0; 10]),
            chunk(*b"pgen", &preset_generators),
            chunk(*b"inst", &instruments),
            chunk(*b"ibag", &zones(sounds, 4)),
            chunk(*b"imod", &[0; 10]),
            chunk(*b"igen", &generators),
            chunk(*b"shdr", headers),
        ],
    )
}

fn name(text: &str) -> Vec<u8> {
    let mut name = text.as_bytes().to_vec();
    name.resize(20, 0);
    name
}

fn chunk(name: [u8; 4], bytes: &[u8]) -> Vec<u8> {
    [name.as_slice(), &(bytes.len() as u32).to_le_bytes(), bytes].concat()
}

fn list(kind: [u8; 4], chunks: &[Vec<u8>]) -> Vec<u8> {
    chunk(*b"LIST", &[kind.to_vec(), chunks.concat()].concat())
}
