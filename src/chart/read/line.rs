//! A line of bars: the letter in the margin, the barlines, and what stands between them.

use std::ops::Range;

use winnow::ascii::{alphanumeric0, digit1, space0};
use winnow::combinator::{opt, peek, preceded, repeat};
use winnow::error::EmptyError;
use winnow::stream::LocatingSlice;
use winnow::token::{one_of, take_till, take_while};
use winnow::{Parser, Result};

use crate::theory::{ChordSymbol, nearest};

use super::super::barline::{Barline, MOST_TIMES, TWICE};
use super::super::header::NAMES;
use super::super::slip::{Caution, Slip};
use super::{Reader, shifted};

/// A line of bars; one mark more than bars.
pub(super) struct Line {
    pub label: Option<Range<usize>>,
    pub marks: Vec<(Barline, Range<usize>)>,
    pub bars: Vec<Range<usize>>,
}

type Input<'a> = LocatingSlice<&'a str>;

/// A barline's signs and, where one is written, its count, as ranges.
type Mark = (Range<usize>, Option<Range<usize>>);

/// What a line divides into: the letter, the first barline, then bars each with the barline after it.
type Divided = (Option<Range<usize>>, Mark, Vec<(Range<usize>, Mark)>);

/// `[label] mark {bar mark}`; what is left behind the last mark stays in the input.
fn divided(input: &mut Input<'_>) -> Result<Divided, EmptyError> {
    let label = opt(label);
    let first = preceded(space0, mark);
    let bars = repeat(0.., (take_till(0.., is_sign).span(), mark));
    (preceded(space0, label), first, bars).parse_next(input)
}

/// A letter, then letters and digits, before a blank or a barline.
fn label(input: &mut Input<'_>) -> Result<Range<usize>, EmptyError> {
    let word = (one_of(|c: char| c.is_ascii_alphabetic()), alphanumeric0);
    let before_barline = peek((space0, one_of(is_sign)));
    (word.span(), before_barline).map(|(label, _)| label).parse_next(input)
}

fn mark(input: &mut Input<'_>) -> Result<Mark, EmptyError> {
    let count = preceded('x', digit1).span();
    (take_while(1.., is_sign).span(), opt(count)).parse_next(input)
}

const fn is_sign(c: char) -> bool {
    matches!(c, '|' | ':')
}

impl Reader<'_> {
    /// Divides the line at `span`; `None` (and a slip) where it has no bar.
    pub(super) fn split_line(&mut self, span: Range<usize>) -> Option<Line> {
        let text = self.text;
        let line = &text[span.clone()];
        let mut input = LocatingSlice::new(line);
        let Ok((label, opening, bars)) = divided(&mut input) else {
            self.slip_without_opening(span);
            return None;
        };
        let label = label.map(|label| shifted(label, span.start));
        if let Some(label) = &label {
            self.check_label(label.clone());
        }
        let opening = self.take_mark(opening, span.start);
        let opening = self.check_opening(opening);
        let mut marks = vec![opening];
        let mut contents = Vec::new();
        for (content, mark) in bars {
            contents.push(shifted(content, span.start));
            marks.push(self.take_mark(mark, span.start));
        }
        self.check_line_end(span.end - input.len(), span.end);
        if contents.is_empty() {
            self.slip(marks[0].1.clone(), Slip::NoBarInLine);
            return None;
        }
        Some(Line { label, marks, bars: contents })
    }

    /// Notes what stands where a line of bars should begin.
    fn slip_without_opening(&mut self, span: Range<usize>) {
        let line = &self.text[span.clone()];
        let start = span.start + line.len() - line.trim_start().len();
        let first = line.split_whitespace().next().unwrap_or_default();
        let slip = if line.contains('|') {
            let before = line.split('|').next().unwrap_or_default().trim();
            self.slip(start..start + before.len(), Slip::BeforeBarline(before.to_owned()));
            return;
        } else if NAMES.contains(&first.to_lowercase().as_str()) {
            Slip::HeaderWithoutColon(first.to_owned())
        } else {
            Slip::NoBarline
        };
        self.slip(start..span.end, slip);
    }

    /// A letter that reads as a chord is one, more often than not, unless `form:` names it. `A2` is a letter.
    fn check_label(&mut self, span: Range<usize>) {
        let label = &self.text[span.clone()];
        let like_chord = label.len() > 1
            && !label.ends_with('2')
            && ChordSymbol::parse_with(label, self.bare).is_ok()
            && !self.header.form.iter().any(|named| named == label);
        if like_chord {
            self.caution(span, Caution::LabelLikeChord(label.to_owned()));
        }
    }

    fn take_mark(&mut self, (signs, count): Mark, line_start: usize) -> (Barline, Range<usize>) {
        let text = self.text;
        let signs = shifted(signs, line_start);
        let written = &text[signs.clone()];
        let barline = Barline::from_signs(written).unwrap_or_else(|| {
            let slip = Slip::Barline { signs: written.to_owned(), nearest: nearest_barline(written) };
            self.slip(signs.clone(), slip);
            Barline::Single
        });
        let Some(count) = count.map(|count| shifted(count, line_start)) else {
            return (barline, signs);
        };
        let number = &text[count.start + 1..count.end];
        let times = number.parse().ok();
        let times = times.filter(|times| (TWICE..=MOST_TIMES).contains(times));
        let span = signs.start..count.end;
        if let (Barline::Close { .. }, Some(times)) = (barline, times) {
            return (Barline::Close { times }, span);
        }
        self.slip(count, Slip::Times(number.to_owned()));
        (barline, span)
    }

    fn check_opening(&mut self, (barline, span): (Barline, Range<usize>)) -> (Barline, Range<usize>) {
        if barline.closes().is_none() {
            return (barline, span);
        }
        let written = self.text[span.clone()].to_owned();
        self.slip(span.clone(), Slip::LineOpensWith(written));
        (Barline::Single, span)
    }

    fn check_line_end(&mut self, rest: usize, end: usize) {
        let left = &self.text[rest..end];
        if !left.trim().is_empty() {
            let start = end - left.trim_start().len();
            self.slip(start..end, Slip::LineOpen);
        }
    }
}

/// What a player meant with signs that are no barline.
fn nearest_barline(signs: &str) -> &'static str {
    match (signs.starts_with(':'), signs.ends_with(':')) {
        _ if !signs.contains('|') => "\"|\", or \":|\" to close a repeat",
        (true, true) => "\":|:\"",
        (true, false) => "\":|\"",
        (false, true) => "\"|:\"",
        (false, false) => match nearest(signs, ["|", "||"].map(str::to_owned)).as_deref() {
            Some("|") => "\"|\"",
            _ => "\"||\"",
        },
    }
}
