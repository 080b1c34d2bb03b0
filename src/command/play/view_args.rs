//! How a take is shown while it lasts, as the command line says it.

use clap::{Args, ValueEnum};

use crate::band::Part;
use crate::judge::written::tuning;
use crate::screen::playing::neck_and_keys::LayersShown;
use crate::screen::playing::{ChartShown, Shown, TallyShown};
use crate::store::settings::Settings;

/// How a take is shown.
#[derive(Clone, Debug, Default, PartialEq, Eq, Args)]
pub struct ViewArgs {
    /// What the screen leaves out: neck, chart
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    pub hide: Vec<Hidden>,
    /// Show while you play how the line stands, at barlines
    #[arg(long)]
    pub tally: bool,
    /// Open no screen
    #[arg(long)]
    pub headless: bool,
    /// One line a bar, in words, for screen readers and small windows
    #[arg(long)]
    pub plain: bool,
}

/// What the screen can leave out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Hidden {
    /// The layers, on neck and keys.
    Neck,
    /// The chart.
    Chart,
}

impl ViewArgs {
    /// How the screen opens; `muted` are the parts that are silent from the start.
    pub fn opening(&self, settings: &Settings, muted: &[Part]) -> Shown {
        let hides = |what| self.hide.contains(&what);
        Shown {
            tuning: tuning(&settings.tuning, settings.written),
            layers: if hides(Hidden::Neck) { LayersShown::Nothing } else { LayersShown::default() },
            chart: if hides(Hidden::Chart) { ChartShown::Hidden } else { ChartShown::Shown },
            tally: if self.tally { TallyShown::AtBarlines } else { TallyShown::Hidden },
            always_muted: muted.to_vec(),
            ..Shown::default()
        }
    }
}
