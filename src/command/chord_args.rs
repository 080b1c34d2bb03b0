//! A chord named on the command line, by its symbol or by its place in a chart, and the scale it takes.

use std::ffi::OsString;
use std::path::PathBuf;
use std::str::FromStr;

use clap::Args;

use super::exit_status::Failure;
use super::load;
use super::values::ChartSource as ChartPlace;
use crate::chart::{Decided, Form, FormBar, FormChord, Sevenths};
use crate::harmony::{self, Overrides};
use crate::judge::written::by_itself;
use crate::judge::{ChordSource, KeptScales};
use crate::report::review::written_for;
use crate::theory::chord::BareSymbols;
use crate::theory::{ChordSymbol, Scale, ScaleRequest, Written};
use crate::time::{Meter, Ticks};

/// Which chord, in which scale, before which.
#[derive(Clone, Debug, PartialEq, Eq, Args)]
pub struct ChordArgs {
    /// The chord: its symbol (Gm7), or a chart and a bar of its page (bus-shelter:2, the second chord there bus-shelter:2.2)
    #[arg(value_name = "CHORD")]
    pub chord: ChordPlace,
    /// The scale, instead of the one that fits: lydian-dominant, 1,b2,3,5
    #[arg(long)]
    pub scale: Option<ScaleRequest>,
    /// Flag the tones of the chord that comes
    #[arg(long, value_name = "CHORD")]
    pub next: Option<String>,
    /// Write names instead of degrees
    #[arg(long)]
    pub names: bool,
}

impl ChordArgs {
    /// A chord by its symbol, in the scale that fits it.
    pub fn of(symbol: &str) -> Self {
        Self { chord: ChordPlace::Symbol(symbol.to_owned()), scale: None, next: None, names: false }
    }
}

/// Where a chord stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ChordPlace {
    /// Nowhere: its symbol.
    Symbol(String),
    /// In a chart.
    InChart {
        /// The chart, as named.
        chart: PathBuf,
        /// The bar of its page, from 1.
        bar: usize,
        /// Which chord of that bar, from 1.
        nth: usize,
    },
}

/// Reads `Gm7`, `bus-shelter:2` or `my.bars:2.2`. Whether there is such a chord is for the chart to say.
impl FromStr for ChordPlace {
    type Err = std::convert::Infallible;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let in_chart = |(chart, place): (&str, &str)| {
            let (bar, nth) = place.split_once('.').unwrap_or((place, "1"));
            let count = |text: &str| text.parse().ok().filter(|&count: &usize| count > 0);
            Some(Self::InChart { chart: chart.into(), bar: count(bar)?, nth: count(nth)? })
        };
        Ok(text.rsplit_once(':').and_then(in_chart).unwrap_or_else(|| Self::Symbol(text.to_owned())))
    }
}

/// A chord with the scale it takes and why.
#[derive(Clone, Debug, PartialEq)]
pub struct ChordInScale {
    /// The chord.
    pub chord: ChordSymbol,
    /// The scale in force.
    pub scale: Scale,
    /// Why this scale, in a few words.
    pub why: String,
    /// The chord that is flagged.
    pub next: Option<ChordSymbol>,
}

impl ChordArgs {
    /// The chord with its scale, by the names of a player in `written`; what is typed is in concert pitch, as charts are.
    /// A symbol by itself is read as a tune of one chord.
    pub fn find(
        &self,
        bare: BareSymbols,
        kept: &KeptScales,
        written: Written,
    ) -> Result<ChordInScale, Failure> {
        let read = by_itself(written);
        let (found, sounding) = match &self.chord {
            ChordPlace::Symbol(text) => {
                let sounding = symbol(text, "", bare)?;
                (lone(read.symbol(sounding)), sounding.to_string())
            }
            ChordPlace::InChart { chart, bar, nth } => in_chart(chart, (*bar, *nth), (bare, written), kept)?,
        };
        let next = self.next.as_deref().map(|text| symbol(text, "--next: ", bare)).transpose()?;
        let next = next.map(|next| read.symbol(next));
        let scale = self.scale.as_ref().map(|asked| read.scale(asked.clone()).on(found.chord.heard().root));
        let why = if scale.is_some() { "asked for".to_owned() } else { found.why };
        let why = match written_for(written) {
            Some(words) => format!("{why}; {words}, {sounding} sounds"),
            None => why,
        };
        Ok(ChordInScale { scale: scale.unwrap_or(found.scale), why, next, ..found })
    }
}

fn symbol(text: &str, flag: &str, bare: BareSymbols) -> Result<ChordSymbol, Failure> {
    let read = ChordSymbol::parse_with(text, bare);
    read.map_err(|error| Failure::bad_input(format!("{flag}{error}")))
}

/// A chord by itself, as harmony hears a tune of nothing else.
fn lone(chord: ChordSymbol) -> ChordInScale {
    let meter = Meter::FOUR_FOUR;
    let bar = FormBar { number: 1, written: 1, label: None, meter, start: Ticks::ZERO };
    let only = FormChord {
        bar: 0,
        start: Ticks::ZERO,
        length: meter.bar(),
        text: chord.to_string(),
        symbol: Some(chord),
        scale: None,
        place: None,
        decided: Decided::default(),
    };
    let form = Form { bars: vec![bar], chords: vec![only], loops: true, sevenths: Sevenths::AsWritten };
    let reading = harmony::read(&form, &Overrides::default());
    let read = reading.chords.into_iter().flatten().next().expect("a chord that is no N.C. is read");
    ChordInScale { chord, scale: read.scale.clone(), why: "by itself".to_owned(), next: None }
}

fn in_chart(
    chart: &PathBuf,
    (bar, nth): (usize, usize),
    (bare, written): (BareSymbols, Written),
    kept: &KeptScales,
) -> Result<(ChordInScale, String), Failure> {
    let name = chart.display();
    let loaded = load::chart(&ChartPlace::from(OsString::from(chart)), bare)?;
    let sounding = ChordSource::of_chart(&kept.on(loaded.chart), &Overrides::default());
    let source = sounding.written_for(written);
    let last = source.form.bars.iter().map(|bar| bar.written).max().unwrap_or_default();
    let Some(played) = source.form.bars.iter().position(|played| played.written == bar) else {
        return Err(Failure::bad_input(format!("{name}:{bar}: the page has bars 1 to {last}")));
    };
    let there: Vec<usize> =
        (0..source.form.chords.len()).filter(|&index| source.form.chords[index].bar == played).collect();
    let chords = there.len();
    let index = there.get(nth - 1).copied().ok_or_else(|| {
        let s = if chords == 1 { "" } else { "s" };
        Failure::bad_input(format!("{name}:{bar}.{nth}: bar {bar} has {chords} chord{s}"))
    })?;
    let (chord, read) = (&source.form.chords[index], &source.reading.chords[index]);
    match (chord.symbol, read) {
        (Some(symbol), Some(read)) => {
            let (scale, why) = (read.scale.clone(), read.short_why());
            let found = ChordInScale { chord: symbol, scale, why, next: None };
            Ok((found, sounding.form.chords[index].text.clone()))
        }
        _ => Err(Failure::bad_input(format!("{name}:{bar}.{nth}: no chord sounds there ({})", chord.text))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(text: &str) -> ChordPlace {
        text.parse().unwrap_or_else(|never| match never {})
    }

    fn found(args: &[&str]) -> Result<String, String> {
        read_in(Written::C, args)
    }

    fn read_in(written: Written, args: &[&str]) -> Result<String, String> {
        #[derive(clap::Parser)]
        struct Line {
            #[command(flatten)]
            args: ChordArgs,
        }
        let line = [&["neck"], args].concat();
        let args = <Line as clap::Parser>::try_parse_from(line).map_err(|error| error.to_string())?.args;
        let found = args
            .find(BareSymbols::default(), &KeptScales::default(), written)
            .map_err(|failure| failure.message().to_owned())?;
        Ok(format!("{}, {}: {}", found.chord, found.scale, found.why))
    }

    #[test]
    fn a_chord_is_a_symbol_or_a_place_in_a_chart() {
        let at = |chart: &str, bar, nth| ChordPlace::InChart { chart: chart.into(), bar, nth };
        assert_eq!(place("Gm7"), ChordPlace::Symbol("Gm7".to_owned()));
        assert_eq!(place("bus-shelter:2"), at("bus-shelter", 2, 1));
        assert_eq!(place("C:/my.bars:12.2"), at("C:/my.bars", 12, 2));
        assert_eq!(place("my.bars:0"), ChordPlace::Symbol("my.bars:0".to_owned()));
    }

    #[test]
    fn a_lone_chord_takes_the_scale_of_its_kind() {
        assert_eq!(found(&["Gm7"]).as_deref(), Ok("Gm7, G dorian: by itself"));
        assert_eq!(found(&["G7", "--scale", "altered"]).as_deref(), Ok("G7, G altered: asked for"));
    }

    #[test]
    fn a_chord_of_a_chart_takes_the_scale_it_has_there() {
        assert_eq!(found(&["bus-shelter:2.2"]).as_deref(), Ok("Db7, Db lydian dominant: backdoor dominant"));
    }

    #[test]
    fn what_is_typed_sounds_and_what_is_shown_is_read() {
        assert_eq!(
            read_in(Written::Bb, &["Bb7"]).as_deref(),
            Ok("C7, C mixolydian: by itself; written for Bb, Bb7 sounds")
        );
        assert_eq!(
            read_in(Written::Eb, &["bus-shelter:2.2", "--next", "Ebmaj7"]).as_deref(),
            Ok("Bb7, Bb lydian dominant: backdoor dominant; written for Eb, Db7 sounds")
        );
    }

    #[test]
    fn what_is_not_there_says_what_is() {
        assert!(found(&["H7"]).is_err_and(|error| error.contains("roots are A to G")));
        assert_eq!(found(&["bus-shelter:99"]), Err("bus-shelter:99: the page has bars 1 to 16".to_owned()));
        assert_eq!(found(&["bus-shelter:2.3"]), Err("bus-shelter:2.3: bar 2 has 2 chords".to_owned()));
        assert!(found(&["Gm7", "--next", "X"]).is_err_and(|error| error.starts_with("--next: ")));
    }
}
