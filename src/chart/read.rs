//! Reading a `.bars` text.
//!
//! Header lines, then bars between barlines: `line` finds the barlines of a line, `bar` and `item` read what stands
//! between two of them, `header` what stands above, `structure` checks repeats, endings and the form. A slip is noted
//! and reading goes on, so that all of them are shown at once.

mod bar;
mod header;
mod item;
mod line;
mod structure;

pub(super) use item::is_no_chord;

use std::ops::Range;

use crate::theory::chord::BareSymbols;
use crate::time::Meter;

use super::barline::Barline;
use super::header::Header;
use super::model::{BarSpots, Chart, Spots, WrittenBar};
use super::slip::{Caution, ChartError, ChartErrors, Lines, Slip, TextPlace, Warning};

/// Most bytes of a chart's text.
pub const MOST_BYTES: usize = 1 << 20;

/// Most characters in a line.
pub const MOST_COLUMNS: usize = 1_000;

/// Most bars written in a chart.
pub const MOST_BARS: usize = 2_000;

/// Most bars of a form as played.
pub const MOST_BARS_PLAYED: usize = 10_000;

impl Chart {
    /// Reads the chart `text`, from the file called `name` (`-` for standard input).
    ///
    /// # Errors
    /// Everything that keeps the text from being a chart, at once.
    pub fn parse(name: &str, text: &str, bare: BareSymbols) -> Result<(Self, Vec<Warning>), ChartErrors> {
        if text.len() > MOST_BYTES {
            let error = ChartError { place: TextPlace::START, slip: Slip::TooManyBytes(text.len()) };
            return Err(ChartErrors::new(name, "", vec![error]));
        }
        let (text, controls) = cleaned(text);
        let mut reader = Reader::new(&text, bare);
        for (span, control) in controls {
            reader.slip(span, Slip::Control(control));
        }
        reader.read_lines();
        reader.finish(name)
    }
}

/// The text with one line feed after each line, without blanks at the ends of lines, and with control characters (but
/// tabs) replaced; and the first of those characters in each line, with its place in the cleaned text.
fn cleaned(text: &str) -> (String, Vec<(Range<usize>, char)>) {
    let mut clean = String::with_capacity(text.len() + 1);
    let mut controls = Vec::new();
    let is_control = |c: char| c.is_control() && c != '\t';
    for line in text.trim_start_matches('\u{feff}').lines() {
        let line = line.trim_end();
        if let Some((at, control)) = line.char_indices().find(|&(_, c)| is_control(c)) {
            let start = clean.len() + at;
            controls.push((start..start + char::REPLACEMENT_CHARACTER.len_utf8(), control));
        }
        clean.extend(line.chars().map(|c| if is_control(c) { char::REPLACEMENT_CHARACTER } else { c }));
        clean.push('\n');
    }
    (clean, controls)
}

/// What has been read so far.
struct Reader<'a> {
    text: &'a str,
    lines: Lines<'a>,
    bare: BareSymbols,
    header: Header,
    header_spots: header::HeaderSpots,
    meter: Meter,
    bars: Vec<WrittenBar>,
    bar_spots: Vec<BarSpots>,
    /// The barline that ended the last line, and where it stands.
    line_end: Option<(Barline, Range<usize>)>,
    /// The line with the first bar past [`MOST_BARS`].
    past_limit: Option<Range<usize>>,
    slips: Vec<(Range<usize>, Slip)>,
    cautions: Vec<(Range<usize>, Caution)>,
}

impl<'a> Reader<'a> {
    fn new(text: &'a str, bare: BareSymbols) -> Self {
        Self {
            text,
            lines: Lines::of(text),
            bare,
            header: Header::default(),
            header_spots: header::HeaderSpots::default(),
            meter: Meter::FOUR_FOUR,
            bars: Vec::new(),
            bar_spots: Vec::new(),
            line_end: None,
            past_limit: None,
            slips: Vec::new(),
            cautions: Vec::new(),
        }
    }

    fn slip(&mut self, span: Range<usize>, slip: impl Into<Slip>) {
        self.slips.push((span, slip.into()));
    }

    fn caution(&mut self, span: Range<usize>, caution: Caution) {
        self.cautions.push((span, caution));
    }

    fn read_lines(&mut self) {
        let mut start = 0;
        for line in self.text.split_inclusive('\n') {
            let end = start + without_comment(line).trim_end().len();
            self.read_line(start..end, start + line.len());
            start += line.len();
        }
    }

    /// Reads the line at `span`, its comment left out; the next line begins at `next`.
    fn read_line(&mut self, span: Range<usize>, next: usize) {
        let text = self.text;
        let line = &text[span.clone()];
        let columns = text[span.start..next].trim_end().chars().count();
        if columns > MOST_COLUMNS {
            self.slip(span.start..next, Slip::LineTooLong(columns));
        } else if line.trim().is_empty() {
            // A blank line or a comment.
        } else if let Some((name, value)) = header::split(line) {
            self.read_header(shifted(name, span.start), shifted(value, span.start), next);
        } else if self.past_limit.is_none() {
            self.read_bars(span.clone());
            self.past_limit = (self.bars.len() > MOST_BARS).then_some(span);
        }
    }

    /// Reads a line of bars and hangs it on to those before it.
    fn read_bars(&mut self, span: Range<usize>) {
        let Some(line) = self.split_line(span) else { return };
        let label = line.label.map(|label| self.text[label].to_owned());
        let opening = line.marks[0].clone();
        let opening = self.join_lines(opening);
        let marks = std::iter::once(opening).chain(line.marks.into_iter().skip(1));
        let marks: Vec<_> = marks.collect();
        for (index, content) in line.bars.into_iter().enumerate() {
            let [(before, opening), (after, closing)] = [marks[index].clone(), marks[index + 1].clone()];
            let read = self.read_bar(content);
            self.bars.push(WrittenBar {
                label: label.clone().filter(|_| index == 0),
                starts_line: index == 0,
                before,
                after,
                ending: read.ending,
                meter: self.meter,
                content: read.content,
            });
            self.bar_spots.push(BarSpots { opening, closing, ..read.spots });
        }
        self.line_end = marks.into_iter().next_back();
    }

    /// The one barline that the last line's end and this line's opening are.
    fn join_lines(&mut self, (opening, span): (Barline, Range<usize>)) -> (Barline, Range<usize>) {
        let Some((end, end_span)) = self.line_end.take() else {
            return (opening, span);
        };
        let one = end.joined(opening);
        if let Some(last) = self.bars.last_mut() {
            last.after = one;
        }
        let span = if end.opens() { end_span } else { span };
        (one, span)
    }

    fn finish(mut self, name: &str) -> Result<(Chart, Vec<Warning>), ChartErrors> {
        let structure = self.check_structure();
        if let Some(span) = self.past_limit.take() {
            self.slip(span, Slip::TooManyBars);
        }
        match structure {
            Some((sections, form)) if self.slips.is_empty() => {
                let mut warnings =
                    placed(self.cautions, &self.lines, |place, caution| Warning { place, caution });
                warnings.sort_by_key(|warning| warning.place);
                let chart = Chart {
                    name: name.to_owned(),
                    text: self.text.to_owned(),
                    bare: self.bare,
                    header: self.header,
                    bars: self.bars,
                    sections,
                    spots: Spots {
                        key: self.header_spots.key,
                        header_end: self.header_spots.end,
                        bars: self.bar_spots,
                    },
                    form,
                };
                Ok((chart, warnings))
            }
            _ => Err(ChartErrors::new(
                name,
                self.text,
                placed(self.slips, &self.lines, |place, slip| ChartError { place, slip }),
            )),
        }
    }
}

/// What was noted, with bytes turned into lines and columns.
fn placed<A, B>(noted: Vec<(Range<usize>, A)>, lines: &Lines<'_>, join: fn(TextPlace, A) -> B) -> Vec<B> {
    let places = noted.into_iter().map(|(span, what)| join(lines.place(&span), what));
    places.collect()
}

/// The line without its comment: a `;` at its start or after a blank, and what follows.
fn without_comment(line: &str) -> &str {
    let mut before = ' ';
    let semicolon = line.char_indices().find(|&(_, c)| {
        let opens = c == ';' && before.is_whitespace();
        before = c;
        opens
    });
    semicolon.map_or(line, |(at, _)| &line[..at])
}

fn shifted(span: Range<usize>, by: usize) -> Range<usize> {
    span.start + by..span.end + by
}
