//! What a take says of itself before its first message: the chart, how the band plays, the settings in force.

use crate::band::{Accompaniment, ClickOn, CountInBars, Opening};
use crate::chart::header::key_text;
use crate::chart::{Chart, Head, Trade};
use crate::live::SessionPlan;
use crate::store::raw_log::LogHead;
use crate::store::settings::Settings;
use crate::take::{BandPlayed, Imprint};

use super::PlayArgs;

/// What the log of the take says before its first message.
pub(super) fn head(
    args: &PlayArgs,
    chart: &Chart,
    plan: &SessionPlan,
    (settings, spread_ms): (&Settings, Option<f64>),
) -> LogHead {
    let imprint = Imprint {
        chart: chart.text().to_owned(),
        chart_name: chart.name().to_owned(),
        count_in_ticks: plan.count_in().length.0,
        choruses: plan.choruses.into(),
        bars: args.backing.bar_numbers(),
        head: plan.turns.head.map(Head::last),
        trade: plan.turns.trade.map(Trade::bars),
        feel: Some(plan.feel.name().to_owned()),
        keys: plan.keys.iter().map(|changes| key_text(changes.key)).collect(),
        band: Some(band_played(plan)),
        spread_ms,
        settings: settings.figures(),
        ..Imprint::default()
    };
    LogHead { imprint, quarter_ns: plan.quarter().0 }
}

/// How the band is to play, as the take says it of itself.
fn band_played(plan: &SessionPlan) -> BandPlayed {
    let Accompaniment { count_in, opening, band_out, click } = plan.accompaniment;
    BandPlayed {
        swing_percent: plan.swing_percent,
        seed: plan.seed.0,
        count_in: match count_in {
            CountInBars::ByTempo => None,
            CountInBars::One => Some(1),
            CountInBars::Two => Some(2),
        },
        two_feel: opening == Opening::TwoFeel,
        band_out: band_out.map(|band_out| band_out.to_string()),
        click: match click {
            ClickOn::Alone(beats) => Some(beats.to_string()),
            ClickOn::CountInOnly | ClickOn::EveryPulse => None,
        },
        mute: plan.mutes.iter().map(|part| part.word().to_owned()).collect(),
    }
}
