//! From a take to its digest: judged as a review is, and only what progress over weeks asks for is kept.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::chart::Feel;
use crate::practice::Digest;
use crate::practice::digest::{CAPTURE_SETTINGS, JudgedTake, form_text};
use crate::report::review::Detail;
use crate::take::Imprint;

use super::{Choices, ChordSource, Heard, NotJudged, Question, chart_id, fingerprint, heard};

/// A take by its number and the day it was kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Dated {
    /// Its number.
    pub take: u32,
    /// The day its file was written, in the local zone.
    pub day: Date,
}

/// Judges a take from the bytes of its file, by the chords it brings itself, and keeps its digest.
pub fn digest(bytes: &[u8], dated: Dated, choices: &Choices) -> Result<Digest, NotJudged> {
    let question = Question { choices, chart: None, track: None, detail: Detail::Totals, bands: None };
    heard(bytes, question, |heard| digest_of(heard, bytes, dated, choices))
}

/// The digest of a take that was judged.
pub(super) fn digest_of(heard: &Heard<'_>, bytes: &[u8], dated: Dated, choices: &Choices) -> Digest {
    let id = chart_id(heard.chords, heard.midi, heard.stage.laid().choruses);
    JudgedTake {
        take: dated.take,
        sha256: fingerprint(bytes),
        day: dated.day,
        title: id.title,
        chart_sha256: id.sha256,
        form_sha256: whole_form(heard, choices),
        key: id.key,
        tempo: id.tempo,
        feel: feel(heard),
        bars: heard.imprint.and_then(|imprint| imprint.bars),
        settings_sha256: settings_fingerprint(&choices.named),
        tuning: &choices.cleaning.tuning,
        tally: heard.tally,
        stage: heard.stage,
    }
    .into()
}

/// How the band moved by the take itself, else by the chart's header.
fn feel(heard: &Heard<'_>) -> Option<Feel> {
    let played = heard.imprint.and_then(|imprint| imprint.feel.as_deref()?.parse().ok());
    played.or(heard.chords.feel)
}

/// The fingerprint of the whole form, also where only some bars of it were played.
fn whole_form(heard: &Heard<'_>, choices: &Choices) -> String {
    let whole = heard.imprint.filter(|imprint| imprint.bars.is_some()).and_then(|imprint| {
        ChordSource::of_imprint(&Imprint { bars: None, ..imprint.clone() }, choices.bare, &choices.kept)
    });
    form_fingerprint(whole.as_ref().unwrap_or(heard.chords))
}

/// The fingerprint by which a form is known in every key.
pub fn form_fingerprint(chords: &ChordSource) -> String {
    fingerprint(form_text(&chords.form, chords.reading.home).as_bytes())
}

/// The fingerprint of the settings that decide how notes are counted.
fn settings_fingerprint(named: &BTreeMap<String, serde_json::Value>) -> String {
    let counting: BTreeMap<_, _> =
        named.iter().filter(|(name, _)| !CAPTURE_SETTINGS.contains(&name.as_str())).collect();
    fingerprint(serde_json::json!(counting).to_string().as_bytes())
}

#[cfg(test)]
mod tests {
    use super::super::judge;
    use super::super::kept::{Line, take_file};
    use super::*;
    use crate::chart::Chart;
    use crate::demo;
    use crate::practice::digest::Placed;
    use crate::take::ChannelMessage;
    use crate::theory::chord::BareSymbols;
    use crate::time::{Nanos, TempoMap};

    const DATED: Dated = Dated { take: 3, day: jiff::civil::date(2026, 11, 25) };

    fn demo_digest(choices: &Choices) -> Digest {
        digest(&demo::take().to_bytes(), DATED, choices).expect("a digest")
    }

    #[test]
    fn a_digest_has_the_figures_of_the_review() {
        let choices = Choices::default();
        let question =
            Question { choices: &choices, chart: None, track: None, detail: Detail::Totals, bands: None };
        let review = judge(&demo::take().to_bytes(), None, question).expect("a review").review;
        let totals = review.totals;
        let digest = demo_digest(&choices);
        let parts = [digest.chord, digest.scale, digest.outside, digest.resolved, digest.open];
        let shares = [totals.chord, totals.scale, totals.outside, totals.resolved, totals.open];
        for (part, share) in parts.iter().zip(&shares) {
            assert_eq!((part.n, part.effect), (share.n.0, share.design_effect));
            assert_eq!(
                (digest.share(*part), digest.interval(*part).map(|i| i.low)),
                (share.share, share.low)
            );
        }
        assert_eq!((digest.landings.n, digest.landings.of), (totals.landings.n, totals.landings.of));
        let baseline = digest.guide_tones / digest.counted;
        assert!((baseline - totals.landings.baseline.expect("notes")).abs() < 1e-12);
        assert_eq!(digest.running_the_scale, totals.running_the_scale);
        assert_eq!(digest.misread, totals.left_out.ghost + totals.left_out.retrigger);
        assert_eq!((digest.title, digest.chart_sha256), (review.chart.title, review.chart.sha256));
    }

    #[test]
    fn kinds_and_regions_add_up_to_the_take() {
        let digest = demo_digest(&Choices::default());
        for groups in [&digest.kinds, &digest.regions] {
            let sum = |of: fn(&crate::practice::digest::Group) -> f64| groups.iter().map(of).sum::<f64>();
            assert!((sum(|group| group.counted) - digest.counted).abs() < 1e-9);
            assert!((sum(|group| group.chord) - digest.chord.n).abs() < 1e-9);
            assert!((sum(|group| group.open) - digest.open.n).abs() < 1e-9);
            assert!((sum(|group| group.guide_tones) - digest.guide_tones).abs() < 1e-9);
            assert_eq!(groups.iter().map(|group| group.landings.of).sum::<usize>(), digest.landings.of);
        }
        let kinds: Vec<&str> = digest.kinds.iter().map(|kind| kind.name.as_str()).collect();
        assert_eq!(kinds, ["maj7", "m7", "7", "m7b5"]);
        let regions: Vec<&str> = digest.regions.iter().map(|region| region.name.as_str()).collect();
        assert_eq!(regions, ["Eb major", "G major"]);
    }

    #[test]
    fn a_digest_is_read_back_as_it_was_written() {
        let digest = demo_digest(&Choices::default());
        let text = serde_json::to_string(&digest).expect("written");
        assert_eq!(serde_json::from_str::<Digest>(&text).expect("read"), digest);
        assert!(text.contains("\"day\":\"2026-11-25\""), "{text}");
    }

    fn imprint(chart: &str, bars: Option<(usize, usize)>) -> Imprint {
        Imprint { chart: chart.to_owned(), chart_name: "c.bars".to_owned(), bars, ..Imprint::default() }
    }

    /// The digest of a take without a note over `chart`, of which `bars` were played.
    fn silent(chart: &Chart, bars: Option<(usize, usize)>, choices: &Choices) -> Digest {
        let imprint = imprint(chart.text(), bars);
        let tempo = TempoMap::at_bpm(120.0);
        let file = take_file(&imprint, &tempo, BareSymbols::default(), Line::default()).expect("a take");
        digest(&file.to_bytes(), DATED, choices).expect("a digest")
    }

    #[test]
    fn a_form_is_known_in_every_key_and_by_its_bars() {
        let chart = demo::chart();
        let key = |text: &str| text.parse().expect("a key");
        let moved = chart.transposed_from(key("Eb"), key("A")).expect("another key");
        let choices = Choices::default();
        let whole = silent(&chart, None, &choices);
        let other_key = silent(&moved, None, &choices);
        let some_bars = silent(&chart, Some((9, 12)), &choices);
        assert_eq!(whole.form_sha256, other_key.form_sha256);
        assert_ne!(whole.chart_sha256, other_key.chart_sha256);
        assert_eq!(whole.form_sha256, some_bars.form_sha256);
        assert_eq!((some_bars.bars, some_bars.is_whole()), (Some((9, 12)), false));
        assert_eq!((whole.bars_played, some_bars.bars_played), (16, 4));
    }

    /// A bar of eighths up the position of C major from C, each string on a channel of its own, the first the highest.
    #[test]
    fn where_a_line_lay_is_told_where_strings_are_known() {
        let places = [(4_u8, 9_u8), (4, 10), (4, 12), (3, 9), (3, 10), (3, 12), (2, 10), (2, 12)];
        let open = [64_u8, 59, 55, 50, 45, 40];
        let wire = |(index, &(string, fret)): (i64, &(u8, u8))| {
            let (channel, key) = (string - 1, open[usize::from(string) - 1] + fret);
            let at = |eighths: i64| Nanos(eighths * 250_000_000);
            [(at(index), [0x90 | channel, key, 80]), (at(index + 1), [0x80 | channel, key, 0])]
        };
        let solo = (0..).zip(&places).flat_map(wire);
        let solo = solo.filter_map(|(at, wire)| Some((at, ChannelMessage::from_wire(&wire)?))).collect();
        let imprint = imprint("key: C\n| Cmaj7 | % | Dm7 | G7 |\n", None);
        let line = Line { solo, gaps: Vec::new() };
        let tempo = TempoMap::at_bpm(120.0);
        let file = take_file(&imprint, &tempo, BareSymbols::default(), line).expect("a take");
        let mut choices = Choices::default();
        choices.cleaning.basic_channel = Some(0);
        let found = digest(&file.to_bytes(), DATED, &choices).expect("a digest").places;
        assert_eq!(found, [Placed { key: "C".to_owned(), start: "C".to_owned(), notes: 8 }]);
    }

    #[test]
    fn what_is_counted_otherwise_has_another_fingerprint_and_another_instrument_has_not() {
        let named = |name: &str, value: serde_json::Value| Choices {
            named: BTreeMap::from([(name.to_owned(), value)]),
            ..Choices::default()
        };
        let fingerprint = |choices: &Choices| demo_digest(choices).settings_sha256;
        let plain = fingerprint(&Choices::default());
        assert_eq!(plain, fingerprint(&named("offset_ms", 12.5.into())));
        assert_ne!(plain, fingerprint(&named("run_share", 0.6.into())));
    }
}
