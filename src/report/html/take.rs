//! The page of one take: the summary, the mix, bar by bar, the line over the chords, the places, and how it was read.
//!
//! Everything comes from the review document, the bands from the verdict document.

mod foot;
mod keyboard;
mod line;
mod mix;
mod neck;
mod places;
mod strip;
mod summary;

use maud::html;

use super::marks;
use super::page::Page;
use super::weeks::of_chart;
use crate::report::progress::ProgressDocument;
use crate::report::review::{BarRecord, ChordRecord, Review};
use crate::report::verdict::VerdictDocument;

/// What a page of a take is made from.
#[derive(Clone, Copy, Debug)]
pub struct TakePage<'a> {
    /// The review, with its notes and bars.
    pub review: &'a Review,
    /// The verdict, where bands were asked for.
    pub verdict: Option<&'a VerdictDocument>,
    /// The weeks of its chart alone, where there are other takes of it.
    pub weeks: Option<&'a ProgressDocument>,
}

impl TakePage<'_> {
    /// The whole file.
    pub fn write(&self) -> String {
        let Self { review, verdict, weeks } = *self;
        let choruses = choruses(review);
        let body = html! {
            (summary::summary(review, verdict, choruses.len()))
            (marks::key())
            (mix::section(review, verdict))
            (strip::section(review, &choruses))
            (line::section(review, &choruses))
            (places::section(review))
            @if let Some((weeks, chart)) = weeks.and_then(|weeks| Some((weeks, weeks.charts.first()?))) {
                section { h2 { "Over the weeks" } (of_chart(weeks, chart, 0)) }
            }
            (foot::section(review))
        };
        Page { title: format!("{}: {}", summary::title(review), summary::source(review)), body }.write()
    }
}

/// One time through.
#[derive(Clone, Debug)]
pub(super) struct Chorus<'a> {
    /// Its number, from 1.
    pub number: u32,
    /// Its bars, in order.
    pub bars: Vec<&'a BarRecord>,
    /// Its chords, in order.
    pub chords: Vec<&'a ChordRecord>,
    /// What follows the name of a thing of which each chorus has one; nothing where there is one chorus.
    pub suffix: String,
}

impl Chorus<'_> {
    /// Whether any note counts in it.
    fn is_played(&self) -> bool {
        self.bars.iter().any(|bar| bar.counted.0 > 0.0)
    }
}

fn choruses(review: &Review) -> Vec<Chorus<'_>> {
    let bars: Vec<&BarRecord> = review.bars.iter().flatten().collect();
    let mut choruses: Vec<Chorus<'_>> = Vec::new();
    for bars in bars.chunk_by(|a, b| a.chorus == b.chorus) {
        let Some(number) = bars.first().map(|bar| bar.chorus) else { continue };
        let chords = review.chords.iter().flatten().filter(|chord| chord.chorus == number).collect();
        choruses.push(Chorus { number, bars: bars.to_vec(), chords, suffix: String::new() });
    }
    if choruses.len() > 1 {
        for chorus in &mut choruses {
            chorus.suffix = format!(", chorus {}", chorus.number);
        }
    }
    choruses
}
