//! How the band plays with somebody who practises: the flags for it, and what of them cannot go together.

use clap::Args;

use super::exit_status::Failure;
use crate::band::{Accompaniment, BandOut, ClickOn, CountInBars, LoneClick, Opening};
use crate::chart::turns::FEWEST_WITH_HEAD;
use crate::chart::{Feel, Form, Head, Trade, Turns};
use crate::store::settings::Flag;

/// Flags about practising with the band.
#[derive(Clone, Debug, PartialEq, Eq, Default, Args)]
pub struct BandArgs {
    /// Bars counted in: 1 or 2; without it two, at a slow tempo one
    #[arg(long, value_name = "BARS")]
    pub count_in: Option<CountInBars>,
    /// The bass plays the first chorus in two
    #[arg(long, conflicts_with = "click")]
    pub two_feel: bool,
    /// The band lays out in the last bars of every so many: 2/8
    #[arg(long, value_name = "BARS/OF", conflicts_with_all = ["trade", "click"])]
    pub band_out: Option<BandOut>,
    /// The first and the last chorus are the tune: kept, not counted
    #[arg(long)]
    pub head: bool,
    /// Trade with the drums, so many bars each, yours first: 4. Your bars count
    #[arg(long, value_name = "BARS", conflicts_with = "click")]
    pub trade: Option<Trade>,
    /// A click on these beats and nothing else: 2,4; in one bar of two: 2,4/2
    #[arg(long, value_name = "BEATS", conflicts_with = "mute")]
    pub click: Option<LoneClick>,
    /// How much of the swing that the tempo asks for is played, 0 to 1, instead of the setting
    #[arg(long, value_name = "SHARE")]
    pub swing: Option<String>,
}

impl BandArgs {
    /// The settings these flags give.
    pub fn settings(&self) -> impl Iterator<Item = Flag> {
        self.swing.iter().map(|share| Flag { flag: "--swing", key: "swing", text: share.clone() })
    }

    /// Whose bars are whose in so many choruses; the tune at both ends must leave one between.
    pub fn turns(&self, choruses: u16) -> Result<Turns, Failure> {
        let head =
            if self.head { Some(Head::around(choruses.into()).ok_or_else(no_room_for_head)?) } else { None };
        Ok(Turns { head, trade: self.trade })
    }

    /// How the band is to play `choruses` times `form` in this feel. What would change nothing is refused.
    pub fn accompaniment(&self, form: &Form, choruses: u16, feel: Feel) -> Result<Accompaniment, Failure> {
        if self.two_feel && feel == Feel::Bossa {
            return Err(refused(
                "--two-feel: the bass has a pattern of its own in a bossa; write --feel swing with it",
            ));
        }
        if let Some(click) = self.click {
            click.fits(form).map_err(|no_beat| refused(&format!("--click: {no_beat}")))?;
        }
        let accompaniment = Accompaniment {
            count_in: self.count_in.unwrap_or_default(),
            opening: if self.two_feel { Opening::TwoFeel } else { Opening::AsTheOthers },
            band_out: self.band_out,
            click: self.click.map_or(ClickOn::CountInOnly, ClickOn::Alone),
        };
        self.come_to_pass(form.bars.len() as u64, u64::from(choruses))?;
        Ok(accompaniment)
    }

    /// Refuses what would begin behind the end of the take: the drums' turn, the first bars without the band.
    fn come_to_pass(&self, bars: u64, choruses: u64) -> Result<(), Failure> {
        // Trading begins behind the tune and ends before it.
        let tune = if self.head { 2 } else { 0 };
        let turn = self.trade.map(|trade| ("--trade", "the drums' turn", trade.bars(), tune));
        let out = self
            .band_out
            .map(|out| ("--band-out", "the first bar without the band", out.bars_before_the_first(), 0));
        for (flag, what, before, others) in turn.into_iter().chain(out) {
            let (before, there) = (u64::from(before), bars * choruses.saturating_sub(others));
            if bars > 0 && before >= there {
                let needed = before / bars + 1 + others;
                return Err(refused(&format!(
                    "{flag}: {what} would come after bar {before}, and the take has {there}; write --choruses {needed} or more"
                )));
            }
        }
        Ok(())
    }
}

fn no_room_for_head() -> Failure {
    refused(&format!(
        "--head: the first and the last chorus are the tune, which leaves none to improvise in; \
         write --choruses {FEWEST_WITH_HEAD} or more"
    ))
}

fn refused(sentence: &str) -> Failure {
    Failure::bad_input(sentence)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::tests::{form, form_in};
    use crate::command::play::PlayArgs;
    use crate::command::values::tests::{parsed, refused as refusal};

    fn band(flags: &[&str]) -> BandArgs {
        parsed::<PlayArgs>(&[&["a.bars"], flags].concat()).band
    }

    fn asked(args: &BandArgs, form: &Form, choruses: u16, feel: Feel) -> Result<Accompaniment, Failure> {
        args.accompaniment(form, choruses, feel)
    }

    fn check_refusal(flags: &[&str], expect: &str) {
        let message = refusal::<PlayArgs>(&[&["a.bars"], flags].concat());
        assert!(message.contains(expect), "{message}");
    }

    fn check_refused_for(form: &Form, choruses: u16, feel: Feel, flags: &[&str], expect: &str) {
        let failure = asked(&band(flags), form, choruses, feel).expect_err("a refusal");
        assert_eq!(failure.message(), expect);
    }

    #[test]
    fn without_flags_the_band_plays_as_always() {
        let eight = form("Dm7 | G7 | Cmaj7 | A7 | Dm7 | G7 | Cmaj7 | Cmaj7");
        assert_eq!(asked(&band(&[]), &eight, 1, Feel::Swing).ok(), Some(Accompaniment::default()));
    }

    #[test]
    fn all_that_goes_together_is_taken_together() {
        let eight = form("Dm7 | G7 | Cmaj7 | A7 | Dm7 | G7 | Cmaj7 | Cmaj7");
        let flags =
            ["--two-feel", "--band-out", "2/8", "--count-in", "1", "--mute", "comp", "--swing", "0.5"];
        let wanted = Accompaniment {
            count_in: CountInBars::One,
            opening: Opening::TwoFeel,
            band_out: BandOut::of(2, 8),
            ..Accompaniment::default()
        };
        assert_eq!(asked(&band(&flags), &eight, 1, Feel::Swing).ok(), Some(wanted));
        let given: Vec<_> = band(&flags).settings().map(|flag| (flag.key, flag.text)).collect();
        assert_eq!(given, [("swing", "0.5".to_owned())]);
        let fours = ["--two-feel", "--trade", "4", "--count-in", "2"];
        assert!(asked(&band(&fours), &eight, 1, Feel::Swing).is_ok());
        assert_eq!(band(&fours).turns(1).ok().and_then(|turns| turns.trade), Trade::of(4));
        let click = asked(&band(&["--click", "2,4/2", "--count-in", "1"]), &eight, 1, Feel::Bossa);
        let alone = "2,4/2".parse().map(ClickOn::Alone).expect("beats");
        assert_eq!(click.map(|click| click.click).ok(), Some(alone));
    }

    #[test]
    fn slips_say_what_to_write() {
        check_refusal(&["--band-out", "8/2"], "of how many (more of them, at most 64), as in 2/8");
        check_refusal(&["--trade", "0"], "bars are traded 1 to 32 at a time, as in 4");
        check_refusal(&["--count-in", "3"], "a count-in is 1 or 2 bars long, as in 1");
        check_refusal(&["--click", "2;4"], "write the beats that click (1 to 32), as in 2,4");
    }

    #[test]
    fn a_bar_has_one_way_to_be_played() {
        for flags in [
            ["--trade", "4", "--band-out", "2/8"].as_slice(),
            &["--click", "2", "--trade", "4"],
            &["--click", "2", "--band-out", "2/8"],
            &["--click", "2", "--two-feel"],
            &["--click", "2", "--mute", "ride"],
        ] {
            check_refusal(flags, "cannot be used with");
        }
    }

    #[test]
    fn what_would_change_nothing_is_refused() {
        let four = form("Dm7 | G7 | Cmaj7 | A7");
        check_refused_for(
            &four,
            1,
            Feel::Swing,
            &["--band-out", "2/8"],
            "--band-out: the first bar without the band would come after bar 6, and the take has 4; write --choruses 2 \
             or more",
        );
        check_refused_for(
            &four,
            1,
            Feel::Swing,
            &["--trade", "4"],
            "--trade: the drums' turn would come after bar 4, and the take has 4; write --choruses 2 or more",
        );
        assert!(asked(&band(&["--trade", "4"]), &four, 2, Feel::Swing).is_ok());
        check_refused_for(
            &four,
            1,
            Feel::Bossa,
            &["--two-feel"],
            "--two-feel: the bass has a pattern of its own in a bossa; write --feel swing with it",
        );
        let three = form_in("3/4".parse().expect("a meter"), "Dm7 | G7");
        let said = "--click: no bar has a beat 4: write beats from 1 to 3, as in 3";
        check_refused_for(&three, 1, Feel::Swing, &["--click", "2,4"], said);
    }
}
