//! The plain view: one line a bar, no cursor movement, no colour. For screen readers and small windows.

use crate::report::review::written_for;
use std::io::{self, Write};
use std::sync::Arc;
use std::time::Duration;

use super::page::{AfterTheLastBar, Page};
use super::playing::SoFar;
use crate::chart::Turn;
use crate::live::moment::{HeardSoFar, Place};
use crate::live::{Moment, ViewEnd};

/// How often the view looks: short beside any bar.
const LOOK: Duration = Duration::from_millis(10);

/// Prints each bar as it begins, until the take is over; with a `tally` also how the line stands at each barline.
pub fn run(
    page: &Page,
    out: &mut impl Write,
    mut tally: Option<&mut SoFar<'_>>,
    end: &ViewEnd,
) -> io::Result<()> {
    let mut plain = Plain::new(page);
    let mut told: Option<Arc<HeardSoFar>> = None;
    loop {
        let moment = end.latest().get();
        let mut lines = Vec::new();
        if let Some(tally) = tally.as_mut().filter(|_| told.as_ref() != Some(&moment.heard)) {
            lines.extend(tally(&moment.heard).map(|words| format!("so far: {words}")));
            told = Some(Arc::clone(&moment.heard));
        }
        lines.extend(plain.lines(&moment));
        for line in lines {
            writeln!(out, "{line}")?;
            out.flush()?;
        }
        if moment.place == Place::Over {
            return Ok(());
        }
        std::thread::sleep(LOOK);
    }
}

/// What was printed last, so that each thing is printed once.
pub struct Plain<'p> {
    page: &'p Page,
    said: usize,
    place: Option<Printed>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Printed {
    CountIn,
    Bar { chorus: u16, bar: usize },
    LastNote,
}

impl<'p> Plain<'p> {
    /// Nothing printed yet.
    pub fn new(page: &'p Page) -> Self {
        Self { page, said: 0, place: None }
    }

    /// What a moment adds to what was printed before.
    pub fn lines(&mut self, moment: &Moment) -> Vec<String> {
        let mut lines = moment.said[self.said.min(moment.said.len())..].to_vec();
        self.said = moment.said.len();
        let place = match moment.place {
            Place::Opening | Place::Over => None,
            Place::CountIn { .. } => Some(Printed::CountIn),
            Place::Playing { chorus, at } => self.page.bar_at(at).map(|bar| Printed::Bar { chorus, bar }),
            Place::Closing { .. } => Some(Printed::LastNote),
        };
        if place.is_some() && place != self.place {
            lines.extend(place.into_iter().flat_map(|place| self.words(place)));
            self.place = place;
        }
        lines
    }

    fn words(&self, place: Printed) -> Vec<String> {
        match place {
            Printed::CountIn => {
                let count_in = "count-in".to_owned();
                written_for(self.page.heading.written).into_iter().chain([count_in]).collect()
            }
            Printed::LastNote => vec!["last note".to_owned()],
            Printed::Bar { chorus, bar } => {
                let of = self.page.heading.choruses;
                let key = self.page.of_chorus(chorus).key_of_chorus();
                let chorus_line = (bar == 0 && of > 1).then(|| format!("chorus {chorus} of {of}{key}"));
                chorus_line.into_iter().chain([self.bar(chorus, bar)]).collect()
            }
        }
    }

    /// `bar 5 Fm7, F dorian, next Bb7`; of several chords in a bar each with its scale, `;` between.
    fn bar(&self, chorus: u16, bar: usize) -> String {
        let page = self.page.of_chorus(chorus);
        let chords = page.bars[bar].chords.clone();
        let texts: Vec<String> = page.chords[chords.clone()]
            .iter()
            .map(|chord| {
                if chord.scale.is_empty() {
                    chord.text.clone()
                } else {
                    format!("{}, {}", chord.text, chord.scale)
                }
            })
            .collect();
        let again = chorus < page.heading.choruses;
        let then = if again { AfterTheLastBar::Again } else { AfterTheLastBar::End };
        let next = chords.last().and_then(|last| page.next_chord(last, then));
        let next = next.map_or("the last note", |(chord, _)| chord.text.as_str());
        let key = page.key_ahead(bar, then).map_or_else(String::new, |key| format!(", then key {key}"));
        let whose = match page.turn(chorus, bar) {
            Turn::Yours => "",
            Turn::Tune => ", the tune",
            Turn::Drums => ", the drums alone",
        };
        format!("bar {} {}{whose}, next {next}{key}", page.bars[bar].number, texts.join("; "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::tests::{form, reading};
    use crate::chart::{Trade, Turns};
    use crate::screen::page::Heading;
    use crate::time::{TickSpan, Ticks};

    #[test]
    fn each_bar_is_printed_once_as_it_begins() {
        let form = form("Fm7 | Bb7 Eb6 | N.C.");
        let heading = Heading { choruses: 2, ..Heading::default() };
        let page = Page::new(&form, &reading(&form), heading);
        let mut plain = Plain::new(&page);
        let mut printed = Vec::new();
        let mut show = |place| {
            printed.extend(plain.lines(&Moment { place, ..Moment::default() }));
        };
        show(Place::Opening);
        show(Place::CountIn { click: 1, of: 6 });
        show(Place::CountIn { click: 2, of: 6 });
        for chorus in 1..=2 {
            for quarters in 0..12 {
                show(Place::Playing { chorus, at: Ticks::ZERO + TickSpan::quarters(quarters) });
            }
        }
        show(Place::Closing { chorus: 2 });
        show(Place::Over);
        let wanted = [
            "count-in",
            "chorus 1 of 2",
            "bar 1 Fm7, F dorian, next Bb7",
            "bar 2 Bb7, Bb mixolydian; Eb6, Eb ionian, next N.C.",
            "bar 3 N.C., next Fm7",
            "chorus 2 of 2",
            "bar 1 Fm7, F dorian, next Bb7",
            "bar 2 Bb7, Bb mixolydian; Eb6, Eb ionian, next N.C.",
            "bar 3 N.C., next the last note",
            "last note",
        ];
        assert_eq!(printed, wanted);
    }

    #[test]
    fn bars_that_are_not_the_players_are_named() {
        let form = form("Fm7 | Bb7");
        let turns = Turns { head: None, trade: Trade::of(1) };
        let page = Page::new(&form, &reading(&form), Heading { turns, choruses: 1, ..Heading::default() });
        let at = Ticks::ZERO + TickSpan::quarters(4);
        let moment = Moment { place: Place::Playing { chorus: 1, at }, ..Moment::default() };
        let lines = Plain::new(&page).lines(&moment);
        assert_eq!(lines, ["bar 2 Bb7, Bb mixolydian, the drums alone, next the last note"]);
    }

    #[test]
    fn what_had_to_be_said_is_printed_once() {
        let form = form("C");
        let page = Page::new(&form, &reading(&form), Heading::default());
        let mut plain = Plain::new(&page);
        let said = Arc::new(vec!["No sound device.".to_owned()]);
        let moment = Moment { said, ..Moment::default() };
        assert_eq!(plain.lines(&moment), ["No sound device."]);
        assert!(plain.lines(&moment).is_empty());
    }
}
