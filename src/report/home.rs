//! The home document: what there is to play, the charts with what became of them, what was found to play on.

use jiff::civil::Date;

use super::number::{Count, percent};
use super::reading::ReadingDocument;
use crate::practice::pauses::DUE_AFTER_MINUTES;
use crate::statistics::{Level, wilson};
use crate::tally::verdict::FEWEST_NOTES;

/// What home shows.
#[derive(Clone, Debug, PartialEq)]
pub struct HomeDocument {
    /// Which day it is.
    pub today: Date,
    /// What hears the player.
    pub notes_in: String,
    /// What sounds.
    pub sound_out: String,
    /// What is to be played today, the most pressing first.
    pub to_play: Vec<ToPlay>,
    /// The charts there are.
    pub charts: Vec<ChartRow>,
    /// Minutes played today since the last pause.
    pub minutes: f64,
    /// Whether nothing was ever played here.
    pub is_first_run: bool,
}

/// Something to play today.
#[derive(Clone, Debug, PartialEq)]
pub struct ToPlay {
    /// What, in a few words.
    pub what: String,
    /// When it was last played, in words; `-` where never.
    pub last: String,
    /// Why it is here.
    pub why: String,
    /// Which of the charts it is of, if it is of one.
    pub chart: Option<usize>,
}

/// A chart with what became of it.
#[derive(Clone, Debug, PartialEq)]
pub struct ChartRow {
    /// The title.
    pub title: String,
    /// Its key signature; `-` without one.
    pub key: String,
    /// Bars of one time through.
    pub bars: usize,
    /// How the band moves.
    pub feel: String,
    /// Quarter notes a minute.
    pub tempo: f64,
    /// Takes that were kept.
    pub takes: u32,
    /// The chord share of the last one, in words; `-` where there is none.
    pub share: String,
    /// In which keys its bars are heard.
    pub regions: String,
    /// What became of the last take, in words.
    pub last_take: Option<String>,
}

/// `68 % (58-76)`, or that so few notes tell nothing.
pub fn share_words(chord: f64, effect: f64, counted: f64) -> String {
    if counted < FEWEST_NOTES {
        return format!("no verdict: {} notes", Count(counted));
    }
    let interval = wilson(chord / effect, counted / effect, Level::ONE);
    interval.map_or_else(
        || "-".to_owned(),
        |interval| {
            format!("{} % ({}-{})", percent(chord / counted), percent(interval.low), percent(interval.high))
        },
    )
}

/// `key Eb, bars 9-12 in G, 13-15 in Gm`: the key of the whole, and where its bars leave it.
pub fn region_words(reading: &ReadingDocument) -> String {
    let home = reading.home.as_deref();
    let whole = home.map_or_else(|| "no key".to_owned(), |key| format!("key {}", short_key(key)));
    let elsewhere: Vec<String> = stretches(reading)
        .into_iter()
        .filter(|&(key, ..)| Some(key) != home)
        .map(|(key, first, last)| {
            let bars = if first == last { first.to_string() } else { format!("{first}-{last}") };
            if key == "modal" { format!("{bars} modal") } else { format!("{bars} in {}", short_key(key)) }
        })
        .collect();
    if elsewhere.is_empty() { whole } else { format!("{whole}, bars {}", elsewhere.join(", ")) }
}

/// Keys with their first and last bars; neighbours in one key are one stretch.
fn stretches(reading: &ReadingDocument) -> Vec<(&str, usize, usize)> {
    let mut stretches: Vec<(&str, usize, usize)> = Vec::new();
    for region in &reading.regions {
        match stretches.last_mut() {
            Some((key, _, last)) if *key == region.key => *last = region.last_bar,
            _ => stretches.push((&region.key, region.first_bar, region.last_bar)),
        }
    }
    stretches
}

/// `Eb major` is `Eb`, `G minor` is `Gm`, as headers write keys.
fn short_key(key: &str) -> String {
    match key.split_once(' ') {
        Some((tonic, "major")) => tonic.to_owned(),
        Some((tonic, "minor")) => format!("{tonic}m"),
        _ => key.to_owned(),
    }
}

impl HomeDocument {
    /// What is said of the time played today, where anything has to be: as 25 minutes without a pause come near.
    pub fn pause(&self) -> Option<String> {
        const NEAR: f64 = 10.0;
        let minutes = self.minutes.floor();
        if self.minutes >= DUE_AFTER_MINUTES {
            Some(format!("{minutes} minutes played without a pause: a pause of 5 is due."))
        } else if self.minutes >= DUE_AFTER_MINUTES - NEAR {
            Some(format!("{minutes} of {DUE_AFTER_MINUTES} minutes played: a pause of 5 is due soon."))
        } else {
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_of_few_notes_is_no_share() {
        assert_eq!(share_words(20.0, 1.0, 31.0), "no verdict: 31 notes");
        // Newcombe, "Two-sided confidence intervals for the single proportion" (1998): 81 of 263.
        assert_eq!(share_words(81.0, 1.0, 263.0), "31 % (26-37)");
    }

    #[test]
    fn a_pause_is_named_as_it_comes_near() {
        let home = |minutes| HomeDocument {
            today: jiff::civil::date(2026, 12, 1),
            notes_in: String::new(),
            sound_out: String::new(),
            to_play: Vec::new(),
            charts: Vec::new(),
            minutes,
            is_first_run: false,
        };
        assert_eq!(home(14.9).pause(), None);
        assert_eq!(home(22.4).pause().as_deref(), Some("22 of 25 minutes played: a pause of 5 is due soon."));
        let due = "31 minutes played without a pause: a pause of 5 is due.";
        assert_eq!(home(31.0).pause().as_deref(), Some(due));
    }

    #[test]
    fn keys_are_short() {
        assert_eq!(
            ["Eb major", "G minor", "F blues", "modal"].map(short_key),
            ["Eb", "Gm", "F blues", "modal"]
        );
    }
}
