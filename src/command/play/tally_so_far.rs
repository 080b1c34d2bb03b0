//! How the line stands at a barline, judged as the whole take will be.

use crate::judge::kept::{Line, choruses_begun, take_file};
use crate::judge::{Choices, Question, judge};
use crate::live::moment::HeardSoFar;
use crate::report::review::{Detail, Totals};
use crate::take::{ChannelMessage, Imprint};
use crate::time::TempoMap;

/// Says in words how the line of a take stands, of which `imprint` is known beforehand.
pub fn so_far(
    imprint: Imprint,
    tempo: TempoMap,
    choices: &Choices,
) -> impl FnMut(&HeardSoFar) -> Option<String> + '_ {
    move |heard| {
        let choruses = choruses_begun(&imprint, &tempo, choices.bare, heard.until)?;
        let stopped = Some(tempo.ticks(heard.until).0);
        let imprint = Imprint { choruses, stopped, ..imprint.clone() };
        let message = |stamped: &crate::live::wires::StampedMessage| {
            Some((stamped.at, ChannelMessage::from_wire(stamped.message.bytes())?))
        };
        let line = Line { solo: heard.messages.iter().filter_map(message).collect(), gaps: Vec::new() };
        let bytes = take_file(&imprint, &tempo, choices.bare, line)?.to_bytes();
        let question = Question { choices, chart: None, track: None, detail: Detail::Totals, bands: None };
        // A line of which nothing can be judged yet has no tally.
        judge(&bytes, None, question).ok().map(|answer| words(&answer.review.totals))
    }
}

/// `41 notes   chord 26   scale 11   outside 4 (1 open)`. Another scale is known only when the take has ended, so that
/// such notes stand as outside till then.
fn words(totals: &Totals) -> String {
    let outside = totals.other.n.0 + totals.outside.n.0;
    let open = totals.open.n;
    format!(
        "{} notes   chord {}   scale {}   outside {} ({open} open)",
        totals.counted,
        totals.chord.n,
        totals.scale.n,
        crate::report::number::Count(outside),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::live::wires::{ShortMessage, StampedMessage};
    use crate::take::writer::writable;
    use crate::time::Nanos;

    #[test]
    fn the_line_stands_as_far_as_the_barline() {
        let imprint = Imprint { chart: "| F7 | Bb7 |\n".to_owned(), choruses: 1, ..Imprint::default() };
        let tempo = writable(&TempoMap::at_bpm(60.0));
        let strike = |ms: i64, key: u8| {
            let stamped = |ms: i64, status| StampedMessage {
                at: Nanos(ms * 1_000_000),
                message: ShortMessage::new(&[status, key, 80]).expect("a message"),
            };
            [stamped(ms, 0x90), stamped(ms + 400, 0x80)]
        };
        let messages = [strike(0, 65), strike(1_000, 67), strike(2_000, 66), strike(3_000, 65)].concat();
        let choices = Choices::default();
        let mut so_far = so_far(imprint, tempo, &choices);
        let mut at = |seconds: i64| {
            let until = Nanos(seconds * 1_000_000_000);
            let before = |message: &&StampedMessage| message.at < until;
            so_far(&HeardSoFar { until, messages: messages.iter().filter(before).copied().collect() })
        };
        // F, G, a G flat that steps to F, and F over F7.
        assert_eq!(at(4).as_deref(), Some("4 notes   chord 2   scale 1   outside 1 (0 open)"));
        assert_eq!(at(2).as_deref(), Some("2 notes   chord 1   scale 1   outside 0 (0 open)"));
    }
}
