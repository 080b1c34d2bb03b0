//! What a player sees after a take: the chorus on its chart, bars and notes behind it. Wishes are carried out here, and
//! whatever is entered is in the journal before the screen says that it was kept.

mod arpeggio;
mod entered;
mod exporting;
mod replay;

use std::sync::Arc;

use crate::judge::judged_again::Again;
use crate::judge::{Answer, Choices, ChordSource, NotJudged};
use crate::report::review::chorus_words::Part;
use crate::report::review::{NextRecord, Review};
use crate::screen::chorus::ChorusScreen;
use crate::screen::chorus::seen::{Seen, SeenTake};
use crate::screen::chorus::wish::{Opened, Wish};
use crate::screen::page::{Heading, Page};
use crate::screen::report::ReportScreen;
use crate::screen::report::scales::ScaleChoice;
use crate::tally::verdict::Bands;
use crate::theory::Written;

use super::Visits;
use crate::command::exit_status::{Ending, Failure};
use entered::Entered;

/// A take that is shown.
#[derive(Clone, Debug)]
pub struct TakeToShow {
    /// The bytes of its file.
    pub bytes: Vec<u8>,
    /// Its number, if it is kept.
    pub number: Option<u32>,
    /// How it is judged.
    pub choices: Choices,
    /// What is asked of it, if anything is.
    pub bands: Option<Bands>,
    /// What is said first.
    pub said: Option<String>,
    /// What to say where something is to be kept with a take that is not.
    pub not_kept: &'static str,
}

impl TakeToShow {
    /// What is said of a take of which the store does not know.
    pub const NOT_KEPT: &str = "this take is not kept, so nothing can be kept with it";
}

/// What the player goes on to.
#[derive(Clone, Debug, PartialEq)]
pub enum AfterTake {
    /// The same again.
    Again,
    /// A suggestion.
    Next(Box<NextRecord>),
    /// Nothing: the review as it stands by what was entered.
    Leave(Box<Review>),
}

/// Shows a take until the player has had enough of it.
pub fn visit(visits: &mut Visits<'_, '_>, shown: &TakeToShow) -> Result<AfterTake, Failure> {
    let mut looked = Looked::begin(visits, shown)?;
    let mut chorus = ChorusScreen::new(Arc::clone(&looked.seen), shown.said.clone());
    let mut bars: Option<ReportScreen> = None;
    loop {
        let wish = match &mut bars {
            Some(bars) => visits.show(bars)?,
            None => visits.show(&mut chorus)?,
        };
        let said = match wish {
            Wish::Again => return Ok(AfterTake::Again),
            Wish::Leave => return Ok(AfterTake::Leave(Box::new(looked.seen.review.clone()))),
            Wish::Next(nth) => match looked.seen.review.next.get(nth).cloned() {
                Some(next) if next.kind == "arpeggio" => said(arpeggio::show(visits, &next, &looked.read)),
                Some(next) => return Ok(AfterTake::Next(Box::new(next))),
                None => None,
            },
            Wish::Bars(opened) => {
                bars = Some(ReportScreen::new(Arc::clone(&looked.seen), chorus.part, opened));
                continue;
            }
            Wish::Chorus => {
                bars = None;
                None
            }
            Wish::OtherScales { chorus, chord_index } => {
                match looked.again_as_read(shown).other_scales(chorus, chord_index) {
                    Ok(Some(scales)) => {
                        let part = Part::Chorus(chorus);
                        let seen = Arc::clone(&looked.seen);
                        let bar = scales.bar;
                        let bars =
                            bars.get_or_insert_with(|| ReportScreen::new(seen, part, Opened::Bar(bar)));
                        bars.offer(ScaleChoice { chord_index, scales, at: 0 });
                        continue;
                    }
                    Ok(None) => Some("this take has no chart in which a scale could be kept".to_owned()),
                    Err(error) => Some(error.to_string()),
                }
            }
            Wish::Hear { part, bars } => said(replay::hear(visits, shown, part, bars)),
            Wish::Export(what) => {
                Some(exporting::export(what, &looked.seen.review, &looked.sounding).unwrap_or_else(in_words))
            }
            wish => Some(looked.enter(wish, shown, visits).unwrap_or_else(in_words)),
        };
        chorus.show(Arc::clone(&looked.seen), said.clone());
        if let Some(bars) = &mut bars {
            bars.show(Arc::clone(&looked.seen), said);
        }
    }
}

/// What is said of something that was opened and left again.
fn said(opened: Result<Ending, Failure>) -> Option<String> {
    opened.err().map(in_words)
}

#[expect(clippy::needless_pass_by_value, reason = "it takes the place of what failed")]
fn in_words(failure: Failure) -> String {
    failure.message().to_owned()
}

/// A take as it stands by what was entered about it.
struct Looked {
    entered: Entered,
    /// The review of what sounds.
    sounding: Review,
    /// The chords as the player reads them.
    read: ChordSource,
    seen: SeenTake,
}

impl Looked {
    fn begin(visits: &mut Visits<'_, '_>, shown: &TakeToShow) -> Result<Self, Failure> {
        let entered = Entered::load(shown.number, visits.out);
        Self::standing(entered, shown, visits.startup.resolved.settings.written)
    }

    fn standing(entered: Entered, shown: &TakeToShow, written: Written) -> Result<Self, Failure> {
        let (answer, chords) = judged_with(shown, &entered)?;
        let granted = again(shown, &entered).granted(&answer);
        let mut sounding = answer.review;
        sounding.source.take = shown.number;
        let read = chords.written_for(written);
        let review = match again(shown, &entered).read_in(written) {
            Some(read) => Review { source: sounding.source.clone(), ..read.map_err(not_judged)?.review },
            None => sounding.clone(),
        };
        let feel = chords.feel.map_or_else(String::new, |feel| format!("{feel} "));
        let heading = Heading {
            title: review.chart.title.clone(),
            key: read.id.key.clone().unwrap_or_default(),
            written,
            feel_and_tempo: format!("{feel}{}", review.chart.tempo.round()),
            choruses: review.choruses.as_ref().map_or(1, |all| all.len() as u16),
            take: shown.number,
            ..Heading::default()
        };
        let seen = Seen {
            page: Page::new(&read.form, &read.reading, heading).in_keys(&read.keys),
            review,
            bands: shown.bands.clone(),
            granted,
            contests: entered.contests_by_index(),
            notes_to_self: entered.notes_to_self.clone(),
            phrases: entered.phrases.clone(),
            brought_back: entered.brought_back.clone(),
        };
        Ok(Self { entered, sounding, read, seen: Arc::new(seen) })
    }

    fn again<'a>(&self, shown: &'a TakeToShow) -> Again<'a> {
        again(shown, &self.entered)
    }

    /// The same by the names that the player reads.
    fn again_as_read<'a>(&self, shown: &'a TakeToShow) -> Again<'a> {
        let again = self.again(shown);
        Again { choices: again.choices.written_for(self.read.id.written), ..again }
    }

    /// Enters what was wished, judges again, and says what was kept.
    fn enter(
        &mut self,
        wish: Wish,
        shown: &TakeToShow,
        visits: &mut Visits<'_, '_>,
    ) -> Result<String, Failure> {
        let Some(take) = shown.number else { return Ok(shown.not_kept.to_owned()) };
        let (entry, said) = self.entered.entry(wish, take, &self.again(shown))?;
        self.entered.write(entry)?;
        visits.startup.kept_has_changed();
        let entered = Entered::load(shown.number, visits.out);
        *self = Self::standing(entered, shown, visits.startup.resolved.settings.written)?;
        Ok(said)
    }
}

fn again<'a>(shown: &'a TakeToShow, entered: &Entered) -> Again<'a> {
    let choices = Choices {
        kept: entered.scales.clone().unwrap_or_else(|| Arc::clone(&shown.choices.kept)),
        brought_back: entered.brought_back.clone(),
        ..shown.choices.clone()
    };
    Again { bytes: &shown.bytes, choices, contests: entered.contests.clone(), bands: shown.bands.clone() }
}

#[expect(clippy::needless_pass_by_value, reason = "an error becomes another")]
fn not_judged(error: NotJudged) -> Failure {
    Failure::bad_input(error.to_string())
}

fn judged_with(shown: &TakeToShow, entered: &Entered) -> Result<(Answer, ChordSource), Failure> {
    let again = again(shown, entered);
    let answer = again.judged().map_err(not_judged)?;
    let chords = again.chords();
    let chords =
        chords.ok_or_else(|| Failure::bad_input("the take carries no chart that reads".to_owned()))?;
    Ok((answer, chords))
}
