//! `play`: what is to be played, over which backing, and from where the notes come.

use std::path::PathBuf;

use clap::Args;

use crate::theory::Key;

use super::values::{BandPart, BarRange, ChartSource, Choruses, Feel, Tempo};

/// What `play` takes.
#[derive(Clone, Debug, PartialEq, Args)]
pub struct PlayArgs {
    /// The chart: a file, or the name of a chart that ships
    #[arg(value_name = "CHART")]
    pub chart: ChartSource,
    /// Quarter notes a minute, instead of the chart's tempo
    #[arg(long, value_name = "BPM")]
    pub tempo: Option<Tempo>,
    /// Play in this key: Eb, F#m
    #[arg(long)]
    pub key: Option<Key>,
    /// How the backing moves, instead of the chart's feel
    #[arg(long)]
    pub feel: Option<Feel>,
    /// How often the form is played
    #[arg(long, value_name = "N")]
    pub choruses: Option<Choruses>,
    /// Play these bars only, again and again: 5-8
    #[arg(long, value_name = "FIRST-LAST")]
    pub bars: Option<BarRange>,
    /// Leave parts of the backing out: ride,bass
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    pub mute: Vec<BandPart>,
    /// The same number gives the same backing again
    #[arg(long, value_name = "N")]
    pub seed: Option<u64>,
    /// Open no screen
    #[arg(long)]
    pub headless: bool,
    /// One line a bar, in words, for screen readers and small windows
    #[arg(long)]
    pub plain: bool,
    /// Play without a sound device
    #[arg(long, conflicts_with = "audio_host")]
    pub no_audio: bool,
    /// Hear this MIDI file as if it were played now
    #[arg(long, value_name = "F", conflicts_with = "midi_from")]
    pub midi_file: Option<PathBuf>,
    /// Hear the MIDI input with this name, or a part of it
    #[arg(long, value_name = "PORT")]
    pub midi_from: Option<String>,
    /// Send sound by this host of the system
    #[arg(long, value_name = "HOST")]
    pub audio_host: Option<String>,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::values::tests::{parsed, refused};

    fn check_refusal(flags: &[&str], expect: &str) {
        let message = refused::<PlayArgs>(&[&["a.bars"], flags].concat());
        assert!(message.contains(expect), "{message}");
    }

    #[test]
    fn everything_about_the_backing_can_be_said() {
        let line = [
            "a.bars",
            "--tempo",
            "116",
            "--key",
            "F#m",
            "--feel",
            "bossa",
            "--bars",
            "5-8",
            "--mute",
            "ride,bass",
        ];
        let args = parsed::<PlayArgs>(&line);
        assert_eq!(args.tempo.map(Tempo::bpm), Some(116.0));
        assert_eq!(args.key.map(|key| key.to_string()).as_deref(), Some("F# minor"));
        assert_eq!(args.mute, [BandPart::Ride, BandPart::Bass]);
        assert_eq!(args.bars.map(|bars| bars.last().get()), Some(8));
    }

    #[test]
    fn slips_name_the_flag_and_what_to_write() {
        check_refusal(&["--tempo", "0"], "'--tempo <BPM>': a tempo is quarter notes a minute, 20 to 400");
        check_refusal(&["--tempo", "999"], "20 to 400");
        check_refusal(&["--bars", "9-4"], "'--bars <FIRST-LAST>': the first bar stands first: 4-9");
        check_refusal(&["--key", "H"], "\"H\" is no key: write the tonic, A to G");
        check_refusal(&["--mute", "kazoo"], "possible values: ride, hat, kick, bass, comp, click");
        check_refusal(&["--choruses", "0"], "choruses are 1 to 999");
    }

    #[test]
    fn notes_come_from_one_place_and_sound_goes_to_one() {
        check_refusal(&["--midi-file", "a.mid", "--midi-from", "piano"], "cannot be used with");
        check_refusal(&["--no-audio", "--audio-host", "jack"], "cannot be used with");
    }
}
