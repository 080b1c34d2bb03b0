//! What may be said of weeks, in words behind labels: changes, trends, the tempi, what was left aside.
//!
//! Every figure comes from the [`ProgressDocument`].

use crate::report::number::percent;
use crate::report::progress::picture::{day_words, difference};
use crate::report::progress::{ChangeRecord, ChartRecord, GroupRecord, ProgressDocument, TrendRecord};
use crate::report::review::ShareRecord;
use crate::tally::verdict::Measure;
use crate::theory::spelling::Accidental;
use crate::theory::{NoteName, Pitch};

/// Fewest notes over a kind of chord for it to be named as the one with most open notes.
const FEWEST_NOTES: f64 = 40.0;

/// Labels with words behind them; an empty label goes on with what the one above says, both empty is a gap.
pub type Said = Vec<(String, String)>;

/// The title of a chart.
pub fn title(chart: &ChartRecord) -> String {
    let title: String = chart.title.chars().filter(|sign| !sign.is_control()).collect();
    if title.is_empty() { "chords without a title".to_owned() } else { title }
}

/// What a measure is called.
pub fn name(measure: &str) -> String {
    match measure {
        "landings" => "landings".to_owned(),
        "open" => "open notes".to_owned(),
        other => format!("{other} share"),
    }
}

/// What may be said of one chart; the trend is that of the share that is `drawn`.
pub fn one_chart(document: &ProgressDocument, chart: &ChartRecord, drawn: Measure) -> Said {
    let mut said: Said = chart.changes.iter().flat_map(change).collect();
    if chart.changes.is_empty() {
        said.push(("change".to_owned(), no_change_yet(chart).to_owned()));
    }
    said.extend(chart.trends.iter().filter(|trend| trend.measure == drawn.word()).map(trend));
    said.extend(most_open(&chart.kinds).map(|words| ("most open".to_owned(), words)));
    said.push((String::new(), String::new()));
    said.extend(tempi(chart));
    said.push(("played".to_owned(), played(chart)));
    said.extend(line_words(chart).map(|words| ("register".to_owned(), words)));
    said.push(("positions".to_owned(), positions(document)));
    said.extend(left_aside(chart));
    said
}

const fn no_change_yet(chart: &ChartRecord) -> &'static str {
    match (chart.weeks.len(), chart.counted.len()) {
        (0, _) => "nothing to compare yet: shares by week are of whole choruses",
        (_, 0 | 1) => "one week so far: what changed can be told from the second on",
        _ => "one week so far in this way of counting: what changed can be told from the second on",
    }
}

fn change(change: &ChangeRecord) -> Said {
    let played = if change.in_a_row { "" } else { " played" };
    let span = match change.weeks {
        1 => format!("last week{played} against the one before"),
        weeks => format!("last {weeks} weeks{played} against the {weeks} before"),
    };
    let interval = points_between(change.difference, change.low, change.high);
    let counts = if change.measure == "chord" {
        span
    } else {
        let (before, now) = (&change.before, &change.now);
        format!("{} of {}, then {} of {}", before.n, before.of, now.n, now.of)
    };
    let first = (name(change.measure), format!("{counts}:  {interval}  {}", change.finding));
    let all = change.before.baseline.zip(change.now.baseline);
    let all = all.map(|(before, now)| format!("all notes {}, then {}", percent(before), percent(now)));
    [first].into_iter().chain(all.map(|all| (String::new(), all))).collect()
}

fn trend(trend: &TrendRecord) -> (String, String) {
    let interval = points_between(trend.a_week, trend.low, trend.high);
    let words =
        format!("{}  {interval} a week over {} days  {}", name(trend.measure), trend.days, trend.finding);
    ("trend".to_owned(), words)
}

/// `+6 points (+2 to +10)`; with a decimal where the interval is narrow, or where an end would else pass for 0.
pub fn points_between(middle: f64, low: f64, high: f64) -> String {
    format!(
        "{} points ({} to {})",
        points(middle, low, high),
        points(low, low, high),
        points(high, low, high)
    )
}

fn points(value: f64, low: f64, high: f64) -> String {
    let is_fine = high - low < 0.04 || low.abs().min(high.abs()) < 0.005;
    let scale = if is_fine { 10.0 } else { 1.0 };
    let rounded = (value * 100.0 * scale).round() / scale;
    if rounded == 0.0 { "0".to_owned() } else { format!("{rounded:+}") }
}

/// The kind of chord with the greatest share of open notes, where there are others to set it against.
fn most_open(kinds: &[GroupRecord]) -> Option<String> {
    let told: Vec<&GroupRecord> = kinds.iter().filter(|kind| kind.counted.0 >= FEWEST_NOTES).collect();
    let share = |kind: &&GroupRecord| kind.open.share.unwrap_or_default();
    let most = told.iter().copied().max_by(|a, b| share(a).total_cmp(&share(b)))?;
    if told.len() < 2 || most.open.n.0 <= 0.0 {
        return None;
    }
    let (open, counted) =
        kinds.iter().fold((0.0, 0.0), |sum, kind| (sum.0 + kind.open.n.0, sum.1 + kind.counted.0));
    let (name, n, of) = (&most.name, most.open.n, most.counted);
    Some(format!(
        "over {name}: {n} of {of}, {}; all chords {} %",
        spread(&most.open),
        percent(open / counted)
    ))
}

fn tempi(chart: &ChartRecord) -> Option<(String, String)> {
    let climbed: Vec<String> = chart.climbed.iter().map(ToString::to_string).collect();
    let climbed = if climbed.is_empty() { "none yet".to_owned() } else { climbed.join("  ") };
    let label = if chart.bands_asked { "tempo with two takes met" } else { "tempo with two takes" };
    (!chart.tempi.is_empty()).then(|| (label.to_owned(), climbed))
}

fn played(chart: &ChartRecord) -> String {
    let played = &chart.played;
    let loops = match played.loops {
        0 => String::new(),
        loops => format!(" and {} of some bars", count(loops, "take")),
    };
    let (weeks, takes, time) =
        (count(played.weeks, "week"), count(played.takes, "take"), hours(played.seconds));
    format!("{weeks}, {takes}{loops}, {time}")
}

/// `3 h 10` or `12 min`.
fn hours(seconds: f64) -> String {
    let minutes = (seconds / 60.0).round() as u64;
    if minutes < 60 { format!("{minutes} min") } else { format!("{} h {:02}", minutes / 60, minutes % 60) }
}

fn line_words(chart: &ChartRecord) -> Option<String> {
    let line = chart.line.as_ref()?;
    let key = |key: u8| {
        let name = |pitch: Pitch| NoteName::plain(pitch.pitch_class(), Accidental::Flat);
        Pitch::new(key).map_or_else(String::new, |pitch| pitch.written(name(pitch)).to_string())
    };
    let [from, to] = line.middle.map(key);
    let (notes, rests) = ((line.notes_a_bar * 10.0).round() / 10.0, percent(line.rests));
    let (lowest, highest) = (key(line.lowest), key(line.highest));
    Some(format!(
        "{lowest} to {highest}, middle half {from}-{to}; {notes} notes a bar; rests {rests} % of beats"
    ))
}

fn positions(document: &ProgressDocument) -> String {
    let positions = &document.positions;
    if !positions.strings_known {
        return "not known: no take tells which strings were played".to_owned();
    }
    let oldest = positions.heard.first().map_or_else(String::new, |oldest| {
        let days = count(usize::try_from(oldest.days_ago).unwrap_or(0), "day");
        format!("; oldest: from {} in {}, {days}", oldest.start, oldest.key)
    });
    format!("{} of {} heard (12 keys x 7){oldest}", positions.heard.len(), positions.of)
}

/// What is not among the figures, and why.
fn left_aside(chart: &ChartRecord) -> Said {
    let mut said = Said::new();
    if !chart.other_tempi.is_empty() {
        let tempi = chart.other_tempi.iter().map(|at| format!("{} ({})", at.tempo, count(at.takes, "take")));
        let tempi = tempi.collect::<Vec<_>>().join(", ");
        said.push(("not compared".to_owned(), format!("tempo more than a tenth away: {tempi}")));
    }
    for pair in chart.counted.windows(2) {
        let words = difference(&pair[0], &pair[1]).replace("from here", &from(&pair[1].from));
        let remedy = match (pair[0].counting, pair[1].counting) {
            (old, new) if old != new => format!(". --counting {new} counts every take so"),
            _ => String::new(),
        };
        said.push(("counted".to_owned(), format!("{words}{remedy}")));
    }
    said.extend(chart.set_aside.iter().map(|aside| {
        let words = format!("ghosts {} %. Nothing counts against you", percent(aside.ghosts));
        (format!("take {} set aside", aside.take), words)
    }));
    said
}

fn from(day: &str) -> String {
    format!("from {}", day_words(day, true).trim_start())
}

/// What may be said of all charts together.
pub fn all_charts(document: &ProgressDocument) -> Said {
    let mut said = Said::new();
    if let Some(lift) = &document.lift {
        let charts = count(lift.charts, "chart");
        let words = format!(
            "{:+.2} a week ({:+.2} to {:+.2}) over {} days and {charts}  {}",
            lift.a_week, lift.low, lift.high, lift.days, lift.finding
        );
        said.push(("lift".to_owned(), words));
        let what =
            "chord share above running the scale, as log odds: charts of other chords can stand beside it";
        said.push((String::new(), what.to_owned()));
    }
    said.extend(most_open(&document.kinds).map(|words| ("most open".to_owned(), words)));
    said.push(("positions".to_owned(), positions(document)));
    said
}

/// `68 % (58-76)`, or nothing when nothing was counted.
pub fn spread(share: &ShareRecord) -> String {
    let parts = share.share.zip(share.low).zip(share.high);
    parts.map_or_else(String::new, |((share, low), high)| {
        format!("{} % ({}-{})", percent(share), percent(low), percent(high))
    })
}

fn count(number: usize, word: &str) -> String {
    if number == 1 { format!("1 {word}") } else { format!("{number} {word}s") }
}
