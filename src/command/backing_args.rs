//! What the band plays: the same flags for every command that lets it play.

use clap::Args;

use super::exit_status::Failure;
use super::load;
use super::output::Output;
use super::values::{BarRange, ChartSource as ChartPlace, Choruses, Tempo};
use crate::band::{Part, Seed};
use crate::chart::{Chart, Feel};
use crate::harmony::Overrides;
use crate::judge::ChordSource;
use crate::theory::chord::BareSymbols;
use crate::theory::{Key, KeyMode};

/// Flags about the backing.
#[derive(Clone, Debug, PartialEq, Args)]
pub struct BackingArgs {
    /// The chart: a file, or the name of a chart that ships
    #[arg(value_name = "CHART")]
    pub chart: ChartPlace,
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
    /// Play these bars only, again and again: 5-8. Bars count as they are played, repeats too
    #[arg(long, value_name = "FIRST-LAST")]
    pub bars: Option<BarRange>,
    /// Leave parts of the backing out: ride,bass
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    pub mute: Vec<Part>,
    /// The same number gives the same backing again
    #[arg(long, value_name = "N")]
    pub seed: Option<Seed>,
}

impl BackingArgs {
    /// Quarter notes a minute.
    pub fn bpm(&self, chart: &Chart) -> f64 {
        self.tempo.map_or(chart.header().tempo.get(), Tempo::bpm)
    }

    /// How the band moves.
    pub fn feel(&self, chart: &Chart) -> Feel {
        self.feel.unwrap_or(chart.header().feel)
    }

    /// The first and the last bar to be played, where not all are.
    pub fn bar_numbers(&self) -> Option<(usize, usize)> {
        self.bars.map(|bars| (bars.first().get(), bars.last().get()))
    }

    /// The chart, in the key asked for.
    pub fn chart(&self, bare: BareSymbols, out: &mut Output) -> Result<Chart, Failure> {
        let loaded = load::chart(&self.chart, bare)?;
        for warning in &loaded.warnings {
            out.remark(&format!("{}:{warning}", loaded.chart.name()));
        }
        let Some(key) = self.key else { return Ok(loaded.chart) };
        let home = || ChordSource::of_chart(&loaded.chart, &Overrides::default()).reading.home;
        let from = loaded.chart.header().key.or_else(home);
        let from = from.ok_or_else(|| {
            Failure::bad_input(
                "--key: the chart names no key and none is heard in it. Write key: in its header",
            )
        })?;
        let key = in_the_mode_of(from, key)?;
        loaded
            .chart
            .transposed_from(from, key)
            .map_err(|error| Failure::bad_input(format!("--key {key}: {error}")))
    }

    /// The chords to play over: all of the form, or the bars asked for.
    pub fn chords(&self, chart: &Chart) -> Result<ChordSource, Failure> {
        let whole = ChordSource::of_chart(chart, &Overrides::default());
        match self.bars {
            None => Ok(whole),
            Some(bars) => {
                let cut = whole.only_bars(bars.first().get(), bars.last().get());
                cut.map_err(|error| Failure::bad_input(format!("--bars: {error}")))
            }
        }
    }
}

/// The key asked for in the mode the chart is in, which a change of key keeps. A letter alone stands for either mode.
fn in_the_mode_of(from: Key, key: Key) -> Result<Key, Failure> {
    if key.mode == from.mode || key.mode == KeyMode::Major {
        return Ok(Key { mode: from.mode, ..key });
    }
    let tonic = key.tonic;
    Err(Failure::bad_input(format!(
        "--key {key}: the chart is in {from} and keeps its mode. Write --key {tonic}"
    )))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chart_keeps_its_mode_in_another_key() {
        let key = |text: &str| text.parse::<Key>().expect("a key");
        assert_eq!(in_the_mode_of(key("C"), key("F#")), Ok(key("F#")));
        assert_eq!(in_the_mode_of(key("Am"), key("Cm")), Ok(key("Cm")));
        assert_eq!(in_the_mode_of(key("Am"), key("C")), Ok(key("Cm")), "the tonic alone");
        let refusal = in_the_mode_of(key("C"), key("F#m")).expect_err("no minor of a major chart");
        assert!(refusal.message().ends_with("the chart is in C major and keeps its mode. Write --key F#"));
    }
}
