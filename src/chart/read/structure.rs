//! What holds a chart together: sections and the form that names them, repeats and their endings.

use std::ops::Range;

use super::super::form::Form;
use super::super::model::Section;
use super::super::repeats::{self, RepeatSlip, Stretches};
use super::super::slip::{Caution, Slip, TextPlace};
use super::super::unfold::{UnfoldSlip, unfold};
use super::{MOST_BARS_PLAYED, Reader, shifted};

impl Reader<'_> {
    /// Checks repeats, endings and the form, and unfolds the chart where they are in order.
    pub(super) fn check_structure(&mut self) -> Option<(Vec<Section>, Form)> {
        if self.bars.is_empty() {
            if self.slips.is_empty() {
                self.slip(self.text.len()..self.text.len(), Slip::NoBars);
            }
            return None;
        }
        let sections = self.sections();
        let played = self.section_orders(&sections);
        let order = self.form_order(&sections);
        self.check_hanging_repeat();
        let stretches = self.play(&order?, &played?)?;
        let form = unfold(&self.bars, &stretches, self.header.sevenths);
        let slips = form.as_ref().err().cloned().unwrap_or_default();
        for slip in slips {
            self.note_unfold_slip(slip);
        }
        Some((sections, form.ok()?))
    }

    fn sections(&self) -> Vec<Section> {
        let begins = |&index: &usize| index == 0 || self.bars[index].label.is_some();
        let starts: Vec<usize> = (0..self.bars.len()).filter(begins).collect();
        let ends = starts.iter().skip(1).copied().chain([self.bars.len()]);
        starts
            .iter()
            .zip(ends)
            .map(|(&start, end)| Section { label: self.bars[start].label.clone(), bars: start..end })
            .collect()
    }

    /// The order in which each section's bars are played; `None` (and slips) where one has no order.
    fn section_orders(&mut self, sections: &[Section]) -> Option<Vec<Stretches>> {
        let mut orders = Some(Vec::new());
        for section in sections {
            let first = section.bars.start;
            match repeats::order(&self.bars[section.bars.clone()]) {
                Ok(order) => {
                    let order = order.into_iter().map(|stretch| shifted(stretch, first));
                    if let Some(orders) = &mut orders {
                        orders.push(order.collect());
                    }
                }
                Err(slips) => {
                    orders = None;
                    for slip in slips {
                        self.note_repeat_slip(slip, &section.bars);
                    }
                }
            }
        }
        orders
    }

    /// A repeat that opens after the last bar.
    fn check_hanging_repeat(&mut self) {
        let hanging = self.line_end.clone().filter(|(barline, _)| barline.opens());
        if let Some((_, span)) = hanging {
            let opened = self.lines.place(&span);
            self.slip(self.text.len()..self.text.len(), Slip::RepeatOpen { opened });
        }
    }

    fn note_repeat_slip(&mut self, slip: RepeatSlip, section: &Range<usize>) {
        let first = section.start;
        let ending_at = |index: usize| self.bars[first + index].ending.unwrap_or(1);
        let (span, slip) = match slip {
            RepeatSlip::Open { opened } => {
                let opened = self.opening_place(first + opened);
                (self.start_of_line(section.end), Slip::RepeatOpen { opened })
            }
            RepeatSlip::Inside { opened, bar } => {
                let opened = self.opening_place(first + opened);
                (self.bar_spots[first + bar].opening.clone(), Slip::RepeatInside { opened })
            }
            RepeatSlip::Lone(bar) => (self.head(first + bar), Slip::LoneEnding { ending: ending_at(bar) }),
            RepeatSlip::Again(bar) => (self.head(first + bar), Slip::EndingAgain { ending: ending_at(bar) }),
            RepeatSlip::BeforeClose(bar) => {
                let ending = ending_at(bar);
                (self.head(first + bar), Slip::EndingBeforeClose { ending })
            }
            RepeatSlip::NeverBack(bar) => {
                (self.head(first + bar), Slip::EndingOpen { ending: ending_at(bar) })
            }
            RepeatSlip::NoNext(bar) => {
                (self.head(first + bar), Slip::NoNextEnding { ending: ending_at(bar) })
            }
            RepeatSlip::MoreThanTimes { bar, endings, times } => {
                (self.head(first + bar), Slip::MoreEndingsThanTimes { endings, times })
            }
        };
        self.slip(span, slip);
    }

    fn opening_place(&self, bar: usize) -> TextPlace {
        self.lines.place(&self.bar_spots[bar].opening)
    }

    fn head(&self, bar: usize) -> Range<usize> {
        self.bar_spots[bar].head.clone()
    }

    /// The first character of the line on which `bar` begins; the end of the text after the last bar.
    fn start_of_line(&self, bar: usize) -> Range<usize> {
        let start = self.bar_spots.get(bar).map_or(self.text.len(), |spots| {
            let line = &self.text[..spots.closing.start];
            line.rfind('\n').map_or(0, |feed| feed + 1)
        });
        start..start
    }

    /// Indices of the sections in the order they are played; `None` (and slips) where the form names what is not there.
    fn form_order(&mut self, sections: &[Section]) -> Option<Vec<usize>> {
        if self.header.form.is_empty() {
            return Some((0..sections.len()).collect());
        }
        let slips_before = self.slips.len();
        let order = self.look_up_form(sections);
        self.check_letters(sections);
        (self.slips.len() == slips_before).then_some(order)
    }

    fn look_up_form(&mut self, sections: &[Section]) -> Vec<usize> {
        let mut order = Vec::new();
        for (label, span) in self.header.form.clone().into_iter().zip(self.header_spots.form.clone()) {
            let named = |section: &Section| section.label.as_ref() == Some(&label);
            if let Some(index) = sections.iter().position(named) {
                order.push(index);
            } else {
                let hint = sections_hint(&label, sections);
                self.slip(span, Slip::NoSection { label, hint });
            }
        }
        order
    }

    /// With a form every section needs a letter, and a letter of its own.
    fn check_letters(&mut self, sections: &[Section]) {
        for (index, section) in sections.iter().enumerate() {
            let span = self.bar_spots[section.bars.start].opening.clone();
            let Some(label) = section.label.clone() else {
                self.slip(span, Slip::BarsWithoutLetter);
                continue;
            };
            let twice = sections[..index].iter().any(|earlier| earlier.label.as_ref() == Some(&label));
            let named = self.header.form.contains(&label);
            match (named, twice) {
                (true, true) => self.slip(span, Slip::SectionTwice(label)),
                (false, _) => self.caution(span, Caution::SectionUnplayed(label)),
                (true, false) => {}
            }
        }
    }

    /// The stretches of bars as played, unless there are too many.
    fn play(&mut self, order: &[usize], played: &[Stretches]) -> Option<Stretches> {
        let stretches = order.iter().flat_map(|&section| played[section].iter().cloned());
        let bars = stretches.clone().map(|stretch| stretch.len()).sum();
        if bars > MOST_BARS_PLAYED {
            let form = self.header_spots.form.first().cloned();
            let span = form.unwrap_or_else(|| self.bar_spots[0].opening.clone());
            self.slip(span, Slip::FormTooLong(bars));
            return None;
        }
        Some(stretches.collect())
    }

    fn note_unfold_slip(&mut self, slip: UnfoldSlip) {
        let (bar, slip) = match slip {
            UnfoldSlip::NothingToHold(bar) => (bar, Slip::NothingToHold),
            UnfoldSlip::NothingToRepeat(bar) => (bar, Slip::NothingToRepeat),
            UnfoldSlip::AcrossMeters { bar, before } => {
                let here = self.bars[bar].meter;
                (bar, Slip::PercentAcrossMeters { before, here })
            }
        };
        self.slip(self.bar_spots[bar].content.clone(), slip);
    }
}

/// What to write instead of a label that no section has.
fn sections_hint(label: &str, sections: &[Section]) -> String {
    let labels: Vec<&str> = sections.iter().filter_map(|section| section.label.as_deref()).collect();
    if labels.is_empty() {
        return "no line begins with a letter".to_owned();
    }
    let letters: Vec<String> = label.chars().map(String::from).collect();
    let apart = letters.len() > 1 && letters.iter().all(|letter| labels.contains(&letter.as_str()));
    let apart = if apart { format!(". Write letters apart: {}", letters.join(" ")) } else { String::new() };
    format!("sections are {}{apart}", labels.join(", "))
}
