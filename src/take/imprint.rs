//! The imprint: what a take of ours says about itself, as one line of text on its `Solo` track.
//!
//! It makes a saved take whole: the chart's own text, where bar 1 begins, how many choruses, and the settings of the day.
//! It comes from a file, so nothing in it is believed without being read again.

use serde::{Deserialize, Serialize};

use crate::time::{TickSpan, Ticks};

use super::MidiFile;

/// What the text begins with, before its JSON.
const MARK: &str = "barwise.take ";

/// The longest imprint that is read, in bytes: a chart of the largest size with its signs escaped.
const LONGEST: usize = 4 << 20;

/// What a take says about itself.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Imprint {
    /// Version of the imprint; 1.
    pub version: u32,
    /// The chart as it was played, in its own text.
    pub chart: String,
    /// The name it was read under.
    pub chart_name: String,
    /// Ticks before bar 1 (20,160 to the quarter note): the count-in.
    pub count_in_ticks: i64,
    /// Times through.
    pub choruses: u32,
    /// The bars of the form that were played, first and last from 1; all of them where none are named.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bars: Option<(usize, usize)>,
    /// The tick at which the take was stopped, where that was before the end of its last chorus.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stopped: Option<i64>,
    /// The last chorus of the tune, where the first and the last of those planned are the tune.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub head: Option<u32>,
    /// How many bars were traded with the drums at a time, if any were.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trade: Option<u8>,
    /// How the band moved; none in takes made before this was written down.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub feel: Option<String>,
    /// The key of each chorus, as a chart's header writes it, where the tune went through keys; the chart is in its own.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub keys: Vec<String>,
    /// How the band played. Takes of before say nothing of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub band: Option<BandPlayed>,
    /// The settings that could change a figure, by name.
    pub settings: serde_json::Map<String, serde_json::Value>,
}

/// The band as it played in a take, in the words of the flags that ask for it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Default)]
pub struct BandPlayed {
    /// How much of the swing that the tempo asks for it played, in percent.
    pub swing_percent: u8,
    /// From which its choices followed.
    pub seed: u64,
    /// Bars counted in, where they were asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub count_in: Option<u8>,
    /// Whether the bass played the first chorus in two.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub two_feel: bool,
    /// The bars in which it laid out: `2/8`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub band_out: Option<String>,
    /// The beats on which a click sounded and nothing else: `2,4`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub click: Option<String>,
    /// The parts that were muted as it began: `ride`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub mute: Vec<String>,
}

/// The version of the imprints that are written.
const VERSION: u32 = 1;

/// Nothing played of a chart without bars.
impl Default for Imprint {
    fn default() -> Self {
        Self {
            version: VERSION,
            chart: String::new(),
            chart_name: String::new(),
            count_in_ticks: 0,
            choruses: 1,
            bars: None,
            stopped: None,
            head: None,
            trade: None,
            feel: None,
            keys: Vec::new(),
            band: None,
            settings: serde_json::Map::new(),
        }
    }
}

impl Imprint {
    /// The text that carries it.
    pub fn to_text(&self) -> String {
        format!("{MARK}{}", serde_json::json!(self))
    }

    /// The imprint a file carries; `None` where it carries none that reads.
    pub fn of(midi: &MidiFile) -> Option<Self> {
        let texts = midi.tracks.iter().flat_map(|track| &track.texts);
        let mut marked = texts.filter_map(|text| text.text.strip_prefix(MARK));
        let json = marked.find(|json| json.len() <= LONGEST)?;
        serde_json::from_str(json)
            .ok()
            .filter(|imprint: &Self| imprint.version == VERSION && imprint.count_in_ticks >= 0)
    }

    /// The tick on which bar 1 begins.
    pub const fn start(&self) -> Ticks {
        Ticks(self.count_in_ticks)
    }

    /// How long the count-in is.
    pub const fn count_in(&self) -> TickSpan {
        TickSpan(self.count_in_ticks)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::take::TakeFile;

    fn imprint() -> Imprint {
        Imprint {
            chart: "title: \"Odd\" shoes\n| F7 | B\u{266d}7 |\n".to_owned(),
            chart_name: "odd.bars".to_owned(),
            count_in_ticks: 4 * crate::time::TICKS_PER_QUARTER,
            choruses: 2,
            bars: Some((5, 8)),
            keys: vec!["Bb".to_owned(), "Eb".to_owned()],
            band: Some(BandPlayed { band_out: Some("2/8".to_owned()), ..BandPlayed::default() }),
            ..Imprint::default()
        }
    }

    #[test]
    fn a_saved_take_carries_its_chart_whole() {
        let bytes = TakeFile { texts: vec![imprint().to_text()], ..TakeFile::default() }.to_bytes();
        let midi = MidiFile::parse(&bytes).expect("our own file");
        assert_eq!(Imprint::of(&midi), Some(imprint()));
    }

    #[test]
    fn a_take_of_before_the_band_was_told_still_reads() {
        let before = r#"{"version":1,"chart":"| F7 |","chart_name":"a","count_in_ticks":0,"choruses":2,"settings":{}}"#;
        let bytes = TakeFile { texts: vec![format!("{MARK}{before}")], ..TakeFile::default() }.to_bytes();
        let read = Imprint::of(&MidiFile::parse(&bytes).expect("our own file"));
        let expect =
            Imprint { chart: "| F7 |".into(), chart_name: "a".into(), choruses: 2, ..Imprint::default() };
        assert_eq!(read, Some(expect));
    }

    #[test]
    fn an_imprint_that_does_not_read_is_none() {
        let with = |text: &str| {
            let bytes = TakeFile { texts: vec![text.to_owned()], ..TakeFile::default() }.to_bytes();
            Imprint::of(&MidiFile::parse(&bytes).expect("our own file"))
        };
        assert_eq!(with("barwise.take {"), None);
        assert_eq!(with("something else"), None);
        let negative = Imprint { count_in_ticks: -1, ..imprint() };
        assert_eq!(with(&negative.to_text()), None);
    }
}
