//! Verdicts: whether a take lies in the bands asked for, said only as surely as its notes allow.

use crate::statistics::{Interval, Level, design_effect};

use super::judged::Class;
use super::mix::{Kind, Share};
use super::settings::{Counting, ShareBy};
use super::{LANDING_EFFECT, Tally};

/// Fewest counted notes a verdict is given on, unless more are asked for.
pub const FEWEST_NOTES: f64 = 40.0;

/// The least design effect of a share over several takes: halves of recorded solos differ by so much more than notes drawn
/// one by one would (Weimar Jazz Database, 440 solos, our own count: z of first half less second half has a standard
/// deviation of 1.1 to 1.3).
pub const BETWEEN_TAKES: f64 = 1.5;

/// An instrument whose lateness is known less surely than this, in milliseconds, has its takes set aside: how late notes
/// are decides which chord they belong to.
const WIDEST_SPREAD_MS: f64 = 20.0;

/// A take with more misread notes than this part of all is set aside without blame.
pub const GHOSTS: f64 = 0.05;

/// What a band is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Measure {
    /// The share of chord tones.
    Chord,
    /// The share of scale tones; with other scales' when counted leniently.
    Scale,
    /// The share of outside notes.
    Outside,
    /// The share of outside notes that resolved.
    Resolved,
    /// The share of outside notes left open.
    Open,
    /// Changes landed on, of those met.
    Landings,
}

impl Measure {
    /// Every measure, in the order of a report.
    pub const ALL: [Self; 6] =
        [Self::Chord, Self::Scale, Self::Outside, Self::Resolved, Self::Open, Self::Landings];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Chord => "chord",
            Self::Scale => "scale",
            Self::Outside => "outside",
            Self::Resolved => "resolved",
            Self::Open => "open",
            Self::Landings => "landings",
        }
    }

    fn share(self, tally: &Tally) -> Share {
        let counted = self.share_by_count(tally);
        match (tally.settings.share_by, self.share_by_duration(tally)) {
            (ShareBy::Duration, Some(share)) => Share { n: share * counted.of, ..counted },
            _ => counted,
        }
    }

    /// The share of sounding time; `None` for what is only counted.
    fn share_by_duration(self, tally: &Tally) -> Option<f64> {
        let share = |class| tally.by_duration.share(class);
        match self {
            Self::Chord => Some(share(Class::Chord)),
            Self::Scale if tally.settings.counting == Counting::Lenient => {
                Some(share(Class::Scale) + share(Class::Other))
            }
            Self::Scale => Some(share(Class::Scale)),
            Self::Outside => Some(share(Class::Outside)),
            Self::Resolved | Self::Open | Self::Landings => None,
        }
    }

    fn share_by_count(self, tally: &Tally) -> Share {
        match self.kinds(tally.settings.counting) {
            [] => {
                let (hits, all) = tally.landings.rate();
                Share { n: hits as f64, of: all as f64, design_effect: LANDING_EFFECT }
            }
            kinds => tally.mix.share_of(kinds),
        }
    }

    /// The kinds of note it counts; none for landings.
    const fn kinds(self, counting: Counting) -> &'static [Kind] {
        match (self, counting) {
            (Self::Chord, _) => &[Kind::Chord],
            (Self::Scale, Counting::Lenient) => &[Kind::Scale, Kind::Other],
            (Self::Scale, Counting::Strict) => &[Kind::Scale],
            (Self::Outside, _) => &[Kind::Outside],
            (Self::Resolved, _) => &[Kind::Resolved],
            (Self::Open, _) => &[Kind::Open],
            (Self::Landings, _) => &[],
        }
    }

    /// The share over several takes together. Playing drifts from take to take, so its notes say less than those of one
    /// take would: the design effect is that of all bars, and at least [`BETWEEN_TAKES`].
    fn share_over(self, takes: &[&Tally]) -> Share {
        let shares: Vec<Share> = takes.iter().map(|tally| self.share(tally)).collect();
        let bars = takes.iter().flat_map(|tally| tally.mix.clusters(self.kinds(tally.settings.counting)));
        let of_bars = if self == Self::Landings { LANDING_EFFECT } else { design_effect(bars) };
        let design_effect = if takes.len() > 1 { of_bars.max(BETWEEN_TAKES) } else { of_bars };
        Share {
            n: shares.iter().map(|share| share.n).sum(),
            of: shares.iter().map(|share| share.of).sum(),
            design_effect,
        }
    }
}

/// A band of shares, ends included.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    low: f64,
    high: f64,
}

impl Band {
    /// The band from `low` to `high` (0 to 1, low below high), or `None`.
    pub fn new(low: f64, high: f64) -> Option<Self> {
        let ordered = (0.0..=1.0).contains(&low) && (0.0..=1.0).contains(&high) && low < high;
        ordered.then_some(Self { low, high })
    }

    /// The lower end.
    pub const fn low(self) -> f64 {
        self.low
    }

    /// The upper end.
    pub const fn high(self) -> f64 {
        self.high
    }

    /// What a share with its interval says about the band.
    pub fn judge(self, share: f64, interval: Interval) -> Finding {
        if (self.low..=self.high).contains(&share) {
            Finding::Met
        } else if interval.low > self.high {
            Finding::ClearlyAbove
        } else if interval.high < self.low {
            Finding::ClearlyBelow
        } else {
            Finding::Undecided
        }
    }
}

/// What is asked of a take.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Bands {
    /// The bands, one a measure.
    pub bands: Vec<(Measure, Band)>,
    /// Fewest counted notes asked for; never less than [`FEWEST_NOTES`].
    pub needs: f64,
}

/// What was found about a band, or about a take.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Finding {
    /// In the band.
    Met,
    /// The whole interval lies above the band.
    ClearlyAbove,
    /// The whole interval lies below the band.
    ClearlyBelow,
    /// The interval crosses an edge of the band: another chorus may tell.
    Undecided,
    /// Too few notes, or the take was misread: nothing is said.
    NoVerdict,
}

impl Finding {
    /// The words that records use.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Met => "met",
            Self::ClearlyAbove => "clearly above",
            Self::ClearlyBelow => "clearly below",
            Self::Undecided => "undecided",
            Self::NoVerdict => "no verdict",
        }
    }
}

/// Why there is no verdict.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NoVerdict {
    /// Too few notes were counted.
    TooFew {
        /// Notes counted.
        counted: f64,
        /// Notes needed.
        needed: f64,
    },
    /// Too many notes were misread: the take is set aside, nothing counts against the player.
    Ghosts {
        /// Their part of all notes.
        part: f64,
    },
    /// How late the instrument is was measured too unsurely: the take is set aside, nothing counts against the player.
    Spread {
        /// The median absolute deviation of the measurement, in milliseconds.
        ms: f64,
    },
    /// Fewer takes count than are asked for.
    FewTakes {
        /// Takes that count.
        takes: usize,
        /// Takes that are asked for.
        asked: usize,
    },
}

/// A verdict on a take.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    /// The whole: met when every band is, else the first clear miss, else undecided.
    pub finding: Finding,
    /// Why nothing is said, if so.
    pub reason: Option<NoVerdict>,
    /// What the shares are of.
    pub share_by: ShareBy,
    /// Notes counted.
    pub counted: f64,
    /// Notes needed.
    pub needed: f64,
    /// Each band with its share, the interval it was judged by, and what was found.
    pub bands: Vec<Judgement>,
}

/// One band judged.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Judgement {
    /// What it is about.
    pub measure: Measure,
    /// What was asked.
    pub band: Band,
    /// What was played.
    pub share: Share,
    /// The interval, widened for the number of bands; `None` when nothing was counted.
    pub interval: Option<Interval>,
    /// What was found.
    pub finding: Finding,
}

/// Judges a tally by the bands asked for.
pub fn verdict(tally: &Tally, asked: &Bands) -> Verdict {
    let needed = asked.needs.max(FEWEST_NOTES);
    let counted = tally.mix.total.counted().notes();
    judged(&[tally], asked, no_verdict(tally, counted, needed))
}

/// Judges several takes as one, each of which [`verdict`] would not set aside: their notes are counted together.
pub fn pooled_verdict(takes: &[&Tally], asked: &Bands) -> Verdict {
    judged(takes, asked, None)
}

fn judged(takes: &[&Tally], asked: &Bands, reason: Option<NoVerdict>) -> Verdict {
    let level = Level::for_intervals(asked.bands.len());
    let judge = |&(measure, band): &(Measure, Band)| {
        let share = measure.share_over(takes);
        let interval = share.interval(level);
        let found = share.share().zip(interval).map(|(share, interval)| band.judge(share, interval));
        let finding = found.filter(|_| reason.is_none()).unwrap_or(Finding::NoVerdict);
        Judgement { measure, band, share, interval, finding }
    };
    let bands: Vec<Judgement> = asked.bands.iter().map(judge).collect();
    Verdict {
        finding: overall(&bands, reason),
        reason,
        share_by: takes.first().map_or(ShareBy::Count, |tally| tally.settings.share_by),
        counted: takes.iter().map(|tally| tally.mix.total.counted().notes()).sum(),
        needed: asked.needs.max(FEWEST_NOTES),
        bands,
    }
}

fn overall(bands: &[Judgement], reason: Option<NoVerdict>) -> Finding {
    if reason.is_some() {
        return Finding::NoVerdict;
    }
    let clear =
        bands.iter().map(|b| b.finding).find(|f| matches!(f, Finding::ClearlyAbove | Finding::ClearlyBelow));
    let unsure = bands.iter().map(|b| b.finding).find(|&f| f != Finding::Met);
    clear.or(unsure).unwrap_or(Finding::Met)
}

/// Why a take is set aside by itself, if it is: misread notes, an instrument measured too unsurely (`spread_ms`, the median
/// absolute deviation, where it was measured), too few notes.
pub fn set_aside(tally: &Tally, asked: &Bands, spread_ms: Option<f64>) -> Option<NoVerdict> {
    let unsure = spread_ms.filter(|&ms| ms > WIDEST_SPREAD_MS).map(|ms| NoVerdict::Spread { ms });
    let counted = tally.mix.total.counted().notes();
    unsure.or_else(|| no_verdict(tally, counted, asked.needs.max(FEWEST_NOTES)))
}

fn no_verdict(tally: &Tally, counted: f64, needed: f64) -> Option<NoVerdict> {
    let ghosts = tally.ghost_part();
    if ghosts > GHOSTS {
        Some(NoVerdict::Ghosts { part: ghosts })
    } else if counted < needed {
        Some(NoVerdict::TooFew { counted, needed })
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::statistics::wilson;

    fn found(low: f64, high: f64, hits: f64, notes: f64, level: Level) -> Finding {
        let interval = wilson(hits, notes, level).expect("notes");
        Band::new(low, high).expect("a band").judge(hits / notes, interval)
    }

    #[test]
    fn a_band_is_met_missed_clearly_or_undecided() {
        // Intervals as statsmodels 0.15.0 gives them: 45/60 reaches down to .628, 48/60 to .682, 20/60 up to .459.
        let check =
            |hits, expect| assert_eq!(found(0.5, 0.65, hits, 60.0, Level::ONE), expect, "{hits} of 60");
        check(34.0, Finding::Met);
        check(45.0, Finding::Undecided);
        check(48.0, Finding::ClearlyAbove);
        check(20.0, Finding::ClearlyBelow);
    }

    #[test]
    fn three_bands_at_once_ask_for_more() {
        assert_eq!(found(0.5, 0.65, 48.0, 60.0, Level::for_intervals(3)), Finding::ClearlyAbove);
        assert_eq!(found(0.5, 0.67, 48.0, 60.0, Level::ONE), Finding::ClearlyAbove);
        assert_eq!(found(0.5, 0.67, 48.0, 60.0, Level::for_intervals(3)), Finding::Undecided);
    }

    #[test]
    fn a_band_stands_the_right_way_round() {
        assert_eq!(Band::new(0.7, 0.5), None);
        assert_eq!(Band::new(-0.1, 0.5), None);
        assert_eq!(Band::new(0.5, 1.2), None);
    }
}
