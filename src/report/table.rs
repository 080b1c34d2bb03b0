//! Rows under headings, given once and laid out for a terminal or a pipe.
//!
//! On a terminal columns are aligned and sentences stand below; in a pipe the same rows are separated by tabs, under
//! one header row whose last column is `note`. It knows nothing of what the rows mean.

use unicode_width::UnicodeWidthStr;

use super::output_form::OutputForm;
use super::signs::Signs;
use super::spreadsheet;
use super::theme::{Ink, Role};

/// Blanks between two columns on a terminal: two, or one where the table would be too wide with two.
const GAPS: [usize; 2] = [2, 1];

/// How far a sentence that belongs to a row is moved in.
const INDENT: usize = 4;

/// The narrowest a sentence is folded to, in columns.
const NARROWEST: usize = 20;

/// On which side of its column a cell stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Align {
    /// The left, as words do.
    #[default]
    Left,
    /// The right, as numbers do.
    Right,
}

/// A column: its heading, and where its cells stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Column {
    heading: &'static str,
    full: Option<&'static str>,
    pub(super) align: Align,
}

impl Column {
    /// A column of words.
    pub const fn words(heading: &'static str) -> Self {
        Self { heading, full: None, align: Align::Left }
    }

    /// A column of numbers.
    pub const fn numbers(heading: &'static str) -> Self {
        Self { heading, full: None, align: Align::Right }
    }

    /// The column with a heading for where there is room for words.
    #[must_use]
    pub const fn called(self, full: &'static str) -> Self {
        Self { full: Some(full), ..self }
    }

    /// The heading where there is room for words.
    pub(super) fn in_full(self) -> &'static str {
        self.full.unwrap_or(self.heading)
    }
}

/// One cell: texts without control characters, each in the role it plays, if any.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Cell {
    pub(super) spans: Vec<(String, Option<Role>)>,
}

impl Cell {
    /// `text` in the terminal's own colour. Control characters, which titles from elsewhere may hold, become blanks.
    pub fn new(text: impl Into<String>) -> Self {
        Self { spans: vec![(printable(&text.into()), None)] }
    }

    /// `text` in the colour of `role`.
    pub fn marked(text: impl Into<String>, role: Role) -> Self {
        Self { spans: vec![(printable(&text.into()), Some(role))] }
    }

    /// Marks in a row, a blank between them, each in its own role.
    pub fn line(marks: impl IntoIterator<Item = (String, Role)>) -> Self {
        let mut spans: Vec<(String, Option<Role>)> = Vec::new();
        for (text, role) in marks {
            if !spans.is_empty() {
                spans.push((" ".to_owned(), None));
            }
            spans.push((printable(&text), Some(role)));
        }
        Self { spans }
    }

    fn text(&self) -> String {
        self.spans.iter().map(|(text, _)| text.as_str()).collect()
    }

    /// Whether there is nothing in it.
    pub(super) fn is_empty(&self) -> bool {
        self.spans.iter().all(|(text, _)| text.is_empty())
    }
}

impl<T: Into<String>> From<T> for Cell {
    fn from(text: T) -> Self {
        Self::new(text)
    }
}

/// One row, with a sentence about it if there is one.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Row {
    pub(super) cells: Vec<Cell>,
    pub(super) note: Option<String>,
}

impl Row {
    /// A row of `cells`.
    pub fn new(cells: impl IntoIterator<Item = Cell>) -> Self {
        Self { cells: cells.into_iter().collect(), note: None }
    }

    /// The row with a sentence about it.
    #[must_use]
    pub fn with_note(mut self, note: impl Into<String>) -> Self {
        self.note = Some(printable(&note.into()));
        self
    }
}

/// Rows under headings, and sentences about the whole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    pub(super) columns: Vec<Column>,
    pub(super) rows: Vec<Row>,
    pub(super) notes: Vec<String>,
}

impl Table {
    /// A table without rows.
    pub fn new(columns: impl IntoIterator<Item = Column>) -> Self {
        Self { columns: columns.into_iter().collect(), rows: Vec::new(), notes: Vec::new() }
    }

    /// Adds a row. Cells that are missing are empty; cells past the last column are left out.
    pub fn push(&mut self, mut row: Row) {
        row.cells.resize(self.columns.len(), Cell::default());
        self.rows.push(row);
    }

    /// Adds a sentence about the whole.
    pub fn note(&mut self, sentence: impl Into<String>) {
        self.notes.push(printable(&sentence.into()));
    }

    /// Whether the rows fit the width of `form`, with a single blank between columns if need be.
    pub fn fits(&self, form: OutputForm) -> bool {
        let OutputForm::Terminal { width, ink, signs } = form else { return true };
        let widths = Layout { table: self, ink, signs }.widths();
        widths.iter().sum::<usize>() + widths.len().saturating_sub(1) <= width
    }

    /// The rows for a spreadsheet, their sentences in a last column; sentences about the whole are left out.
    pub fn csv(&self) -> String {
        let headings: Vec<&str> =
            self.columns.iter().map(|column| column.in_full()).chain(["note"]).collect();
        let row = |row: &Row| -> Vec<String> {
            row.cells.iter().map(Cell::text).chain([row.note.clone().unwrap_or_default()]).collect()
        };
        let rows: Vec<Vec<String>> = self.rows.iter().map(row).collect();
        spreadsheet::rows(&headings, rows.iter().map(Vec::as_slice))
    }

    /// The table as text in `form`; a JSON document is made of other things, so for [`OutputForm::Json`] there is none.
    pub fn text(&self, form: OutputForm) -> Option<String> {
        match form {
            OutputForm::Terminal { width, ink, signs } => {
                Some(Layout { table: self, ink, signs }.aligned(width))
            }
            OutputForm::Piped { ink, signs } => Some(Layout { table: self, ink, signs }.separated()),
            OutputForm::Json => None,
        }
    }
}

/// Control characters as blanks.
fn printable(text: &str) -> String {
    text.chars().map(|sign| if sign.is_control() { ' ' } else { sign }).collect()
}

/// A table on its way to text.
#[derive(Clone, Copy)]
struct Layout<'a> {
    table: &'a Table,
    ink: Ink,
    signs: Signs,
}

impl Layout<'_> {
    fn aligned(self, width: usize) -> String {
        let widths = self.widths();
        let gap = gap(&widths, width);
        let headings = self.table.columns.iter().map(|column| Cell::marked(column.heading, Role::Heading));
        let mut text = self.line(&headings.collect::<Vec<_>>(), &widths, gap);
        for row in &self.table.rows {
            text.push_str(&self.line(&row.cells, &widths, gap));
            if let Some(note) = &row.note {
                text.push_str(&self.sentence(note, INDENT, width, Some(Role::Dim)));
            }
        }
        if !self.table.notes.is_empty() {
            text.push('\n');
        }
        for note in &self.table.notes {
            text.push_str(&self.sentence(note, 0, width, None));
        }
        text
    }

    /// The width of each column: of its widest cell or its heading.
    fn widths(self) -> Vec<usize> {
        let width = |text: &str| self.signs.write(text).width();
        let columns = self.table.columns.iter().enumerate();
        columns
            .map(|(index, column)| {
                let cells = self.table.rows.iter().map(|row| width(&row.cells[index].text()));
                cells.chain([width(column.heading)]).max().unwrap_or(0)
            })
            .collect()
    }

    fn line(self, cells: &[Cell], widths: &[usize], gap: usize) -> String {
        let mut line = String::new();
        for ((cell, column), &width) in cells.iter().zip(&self.table.columns).zip(widths) {
            let blanks = " ".repeat(width.saturating_sub(self.signs.write(&cell.text()).width()));
            let painted = self.painted_cell(cell);
            match column.align {
                Align::Left => line.extend([painted, blanks]),
                Align::Right => line.extend([blanks, painted]),
            }
            line.push_str(&" ".repeat(gap));
        }
        format!("{}\n", line.trim_end())
    }

    /// A sentence folded at blanks so that it fits `width`.
    fn sentence(self, sentence: &str, indent: usize, width: usize, role: Option<Role>) -> String {
        let room = width.saturating_sub(indent).max(NARROWEST);
        let folded = fold(&self.signs.write(sentence), room);
        let line = |line: &String| format!("{}{}\n", " ".repeat(indent), self.painted(line, role));
        folded.iter().map(line).collect()
    }

    fn painted_cell(self, cell: &Cell) -> String {
        cell.spans.iter().map(|(text, role)| self.painted(text, *role)).collect()
    }

    fn painted(self, text: &str, role: Option<Role>) -> String {
        let text = self.signs.write(text);
        match role {
            Some(role) if !text.is_empty() => self.ink.paint(role, &text),
            _ => text.into_owned(),
        }
    }

    fn separated(self) -> String {
        let columns = self.table.columns.len();
        let mut writer = csv::WriterBuilder::new().delimiter(b'\t').from_writer(Vec::new());
        let mut write = |cells: Vec<String>, note: &str| {
            let note = self.signs.write(note).into_owned();
            let written = writer.write_record(cells.into_iter().chain([note]));
            written.expect("memory takes every record, and all have as many fields as the first");
        };
        write(self.table.columns.iter().map(|column| column.heading.to_owned()).collect(), "note");
        for row in &self.table.rows {
            let cells = row.cells.iter().map(|cell| self.painted_cell(cell));
            write(cells.collect(), row.note.as_deref().unwrap_or_default());
        }
        for note in &self.table.notes {
            write(vec![String::new(); columns], note);
        }
        let bytes = writer.into_inner().expect("memory takes every record");
        String::from_utf8(bytes).expect("fields that are text make a text")
    }
}

/// The widest gap with which the columns fit `width`; the narrowest where none does.
fn gap(widths: &[usize], width: usize) -> usize {
    let needs = |gap: usize| widths.iter().sum::<usize>() + gap * widths.len().saturating_sub(1);
    GAPS.into_iter().find(|&gap| needs(gap) <= width).unwrap_or(1)
}

/// The words of a sentence in lines of at most `room` columns; a longer word has a line of its own.
pub fn fold(sentence: &str, room: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in sentence.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.width() + 1 + word.width() <= room => line.extend([" ", word]),
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::theme::{Depth, Ground};
    use proptest::prelude::*;

    const PIPED: OutputForm = OutputForm::Piped { ink: Ink::Plain, signs: Signs::Unicode };

    fn terminal(width: usize, ink: Ink, signs: Signs) -> OutputForm {
        OutputForm::Terminal { width, ink, signs }
    }

    fn example() -> Table {
        let mut table = Table::new([Column::numbers("bar"), Column::words("chord"), Column::words("landed")]);
        table.push(Row::new(["9".into(), "Am7".into(), Cell::marked("b7", Role::Chord)]));
        table.push(Row::new(["10".into(), "B♭△".into()]).with_note("open: no note came"));
        table.note("one of two changes landed");
        table
    }

    fn text(table: &Table, form: OutputForm) -> String {
        table.text(form).expect("a form with rows")
    }

    #[test]
    fn a_terminal_gets_aligned_columns_and_sentences_below() {
        let expect = "bar  chord  landed\n  9  Am7    b7\n 10  B♭△\n    open: no note came\n\none of two changes landed\n";
        assert_eq!(text(&example(), terminal(80, Ink::Plain, Signs::Unicode)), expect);
    }

    #[test]
    fn ascii_signs_may_be_wider_and_columns_still_align() {
        let expect = "bar  chord   landed\n  9  Am7     b7\n 10  Bbmaj7\n    open: no note came\n\none of two changes landed\n";
        assert_eq!(text(&example(), terminal(80, Ink::Plain, Signs::Ascii)), expect);
    }

    #[test]
    fn a_pipe_gets_tabs_one_header_and_a_note_column() {
        let expect = "bar\tchord\tlanded\tnote\n9\tAm7\tb7\t\n10\tB♭△\t\topen: no note came\n\t\t\tone of two changes landed\n";
        assert_eq!(text(&example(), PIPED), expect);
    }

    #[test]
    fn colour_tints_marks_and_never_moves_a_column() {
        let ink = Ink::Colour { ground: Ground::Dark, depth: Depth::True };
        let painted = text(&example(), terminal(80, ink, Signs::Unicode));
        assert!(painted.contains("\u{1b}[38;2;86;180;233m"));
        let stripped = anstream::adapter::strip_str(&painted).to_string();
        let plain = text(&example(), terminal(80, Ink::Plain, Signs::Unicode));
        let trimmed = |text: &str| text.lines().map(|line| line.trim_end().to_owned()).collect::<Vec<_>>();
        assert_eq!(trimmed(&stripped), trimmed(&plain));
    }

    #[test]
    fn long_sentences_fold_at_blanks() {
        assert_eq!(fold("a pause of five is due soon", 12), ["a pause of", "five is due", "soon"]);
        assert_eq!(fold("antidisestablishment now", 10), ["antidisestablishment", "now"]);
    }

    #[test]
    fn control_characters_in_a_title_cannot_steer_the_terminal() {
        let mut table = Table::new([Column::words("title")]);
        table.push(Row::new(["a\u{1b}[2Jb\tc\nd".into()]));
        assert_eq!(text(&table, terminal(80, Ink::Plain, Signs::Unicode)), "title\na [2Jb c d\n");
    }

    #[test]
    fn a_json_document_has_no_rows() {
        assert_eq!(example().text(OutputForm::Json), None);
    }

    proptest! {
        #[test]
        fn what_a_pipe_gets_reads_back_as_it_was_given(cells in prop::collection::vec("[^\\p{C}]{0,12}", 1..8)) {
            let mut table = Table::new([Column::words("only")]);
            for cell in &cells {
                table.push(Row::new([Cell::new(cell.as_str())]));
            }
            let piped = text(&table, PIPED);
            let mut reader = csv::ReaderBuilder::new().delimiter(b'\t').from_reader(piped.as_bytes());
            let read: Vec<String> = reader.records().map(|row| row.expect("a row")[0].to_owned()).collect();
            prop_assert_eq!(read, cells);
        }
    }
}
