//! How the band played in a take, so far as a review or a list of takes tells it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::take::{BandPlayed, Imprint};

/// How the band played, as the take says it of itself.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct BandRecord {
    /// How it moved: `swing`, `straight`, `bossa`, `ballad`.
    pub feel: Option<String>,
    /// How much of the swing that the tempo asks for it played, in percent.
    pub swing_percent: u8,
    /// The seed of its choices.
    pub seed: u64,
    /// Bars counted in, where the tempo did not decide.
    pub count_in: Option<u8>,
    /// Whether the bass played the first chorus in two.
    pub two_feel: bool,
    /// The bars in which it laid out: `2/8`, two in every eight.
    pub band_out: Option<String>,
    /// The beats of a click beside which nothing sounded: `2,4`, in one bar of two `2,4/2`.
    pub click: Option<String>,
    /// Bars traded with the drums at a time.
    pub trade: Option<u8>,
    /// Whether the first and the last chorus were the tune.
    pub head: bool,
    /// Parts that were muted as it began.
    pub mute: Vec<String>,
}

impl BandRecord {
    /// What a take says of its band; `None` for one that says nothing of it.
    pub fn of(imprint: &Imprint) -> Option<Self> {
        let BandPlayed { swing_percent, seed, count_in, two_feel, band_out, click, mute } =
            imprint.band.clone()?;
        Some(Self {
            feel: imprint.feel.clone(),
            swing_percent,
            seed,
            count_in,
            two_feel,
            band_out,
            click,
            trade: imprint.trade,
            head: imprint.head.is_some(),
            mute,
        })
    }

    /// What was asked of it, in the words of the flags: `band out 2/8`; nothing where it played as always.
    pub fn words(&self) -> Vec<String> {
        let flag = |is_so: bool, words: &str| is_so.then(|| words.to_owned());
        let with = |name: &str, value: Option<&String>| value.map(|value| format!("{name} {value}"));
        let muted = (!self.mute.is_empty()).then(|| format!("mute {}", self.mute.join(",")));
        let words = [
            with("band out", self.band_out.as_ref()),
            with("click", self.click.as_ref()),
            self.trade.map(|bars| format!("trade {bars}")),
            flag(self.head, "head"),
            flag(self.two_feel, "two-feel"),
            muted,
        ];
        words.into_iter().flatten().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_band_is_told_in_the_words_of_the_flags() {
        let band = BandPlayed {
            band_out: Some("2/8".to_owned()),
            two_feel: true,
            mute: vec!["ride".to_owned(), "comp".to_owned()],
            ..BandPlayed::default()
        };
        let words = |band| {
            let imprint = Imprint { band, trade: Some(4), ..Imprint::default() };
            BandRecord::of(&imprint).map(|record| record.words().join("; "))
        };
        assert_eq!(words(Some(band)).as_deref(), Some("band out 2/8; trade 4; two-feel; mute ride,comp"));
        assert_eq!(words(Some(BandPlayed::default())).as_deref(), Some("trade 4"));
        assert_eq!(words(None), None, "a take of before");
    }
}
