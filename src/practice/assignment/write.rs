//! Writing an assignment: what the student sees as comments at the top, word for word; below it the keys that are read.

use crate::chart::header::key_text;
use crate::tally::{Counting, NamedColours};

use super::{Assignment, TakesAsked};
use crate::practice::sent_take::SentTake;

impl Assignment {
    /// The file: `seen` are the lines that the student sees.
    pub fn to_text(&self, seen: &[String]) -> String {
        let mut lines: Vec<String> = seen
            .iter()
            .map(|line| format!("# {line}").trim_end().to_owned())
            .chain([String::new()])
            .collect();
        let (rule, settings): (Vec<_>, Vec<_>) =
            self.rule_lines().into_iter().partition(|(key, _)| !key.starts_with(SETTINGS));
        let keys = self.word_lines().into_iter().chain(rule);
        lines.extend(keys.map(|(key, value)| format!("{key} = {value}")));
        if !settings.is_empty() {
            lines.extend([String::new(), "[settings]".to_owned()]);
        }
        let key = |(key, value): (String, String)| format!("{} = {value}", key.trim_start_matches(SETTINGS));
        lines.extend(settings.into_iter().map(key));
        if let Some(model) = &self.model {
            let said = "# Your teacher's own take. To hear it: barwise assign model";
            lines.extend([String::new(), said.to_owned(), "[model]".to_owned(), model.to_toml()]);
        }
        lines.join("\n").trim_end().to_owned() + "\n"
    }

    /// Everything that decides a verdict, each as its key and its value in TOML.
    pub(super) fn rule_lines(&self) -> Vec<(String, String)> {
        let mut lines = Vec::new();
        let mut line = |key: &str, value: String| lines.push((key.to_owned(), value));
        let task = &self.task;
        if let Some(chart) = &task.chart {
            line("chart", quoted_lines(chart));
        }
        if !task.keys.is_empty() {
            line("key", quoted(&task.keys.iter().map(|&key| key_text(key)).collect::<Vec<_>>().join(", ")));
        }
        if let Some((first, last)) = task.bars {
            line("bars", quoted(&format!("{first}-{last}")));
        }
        if let Some(tempo) = task.tempo {
            line("tempo", quoted(&tempo.to_string()));
        }
        if let Some(feel) = task.feel {
            line("feel", quoted(feel.name()));
        }
        if let Some(choruses) = task.choruses {
            line("choruses", choruses.to_string());
        }
        for (measure, band) in &self.bands.bands {
            let high = if band.high() < 1.0 { percent(band.high()).to_string() } else { String::new() };
            line(measure.word(), quoted(&format!("{}-{high}", percent(band.low()))));
        }
        line("needs", self.bands.needs.to_string());
        if let Some(counting) = self.counting {
            line("counting", quoted(Counting::word(counting)));
        }
        if let Some(colours) = self.named_colours {
            line("named_colours", quoted(if colours == NamedColours::Scale { "scale" } else { "chord" }));
        }
        line("takes", quoted(TakesAsked::words(self.takes)));
        for (key, value) in &self.settings {
            line(&format!("{SETTINGS}{key}"), value.to_string());
        }
        lines
    }

    fn word_lines(&self) -> Vec<(String, String)> {
        let words = &self.words;
        let texts = [
            ("title", &words.title),
            ("focus", &words.focus),
            ("question", &words.question),
            ("comment", &words.comment),
        ];
        let text = texts.into_iter().filter_map(|(key, text)| Some((key.to_owned(), quoted(text.as_ref()?))));
        let number = words.number.map(|number| ("number".to_owned(), number.to_string()));
        let due = words.due.map(|due| ("due".to_owned(), due.to_string()));
        text.chain(number).chain(due).collect()
    }
}

/// What the key of a setting begins with where all keys stand in one list.
const SETTINGS: &str = "settings.";

/// Percent as they were written: without a point where there is none.
fn percent(share: f64) -> f64 {
    (share * 1e6).round() / 1e4
}

/// A text as TOML has it on one line.
pub(super) fn quoted(text: &str) -> String {
    toml::Value::from(text).to_string()
}

/// A text of several lines as it stands, where TOML can hold it so.
fn quoted_lines(text: &str) -> String {
    let plain = text.chars().all(|sign| sign == '\n' || sign == '\t' || !sign.is_control());
    if plain && !text.contains("'''") && !text.ends_with('\'') {
        format!("'''\n{text}'''")
    } else {
        quoted(text)
    }
}

impl SentTake {
    /// The take as lines of TOML.
    pub fn to_toml(&self) -> String {
        // A table of numbers and texts is always TOML.
        toml::to_string_pretty(self).unwrap_or_default()
    }
}
