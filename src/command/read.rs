//! `read`: what is asked about a chart's keys, functions and scales.

use std::path::PathBuf;

use clap::Args;

use super::values::{BarNumber, ChartSource, ScaleFor};

/// What `read` takes.
#[derive(Clone, Debug, PartialEq, Eq, Args)]
pub struct ReadArgs {
    /// The chart: a file, the name of a chart that ships, or - for standard input
    #[arg(value_name = "CHART")]
    pub chart: ChartSource,
    /// Show the chords of this bar only
    #[arg(long, value_name = "N")]
    pub bar: Option<BarNumber>,
    /// Set the scale of a chord: bar, which of its chords, scale (5.1=altered); may be given again
    #[arg(long, value_name = "PLACE=SCALE")]
    pub set: Vec<ScaleFor>,
    /// Write the chart, with the scales set, to this file (- for standard output)
    #[arg(short, long = "output", value_name = "F")]
    pub output: Option<PathBuf>,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::values::tests::{parsed, refused};

    #[test]
    fn a_chart_may_come_from_anywhere() {
        let chart = |line: &[&str]| parsed::<ReadArgs>(line).chart;
        assert_eq!(chart(&["-"]), ChartSource::Stdin);
        assert_eq!(chart(&["bus-shelter.bars"]), ChartSource::Named("bus-shelter.bars".into()));
    }

    #[test]
    fn scales_are_set_one_by_one() {
        let args =
            parsed::<ReadArgs>(&["a.bars", "--set", "5.1=altered", "--set", "6.2=dorian", "-o", "b.bars"]);
        assert_eq!(args.set.len(), 2);
        assert_eq!(args.output, Some("b.bars".into()));
    }

    #[test]
    fn slips_name_the_flag_and_what_to_write() {
        let bar = refused::<ReadArgs>(&["a.bars", "--bar", "0"]);
        assert!(bar.contains("invalid value '0' for '--bar <N>': bars are counted 1, 2, 3"), "{bar}");
        let set = refused::<ReadArgs>(&["a.bars", "--set", "5=altered"]);
        assert!(set.contains("'--set <PLACE=SCALE>': write the bar, which of its chords"), "{set}");
    }
}
