//! Where results go: rows and documents to stdout in one form, words to stderr.

use std::io::{self, IsTerminal, Write};

use serde::Serialize;

use crate::report::theme::{Depth, Ground};
use crate::report::{Ink, OutputForm, Signs, Table};
use crate::store::settings::{Background, ColorUse, Settings};

use super::exit_status::Failure;

/// Columns of a terminal that does not tell: those of a VT100.
const USUAL_WIDTH: usize = 80;

/// The environment variable that asks for no colour (no-color.org).
pub const NO_COLOR: &str = "NO_COLOR";

/// Two streams and the form of everything printed.
pub struct Output<'a> {
    form: OutputForm,
    stdout: Box<dyn Write + 'a>,
    stderr: Box<dyn Write + 'a>,
    /// Columns of the terminal that words go to, where they go to one.
    words_width: Option<usize>,
}

/// What the form depends on beside the settings.
#[derive(Clone, Copy, Debug, Default)]
struct Surroundings {
    /// The terminal that stdout is, if it is one, by its width in columns.
    terminal: Option<usize>,
    /// Whether [`NO_COLOR`] asks for none.
    no_color: bool,
    /// Whether the terminal knows no escape sequences.
    dumb: bool,
    /// Whether it shows sixteen million colours.
    true_color: bool,
}

impl Output<'_> {
    /// The output of this process, in the form that its settings and its terminal ask for.
    pub fn of_this_process(settings: &Settings, json: bool) -> Self {
        Self {
            form: decide(settings, json, Surroundings::of_this_process()),
            stdout: Box::new(anstream::AutoStream::always_ansi(io::stdout())),
            stderr: Box::new(io::stderr()),
            words_width: io::stderr().is_terminal().then(terminal_width),
        }
    }
}

impl<'a> Output<'a> {
    /// An output into `stdout` and `stderr`, whatever they are.
    pub fn new(form: OutputForm, stdout: impl Write + 'a, stderr: impl Write + 'a) -> Self {
        Self { form, stdout: Box::new(stdout), stderr: Box::new(stderr), words_width: None }
    }

    /// The form everything is printed in.
    pub const fn form(&self) -> OutputForm {
        self.form
    }

    /// Prints a result: its rows, or `document` where JSON is asked for.
    pub fn result(&mut self, table: &Table, document: &impl Serialize) -> Result<(), Failure> {
        match table.text(self.form) {
            Some(text) => self.text(&text),
            None => self.document(document),
        }
    }

    /// Prints one JSON document, whatever the form.
    pub fn document(&mut self, document: &impl Serialize) -> Result<(), Failure> {
        let text = serde_json::to_string_pretty(document).map_err(io::Error::from)?;
        self.text(&format!("{text}\n"))
    }

    /// Prints `text` as it is.
    pub fn text(&mut self, text: &str) -> Result<(), Failure> {
        self.stdout.write_all(text.as_bytes())?;
        Ok(self.stdout.flush()?)
    }

    /// Says something to the person, not to the program that reads the result.
    pub fn remark(&mut self, sentence: &str) {
        let sentence = self.form.signs().write(sentence);
        let sentence = self.words_width.map_or(sentence.clone(), |width| in_lines(&sentence, width).into());
        // When stderr is closed there is nobody to tell, and the result still stands.
        let _ = writeln!(self.stderr, "{sentence}");
    }
}

impl Surroundings {
    fn of_this_process() -> Self {
        let filled = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty());
        let terminal = io::stdout().is_terminal().then(terminal_width);
        Self {
            terminal,
            no_color: filled(NO_COLOR).is_some(),
            dumb: filled("TERM").is_some_and(|term| term == "dumb"),
            true_color: filled("COLORTERM").is_some_and(|depth| depth == "truecolor" || depth == "24bit"),
        }
    }
}

/// Columns of the terminal.
fn terminal_width() -> usize {
    let width = ratatui::crossterm::terminal::size().map(|(columns, _)| usize::from(columns));
    width.ok().filter(|&width| width > 0).unwrap_or(USUAL_WIDTH)
}

/// A sentence in lines that are broken between words; a path stays whole, to be copied.
fn in_lines(sentence: &str, width: usize) -> String {
    let options = textwrap::Options::new(width)
        .break_words(false)
        .word_separator(textwrap::WordSeparator::AsciiSpace)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    textwrap::fill(sentence, options)
}

fn decide(settings: &Settings, json: bool, surroundings: Surroundings) -> OutputForm {
    if json {
        return OutputForm::Json;
    }
    let ink = ink(settings, surroundings);
    let signs = if settings.ascii { Signs::Ascii } else { Signs::Unicode };
    match surroundings.terminal {
        Some(width) => OutputForm::Terminal { width, ink, signs },
        None => OutputForm::Piped { ink, signs },
    }
}

fn ink(settings: &Settings, surroundings: Surroundings) -> Ink {
    let ground = match settings.background {
        Background::Dark => Ground::Dark,
        Background::Light => Ground::Light,
    };
    let depth = if surroundings.true_color { Depth::True } else { Depth::Indexed };
    let colour = Ink::Colour { ground, depth };
    match settings.color {
        ColorUse::Never => Ink::Plain,
        ColorUse::Auto if surroundings.terminal.is_none() || surroundings.dumb => Ink::Plain,
        ColorUse::Auto if surroundings.no_color => Ink::Weight,
        ColorUse::Auto | ColorUse::Always => colour,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::{Column, Row};

    const TERMINAL: Surroundings =
        Surroundings { terminal: Some(100), no_color: false, dumb: false, true_color: true };

    fn with_color(color: ColorUse) -> Settings {
        Settings { color, ..Settings::default() }
    }

    fn ink_of(color: ColorUse, surroundings: Surroundings) -> Ink {
        decide(&with_color(color), false, surroundings).ink()
    }

    const DARK: Ink = Ink::Colour { ground: Ground::Dark, depth: Depth::True };

    #[test]
    fn a_terminal_is_coloured_unless_asked_not_to() {
        assert_eq!(ink_of(ColorUse::Auto, TERMINAL), DARK);
        assert_eq!(ink_of(ColorUse::Auto, Surroundings { no_color: true, ..TERMINAL }), Ink::Weight);
        assert_eq!(ink_of(ColorUse::Auto, Surroundings { dumb: true, ..TERMINAL }), Ink::Plain);
        assert_eq!(ink_of(ColorUse::Never, TERMINAL), Ink::Plain);
        assert_eq!(ink_of(ColorUse::Always, Surroundings { no_color: true, ..TERMINAL }), DARK);
    }

    #[test]
    fn a_pipe_is_plain_unless_colour_is_asked_for() {
        let pipe = Surroundings { terminal: None, ..TERMINAL };
        assert_eq!(ink_of(ColorUse::Auto, pipe), Ink::Plain);
        assert_eq!(ink_of(ColorUse::Always, pipe), DARK);
        assert!(matches!(decide(&Settings::default(), false, pipe), OutputForm::Piped { .. }));
    }

    #[test]
    fn json_is_json_wherever_it_goes() {
        for surroundings in [TERMINAL, Surroundings::default()] {
            assert_eq!(decide(&with_color(ColorUse::Always), true, surroundings), OutputForm::Json);
        }
    }

    #[test]
    fn results_go_to_stdout_and_remarks_to_stderr() {
        let (mut stdout, mut stderr) = (Vec::new(), Vec::new());
        let form = OutputForm::Piped { ink: Ink::Plain, signs: Signs::Ascii };
        let mut out = Output::new(form, &mut stdout, &mut stderr);
        let mut table = Table::new([Column::words("chord")]);
        table.push(Row::new(["B♭7".into()]));
        out.result(&table, &()).expect("memory takes it");
        out.remark("reads B♭");
        drop(out);
        assert_eq!(stdout, b"chord\tnote\nBb7\t\n");
        assert_eq!(stderr, b"reads Bb\n");
    }

    #[test]
    fn sentences_are_broken_between_words_and_paths_are_not() {
        let lines =
            in_lines("The take is kept in /home/somebody/a-rather-long-folder/take-0001.mid for now.", 30);
        let path = "/home/somebody/a-rather-long-folder/take-0001.mid";
        assert_eq!(lines, format!("The take is kept in\n{path}\nfor now."));
    }

    #[test]
    fn json_prints_the_document_and_no_rows() {
        let mut stdout = Vec::new();
        let mut out = Output::new(OutputForm::Json, &mut stdout, io::sink());
        out.result(&Table::new([]), &serde_json::json!({ "schema": "x" })).expect("memory takes it");
        drop(out);
        assert_eq!(stdout, b"{\n  \"schema\": \"x\"\n}\n");
    }
}
