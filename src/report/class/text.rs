//! A class as people read it: the rows, the sentences below them, the bars of the form; and as rows for a spreadsheet.

use jiff::civil::Date;
use unicode_width::UnicodeWidthChar;

use crate::report::assignment::day_words;
use crate::report::cautions::FOCUS;
use crate::report::class::{ClassBarRecord, ClassDocument, NOT_HEARD, StudentRecord};
use crate::report::number::percent;
use crate::report::output_form::OutputForm;
use crate::report::spreadsheet;
use crate::report::table::{Column, Row, Table};

/// What is asked of whoever keeps hand-ins.
pub(in crate::report) const KEEP: &str = "Keep hand-ins on this machine and delete them after the term.";

/// The widest a name and what to talk about are where a terminal is too narrow for all of them, in columns.
const SHORT_NAME: usize = 12;
const SHORT_TALK: usize = 13;

/// Most marks in the picture of a bar.
const MARKS: usize = 20;

/// The text of a class in `form`; with `bars` the bars of the form too.
pub fn page(document: &ClassDocument, bars: bool, form: OutputForm) -> String {
    let mut students = students(document, Names::Full, form);
    if !students.fits(form) {
        students = self::students(document, Names::Short, form);
    }
    let mut blocks = Vec::new();
    if matches!(form, OutputForm::Terminal { .. }) {
        let head = heading(document).join("\n") + "\n";
        blocks.push(form.signs().write(&head).into_owned());
    } else {
        for line in heading(document) {
            students.note(line);
        }
    }
    if bars {
        blocks.push(picture(document).text(form).unwrap_or_default());
    }
    for sentence in sentences(document) {
        students.note(sentence);
    }
    let at = blocks.len().min(1);
    blocks.insert(at, students.text(form).unwrap_or_default());
    blocks.join("\n")
}

fn heading(document: &ClassDocument) -> Vec<String> {
    let name = &document.assignment;
    let number = name.number.map(|number| format!("assignment {number}"));
    let due = name.due.as_deref().and_then(|due| due.parse::<Date>().ok());
    let due = due.map(|due| format!("due {}", day_words(due)));
    let parts = [Some("class".to_owned()), name.title.clone(), number, Some(name.chart.clone()), due];
    vec![parts.into_iter().flatten().collect::<Vec<_>>().join("   "), counts(document)]
}

/// `heard from 7 of 9:   4 met   1 clearly below`.
fn counts(document: &ClassDocument) -> String {
    let found = document.findings;
    let each = [
        (found.met, "met"),
        (found.clearly_above, "clearly above"),
        (found.clearly_below, "clearly below"),
        (found.undecided, "undecided"),
        (found.no_verdict, "no verdict"),
    ];
    let said = each.iter().filter(|(count, _)| *count > 0).map(|(count, word)| format!("   {count} {word}"));
    format!("heard from {} of {}:{}", document.heard, document.students.len(), said.collect::<String>())
}

/// How names are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Names {
    Full,
    Short,
}

fn students(document: &ClassDocument, names: Names, form: OutputForm) -> Table {
    let [takes, open, land, all] = ["takes", "open", "land", "all"].map(Column::numbers);
    let [student, last, share, verdict, talk] =
        ["student", "last", "chord share", "verdict", "talk about"].map(Column::words);
    let mut table = Table::new([student, takes, last, share, open, land, all, verdict, talk]);
    for student in &document.students {
        table.push(row(student, names, form));
    }
    table
}

fn row(student: &StudentRecord, names: Names, form: OutputForm) -> Row {
    let words = |text: &str, most: usize| match form {
        // A pipe is often read by a spreadsheet.
        OutputForm::Piped { .. } => spreadsheet::cell(text),
        _ if names == Names::Short => short(text, most),
        _ => text.to_owned(),
    };
    let whole = |share: Option<f64>| share.map_or_else(|| "-".to_owned(), |share| percent(share).to_string());
    let last = student.last_played.as_deref().and_then(|day| day.parse::<Date>().ok());
    let landings = student.landings.as_ref();
    let open = student.open.as_ref().and_then(|open| open.share);
    let row = Row::new([
        words(&student.student, SHORT_NAME).into(),
        student.takes.to_string().into(),
        last.map_or_else(|| "-".to_owned(), |day| day.strftime("%-d %b").to_string()).into(),
        share(student).into(),
        open.map_or_else(|| "-".to_owned(), |open| format!("{} %", percent(open))).into(),
        whole(landings.map(|landings| landings.share)).into(),
        whole(landings.and_then(|landings| landings.all_notes)).into(),
        student.verdict.into(),
        words(&student.talk_about, SHORT_TALK).into(),
    ]);
    match student.verdict_as_contested.filter(|&other| other != student.verdict) {
        Some(other) => row.with_note(format!("with the contested notes granted: {other}")),
        None => row,
    }
}

/// `61 % (55-67)`, or how many notes there are where no verdict is given on them.
fn share(student: &StudentRecord) -> String {
    let Some(chord) = &student.chord else { return "-".to_owned() };
    if student.verdict == "no verdict" {
        return format!("{} notes", student.counted);
    }
    let interval = chord.share.zip(chord.low).zip(chord.high);
    interval.map_or_else(
        || "-".to_owned(),
        |((share, low), high)| format!("{} % ({}-{})", percent(share), percent(low), percent(high)),
    )
}

/// A text cut to `most` columns.
fn short(text: &str, most: usize) -> String {
    let mut width = 0;
    let mut kept = String::new();
    for sign in text.chars() {
        width += sign.width().unwrap_or(0);
        if width > most {
            let cut: String = kept.chars().take(kept.chars().count().saturating_sub(1)).collect();
            return format!("{}…", cut.trim_end());
        }
        kept.push(sign);
    }
    kept
}

/// The sentences below the rows.
fn sentences(document: &ClassDocument) -> Vec<String> {
    let same = document.same_bar.and_then(|number| document.bars.iter().find(|bar| bar.bar == number));
    let same = same.map_or_else(
        || "The same bar: none in which a third of the class left an open note.".to_owned(),
        |bar| {
            let symbols = bar.symbols.join(" ");
            format!(
                "The same bar: {} ({symbols}): {} of {} left an open note there. Worth a lesson.",
                bar.bar, bar.open, bar.of
            )
        },
    );
    let bands = document.bands.iter().map(|band| {
        let end = if band.narrow {
            "the band may be too narrow, or needs more notes"
        } else {
            "no sign that it is too narrow"
        };
        format!(
            "The band for {}: {} of {} met, {} undecided: {end}.",
            band.measure, band.met, band.of, band.undecided
        )
    });
    let refused = document.files.iter().filter(|file| file.kind == "refused").count();
    let files = format!("Files: {} read, {refused} refused.", document.files_read);
    let each = document.files.iter().map(|file| format!("{}: {}.", file.file, file.message));
    let notes =
        document.students.iter().filter_map(|student| Some((&student.student, student.note.as_ref()?)));
    let notes = notes.map(|(student, note)| format!("{student} writes: \"{note}\""));
    let contests = document.students.iter().flat_map(|student| {
        student.contests.iter().map(move |contest| {
            let reason =
                if contest.reason.is_empty() { String::new() } else { format!(": \"{}\"", contest.reason) };
            format!(
                "{} hears {} of take {} as {}{reason}",
                student.student, contest.note, contest.take, contest.heard_as
            )
        })
    });
    let close = [
        "chord share: of the two takes that count together, with its 95 % interval; land: changes landed on, of those \
         met, %; all: 3rds and 7ths among all notes, %.",
        "Sorted by who needs attention, then by name; no ranking. Verdicts are worked out anew from the notes. Nothing \
         is written to hand-ins.",
        KEEP,
        FOCUS,
    ];
    [same]
        .into_iter()
        .chain(bands)
        .chain([files])
        .chain(each)
        .chain(notes)
        .chain(contests)
        .chain(close.map(str::to_owned))
        .collect()
}

/// The bars of the form: a mark a student who left an open note, up to twenty, then in proportion.
fn picture(document: &ClassDocument) -> Table {
    let columns = [Column::numbers("bar"), Column::words("chords"), Column::words("left an open note")];
    let numbers = ["open", "of", "not landed"].map(Column::numbers);
    let mut table = Table::new(columns.into_iter().chain(numbers));
    for bar in &document.bars {
        table.push(Row::new([
            bar.bar.to_string().into(),
            bar.symbols.join(" ").into(),
            marks(bar).into(),
            bar.open.to_string().into(),
            bar.of.to_string().into(),
            bar.missed.to_string().into(),
        ]));
    }
    table
}

fn marks(bar: &ClassBarRecord) -> String {
    let all = bar.of.min(MARKS);
    let open = if bar.of > MARKS { (bar.open * MARKS).div_ceil(bar.of) } else { bar.open };
    "●".repeat(open) + &"·".repeat(all.saturating_sub(open))
}

/// The headings of a spreadsheet.
const HEADINGS: [&str; 19] = [
    "student",
    "file",
    "takes",
    "last_played",
    "notes",
    "chord_percent",
    "chord_low",
    "chord_high",
    "open_percent",
    "landings_percent",
    "all_notes_percent",
    "verdict",
    "verdict_as_contested",
    "contests",
    "after_due",
    "gear",
    "talk_about",
    "note",
    "not_for_marks",
];

/// The students as rows for a spreadsheet.
pub fn csv(document: &ClassDocument) -> String {
    let rows: Vec<Vec<String>> = document.students.iter().map(csv_row).collect();
    spreadsheet::rows(&HEADINGS, rows.iter().map(Vec::as_slice))
}

fn csv_row(student: &StudentRecord) -> Vec<String> {
    let tenths = |share: Option<f64>| {
        share.map_or_else(String::new, |share| ((share * 1e3).round() / 10.0).to_string())
    };
    let chord = student.chord.as_ref();
    let landings = student.landings.as_ref();
    let heard = student.verdict != NOT_HEARD;
    vec![
        student.student.clone(),
        student.file.clone().unwrap_or_default(),
        student.takes.to_string(),
        student.last_played.clone().unwrap_or_default(),
        if heard { student.counted.to_string() } else { String::new() },
        tenths(chord.and_then(|chord| chord.share)),
        tenths(chord.and_then(|chord| chord.low)),
        tenths(chord.and_then(|chord| chord.high)),
        tenths(student.open.as_ref().and_then(|open| open.share)),
        tenths(landings.map(|landings| landings.share)),
        tenths(landings.and_then(|landings| landings.all_notes)),
        student.verdict.to_owned(),
        student.verdict_as_contested.unwrap_or_default().to_owned(),
        student.contests.len().to_string(),
        if student.after_due { "yes" } else { "" }.to_owned(),
        student.gear.join(", "),
        student.talk_about.clone(),
        student.note.clone().unwrap_or_default(),
        "for study, not for marks".to_owned(),
    ]
}
