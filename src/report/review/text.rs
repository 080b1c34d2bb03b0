//! The review as words and rows: the summary, the bars, one note's reason, what is not judged.
//!
//! Every figure comes from the [`Review`] document.

use crate::report::band::BandRecord;
use crate::report::cautions::{FOCUS, HEARING, STRAIN};
use crate::report::number::{Count, percent};
use crate::report::review::{ChordRecord, LandingRecord, NoteRecord, Review, ShareRecord, Totals};
use crate::report::table::{Cell, Column, Row, Table};
use crate::report::takes::EnteredRecord;
use crate::report::theme::Role;
use crate::tally::verdict::FEWEST_NOTES;

/// The head of a report: what was judged, over what, how.
pub fn heading(review: &Review) -> String {
    let chart = &review.chart;
    let source = match (&review.source.take, &review.source.file) {
        (Some(take), _) => format!("take {take}"),
        (None, Some(file)) => file.clone(),
        (None, None) => "a take that is not kept".to_owned(),
    };
    let title = if chart.title.is_empty() { "chords of the file" } else { &chart.title };
    let counted = plural(review.totals.counted, "note");
    let tempo = chart.tempo.round();
    let title =
        [Some(title.to_owned()), chart.written_for()].into_iter().flatten().collect::<Vec<_>>().join("   ");
    format!("{title}   {source}   tempo {tempo}   {counted}   {}", review.settings.counting)
}

/// The shares as a table: count, share, interval, and what stands beside it.
pub fn shares(review: &Review) -> Table {
    let totals = &review.totals;
    let columns =
        [Column::words("layer"), Column::words("notes"), Column::words("share"), Column::words("beside it")];
    let mut table = Table::new(columns);
    let mut row = |name: &str, role, share: &ShareRecord, beside: String| {
        let count = format!("{} of {}", share.n, totals.counted);
        table.push(Row::new([Cell::marked(name, role), count.into(), interval(share).into(), beside.into()]));
    };
    row("chord", Role::Chord, &totals.chord, beside_chord(totals));
    row("scale", Role::Scale, &totals.scale, beside_scale(review));
    row("outside", Role::Outside, &totals.outside, beside_outside(totals));
    let landings = &totals.landings;
    let share = landings
        .share
        .zip(landings.low)
        .zip(landings.high)
        .map(|((share, low), high)| spread(share, low, high));
    let baseline = landings.baseline.map_or_else(String::new, |all| format!("   all notes {}", percent(all)));
    let count = format!("{} of {}", landings.n, landings.of);
    let beside = format!("on the 3 or 7 of the new chord{baseline}");
    table.push(Row::new(["landings".into(), count.into(), share.unwrap_or_default().into(), beside.into()]));
    table
}

/// The shares as sentences.
pub fn summary_sentences(review: &Review) -> Vec<String> {
    let totals = &review.totals;
    if totals.counted.0 <= 0.0 {
        return Vec::new();
    }
    let said = |name: &str, share: &ShareRecord, beside: String| {
        format!("{name}: {} of {}, {}; {beside}", share.n, totals.counted, interval(share))
    };
    let landings = &totals.landings;
    let baseline =
        landings.baseline.map_or_else(String::new, |all| format!("; all notes {} %", percent(all)));
    vec![
        said("chord", &totals.chord, beside_chord(totals)),
        said("scale", &totals.scale, beside_scale(review)).trim_end_matches("; ").to_owned(),
        said("outside", &totals.outside, beside_outside(totals)),
        format!("landings: {} of {} changes on the 3 or 7{baseline}", landings.n, landings.of),
    ]
}

fn beside_chord(totals: &Totals) -> String {
    let [low, high] = totals.recorded_soloists.map(percent);
    let running = totals
        .running_the_scale
        .map_or_else(String::new, |share| format!("running the scale {}   ", percent(share)));
    format!("{running}recorded soloists {low}-{high}")
}

fn beside_scale(review: &Review) -> String {
    let other = &review.totals.other;
    if other.n.0 > 0.0 { format!("and {} from another scale (~)", other.n) } else { String::new() }
}

fn beside_outside(totals: &Totals) -> String {
    format!("{} resolved (>), {} open (?)", totals.resolved.n, totals.open.n)
}

/// `68 % (58-76)`, or nothing when nothing was counted.
fn interval(share: &ShareRecord) -> String {
    let parts = share.share.zip(share.low).zip(share.high);
    parts.map_or_else(String::new, |((share, low), high)| spread(share, low, high))
}

pub(in crate::report) fn spread(share: f64, low: f64, high: f64) -> String {
    format!("{} % ({}-{})", percent(share), percent(low), percent(high))
}

/// What to practise next: a number, what to do, the counts behind it.
pub fn next_lines(review: &Review) -> Vec<String> {
    let numbered = (1..).zip(&review.next);
    numbered.map(|(number, next)| format!("next {number}: {}. {}", next.what, next.why)).collect()
}

/// What was found about the whole line, in sentences.
pub fn findings(review: &Review) -> Vec<String> {
    beside_figures(review)
        .chain(fits(review))
        .chain([rests(review)])
        .chain(left_out(&review.totals))
        .chain(entered(review))
        .collect()
}

/// What the player said of the take and keeps of it, each a sentence of its own.
fn entered(review: &Review) -> impl Iterator<Item = String> {
    review.entered.iter().flat_map(EnteredRecord::words).map(|words| {
        let mut letters = words.chars();
        let first = letters.next().map(|first| first.to_ascii_uppercase());
        first.into_iter().chain(letters).collect()
    })
}

/// What bears upon the figures: gaps, too few notes, notes struck together.
pub(in crate::report) fn beside_figures(review: &Review) -> impl Iterator<Item = String> {
    let gaps = review.warnings.iter().filter(|warning| warning.is_beside_figures());
    let gaps = gaps.map(|warning| warning.message.clone());
    gaps.chain(band(review)).chain(few(&review.totals)).chain(parts_of_notes(review))
}

/// How the band played, where something was asked of it, and the keys.
fn band(review: &Review) -> impl Iterator<Item = String> {
    let asked = review.band.as_ref().map(BandRecord::words).filter(|words| !words.is_empty());
    let asked = asked.map(|words| format!("How it was played: {}.", words.join("; ")));
    let choruses = review.bars.iter().flatten().map(|bar| bar.chorus).max();
    let through = review.chart.keys.as_deref().zip(choruses).map(|(keys, choruses)| {
        let keys = &keys[..keys.len().min(choruses as usize)];
        format!("Each chorus in its key: {}.", keys.join(" "))
    });
    asked.into_iter().chain(through)
}

/// Where the line over a chord fits another scale better.
pub(in crate::report) fn fits(review: &Review) -> impl Iterator<Item = String> {
    review.totals.fits.iter().map(|fit| {
        let more = plural(fit.notes_more, "note");
        format!("Your line over {} ({}) fits {}: {more} more.", fit.symbol, fit.function, fit.scale)
    })
}

/// Fewer notes than any verdict is given on: a share of them says little.
fn few(totals: &Totals) -> Option<String> {
    let counted = totals.counted;
    let few = counted.0 > 0.0 && counted.0 < FEWEST_NOTES;
    few.then(|| {
        format!("Shares of {} are uncertain: see how wide their intervals are.", plural(counted, "note"))
    })
}

/// Where a count is no whole number: why.
fn parts_of_notes(review: &Review) -> Option<String> {
    let of_chords = review.chords.iter().flatten();
    let of_chords = of_chords.flat_map(|chord| [chord.chord, chord.scale_notes, chord.other, chord.outside]);
    let totals = &review.totals;
    let of_all = [&totals.chord, &totals.scale, &totals.other, &totals.outside].map(|share| share.n);
    let in_parts = of_chords.chain(of_all).any(|count| count.0.fract() != 0.0);
    in_parts.then(|| "Notes struck together count as one between them: of two, each as a half.".to_owned())
}

fn rests(review: &Review) -> String {
    let rests = &review.totals.rests;
    let longest = plural(Count(rests.longest_run_beats), "beat");
    let beats = Count(rests.beats);
    format!(
        "{beats} of {} beats of rest; the longest stretch without one is {longest}.{}",
        rests.of,
        beat_of(&review.chart.meter)
    )
}

/// What a beat is, where it is no quarter note: the lower number of the meter says it.
fn beat_of(meter: &str) -> String {
    let lower = meter.split_once('/').map_or("", |(_, lower)| lower);
    let notes = [
        ("1", "a whole note"),
        ("2", "a half note"),
        ("8", "an eighth"),
        ("16", "a sixteenth"),
        ("32", "a thirty-second"),
    ];
    let note = notes.iter().find(|(number, _)| *number == lower);
    note.map_or_else(String::new, |(_, note)| format!(" A beat of {meter} is {note} here."))
}

pub(in crate::report) fn left_out(totals: &Totals) -> Option<String> {
    let reasons = [
        (totals.left_out.ghost, "ghost"),
        (totals.left_out.ornament, "ornament"),
        (totals.left_out.retrigger, "re-trigger"),
        (totals.left_out.between, "between pitches"),
        (totals.left_out.no_chord, "where no chord sounds"),
        (totals.left_out.count_in, "in the count-in"),
        (totals.left_out.head, "in the tune"),
        (totals.left_out.not_yours, "in the other player's bars"),
    ];
    let said: Vec<String> = reasons
        .iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, what)| format!("{count} {what}"))
        .collect();
    (!said.is_empty()).then(|| format!("Left out, shown but not counted: {}.", said.join(", ")))
}

/// How the scale of a row is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ScaleNames {
    /// With its root: `Eb ionian`.
    Full,
    /// Without the root, which the chord says already.
    Short,
}

/// Which rows of the bars are wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rows {
    /// This chorus only; else all, with a column that tells them apart.
    pub chorus: Option<u32>,
    /// This bar only.
    pub bar: Option<usize>,
    /// How scales are written.
    pub scales: ScaleNames,
}

/// A row for each sounding of a chord: its notes in order, the counts, and how the change was met.
pub fn bars(review: &Review, rows: Rows) -> Table {
    let chorus = rows.chorus.is_none().then(|| Column::numbers("chorus"));
    let words = [
        Column::numbers("bar"),
        Column::words("chord"),
        Column::words("scale"),
        Column::words("notes in order"),
    ];
    let counts = [
        Column::numbers("c").called("chord"),
        Column::numbers("s").called("scale"),
        Column::numbers("x").called("outside"),
        Column::words("land").called("landed"),
    ];
    let mut table = Table::new(chorus.into_iter().chain(words).chain(counts));
    let wanted = |chord: &&ChordRecord| {
        rows.chorus.is_none_or(|chorus| chord.chorus == chorus) && rows.bar.is_none_or(|bar| chord.bar == bar)
    };
    for chord in review.chords.iter().flatten().filter(wanted) {
        table.push(bar_row(review, chord, rows));
    }
    table
}

fn bar_row(review: &Review, chord: &ChordRecord, rows: Rows) -> Row {
    let notes = notes_over(review, chord);
    let marks = notes.iter().map(|note| mark(note)).collect::<Vec<_>>();
    let inside = Count(chord.scale_notes.0 + chord.other.0);
    let scale = chord.scale.as_deref().unwrap_or_default();
    let scale = match (rows.scales, scale.split_once(' ')) {
        (ScaleNames::Short, Some((root, name))) if root.len() <= 3 => name,
        _ => scale,
    };
    let chorus = rows.chorus.is_none().then(|| Cell::from(chord.chorus.to_string()));
    let cells = [
        chord.bar.to_string().into(),
        chord_name(&chord.symbol).into(),
        scale.into(),
        Cell::line(marks),
        chord.chord.to_string().into(),
        inside.to_string().into(),
        chord.outside.to_string().into(),
        landing(chord).into(),
    ];
    Row::new(chorus.into_iter().chain(cells))
}

/// The notes that belong to one sounding of a chord, in order.
pub fn notes_over<'a>(review: &'a Review, chord: &ChordRecord) -> Vec<&'a NoteRecord> {
    let belongs = |note: &&NoteRecord| {
        note.counted && note.chord_index == Some(chord.chord_index) && note.chord_chorus == Some(chord.chorus)
    };
    review.notes.iter().flatten().filter(belongs).collect()
}

/// A note in a line of notes: `[b3]` a chord tone, `9` a scale tone, `#11~` of another scale, `b9>` outside and resolved,
/// `b9?` open; `<` before it when it came early.
pub fn mark(note: &NoteRecord) -> (String, Role) {
    let degree = note.degree.as_deref().unwrap_or_default();
    let early = if note.early { "<" } else { "" };
    match (note.class, note.tag) {
        ("chord", _) => (format!("{early}[{degree}]"), Role::Chord),
        ("scale", _) => (format!("{early}{degree}"), Role::Scale),
        ("other", _) => (format!("{early}{degree}~"), Role::Scale),
        (_, Some("resolved")) => (format!("{early}{degree}>"), Role::Outside),
        _ => (format!("{early}{degree}?"), Role::Outside),
    }
}

/// Whose bar it is, where it is not the player's.
fn whose(chord: &ChordRecord) -> &'static str {
    match chord.kept_out {
        None => "",
        Some("head") => "tune",
        Some(_) => "drums",
    }
}

/// How the change to a chord was met, in a column: `* b7`, `  11`, `none`, `same`.
pub fn landing(chord: &ChordRecord) -> String {
    match &chord.landing {
        _ if chord.kept_out.is_some() => whose(chord).to_owned(),
        // Where no chord sounds, none goes on.
        None if chord.scale.is_none() => String::new(),
        // The first chord of all is no change, and nothing goes on either.
        None if (chord.chorus, chord.chord_index) == (1, 1) => String::new(),
        None => "same".to_owned(),
        Some(LandingRecord { degree: Some(degree), hit: Some(true), .. }) => format!("* {degree}"),
        Some(LandingRecord { degree: Some(degree), .. }) => format!("  {degree}"),
        Some(_) => "  none".to_owned(),
    }
}

/// One line a chord for screen readers and small windows: `bar 9 Am7: 7 notes, 5 chord, 2 outside resolved, landed b7`;
/// above each chorus its number, where there are several.
pub fn plain_lines(review: &Review, only_bar: Option<usize>) -> Vec<String> {
    let wanted = |chord: &&ChordRecord| only_bar.is_none_or(|bar| chord.bar == bar);
    let chords: Vec<&ChordRecord> = review.chords.iter().flatten().filter(wanted).collect();
    let titled = has_choruses(review);
    let choruses = chords.chunk_by(|a, b| a.chorus == b.chorus);
    let lines = choruses.flat_map(|chords| {
        let title = chords.first().filter(|_| titled).map(|chord| chorus_title(review, chord.chorus));
        title.into_iter().chain(chords.iter().map(|chord| plain_line(chord)))
    });
    lines.collect()
}

/// Whether the form was gone through more than once.
/// `chorus 3`, where the tune goes through keys with its key: `chorus 3  key Db`.
pub(in crate::report) fn chorus_title(review: &Review, chorus: u32) -> String {
    let key = review.chart.key_of_chorus(chorus);
    let key = key.map_or_else(String::new, |key| format!("  key {key}"));
    format!("chorus {chorus}{key}")
}

pub(in crate::report) fn has_choruses(review: &Review) -> bool {
    review.bars.iter().flatten().any(|bar| bar.chorus > 1)
}

fn plain_line(chord: &ChordRecord) -> String {
    let inside = chord.scale_notes.0 + chord.other.0;
    let all = chord.chord.0 + inside + chord.outside.0;
    let resolved = chord.outside.0 - chord.open.0;
    let counts =
        [(chord.chord.0, "chord"), (inside, "scale"), (resolved, "outside resolved"), (chord.open.0, "open")];
    let said = counts
        .iter()
        .filter(|(count, _)| *count > 0.0)
        .map(|(count, what)| format!(", {} {what}", hundredths(*count)));
    let landed = match &chord.landing {
        Some(LandingRecord { degree: Some(degree), hit: Some(true), .. }) => format!(", landed {degree}"),
        Some(LandingRecord { degree: Some(degree), .. }) => format!(", met on {degree}"),
        Some(_) => ", no note in its first beat".to_owned(),
        None => String::new(),
    };
    if chord.kept_out.is_some() {
        return format!("bar {} {}: {}, not counted", chord.bar, chord.symbol, whose(chord));
    }
    let all = hundredths(all);
    let notes = if all == "1" { "note" } else { "notes" };
    let name = chord_name(&chord.symbol);
    format!("bar {} {name}: {all} {notes}{}{landed}", chord.bar, said.collect::<String>())
}

/// A count of notes by which its parts still add up: of four notes struck together each is 0.25.
fn hundredths(count: f64) -> String {
    ((count * 100.0).round() / 100.0).to_string()
}

/// The symbol as written; before the first chord of a MIDI file there is none.
pub(in crate::report) const fn chord_name(symbol: &str) -> &str {
    if symbol.is_empty() { "no chord" } else { symbol }
}

/// What the marks and the short headings of the bars mean.
pub const LEGEND: &str = "[3] chord tone; 9 scale; #11~ another scale; b9> outside, resolved; b9? open; < came early; c s x: chord, scale, \
     outside; * landed on 3 or 7; same: no change; none: no note in the first beat of the chord.";

/// What is not judged, what the comparisons are, and the cautions.
pub fn foot() -> [&'static str; 6] {
    [
        "Running the scale: chord share when every scale note is played equally. All notes, beside landings: thirds and \
         sevenths among all counted notes. In brackets: the 95 % interval.",
        "Not judged: comping, time, tone, phrasing. Outside is a count, approach notes and all, not \"playing out\".",
        FOCUS,
        "Recorded soloists 48-57: chord share, middle half of 444 annotated solos with 40 notes or more. Weimar Jazz \
         Database (456 solos), our own count, one scale a chord. A comparison, not a target.",
        HEARING,
        STRAIN,
    ]
}

/// `1 note`, `2 notes`.
pub(in crate::report) fn plural(count: Count, what: &str) -> String {
    let count = count.to_string();
    if count == "1" { format!("{count} {what}") } else { format!("{count} {what}s") }
}
