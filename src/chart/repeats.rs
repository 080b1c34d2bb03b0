//! The order in which the bars of one section are played: repeats and endings, as on printed lead sheets.
//!
//! A `:|` goes back to its `|:`; without one, to the bar after the last repeat, or to the start of the section. Of
//! several endings each is played in its turn, the last in the last pass; where a repeat is played more often than it
//! has endings (`:|x4`), the last ending but one is played until then. Repeats do not reach over a section's end.

use std::ops::Range;

use super::barline::TWICE;
use super::model::WrittenBar;

/// Stretches of bars in the order they are played, as indices into the bars given.
pub type Stretches = Vec<Range<usize>>;

/// What is amiss with repeats, and at which bar (an index).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RepeatSlip {
    /// Never closed.
    Open {
        /// The bar after the `|:`.
        opened: usize,
    },
    /// A second `|:` before the first is closed.
    Inside {
        /// The bar after the first `|:`.
        opened: usize,
        /// The bar after the second.
        bar: usize,
    },
    /// An ending whose predecessor is missing.
    Lone(usize),
    /// An ending with a number that was taken.
    Again(usize),
    /// A later ending that no `:|` leads to.
    BeforeClose(usize),
    /// The only ending, which never goes back.
    NeverBack(usize),
    /// An ending that goes back, and no ending follows.
    NoNext(usize),
    /// More endings than times.
    MoreThanTimes {
        /// The first bar of the last ending.
        bar: usize,
        /// How many endings.
        endings: usize,
        /// How often it is played.
        times: u8,
    },
}

/// The order in which `bars`, one section, are played.
pub fn order(bars: &[WrittenBar]) -> Result<Stretches, Vec<RepeatSlip>> {
    let mut walk = Walk::default();
    for (index, bar) in bars.iter().enumerate() {
        if bar.before.opens() {
            walk.open(index);
        }
        if let Some(number) = bar.ending {
            let goes_back = index > 0 && bars[index - 1].after.closes().is_some();
            walk.ending(index, number, goes_back);
        }
        if let Some(times) = bar.after.closes() {
            let next = bars.get(index + 1).and_then(|bar| bar.ending);
            walk.close(index, times, next.is_some());
        }
    }
    walk.finish(bars.len())
}

/// The repeat that is being read and what came before it.
#[derive(Default)]
struct Walk {
    played: Stretches,
    slips: Vec<RepeatSlip>,
    /// First bar of the repeat, or of what may turn out to be one.
    start: usize,
    /// Whether a `|:` stands before `start`.
    opened: bool,
    /// First bar of each ending so far.
    endings: Vec<usize>,
    /// How often the repeat is played, once a `:|` said so.
    times: Option<u8>,
}

impl Walk {
    fn open(&mut self, index: usize) {
        let in_last_ending = self.endings.len() > 1;
        if self.opened && !in_last_ending {
            self.slips.push(RepeatSlip::Inside { opened: self.start, bar: index });
        }
        self.leave(index);
        self.start = index;
        self.opened = true;
    }

    fn ending(&mut self, index: usize, number: u8, goes_back: bool) {
        let next = self.endings.len() + 1;
        let number = usize::from(number);
        if number > next {
            self.slips.push(RepeatSlip::Lone(index));
        } else if number < next {
            self.slips.push(RepeatSlip::Again(index));
        } else if number > 1 && !goes_back {
            self.slips.push(RepeatSlip::BeforeClose(index));
        }
        self.endings.push(index);
    }

    fn close(&mut self, index: usize, times: u8, ending_follows: bool) {
        match self.endings.last() {
            None => {
                let repeat = self.start..index + 1;
                self.played.extend(std::iter::repeat_n(repeat, usize::from(times)));
                self.start = index + 1;
                self.opened = false;
            }
            Some(&ending) if !ending_follows => {
                self.slips.push(RepeatSlip::NoNext(ending));
                self.times = Some(times);
            }
            // `:|x3` counts; a plain `:|` leaves what an earlier one said.
            Some(_) => self.times = self.times.max(Some(times)),
        }
    }

    /// Plays out the repeat that `end` (the bar after it) leaves: with its endings, or simply its bars.
    fn leave(&mut self, end: usize) {
        let endings = std::mem::take(&mut self.endings);
        let Some((&first, &last)) = endings.first().zip(endings.last()) else {
            self.played.push(self.start..end);
            return;
        };
        let Some(times) = self.times.take() else {
            // A lone ending has been reported; that it never goes back says nothing new.
            if self.slips.is_empty() {
                self.slips.push(RepeatSlip::NeverBack(first));
            }
            return;
        };
        if endings.len() > usize::from(times) && times > TWICE {
            self.slips.push(RepeatSlip::MoreThanTimes { bar: last, endings: endings.len(), times });
        }
        self.play_out(&endings, end, endings.len().max(usize::from(times)));
    }

    fn play_out(&mut self, endings: &[usize], end: usize, passes: usize) {
        let starts = endings.iter().copied();
        let ends = starts.clone().skip(1).chain([end]);
        let endings: Stretches = starts.zip(ends).map(|(start, end)| start..end).collect();
        let last = endings.len() - 1;
        for pass in 0..passes {
            let ending = if pass + 1 == passes { last } else { pass.min(last.saturating_sub(1)) };
            self.played.push(self.start..endings[0].start);
            self.played.push(endings[ending].clone());
        }
    }

    fn finish(mut self, end: usize) -> Result<Stretches, Vec<RepeatSlip>> {
        if self.opened && self.endings.len() < 2 && self.times.is_none() {
            self.slips.push(RepeatSlip::Open { opened: self.start });
        } else {
            self.leave(end);
        }
        if self.slips.is_empty() {
            self.played.retain(|stretch| !stretch.is_empty());
            Ok(self.played)
        } else {
            Err(self.slips)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::barline::Barline;
    use crate::chart::model::BarContent;
    use crate::time::Meter;

    /// Bars from a sketch: a mark, then any of an ending's number and a mark, blanks between bars: `|: . :|x3 1. :| 2. |`.
    fn sketch(text: &str) -> Vec<WrittenBar> {
        let mut parts = text.split(' ');
        let mark = |text: &str| match text.split_once('x') {
            Some((_, times)) => Barline::Close { times: times.parse().expect("a count") },
            None => Barline::from_signs(text).expect("a barline"),
        };
        let mut before = mark(parts.next().expect("an opening barline"));
        let mut bars = Vec::new();
        while let Some(bar) = parts.next() {
            let after = mark(parts.next().expect("a barline after each bar"));
            bars.push(WrittenBar {
                label: None,
                starts_line: false,
                before,
                after,
                ending: bar.strip_suffix('.').and_then(|number| number.parse().ok()),
                meter: Meter::FOUR_FOUR,
                content: BarContent::Hold,
            });
            before = after;
        }
        bars
    }

    #[test]
    fn repeats_and_endings_are_played_as_printed() {
        let check = |text: &str, expect: &[usize]| {
            let order = order(&sketch(text)).expect("in order");
            assert_eq!(order.into_iter().flatten().collect::<Vec<_>>(), expect, "{text}");
        };
        check("| - | - |", &[0, 1]);
        check("|: - | - :| - |", &[0, 1, 0, 1, 2]);
        check("|: - :|x3 - |", &[0, 0, 0, 1]);
        check("| - | - :| - |", &[0, 1, 0, 1, 2]);
        check("| - |: - :| - :| - |", &[0, 1, 1, 2, 2, 3]);
        check("|: - :|: - :|", &[0, 0, 1, 1]);
        check("|: - | 1. :| 2. |", &[0, 1, 0, 2]);
        check("|: - | 1. | - :| 2. | - ||", &[0, 1, 2, 0, 3, 4]);
        check("|: - | 1. :| 2. :| 3. |", &[0, 1, 0, 2, 0, 3]);
        check("|: - | 1. :|x4 2. |", &[0, 1, 0, 1, 0, 1, 0, 2]);
        check("| - |: - | 1. :| 2. |: - :|", &[0, 1, 2, 1, 3, 4, 4]);
        check("| - | 1. :| 2. | - |", &[0, 1, 0, 2, 3]);
    }

    #[test]
    fn what_does_not_fit_is_named_with_its_bar() {
        let check = |text: &str, expect: &[RepeatSlip]| {
            assert_eq!(order(&sketch(text)).expect_err("a slip"), expect, "{text}");
        };
        check("| - |: - |", &[RepeatSlip::Open { opened: 1 }]);
        check("|: - |: - :|", &[RepeatSlip::Inside { opened: 0, bar: 1 }]);
        check("|: - :| 2. |", &[RepeatSlip::Lone(1)]);
        check("| - | 1. | - |", &[RepeatSlip::NeverBack(1)]);
        check("|: - | 1. :| 1. |", &[RepeatSlip::Again(2)]);
        check("|: - | 1. :| - |", &[RepeatSlip::NoNext(1)]);
        check("|: - | 1. :| 2. :|", &[RepeatSlip::NoNext(2)]);
        check(
            "|: - | 1. :|x3 2. :| 3. :| 4. |",
            &[RepeatSlip::MoreThanTimes { bar: 4, endings: 4, times: 3 }],
        );
    }
}
