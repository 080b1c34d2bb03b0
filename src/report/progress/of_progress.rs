//! From what became of the takes to the document: every figure is looked up.

use crate::theory::Written;
use jiff::civil::Date;

use crate::practice::progress::{
    Change, ChartProgress, Coverage, GroupRow, Ladder, LiftTrend, MeasureTrend, Played, Progress, Touch, Way,
    Week, days_since,
};
use crate::statistics::Pooled;
use crate::tally::RECORDED_SOLOISTS;
use crate::tally::verdict::Measure;

use super::super::number::{Count, thousandths};
use super::super::review::{ShareRecord, TOOL};
use super::{
    CHANGE, ChangeRecord, ChartRecord, GroupRecord, LandingsOverTakes, LiftRecord, LineRecord,
    NO_CLEAR_CHANGE, PlayedRecord, PositionRecord, PositionsRecord, ProgressDocument, SetAsideRecord,
    SideRecord, TempoRecord, TrendRecord, WayRecord, WeekRecord,
};

/// What a tone mix is, and is not.
pub const CAUTION: &str = "A tone mix is a study focus, not a measure of music.";

impl From<&Progress> for ProgressDocument {
    fn from(progress: &Progress) -> Self {
        let groups = |rows: &[GroupRow]| rows.iter().map(GroupRecord::from).collect();
        Self {
            schema: "barwise.progress",
            version: 1,
            tool: TOOL,
            today: progress.today.to_string(),
            since: progress.since.map(|day| day.to_string()),
            recorded_soloists: [RECORDED_SOLOISTS.0, RECORDED_SOLOISTS.1],
            charts: progress.charts.iter().map(ChartRecord::from).collect(),
            kinds: groups(&progress.kinds),
            keys: groups(&progress.keys),
            positions: positions(&progress.coverage, progress.today),
            lift: progress.lift.as_ref().map(LiftRecord::from),
            caution: CAUTION,
            written: Written::C,
        }
    }
}

impl From<&ChartProgress> for ChartRecord {
    fn from(chart: &ChartProgress) -> Self {
        let groups = |rows: &[GroupRow]| rows.iter().map(GroupRecord::from).collect();
        Self {
            title: chart.title.clone(),
            form_sha256: chart.form_sha256.clone(),
            keys: chart.keys.clone(),
            feel: chart.feel.clone(),
            played: PlayedRecord::from(&chart.played),
            tempi_compared: chart.tempi.map(|(slowest, fastest)| [slowest, fastest]),
            other_tempi: chart
                .other_tempi
                .iter()
                .map(|&(tempo, takes)| tempo_record(tempo, takes, None))
                .collect(),
            set_aside: chart
                .set_aside
                .iter()
                .map(|aside| SetAsideRecord { take: aside.take, ghosts: aside.ghosts })
                .collect(),
            counted: chart.ways.iter().map(WayRecord::from).collect(),
            running_the_scale: chart.running_the_scale,
            weeks: chart.weeks.iter().filter_map(week).collect(),
            changes: chart.changes.iter().map(ChangeRecord::from).collect(),
            trends: chart.trends.iter().map(TrendRecord::from).collect(),
            kinds: groups(&chart.kinds),
            regions: groups(&chart.regions),
            tempi: tempi(&chart.ladder),
            bands_asked: chart.ladder.asked,
            climbed: chart.ladder.climbed().collect(),
            line: chart.touch.as_ref().map(LineRecord::from),
        }
    }
}

impl From<&Played> for PlayedRecord {
    fn from(played: &Played) -> Self {
        Self {
            takes: played.whole,
            loops: played.looped,
            seconds: thousandths(played.seconds),
            days: played.days,
            weeks: played.weeks,
            first: played.first.to_string(),
            last: played.last.to_string(),
        }
    }
}

impl From<&Way> for WayRecord {
    fn from(way: &Way) -> Self {
        Self {
            rules: way.rules,
            counting: way.counting.word(),
            settings_sha256: way.settings_sha256.clone(),
            from: way.from.to_string(),
            takes: way.takes,
        }
    }
}

fn share(pooled: Pooled) -> ShareRecord {
    let interval = pooled.interval();
    ShareRecord {
        n: Count(pooled.n),
        share: pooled.share(),
        low: interval.map(|interval| interval.low),
        high: interval.map(|interval| interval.high),
        design_effect: pooled.factor,
    }
}

fn landings(pooled: Pooled, guide_tones: f64, counted: f64) -> LandingsOverTakes {
    let ShareRecord { n, share, low, high, .. } = share(pooled);
    let baseline = (counted > 0.0).then(|| guide_tones / counted);
    LandingsOverTakes { n, of: Count(pooled.of), share, low, high, baseline }
}

fn week(week: &Week) -> Option<WeekRecord> {
    let of = |measure| week.share(measure).map(share);
    Some(WeekRecord {
        monday: week.monday.to_string(),
        counted_as: week.way,
        takes: week.takes,
        counted: Count(week.counted),
        chord: of(Measure::Chord)?,
        scale: of(Measure::Scale)?,
        outside: of(Measure::Outside)?,
        resolved: of(Measure::Resolved)?,
        open: of(Measure::Open)?,
        landings: landings(week.share(Measure::Landings)?, week.guide_tones, week.counted),
    })
}

/// What may be said of a difference or a slope.
const fn finding(is_change: bool) -> &'static str {
    if is_change { CHANGE } else { NO_CLEAR_CHANGE }
}

impl From<&Change> for ChangeRecord {
    fn from(change: &Change) -> Self {
        let compared = change.compared;
        let side = |pooled: Pooled, baseline| SideRecord {
            n: Count(pooled.n),
            of: Count(pooled.of),
            share: pooled.share(),
            baseline,
        };
        Self {
            measure: change.measure.word(),
            weeks: change.weeks,
            from: [change.from.0.to_string(), change.from.1.to_string()],
            in_a_row: change.in_a_row,
            takes: [change.takes.0, change.takes.1],
            before: side(compared.before, change.all_notes.map(|all| all.0)),
            now: side(compared.now, change.all_notes.map(|all| all.1)),
            difference: compared.difference,
            low: compared.interval.low,
            high: compared.interval.high,
            finding: finding(compared.is_change()),
        }
    }
}

impl From<&MeasureTrend> for TrendRecord {
    fn from(trend: &MeasureTrend) -> Self {
        let interval = trend.trend.interval;
        Self {
            measure: trend.measure.word(),
            days: trend.days,
            a_week: trend.trend.slope,
            low: interval.low,
            high: interval.high,
            finding: finding(trend.trend.is_change()),
        }
    }
}

impl From<&LiftTrend> for LiftRecord {
    fn from(lift: &LiftTrend) -> Self {
        let interval = lift.trend.interval;
        Self {
            days: lift.days,
            charts: lift.charts,
            last: lift.last,
            a_week: lift.trend.slope,
            low: interval.low,
            high: interval.high,
            finding: finding(lift.trend.is_change()),
        }
    }
}

impl From<&GroupRow> for GroupRecord {
    fn from(row: &GroupRow) -> Self {
        Self {
            name: row.name.clone(),
            takes: row.takes,
            counted: Count(row.counted),
            chord: share(row.chord),
            open: share(row.open),
            landings: landings(row.landings, row.guide_tones, row.counted),
        }
    }
}

fn tempi(ladder: &Ladder) -> Vec<TempoRecord> {
    let rungs = ladder.rungs.iter();
    rungs.map(|rung| tempo_record(rung.tempo, rung.takes, ladder.asked.then_some(rung.met))).collect()
}

const fn tempo_record(tempo: f64, takes: usize, met: Option<usize>) -> TempoRecord {
    TempoRecord { tempo, takes, met }
}

fn positions(coverage: &Coverage, today: Date) -> PositionsRecord {
    let heard = coverage.heard.iter().map(|position| PositionRecord {
        key: position.key.clone(),
        start: position.start.clone(),
        last: position.last.to_string(),
        days_ago: days_since(position.last, today),
        takes: position.takes,
    });
    PositionsRecord { strings_known: coverage.strings_known, of: coverage.of, heard: heard.collect() }
}

impl From<&Touch> for LineRecord {
    fn from(touch: &Touch) -> Self {
        Self {
            lowest: touch.lowest,
            middle: [touch.middle.0, touch.middle.1],
            highest: touch.highest,
            notes_a_bar: thousandths(touch.notes_a_bar),
            rests: thousandths(touch.rests),
            longest_run_beats: thousandths(touch.longest_run),
        }
    }
}
