//! The one table of settings: what each is called, what it takes, what it is for, and where its default comes from.
//!
//! A new setting is a field of [`Settings`] and a row here; everything else follows: the file, the environment,
//! `barwise settings`, the JSON document.

use crate::theory::nearest;

use super::Settings;
use super::kind::{Kind, Value};

/// One named setting.
pub struct Setting {
    /// What the player types, in kebab-case.
    pub key: &'static str,
    /// Whether a figure of a review can change with it.
    pub changes_figures: bool,
    /// What it is, and where the default comes from: one sentence.
    pub help: &'static str,
    kind: Kind,
}

/// Says why a value is not taken, and which ones are.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{key} is {accepts}, not \"{written}\"{detail}")]
pub struct NotAccepted {
    key: &'static str,
    accepts: String,
    written: String,
    detail: String,
}

/// Says that no setting has this name.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("no setting \"{written}\"{}", did_you_mean(nearest.as_deref()))]
pub struct UnknownSetting {
    written: String,
    nearest: Option<String>,
}

fn did_you_mean(nearest: Option<&str>) -> String {
    nearest.map_or_else(String::new, |nearest| format!(". Did you mean {nearest}?"))
}

/// The most of a name or a value that a message repeats, in characters.
const LONGEST_SHOWN: usize = 200;

/// Every setting, in the order they are listed.
pub static TABLE: [Setting; 27] = [
    Setting {
        key: "counting",
        changes_figures: true,
        help: "lenient counts a note of another scale in use as scale, strict as outside; strict leans on nothing found afterwards",
        kind: Kind::Word(|s| &mut s.counting),
    },
    Setting {
        key: "named-colours",
        changes_figures: true,
        help: "whether 9, 11 and 13 written in a symbol count as chord tones; off: the basic arpeggio only, as teachers count",
        kind: Kind::Switch(|s| &mut s.named_colours),
    },
    Setting {
        key: "share-by",
        changes_figures: true,
        help: "whether a verdict counts notes or how long they sound; count is robust where an instrument sends note-offs badly",
        kind: Kind::Word(|s| &mut s.share_by),
    },
    Setting {
        key: "run-share",
        changes_figures: true,
        help: "share of a note in a running line that must sound after a change to belong to the new chord; measured on annotated solos",
        kind: Kind::Number { low: 0.0, high: 1.0, field: |s| &mut s.run_share },
    },
    Setting {
        key: "space-share",
        changes_figures: true,
        help: "the same share for a note with space after it; measured on annotated solos",
        kind: Kind::Number { low: 0.0, high: 1.0, field: |s| &mut s.space_share },
    },
    Setting {
        key: "enclosure-semitones",
        changes_figures: true,
        help: "how far the notes of an enclosure may lie from their target, in semitones; our own bound",
        kind: Kind::Whole { low: 1, high: 4, field: |s| &mut s.enclosure_semitones },
    },
    Setting {
        key: "enclosure-beats",
        changes_figures: true,
        help: "longest time from an enclosure's first note to its target, in beats; our own bound",
        kind: Kind::Number { low: 0.5, high: 8.0, field: |s| &mut s.enclosure_beats },
    },
    Setting {
        key: "octave-approach",
        changes_figures: true,
        help: "whether a step into another octave resolves a note; off: recorded solos show no such habit",
        kind: Kind::Switch(|s| &mut s.octave_approach),
    },
    Setting {
        key: "sus",
        changes_figures: true,
        help: "what Csus stands for; common practice",
        kind: Kind::Word(|s| &mut s.bare.sus),
    },
    Setting {
        key: "sus4",
        changes_figures: true,
        help: "what Csus4 stands for; common practice",
        kind: Kind::Word(|s| &mut s.bare.sus4),
    },
    Setting {
        key: "eleven",
        changes_figures: true,
        help: "what C11 stands for; often played as 9sus4",
        kind: Kind::Word(|s| &mut s.bare.eleven),
    },
    Setting {
        key: "dim",
        changes_figures: true,
        help: "what Cdim stands for; usually played as dim7",
        kind: Kind::Word(|s| &mut s.bare.dim),
    },
    Setting {
        key: "tuning",
        changes_figures: true,
        help: "open strings, lowest first: a name, or notes as in D2 A2 D3 G3 B3 E4",
        kind: Kind::Strings(|s| &mut s.tuning),
    },
    Setting {
        key: "first-string-channel",
        changes_figures: true,
        help: "MIDI channel of the first string where each string sends on its own; auto: found out from what was played",
        kind: Kind::WholeOrAuto { low: 1, high: 16, field: |s| &mut s.first_string_channel },
    },
    Setting {
        key: "string-order",
        changes_figures: true,
        help: "whether the highest or the lowest string has the first channel; auto: found out from what was played",
        kind: Kind::Word(|s| &mut s.string_order),
    },
    Setting {
        key: "bend-range",
        changes_figures: true,
        help: "semitones of a full bend; auto: what the instrument says, 2 if it says nothing, as MIDI 1.0 instruments start",
        kind: Kind::WholeOrAuto { low: 1, high: 96, field: |s| &mut s.bend_range },
    },
    Setting {
        key: "ghost-filter",
        changes_figures: true,
        help: "whether notes that look misread are kept out of every count; on: they are listed with the reason all the same",
        kind: Kind::Switch(|s| &mut s.ghost_filter),
    },
    Setting {
        key: "offset-ms",
        changes_figures: true,
        help: "how much later than played a note arrives, in milliseconds; subtracted from every onset",
        kind: Kind::Number { low: -500.0, high: 500.0, field: |s| &mut s.offset_ms },
    },
    Setting {
        key: "offset-periods",
        changes_figures: true,
        help: "periods of its own pitch that a note arrives later still; about 2 where a pitch tracker listens to strings, 0 for keyboards",
        kind: Kind::Number { low: 0.0, high: 8.0, field: |s| &mut s.offset_periods },
    },
    Setting {
        key: "swing",
        changes_figures: false,
        help: "how much of the swing that the tempo asks for the backing plays, 0 is straight; our own default",
        kind: Kind::Number { low: 0.0, high: 1.0, field: |s| &mut s.swing },
    },
    Setting {
        key: "assignment",
        changes_figures: false,
        help: "the file of bands that takes are to meet before play offers a faster tempo, where no --assignment names one",
        kind: Kind::File(|s| &mut s.assignment),
    },
    Setting {
        key: "levels",
        changes_figures: false,
        help: "how loud parts of the backing are against the usual mix, in decibels; our own mix",
        kind: Kind::Levels(|s| &mut s.levels),
    },
    Setting {
        key: "soundfont",
        changes_figures: false,
        help: "a General MIDI SoundFont of yours that plays the backing; none: barwise's own voices",
        kind: Kind::SoundFont(|s| &mut s.soundfont),
    },
    Setting {
        key: "written",
        changes_figures: false,
        help: "the key a transposing instrument is pitched in: chords, names and neck are shown as its player reads them; common practice",
        kind: Kind::Word(|s| &mut s.written),
    },
    Setting {
        key: "color",
        changes_figures: false,
        help: "when to print in colour; auto: on a terminal, unless NO_COLOR is set",
        kind: Kind::Word(|s| &mut s.color),
    },
    Setting {
        key: "background",
        changes_figures: false,
        help: "which palette suits the terminal",
        kind: Kind::Word(|s| &mut s.background),
    },
    Setting {
        key: "ascii",
        changes_figures: false,
        help: "whether only ASCII signs are printed",
        kind: Kind::Switch(|s| &mut s.ascii),
    },
];

/// The setting called `key`.
pub fn find(key: &str) -> Result<&'static Setting, UnknownSetting> {
    TABLE.iter().find(|setting| setting.key == key).ok_or_else(|| {
        let written: String = key.chars().take(LONGEST_SHOWN).collect();
        let nearest = nearest(&written, TABLE.iter().map(|setting| setting.key.to_owned()));
        let near_enough = |candidate: &String| {
            strsim::damerau_levenshtein(&written, candidate) <= candidate.chars().count() / 2
        };
        UnknownSetting { nearest: nearest.filter(near_enough), written }
    })
}

impl Setting {
    /// The environment variable that sets it: `BARWISE_RUN_SHARE`.
    pub fn variable(&self) -> String {
        format!("BARWISE_{}", self.key.to_uppercase().replace('-', "_"))
    }

    /// Whether `value` is the path of a file for it.
    pub fn names_a_file(&self, value: &str) -> bool {
        self.kind.names_a_file(value)
    }

    /// The values it takes, to print.
    pub fn accepts(&self) -> String {
        self.kind.accepts()
    }

    /// Its value in `settings`.
    pub fn value(&self, settings: &Settings) -> Value {
        self.kind.value(settings)
    }

    /// Reads `text` into its place in `settings`; on error nothing changes.
    pub fn set(&self, settings: &mut Settings, text: &str) -> Result<(), NotAccepted> {
        self.kind.set(settings, text.trim()).map_err(|refusal| NotAccepted {
            key: self.key,
            accepts: self.accepts(),
            written: text.trim().chars().take(LONGEST_SHOWN).collect(),
            detail: refusal.detail,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn after(key: &str, text: &str) -> Result<String, String> {
        let setting = find(key).expect("a setting");
        let mut settings = Settings::default();
        setting.set(&mut settings, text).map_err(|error| error.to_string())?;
        Ok(setting.value(&settings).to_string())
    }

    #[test]
    fn every_default_is_taken_as_it_is_shown() {
        for setting in &TABLE {
            let shown = setting.value(&Settings::default()).to_string();
            assert_eq!(after(setting.key, &shown), Ok(shown), "{}", setting.key);
        }
    }

    #[test]
    fn every_word_offered_is_taken() {
        for setting in &TABLE {
            if matches!(setting.kind, Kind::Word(_) | Kind::Switch(_)) {
                for word in setting.accepts().split(", ") {
                    assert_eq!(after(setting.key, word).as_deref(), Ok(word), "{}", setting.key);
                }
            }
        }
    }

    #[test]
    fn the_first_word_offered_is_the_default() {
        for setting in TABLE.iter().filter(|setting| matches!(setting.kind, Kind::Word(_))) {
            let offered = setting.accepts();
            let first = offered.split(", ").next();
            assert_eq!(
                first,
                Some(setting.value(&Settings::default()).to_string().as_str()),
                "{}",
                setting.key
            );
        }
    }

    #[test]
    fn no_two_settings_share_a_place() {
        for setting in TABLE.iter().filter(|setting| matches!(setting.kind, Kind::Word(_))) {
            let offered = setting.accepts();
            let last = offered.split(", ").last().expect("a word");
            let mut settings = Settings::default();
            setting.set(&mut settings, last).expect("a word offered");
            let moved =
                TABLE.iter().filter(|other| other.value(&settings) != other.value(&Settings::default()));
            assert_eq!(moved.map(|other| other.key).collect::<Vec<_>>(), [setting.key]);
        }
    }

    #[test]
    fn numbers_keep_to_their_range() {
        assert_eq!(after("run-share", "0.5").as_deref(), Ok("0.5"));
        assert_eq!(after("bend-range", "12").as_deref(), Ok("12"));
        assert_eq!(after("offset-ms", "-20.5").as_deref(), Ok("-20.5"));
        for (key, text) in [
            ("run-share", "1.1"),
            ("run-share", "NaN"),
            ("bend-range", "0"),
            ("offset-ms", "inf"),
            ("bend-range", "2.5"),
        ] {
            assert!(after(key, text).is_err(), "{key} {text}");
        }
    }

    #[test]
    fn a_refusal_says_what_would_be_taken() {
        assert_eq!(after("counting", "loose"), Err("counting is strict, lenient, not \"loose\"".to_owned()));
        assert_eq!(
            after("bend-range", "x"),
            Err("bend-range is auto, or a whole number from 1 to 96, not \"x\"".to_owned())
        );
        assert!(after("tuning", "E2 H3").is_err_and(|error| error.contains("\"H3\" is no note")));
    }

    #[test]
    fn an_unknown_name_brings_the_nearest_to_mind() {
        let message = find("countign").err().map(|error| error.to_string());
        assert_eq!(message.as_deref(), Some("no setting \"countign\". Did you mean counting?"));
    }

    #[test]
    fn variables_are_the_key_in_capitals() {
        assert_eq!(find("run-share").expect("a setting").variable(), "BARWISE_RUN_SHARE");
    }

    proptest! {
        #[test]
        fn any_text_is_taken_or_refused_and_what_is_taken_reads_back(row in 0..TABLE.len(), text in ".{0,40}") {
            let setting = &TABLE[row];
            let mut settings = Settings::default();
            if setting.set(&mut settings, &text).is_ok() {
                let mut again = Settings::default();
                setting.set(&mut again, &setting.value(&settings).to_string()).expect("what was shown");
                prop_assert_eq!(again, settings);
            } else {
                prop_assert_eq!(settings, Settings::default());
            }
        }
    }
}
