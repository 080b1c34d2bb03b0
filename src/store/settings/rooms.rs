//! From settings to the choices that the rooms are handed; none of them sees the settings themselves.

use std::sync::Arc;

use crate::judge::Choices;
use crate::take::CleanSettings;
use crate::take::clean::{GhostFilter, Latency};
use crate::tally::settings::{Enclosure, NamedColours, OctaveStep, PushShares};
use crate::tally::{self};
use crate::theory::Written;
use crate::time::NanoSpan;

use crate::practice::sent_take::OF_THE_INSTRUMENT;

use super::sources::typed;
use super::{Settings, TABLE};

/// Values of settings by their names.
type Named = serde_json::Map<String, serde_json::Value>;

impl Settings {
    /// Everything that a review is made with but what is kept for charts.
    pub fn choices(&self) -> Choices {
        let named = self.figures().into_iter().map(|(name, value)| (name.replace('-', "_"), value)).collect();
        Choices {
            tally: self.counting(),
            cleaning: self.cleaning(),
            bare: self.bare,
            kept: Arc::default(),
            brought_back: Vec::new(),
            written: Written::C,
            named,
        }
    }

    /// What a take is judged with for an assignment: the defaults, what the assignment says about counting (`rule`, by the
    /// names of settings), and of the take's own settings those of its instrument. A value that is not taken is passed
    /// over, as a file may be newer than the program.
    pub fn for_assignment(rule: &Named, of_take: &Named) -> Self {
        let mut settings = Self::default();
        for setting in TABLE.iter().filter(|setting| setting.changes_figures) {
            let source = if OF_THE_INSTRUMENT.contains(&setting.key) { of_take } else { rule };
            if let Some(text) = source.get(setting.key).and_then(typed) {
                // On error nothing changes, which is what is wanted.
                let _ = setting.set(&mut settings, &text);
            }
        }
        settings
    }

    /// The settings of counting that are not as they are by default: what an assignment written by their owner goes by.
    /// How `counting` and `named-colours` stand is said elsewhere in it.
    pub fn rule(&self) -> Named {
        let usual = Self::default().figures();
        let own = self.figures().into_iter().filter(|(name, value)| usual.get(name) != Some(value));
        own.filter(|(name, _)| {
            let elsewhere = ["counting", "named-colours"].contains(&name.as_str());
            !elsewhere && !OF_THE_INSTRUMENT.contains(&name.as_str())
        })
        .collect()
    }

    /// How notes are counted.
    fn counting(&self) -> tally::Settings {
        let named_colours = if self.named_colours { NamedColours::ChordTones } else { NamedColours::Scale };
        let octave_step = if self.octave_approach { OctaveStep::Resolves } else { OctaveStep::Open };
        tally::Settings {
            counting: self.counting,
            named_colours,
            push: PushShares { running: self.run_share, spaced: self.space_share },
            enclosure: Enclosure { semitones: self.enclosure_semitones, beats: self.enclosure_beats },
            octave_step,
            share_by: self.share_by,
        }
    }

    /// How a take is cleaned.
    fn cleaning(&self) -> CleanSettings {
        CleanSettings {
            tuning: self.tuning.strings().to_vec(),
            channel_order: self.string_order,
            basic_channel: self.first_string_channel.map(|channel| channel - 1),
            bend_range: self.bend_range,
            ghost_filter: if self.ghost_filter { GhostFilter::On } else { GhostFilter::Off },
            latency: Latency {
                constant: NanoSpan((self.offset_ms * 1e6).round() as i64),
                periods: self.offset_periods,
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_defaults_of_the_settings_are_those_of_the_rooms() {
        let choices = Settings::default().choices();
        assert_eq!(choices.tally, tally::Settings::default());
        assert_eq!(choices.cleaning, CleanSettings::default());
    }

    #[test]
    fn what_a_player_sets_arrives() {
        let settings = Settings { first_string_channel: Some(11), offset_ms: 12.5, ..Settings::default() };
        let choices = settings.choices();
        assert_eq!(choices.cleaning.basic_channel, Some(10));
        assert_eq!(choices.cleaning.latency.constant, NanoSpan(12_500_000));
        assert_eq!(choices.named["offset_ms"], 12.5);
    }
}
