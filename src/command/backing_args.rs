//! What the band plays: the same flags for every command that lets it play.

use clap::Args;

use super::exit_status::Failure;
use super::load;
use super::output::Output;
use super::startup::Startup;
use super::values::{BarRange, ChartSource as ChartPlace, Choruses, TempoChoice};
use crate::band::{Part, Seed};
use crate::chart::turns::FEWEST_WITH_HEAD;
use crate::chart::{Chart, Feel, Head};
use crate::judge::through_keys::key_of;
use crate::judge::{ChordSource, NotThrough};
use crate::practice::KeyOrder;
use crate::practice::key_order::ALL_KEYS;
use crate::theory::{Key, KeyMode};

/// Flags about the backing.
#[derive(Clone, Debug, PartialEq, Args)]
pub struct BackingArgs {
    /// The chart: a file, or the name of a chart that ships
    #[arg(value_name = "CHART")]
    pub chart: ChartPlace,
    /// Quarter notes a minute, instead of the chart's tempo; or next: 4 more than last time once two takes at that were met
    #[arg(long, value_name = "BPM")]
    pub tempo: Option<TempoChoice>,
    /// Play in this key: Eb, F#m
    #[arg(long)]
    pub key: Option<Key>,
    /// Go through the keys, one a chorus, 12 unless --choruses says otherwise: fourths, semitones or random
    #[arg(long, value_name = "ORDER", conflicts_with = "key")]
    pub keys: Option<KeyOrder>,
    /// The first of the keys, instead of the chart's own
    #[arg(long, value_name = "KEY", requires = "keys")]
    pub first_key: Option<Key>,
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
    /// How the band moves.
    pub fn feel(&self, chart: &Chart) -> Feel {
        self.feel.unwrap_or(chart.header().feel)
    }

    /// The first and the last bar to be played, where not all are.
    pub fn bar_numbers(&self) -> Option<(usize, usize)> {
        self.bars.map(|bars| (bars.first().get(), bars.last().get()))
    }

    /// The chart with what is kept for its chords, in the key asked for.
    pub fn chart(&self, startup: &Startup, out: &mut Output) -> Result<Chart, Failure> {
        let loaded = load::chart(&self.chart, startup.resolved.settings.bare)?;
        for warning in &loaded.warnings {
            out.remark(&format!("{}:{warning}", loaded.chart.name()));
        }
        let chart = startup.kept(out).on(loaded.chart);
        let Some(key) = self.key else { return Ok(chart) };
        let from = own_key("--key", &chart)?;
        let key = in_the_mode_of(from, "--key", key)?;
        chart.transposed_from(from, key).map_err(|error| Failure::bad_input(format!("--key {key}: {error}")))
    }

    /// How often the form is played: as asked, else once through the keys where it goes through them, else `otherwise`.
    /// With the tune at both ends two choruses more are played.
    pub fn times(&self, head: bool, otherwise: u32) -> u16 {
        let (tune, fewest) = if head { (2, FEWEST_WITH_HEAD) } else { (0, 1) };
        let times = match (self.choruses.map(Choruses::get), self.keys) {
            (Some(asked), _) => asked,
            (None, Some(_)) => ALL_KEYS + tune,
            (None, None) => otherwise.max(fewest),
        };
        u16::try_from(times.max(1)).unwrap_or(u16::MAX)
    }

    /// The key of each of so many choruses, where the chart goes through keys.
    pub fn keys(&self, chart: &Chart, choruses: u16, head: Option<Head>) -> Result<Vec<Key>, Failure> {
        let Some(order) = self.keys else { return Ok(Vec::new()) };
        let own = own_key("--keys", chart)?;
        let first = self.first_key.map(|key| in_the_mode_of(own, "--first-key", key)).transpose()?;
        let tune = if head.is_some() { 2 } else { 0 };
        if choruses < 2 + tune {
            return Err(Failure::bad_input(format!(
                "--keys: one chorus has one key. Write --choruses {} or more, or --key KEY",
                2 + tune
            )));
        }
        let seed = self.seed.unwrap_or_default();
        Ok(order.keys(first.unwrap_or(own), choruses.into(), head, seed))
    }

    /// The chords to play over: all of the form, or the bars asked for, in these keys if there are any.
    pub fn chords(&self, chart: &Chart, keys: &[Key]) -> Result<ChordSource, Failure> {
        let whole = ChordSource::through_keys(chart, keys)
            .map_err(|error| Failure::bad_input(format!("--keys: {error}")))?;
        match self.bars {
            None => Ok(whole),
            Some(bars) => {
                let cut = whole.only_bars(bars.first().get(), bars.last().get());
                cut.map_err(|error| Failure::bad_input(format!("--bars: {error}")))
            }
        }
    }
}

/// The key that a chart is in, which `flag` has to know.
fn own_key(flag: &str, chart: &Chart) -> Result<Key, Failure> {
    key_of(chart).ok_or_else(|| Failure::bad_input(format!("{flag}: {}", NotThrough::NoKey)))
}

/// The key asked for in the mode the chart is in, which a change of key keeps. A letter alone stands for either mode.
fn in_the_mode_of(from: Key, flag: &str, key: Key) -> Result<Key, Failure> {
    if key.mode == from.mode || key.mode == KeyMode::Major {
        return Ok(Key { mode: from.mode, ..key });
    }
    let tonic = key.tonic;
    Err(Failure::bad_input(format!(
        "{flag} {key}: the chart is in {from} and keeps its mode. Write {flag} {tonic}"
    )))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::header::key_text;
    use crate::command::play::PlayArgs;
    use crate::command::values::tests::{parsed, refused};
    use crate::theory::chord::BareSymbols;

    #[test]
    fn a_chart_keeps_its_mode_in_another_key() {
        let key = |text: &str| text.parse::<Key>().expect("a key");
        let in_mode = |from: &str, to: &str| in_the_mode_of(key(from), "--key", key(to));
        assert_eq!(in_mode("C", "F#"), Ok(key("F#")));
        assert_eq!(in_mode("Am", "Cm"), Ok(key("Cm")));
        assert_eq!(in_mode("Am", "C"), Ok(key("Cm")), "the tonic alone");
        let refusal = in_mode("C", "F#m").expect_err("no minor of a major chart");
        assert!(refusal.message().ends_with("the chart is in C major and keeps its mode. Write --key F#"));
    }

    fn keys(chart: &str, flags: &[&str], head: bool) -> Result<Vec<String>, String> {
        let args = parsed::<PlayArgs>(&[&["a.bars", "--keys"], flags].concat()).backing;
        let (chart, _) = Chart::parse("a.bars", chart, BareSymbols::default()).expect("a chart");
        let choruses = args.times(head, 1);
        let head = if head { Head::around(choruses.into()) } else { None };
        let keys = args.keys(&chart, choruses, head).map_err(|failure| failure.message().to_owned())?;
        Ok(keys.into_iter().map(key_text).collect())
    }

    #[test]
    fn a_chart_goes_through_all_keys_from_its_own_or_another() {
        let two = "key: Eb\n| Ebmaj7 | Bb7 |";
        assert_eq!(keys(two, &["fourths"], false).map(|keys| keys.len()), Ok(12));
        let expect = ["Eb", "E", "F"].map(str::to_owned);
        assert_eq!(keys(two, &["semitones", "--choruses", "3"], false), Ok(expect.to_vec()));
        let expect = ["Db", "Gb"].map(str::to_owned);
        let flags = ["fourths", "--first-key", "Db", "--choruses", "2"];
        assert_eq!(keys(two, &flags, false), Ok(expect.to_vec()));
        assert_eq!(
            keys("| Am7 D7 | Gmaj7 |", &["fourths"], false).map(|keys| keys[1].clone()),
            Ok("C".into())
        );
        let with_tune = keys(two, &["fourths"], true).expect("keys");
        assert_eq!((with_tune.len(), with_tune[0].as_str(), with_tune[13].as_str()), (14, "Eb", "Eb"));
    }

    #[test]
    fn what_makes_no_way_through_keys_is_refused() {
        let check = |chart: &str, flags: &[&str], head: bool, expect: &str| {
            assert_eq!(keys(chart, flags, head).expect_err("a refusal"), expect);
        };
        let two = "key: Eb\n| Ebmaj7 | Bb7 |";
        let one = "--keys: one chorus has one key. Write --choruses 2 or more, or --key KEY";
        check(two, &["fourths", "--choruses", "1"], false, one);
        let one = "--keys: one chorus has one key. Write --choruses 4 or more, or --key KEY";
        check(two, &["random", "--choruses", "3"], true, one);
        let none = "--keys: the chart names no key and none is heard in it. Write key: in its header";
        check("| N.C. |", &["fourths"], false, none);
        let minor = "--first-key F# minor: the chart is in Eb major and keeps its mode. Write --first-key F#";
        check(two, &["fourths", "--first-key", "F#m"], false, minor);
        let refusal = |flags: &[&str]| refused::<PlayArgs>(&[&["a.bars"], flags].concat());
        assert!(refusal(&["--keys", "fourths", "--key", "F"]).contains("cannot be used with"));
        assert!(refusal(&["--first-key", "F"]).contains("--keys <ORDER>"));
        let words = "keys come in fourths, in semitones or in random order: write one of these words";
        assert!(refusal(&["--keys", "fifths"]).contains(words));
    }
}
