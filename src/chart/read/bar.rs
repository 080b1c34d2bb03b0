//! What stands between two barlines: perhaps an ending's number and a meter, then chords, `%`, or nothing.

use std::ops::Range;

use winnow::ascii::{digit1, multispace0, multispace1};
use winnow::combinator::{alt, eof, opt, peek, preceded, terminated};
use winnow::error::EmptyError;
use winnow::stream::LocatingSlice;
use winnow::{Parser, Result};

use super::super::barline::MOST_TIMES;
use super::super::model::{BarContent, BarSpots, BeatPlace, WrittenChord};
use super::super::sharing;
use super::super::slip::Slip;
use super::header::words;
use super::item::{Item, Put};
use super::{Reader, shifted};

/// A bar as read; its barlines and meter are known to the line.
pub(super) struct ReadBar {
    pub ending: Option<u8>,
    pub content: BarContent,
    pub spots: BarSpots,
}

/// The number of an ending and a meter, each where written.
type Prefix = (Option<Range<usize>>, Option<Range<usize>>);

/// `[int "."] [int "/" int]`
fn prefix(input: &mut LocatingSlice<&str>) -> Result<Prefix, EmptyError> {
    let ending = opt(terminated(digit1.span(), '.'));
    let meter = (digit1, '/', digit1).span();
    let meter = opt(terminated(meter, peek(alt((multispace1, eof)))));
    (preceded(multispace0, ending), preceded(multispace0, meter)).parse_next(input)
}

impl Reader<'_> {
    /// Reads the bar at `span`. A meter written in it is in force from here on.
    pub(super) fn read_bar(&mut self, span: Range<usize>) -> ReadBar {
        let text = self.text;
        let mut input = LocatingSlice::new(&text[span.clone()]);
        let (ending, meter) = prefix(&mut input).unwrap_or_default();
        let rest = span.end - input.len();
        let ending = ending.map(|ending| shifted(ending, span.start));
        let number = ending.clone().and_then(|ending| self.read_ending(ending));
        if let Some(meter) = meter {
            self.read_meter(shifted(meter, span.start));
        }
        let tokens: Vec<Range<usize>> =
            words(&text[rest..span.end]).into_iter().map(|word| shifted(word, rest)).collect();
        let whole = tokens.first().zip(tokens.last()).map(|(a, b)| a.start..b.end);
        let whole = whole.unwrap_or(span);
        let mut spots = BarSpots {
            head: ending.map_or_else(|| whole.clone(), |ending| ending.start..ending.end + 1),
            content: whole,
            ..BarSpots::default()
        };
        let content = self.read_content(&tokens, &mut spots);
        ReadBar { ending: number, content, spots }
    }

    fn read_ending(&mut self, span: Range<usize>) -> Option<u8> {
        let written = &self.text[span.clone()];
        let number = written.parse().ok();
        let number = number.filter(|number| (1..=MOST_TIMES).contains(number));
        if number.is_none() {
            self.slip(span, Slip::EndingNumber(written.to_owned()));
        }
        number
    }

    fn read_meter(&mut self, span: Range<usize>) {
        match self.text[span.clone()].parse() {
            Ok(meter) => self.meter = meter,
            Err(no_meter) => self.slip(span, no_meter),
        }
    }

    fn read_content(&mut self, tokens: &[Range<usize>], spots: &mut BarSpots) -> BarContent {
        let text = self.text;
        let is = |token: &Range<usize>, sign: &str| &text[token.clone()] == sign;
        if tokens.is_empty() {
            return BarContent::Hold;
        }
        if let Some(percent) = tokens.iter().find(|token| is(token, "%")) {
            if tokens.len() > 1 {
                self.slip(percent.clone(), Slip::PercentInCompany);
                return unread();
            }
            return BarContent::RepeatBar;
        }
        let slots: Vec<Option<Item>> = tokens
            .iter()
            .map(|token| (!is(token, "/")).then(|| self.read_item(token.clone(), spots)))
            .collect();
        let slashed = slots.iter().any(Option::is_none);
        let placed = slots.iter().flatten().any(|item| item.put != Put::Nowhere);
        match (slashed, placed) {
            (true, true) => {
                self.slip(spots.content.clone(), Slip::SlotsAndPlaces);
                unread()
            }
            (true, false) => self.take_slots(slots, spots.content.clone()),
            (false, true) => self.take_placed(slots.into_iter().flatten().collect()),
            (false, false) => self.take_even(slots.into_iter().flatten().collect(), spots.content.clone()),
        }
    }

    fn take_even(&mut self, items: Vec<Item>, span: Range<usize>) -> BarContent {
        if !sharing::fall_on_beats(items.len(), self.meter) {
            let texts: Vec<&str> = items.iter().map(|item| &self.text[item.span.clone()]).collect();
            let slip = Slip::Uneven {
                count: items.len(),
                meter: self.meter,
                say_where: sharing::say_where(&texts, self.meter),
            };
            self.slip(span, slip);
        }
        BarContent::Even(items.into_iter().map(|item| item.chord).collect())
    }

    fn take_slots(&mut self, slots: Vec<Option<Item>>, span: Range<usize>) -> BarContent {
        if slots.len() != usize::from(self.meter.beats()) {
            let slip = Slip::Slots { written: slots.len(), meter: self.meter };
            self.slip(span, slip);
        }
        BarContent::Slots(slots.into_iter().map(|slot| slot.map(|item| item.chord)).collect())
    }

    fn take_placed(&mut self, items: Vec<Item>) -> BarContent {
        let mut placed: Vec<(BeatPlace, WrittenChord)> = Vec::new();
        let mut earlier: Option<Range<usize>> = None;
        for item in items {
            let written = self.text[item.span.clone()].to_owned();
            let place = match item.put {
                Put::At(place) => place,
                Put::Nowhere | Put::Unread if earlier.is_none() => BeatPlace::FIRST,
                Put::Nowhere => {
                    self.slip(item.span, Slip::NoPlace(written));
                    continue;
                }
                Put::Unread => continue,
            };
            if !(1..=self.meter.beats()).contains(&place.beat) {
                let slip = Slip::NoBeat { beat: place.beat, meter: self.meter };
                self.slip(item.span.clone(), slip);
            } else if placed.last().is_some_and(|(before, _)| place <= *before) {
                let earlier = earlier.map_or_else(String::new, |span| self.text[span].to_owned());
                let slip = Slip::PlaceOrder { earlier, later: written };
                self.slip(item.span.clone(), slip);
            }
            earlier = Some(item.span);
            placed.push((place, item.chord));
        }
        BarContent::Placed(placed)
    }
}

/// What stands for a bar that does not read, so that one slip does not bring on others; the chart is refused anyway.
fn unread() -> BarContent {
    BarContent::Even(vec![WrittenChord { text: String::new(), symbol: None, scale: None }])
}
