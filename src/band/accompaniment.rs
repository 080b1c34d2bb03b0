//! Accompaniment: how the band plays so that somebody can practise with it, and who plays in which bar.
//!
//! It says in which bars the band plays, how it opens and what counts in; what a part plays in its bars is the part's own
//! business. Whoever must know later whose a bar was (a tally) asks here too.

pub mod band_out;
pub mod trade;

pub use band_out::BandOut;
pub use trade::Trade;

use super::click::ClickOn;
use super::count_in::CountInBars;

/// How the band plays with somebody who practises. By default it plays every bar alike, from the count-in to the tonic.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Accompaniment {
    /// How many bars are counted in.
    pub count_in: CountInBars,
    /// How the bass plays the first chorus.
    pub opening: Opening,
    /// The bars in which the band lays out, if it does in any.
    pub band_out: Option<BandOut>,
    /// The bars that are traded with the drums, if any are. In the drums' bars this goes before [`Self::band_out`].
    pub trade: Option<Trade>,
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
    /// Who plays in a bar.
    pub fn playing(&self, bar: BarsBefore) -> Playing {
        if self.trade.is_some_and(|trade| !trade.is_yours(bar)) {
            Playing::DrumsAlone
        } else if self.band_out.is_some_and(|band_out| band_out.lays_out(bar)) {
            Playing::Nobody
        } else {
            Playing::Band
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
        let both =
            Accompaniment { trade: Trade::of(2), band_out: BandOut::of(2, 4), ..Accompaniment::default() };
        let playing: Vec<Playing> = (0..4).map(|bar| both.playing(BarsBefore(bar))).collect();
        assert_eq!(playing, [Playing::Band, Playing::Band, Playing::DrumsAlone, Playing::DrumsAlone]);
        assert_eq!(Accompaniment::default().playing(BarsBefore(7)), Playing::Band);
    }
}
