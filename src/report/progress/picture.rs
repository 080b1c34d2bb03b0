//! The weeks as a picture in signs: a dot and its interval a week, over the line of running the scale.

use unicode_width::UnicodeWidthStr;

use crate::report::number::percent;
use crate::report::progress::{ChartRecord, WayRecord, WeekRecord};
use crate::report::signs::Signs;
use crate::report::theme::{Ink, Role};
use crate::tally::verdict::Measure;

/// The narrowest picture, in columns; where there is less room the weeks stand as rows alone.
const NARROWEST: usize = 20;

/// Points between two marks of the scale.
const STEP: i64 = 10;

/// Columns that a mark of the scale needs.
const MARK: usize = 4;

/// What is drawn, and how wide.
#[derive(Clone, Copy, Debug)]
pub struct Frame {
    /// The share that is drawn.
    pub measure: Measure,
    /// Chord share of recorded soloists, drawn under chord shares.
    pub recorded_soloists: [f64; 2],
    /// Columns in all.
    pub width: usize,
    /// How marks stand out.
    pub ink: Ink,
    /// The signs that may be printed.
    pub signs: Signs,
}

/// A share with its ends, in percent.
#[derive(Clone, Copy)]
struct Shown {
    low: f64,
    share: f64,
    high: f64,
}

/// What a row holds before its picture, and what is drawn.
struct Line {
    cells: [String; 4],
    shown: Option<Shown>,
    /// What the share is held against, in percent.
    baseline: Option<f64>,
}

/// The weeks of a chart, one a row, `weeks` being those that are shown.
pub fn picture(chart: &ChartRecord, weeks: &[WeekRecord], frame: Frame) -> String {
    let with_year =
        weeks.first().map(|week| year(&week.monday)) != weeks.last().map(|week| year(&week.monday));
    let lines: Vec<Line> = weeks.iter().map(|week| line(week, chart, frame.measure, with_year)).collect();
    let heads = ["week", "takes", "notes", "share"].map(str::to_owned);
    let widths: [usize; 4] = std::array::from_fn(|column| {
        lines
            .iter()
            .map(|line| &line.cells[column])
            .chain([&heads[column]])
            .map(|cell| cell.width())
            .max()
            .unwrap_or(0)
    });
    let before = 1 + widths.iter().sum::<usize>() + 2 * 4;
    let scale = Scale::of(&lines, frame, frame.width.saturating_sub(before + 2));
    let drawn = scale.columns >= NARROWEST;
    let marks = if drawn { scale.marks() } else { String::new() };
    let mut rows = vec![row(&heads, widths, &frame.ink.paint(Role::Dim, &marks))];
    for (index, (week, line)) in weeks.iter().zip(&lines).enumerate() {
        if let Some(before) = index.checked_sub(1).map(|before| &weeks[before]) {
            rows.extend(broken(before, week, chart));
        }
        let drawing = if drawn { scale.drawing(line, frame) } else { String::new() };
        rows.push(row(&line.cells, widths, &drawing));
    }
    if drawn && frame.measure == Measure::Chord {
        rows.extend(
            scale.under(chart, frame).into_iter().map(|under| format!("{}{under}", " ".repeat(before))),
        );
    }
    let rows = rows.iter().map(|row| format!("{}\n", frame.signs.write(row.trim_end())));
    rows.collect()
}

fn row(cells: &[String; 4], widths: [usize; 4], drawing: &str) -> String {
    let [week, takes, notes, share] = cells;
    let [w, t, n, s] = widths;
    format!(" {week:<w$}  {takes:>t$}  {notes:>n$}  {share:<s$}  {drawing}")
}

fn line(week: &WeekRecord, chart: &ChartRecord, measure: Measure, with_year: bool) -> Line {
    let shown = shown(week, measure);
    let baseline = match measure {
        Measure::Chord => chart.running_the_scale,
        Measure::Landings => week.landings.baseline,
        Measure::Scale | Measure::Outside | Measure::Resolved | Measure::Open => None,
    };
    let words = shown.map_or_else(String::new, |Shown { low, share, high }| {
        format!("{} % ({}-{})", percent(share), percent(low), percent(high))
    });
    let cells = [day_words(&week.monday, with_year), week.takes.to_string(), week.counted.to_string(), words];
    Line { cells, shown, baseline }
}

/// The share that is drawn; `None` where nothing is counted.
fn shown(week: &WeekRecord, measure: Measure) -> Option<Shown> {
    let share = match measure {
        Measure::Landings => {
            let landings = &week.landings;
            return Some(Shown { low: landings.low?, share: landings.share?, high: landings.high? });
        }
        Measure::Chord => &week.chord,
        Measure::Scale => &week.scale,
        Measure::Outside => &week.outside,
        Measure::Resolved => &week.resolved,
        Measure::Open => &week.open,
    };
    Some(Shown { low: share.low?, share: share.share?, high: share.high? })
}

/// Says between two rows that takes were counted otherwise from there on.
fn broken(before: &WeekRecord, week: &WeekRecord, chart: &ChartRecord) -> Option<String> {
    let way = |week: &WeekRecord| chart.counted.get(week.counted_as);
    let (old, new) = way(before).zip(way(week)).filter(|(old, new)| old != new)?;
    Some(format!(" ── {} ──", difference(old, new)))
}

/// What differs between two ways of counting.
pub fn difference(old: &WayRecord, new: &WayRecord) -> String {
    if old.rules != new.rules {
        format!("counting rules {} from here, {} before: not compared", new.rules, old.rules)
    } else if old.counting != new.counting {
        format!("{} from here, {} before: not compared", new.counting, old.counting)
    } else {
        "other settings of counting from here: not compared".to_owned()
    }
}

/// `12 Oct`, with the year where several stand beside each other: `12 Oct 26`.
pub fn day_words(day: &str, with_year: bool) -> String {
    let Ok(date) = day.parse::<jiff::civil::Date>() else { return day.to_owned() };
    date.strftime(if with_year { "%e %b %y" } else { "%e %b" }).to_string()
}

fn year(day: &str) -> &str {
    day.get(..4).unwrap_or_default()
}

/// The scale from left to right, in percent.
#[derive(Clone, Copy)]
struct Scale {
    low: i64,
    high: i64,
    columns: usize,
}

impl Scale {
    fn of(lines: &[Line], frame: Frame, columns: usize) -> Self {
        let shown = lines.iter().filter_map(|line| line.shown);
        let ends = shown.flat_map(|shown| [shown.low, shown.high]);
        let baselines = lines.iter().filter_map(|line| line.baseline);
        let soloists = frame.recorded_soloists.into_iter().filter(|_| frame.measure == Measure::Chord);
        let all: Vec<f64> = ends.chain(baselines).chain(soloists).map(|share| share * 100.0).collect();
        let low = all.iter().copied().fold(f64::INFINITY, f64::min);
        let high = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if !low.is_finite() {
            return Self { low: 0, high: 100, columns };
        }
        let low = (low as i64).div_euclid(STEP) * STEP;
        let high = (high.ceil() as i64 + STEP - 1).div_euclid(STEP) * STEP;
        Self { low, high: high.max(low + STEP), columns }
    }

    /// The column of a share.
    fn column(self, share: f64) -> usize {
        let part = (share * 100.0 - self.low as f64) / (self.high - self.low) as f64;
        (part.clamp(0.0, 1.0) * (self.columns.max(1) - 1) as f64).round() as usize
    }

    fn marks(self) -> String {
        let steps = ((self.high - self.low) / STEP) as usize;
        let every = (1..=steps.max(1)).find(|every| self.columns * every / steps.max(1) >= MARK).unwrap_or(1);
        let mut text = String::new();
        for step in (0..=steps).step_by(every) {
            let points = self.low + step as i64 * STEP;
            let at = self.column(points as f64 / 100.0);
            text.push_str(&" ".repeat(at.saturating_sub(text.len())));
            text.push_str(&points.to_string());
        }
        text
    }

    fn drawing(self, line: &Line, frame: Frame) -> String {
        let mut signs: Vec<(&str, Option<Role>)> = vec![(" ", None); self.columns];
        if let Some(baseline) = line.baseline {
            signs[self.column(baseline)] = (":", Some(Role::Dim));
        }
        if let Some(Shown { low, share, high }) = line.shown {
            for (column, sign) in
                signs.iter_mut().enumerate().take(self.column(high) + 1).skip(self.column(low))
            {
                let crosses = line.baseline.is_some_and(|baseline| self.column(baseline) == column);
                *sign = if crosses { ("┼", Some(Role::Dim)) } else { ("─", None) };
            }
            signs[self.column(share)] = ("●", Some(dot(frame.measure)));
        }
        let painted = signs.iter().map(|(sign, role)| match role {
            Some(role) => frame.ink.paint(*role, sign),
            None => (*sign).to_owned(),
        });
        painted.collect()
    }

    /// What stands under the rows: the line of running the scale, and the recorded soloists.
    fn under(self, chart: &ChartRecord, frame: Frame) -> Vec<String> {
        let running = chart.running_the_scale.map(|share| {
            let words = format!("running the scale {}", percent(share));
            self.labelled(self.column(share), ":", &words)
        });
        let [low, high] = frame.recorded_soloists;
        let (from, to) = (self.column(low), self.column(high));
        let bracket = format!("└{}┘", "─".repeat(to.saturating_sub(from + 1)));
        let words = format!("recorded soloists {}-{}", percent(low), percent(high));
        let under = running.into_iter().chain([self.labelled(from, &bracket, &words)]).flatten();
        under.map(|line| frame.ink.paint(Role::Dim, &line)).collect()
    }

    /// A mark at a column, its words behind it where there is room, else before it, else under it.
    fn labelled(self, at: usize, mark: &str, words: &str) -> Vec<String> {
        let blanks = |columns: usize| " ".repeat(columns);
        if at + mark.width() + 1 + words.width() <= self.columns {
            return vec![format!("{}{mark} {words}", blanks(at))];
        }
        if let Some(before) = at.checked_sub(words.width() + 1) {
            return vec![format!("{}{words} {mark}", blanks(before))];
        }
        let under = at.min(self.columns.saturating_sub(words.width()));
        vec![format!("{}{mark}", blanks(at)), format!("{}{words}", blanks(under))]
    }
}

const fn dot(measure: Measure) -> Role {
    match measure {
        Measure::Chord | Measure::Landings => Role::Chord,
        Measure::Scale => Role::Scale,
        Measure::Outside | Measure::Resolved | Measure::Open => Role::Outside,
    }
}
