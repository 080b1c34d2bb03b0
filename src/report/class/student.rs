//! One student of a class as the teacher reads it: the verdict and its bands, what is contested, the line that came along.

use crate::report::assignment::band_words;
use crate::report::class::StudentRecord;
use crate::report::number::percent;
use crate::report::output_form::OutputForm;
use crate::report::table::{Column, Row, Table};
use crate::report::verdict::BandRecord;

/// The text of one student in `form`.
pub fn page(student: &StudentRecord, form: OutputForm) -> String {
    let head = format!("{}   {}\n", student.student, facts(student).join("   "));
    let mut table = Table::new(["band", "asked", "heard", "verdict"].map(Column::words));
    for band in &student.bands {
        table.push(row(band));
    }
    for sentence in sentences(student) {
        table.note(sentence);
    }
    [form.signs().write(&head).into_owned(), table.text(form).unwrap_or_default()].join("\n")
}

fn facts(student: &StudentRecord) -> Vec<String> {
    let file = student.file.clone();
    let takes = (student.takes > 0).then(|| format!("takes {}", student.takes));
    let used: Vec<String> = student.used.iter().map(u32::to_string).collect();
    let used = (!used.is_empty()).then(|| format!("together: {}", used.join(", ")));
    let last = student.last_played.as_ref().map(|day| format!("last {day}"));
    [file, takes, used, last].into_iter().flatten().collect()
}

fn row(band: &BandRecord) -> Row {
    let share = band.share.map(|share| format!("{} %", percent(share)));
    let interval =
        band.low.zip(band.high).map(|(low, high)| format!(" ({}-{})", percent(low), percent(high)));
    let of = format!(", {} of {}", band.n, band.of);
    let heard = share.map_or_else(|| "-".to_owned(), |share| share + &interval.unwrap_or_default() + &of);
    Row::new([
        band.measure.into(),
        band_words(band.asked_low, band.asked_high).into(),
        heard.into(),
        band.verdict.into(),
    ])
}

fn sentences(student: &StudentRecord) -> Vec<String> {
    let granted =
        student.verdict_as_contested.map(|word| format!("With the contested notes granted: {word}."));
    let contests = student.contests.iter().map(|contest| {
        format!("Take {}, {}: heard as {}. {}", contest.take, contest.note, contest.heard_as, contest.reason)
    });
    let landings = student.landings.as_ref().map(|landings| {
        let all =
            landings.all_notes.map(|all| format!("; 3rds and 7ths among all notes: {} %", percent(all)));
        format!("Changes landed on: {} of {}{}.", landings.n, landings.of, all.unwrap_or_default())
    });
    let due = student.after_due.then(|| "Written after the day it was due.".to_owned());
    let gear = (!student.gear.is_empty()).then(|| format!("Instrument: {}.", student.gear.join(", ")));
    let talk = (!student.talk_about.is_empty()).then(|| format!("Talk about: {}.", student.talk_about));
    let note = student.note.as_ref().map(|note| format!("Their line: {note}"));
    [Some(student.sentence.clone()), landings, granted]
        .into_iter()
        .flatten()
        .chain(contests)
        .chain([due, gear, talk, note].into_iter().flatten())
        .collect()
}
