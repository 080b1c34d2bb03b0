//! Accompaniment: how the band plays so that somebody can practise with it, and who plays in which bar.
//!
//! It says in which bars the band plays, how it opens and what counts in; what a part plays in its bars is the part's own
//! business. Whoever must know later whose a bar was (a tally) asks here too.

pub mod band_out;

pub use band_out::BandOut;

use super::click::ClickOn;
use super::count_in::CountInBars;
use crate::chart::Turn;

/// How the band plays with somebody who practises. By default it plays every bar alike, from the count-in to the tonic.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Accompaniment {
    /// How many bars are counted in.
    pub count_in: CountInBars,
    /// How the bass plays the first chorus.
    pub opening: Opening,
    /// The bars in which the band lays out, if it does in any.
    pub band_out: Option<BandOut>,
    /// Where the click sounds; it may be all there is.
    pub click: ClickOn,
}

/// How the bass plays the first chorus.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Opening {
    /// Like the others, as the feel has it.
    #[default]
    AsTheOthers,
    /// In two, as under a tune before it is improvised on (common practice); then in four.
    TwoFeel,
}

/// Who plays in a bar beside the player.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Playing {
    /// The band.
    Band,
    /// The drums alone: it is their turn, not the player's.
    DrumsAlone,
    /// Nobody: the player goes on alone.
    Nobody,
}

/// A bar as it is counted from bar 1 of the first chorus through all choruses: how many bars were played before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct BarsBefore(pub u64);

impl BarsBefore {
    /// What is before the bar `index` (from 0) of a form of `bars` bars, in `chorus` (from 1).
    pub const fn of(chorus: u32, index: usize, bars: usize) -> Self {
        Self((chorus as u64).saturating_sub(1) * bars as u64 + index as u64)
    }
}

impl Accompaniment {
    /// Whether the band lays out in a bar.
    pub fn lays_out(&self, bar: BarsBefore) -> bool {
        self.band_out.is_some_and(|band_out| band_out.lays_out(bar))
    }

    /// Who plays in a bar that is somebody's turn. The drums keep theirs where the band would lay out.
    pub fn playing(&self, bar: BarsBefore, turn: Turn) -> Playing {
        match turn {
            Turn::Drums => Playing::DrumsAlone,
            Turn::Yours | Turn::Tune if self.lays_out(bar) => Playing::Nobody,
            Turn::Yours | Turn::Tune => Playing::Band,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_are_counted_on_through_the_choruses() {
        assert_eq!([(1, 0), (1, 11), (3, 2)].map(|(chorus, i)| BarsBefore::of(chorus, i, 12).0), [0, 11, 26]);
    }

    #[test]
    fn the_drums_keep_their_turn_where_the_band_would_lay_out() {
        let out = Accompaniment { band_out: BandOut::of(2, 4), ..Accompaniment::default() };
        let playing = |turn| (0..4).map(|bar| out.playing(BarsBefore(bar), turn)).collect::<Vec<_>>();
        assert_eq!(playing(Turn::Drums), [Playing::DrumsAlone; 4]);
        assert_eq!(playing(Turn::Yours), [Playing::Band, Playing::Band, Playing::Nobody, Playing::Nobody]);
        assert_eq!(Accompaniment::default().playing(BarsBefore(7), Turn::Yours), Playing::Band);
    }
}
