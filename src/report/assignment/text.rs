//! The assignment as people read it: on screen, and word for word at the top of its file.

use jiff::civil::Date;
use unicode_width::UnicodeWidthStr;

use crate::report::assignment::{AssignmentDocument, RECORDED_LANDINGS, band_words, day_words};
use crate::report::cautions::FOCUS;
use crate::report::number::percent;
use crate::report::table::fold;

/// The widest line, in columns.
const WIDTH: usize = 78;
/// Columns of a label and of what stands behind it.
const LABEL: usize = 13;
const VALUE: usize = 23;

/// The lines that the student sees.
pub fn lines(document: &AssignmentDocument) -> Vec<String> {
    let mut lines = heading(document);
    lines.extend(task(document));
    lines.extend(bands(document));
    lines.extend(counting(document));
    let words = [("practise", &document.focus), ("listen for", &document.question), ("", &document.comment)];
    for (label, text) in words {
        if let Some(text) = text {
            lines.push(String::new());
            lines.extend(folded(label, text));
        }
    }
    lines.push(String::new());
    lines.extend(check(document));
    lines.push(String::new());
    lines.extend(fold(FOCUS, WIDTH));
    lines
}

/// How often luck alone decides.
fn check(document: &AssignmentDocument) -> Vec<String> {
    let of = |measure: fn(&str) -> bool| {
        let bands = document.bands.iter().filter(move |band| measure(band.measure));
        bands.flat_map(|band| &band.odds).map(|odds| odds.notes.to_string()).next()
    };
    let notes = of(|measure| measure != "landings").map(|notes| format!("{notes} notes"));
    let changes = of(|measure| measure == "landings").map(|changes| format!("{changes} changes"));
    let of: Vec<String> = notes.into_iter().chain(changes).collect();
    let mut lines = folded("check", &format!("By luck alone, over two takes together ({}):", of.join(", ")));
    for odds in document.bands.iter().flat_map(|band| &band.odds) {
        lines.extend(folded("", &odds.sentence));
    }
    lines.extend(folded(
        "",
        "A miss reads \"undecided\", which is never a fail, unless \"clearly\" is said. This is for one pair of takes; the \
         best pair of several is missed less often. Exact, by the binomial, with notes over a design effect of 1.5.",
    ));
    lines
}

fn heading(document: &AssignmentDocument) -> Vec<String> {
    let name = &document.assignment;
    let number = name.number.map(|number| format!("   no. {number}")).unwrap_or_default();
    let title = name.title.as_deref().unwrap_or(&name.chart);
    let head = format!("assignment   {title}{number}");
    let seen = "the student sees exactly this";
    let gap = WIDTH.saturating_sub(head.width() + seen.width());
    if gap >= 3 {
        vec![format!("{head}{}{seen}", " ".repeat(gap)), String::new()]
    } else {
        vec![head, seen.to_owned(), String::new()]
    }
}

fn task(document: &AssignmentDocument) -> Vec<String> {
    let name = &document.assignment;
    let bars = document.bars.map(|(first, last)| format!("bars {first}-{last}"));
    let choruses = document.choruses.map(|choruses| format!("choruses {choruses} or more"));
    let feel = document.feel.map(|feel| format!("feel {feel}"));
    let keys = (!document.keys.is_empty()).then(|| format!("key {}", document.keys.join(" or ")));
    let beside: Vec<String> = [bars, keys, choruses, feel].into_iter().flatten().collect();
    let tempo = document.tempo.map_or_else(
        || "any".to_owned(),
        |(low, high)| if low < high { format!("{low} to {high}") } else { low.to_string() },
    );
    let due = name.due.as_deref().and_then(|due| due.parse::<Date>().ok());
    let due = due.map(|due| format!("due {}", day_words(due)));
    let attempts = due.into_iter().chain(["attempts: any number".to_owned()]).collect::<Vec<_>>().join("   ");
    vec![row("chart", &name.chart, &beside.join("   ")), row("tempo", &tempo, &attempts)]
}

fn bands(document: &AssignmentDocument) -> Vec<String> {
    let [low, high] = document.recorded_soloists.map(percent);
    let mut lines = Vec::new();
    for band in &document.bands {
        let asked = band_words(band.low, band.high);
        let beside = match band.measure {
            "chord" => {
                let running = document.running_the_scale.map(percent);
                let running =
                    running.map_or_else(String::new, |share| format!("running the scale here: {share}"));
                lines.push(row("chord", &asked, &running));
                lines.push(row("", "", &format!("recorded soloists: {low} to {high}")));
                continue;
            }
            "open" => "resolved outside notes are free".to_owned(),
            "landings" => format!("an exercise; recorded soloists: {}", percent(RECORDED_LANDINGS)),
            "outside" => "approach notes and all".to_owned(),
            _ => String::new(),
        };
        lines.push(row(band.measure, &asked, &beside));
    }
    lines
}

fn counting(document: &AssignmentDocument) -> Vec<String> {
    let counting = match document.counting {
        "lenient" => "other scales count as scale (lenient)",
        _ => "other scales count as outside (strict)",
    };
    let colours = match document.named_colours {
        "chord" => "named colours count as chord tones",
        _ => "named colours count as scale",
    };
    let notes = format!("{} notes a take", document.needs);
    let takes = match document.takes {
        "any two" => "the best two takes count together",
        _ => "the best two of the last five together",
    };
    let model = document.has_model.then(|| row("model", "a take travels along", "barwise assign model FILE"));
    [row("needs", &notes, takes), format!("  {counting}; {colours}")].into_iter().chain(model).collect()
}

fn row(label: &str, value: &str, beside: &str) -> String {
    let pad =
        |text: &str, width: usize| format!("{text}{}", " ".repeat(width.saturating_sub(text.width()).max(1)));
    format!("  {}{}{beside}", pad(label, LABEL), pad(value, VALUE)).trim_end().to_owned()
}

/// A text behind its label, folded.
fn folded(label: &str, text: &str) -> Vec<String> {
    let lines = fold(text, WIDTH - LABEL - 2);
    let lines = lines.iter().enumerate();
    let line = |(index, line): (usize, &String)| row_of_text(if index == 0 { label } else { "" }, line);
    lines.map(line).collect()
}

fn row_of_text(label: &str, text: &str) -> String {
    format!("  {label:<LABEL$}{text}").trim_end().to_owned()
}
