//! `render`: the backing as a file, to practise away from the machine.

use std::io::Cursor;
use std::path::{Path, PathBuf};

use clap::Args;

use crate::band::sounded::{Sounding, lasts, sounded};
use crate::band::written::written;
use crate::band::{Arrangement, Call, arrange};
use crate::command::output_file::may_write;
use crate::store::error_words::in_words;
use crate::store::replace::replace_bytes;
use crate::take::writer::writable;
use crate::time::{FrameRate, NanoSpan, TempoMap, Ticks};

use super::backing_args::BackingArgs;
use super::band_args::BandArgs;
use super::exit_status::{Ending, Failure};
use super::output::Output;
use super::startup::Startup;
use super::tempo_step::{self, Asked, bands_in_use};
use super::values::TempoChoice;
use super::voice_args::{VoiceArgs, sound_font};

/// Frames a second of a file with sound.
const RATE: FrameRate = FrameRate::new(48_000).expect("48,000 is above 0");
/// The longest sound that is written: its file has 700 megabytes.
const LONGEST: NanoSpan = NanoSpan::millis(2 * 60 * 60 * 1_000);

/// What `render` takes.
#[derive(Clone, Debug, PartialEq, Args)]
pub struct RenderArgs {
    /// What the band plays
    #[command(flatten)]
    pub backing: BackingArgs,
    /// How the band plays with you
    #[command(flatten)]
    pub band: BandArgs,
    /// How the band sounds
    #[command(flatten)]
    pub voices: VoiceArgs,
    /// The file to write: sound where its name ends in .wav, MIDI where it ends in .mid
    #[arg(short, long = "output", value_name = "F.wav|F.mid")]
    pub output: PathBuf,
}

/// What a file holds, by the end of its name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Sound,
    Midi,
}

impl Kind {
    fn of(path: &Path) -> Result<Self, Failure> {
        let ending = path.extension().and_then(|ending| ending.to_str()).map(str::to_lowercase);
        match ending.as_deref() {
            Some("wav") => Ok(Self::Sound),
            Some("mid" | "midi") => Ok(Self::Midi),
            _ => Err(Failure::bad_input(format!(
                "-o {}: write a name that ends in .wav (sound) or .mid (MIDI), as in backing.wav",
                path.display()
            ))),
        }
    }
}

/// Carries the command out.
pub fn run(args: &RenderArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let kind = Kind::of(&args.output)?;
    may_write(&args.output, &["wav", "mid", "midi"], "-o")?;
    if kind == Kind::Midi {
        args.voices.need_sound()?;
    }
    let settings = &startup.resolved.settings;
    let chart = args.backing.chart(startup, out)?;
    let choruses = args.backing.times(args.band.head, chart.header().choruses.unwrap_or(1));
    let bands = match args.backing.tempo {
        Some(TempoChoice::Next) => bands_in_use(None, startup, out)?,
        _ => None,
    };
    let asked = Asked { chart: &chart, bars: args.backing.bar_numbers(), bands: bands.as_ref() };
    let tempo = writable(&TempoMap::at_bpm(tempo_step::tempo(args.backing.tempo, asked, startup, out)?));
    let feel = args.backing.feel(&chart);
    let turns = args.band.turns(choruses)?;
    let keys = args.backing.keys(&chart, choruses, turns.head)?;
    let chords = args.backing.chords(&chart, &keys)?;
    let call = Call {
        form: &chords.form,
        reading: &chords.reading,
        keys: &chords.keys,
        choruses,
        feel,
        swing_percent: (settings.swing * 100.0).round() as u8,
        quarter: tempo.quarter(Ticks::ZERO),
        accompaniment: args.band.accompaniment(&chords.form, choruses, feel)?,
        seed: args.backing.seed.unwrap_or_default(),
        turns,
    };
    let arrangement = arrange(&call);
    let mutes = &args.backing.mute;
    let bytes = match kind {
        Kind::Sound => {
            let sound_font = sound_font(settings, out)?;
            let sounding = Sounding { mutes: mutes.clone(), levels: settings.levels, sound_font };
            wav(&arrangement, &tempo, &sounding, &args.output)?
        }
        Kind::Midi => written(&arrangement, &call, (&tempo, chart.header().key), mutes).to_bytes(),
    };
    let failed =
        |error: std::io::Error| Failure::store(format!("{}: {}", args.output.display(), in_words(&error)));
    replace_bytes(&args.output, &bytes).map_err(failed)?;
    out.remark(&format!("wrote {}", args.output.display()));
    Ok(Ending::Fine)
}

/// A WAV file of 16 bits, one channel.
fn wav(
    arrangement: &Arrangement,
    tempo: &TempoMap,
    sounding: &Sounding,
    output: &Path,
) -> Result<Vec<u8>, Failure> {
    let length = lasts(arrangement, tempo);
    if length > LONGEST {
        let minutes = |span: NanoSpan| span.0 / 60_000_000_000;
        return Err(Failure::bad_input(format!(
            "{} minutes of sound are too many: at most {}; ask for fewer --choruses",
            minutes(length),
            minutes(LONGEST)
        )));
    }
    let format = hound::WavSpec {
        channels: 1,
        sample_rate: RATE.hertz(),
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut bytes = Vec::new();
    let written = hound::WavWriter::new(Cursor::new(&mut bytes), format).and_then(|mut file| {
        sounded(arrangement, tempo, RATE, sounding, |block| {
            block.iter().try_for_each(|&sample| file.write_sample(as_16_bits(sample)))
        })?;
        file.finalize()
    });
    written.map_err(|error| Failure::store(format!("{}: {error}", output.display())))?;
    Ok(bytes)
}

/// The nearest value of 16 bits; full scale is 32,767.
fn as_16_bits(sample: f32) -> i16 {
    (sample * f32::from(i16::MAX)).round().clamp(f32::from(i16::MIN), f32::from(i16::MAX)) as i16
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::values::tests::{parsed, refused};

    #[test]
    fn the_end_of_the_name_says_what_is_written() {
        let kind = |name: &str| Kind::of(Path::new(name)).map_err(|failure| failure.message().to_owned());
        assert_eq!((kind("a.wav"), kind("a.MID")), (Ok(Kind::Sound), Ok(Kind::Midi)));
        let message = kind("a.mp3").expect_err("no such kind");
        assert!(message.contains("as in backing.wav"), "{message}");
    }

    #[test]
    fn a_file_must_be_named() {
        assert!(refused::<RenderArgs>(&["a.bars"]).contains("--output"));
        let args = parsed::<RenderArgs>(&["a.bars", "-o", "b.wav", "--seed", "3"]);
        assert_eq!(args.output, Path::new("b.wav"));
    }

    #[test]
    fn full_scale_fits_16_bits() {
        assert_eq!([0.0, 1.0, -1.0, 9.0].map(as_16_bits), [0, 32_767, -32_767, 32_767]);
    }
}
