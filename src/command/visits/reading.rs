//! A chart, read on a screen; scales that are kept there go into the journal.

use crate::chart::{Chart, Decided, FormChord};
use crate::command::chord_args::ChordInScale;
use crate::command::exit_status::Failure;
use crate::command::load;
use crate::command::values::ChartSource;
use crate::harmony::Overrides;
use crate::judge::ChordSource;
use crate::judge::written::by_itself_sounding;
use crate::report::reading::ReadingDocument;
use crate::screen::reading::{ReadingScreen, Wish};
use crate::screen::{Heading, Page};
use crate::store::journal::Journal;
use crate::store::kept_scales;
use crate::store::takes::{FOLDER_VARIABLE, data_folder};
use crate::theory::ScaleRequest;

use super::{Visits, files, neck};

/// Where leaving the chart leads.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum AfterReading {
    /// Back to where it was opened.
    Back,
    /// To play it.
    Play {
        /// The chart.
        chart: ChartSource,
        /// The bars of the form, first and last; all without.
        bars: Option<(usize, usize)>,
    },
}

/// Shows a chart until it is left.
pub fn visit(visits: &mut Visits<'_, '_>, source: &ChartSource) -> Result<AfterReading, Failure> {
    let loaded = load::chart(source, visits.startup.resolved.settings.bare)?;
    for warning in &loaded.warnings {
        visits.out.remark(&format!("{}:{warning}", loaded.chart.name()));
    }
    let chart = loaded.chart;
    let mut chords = read(&chart, visits);
    let written = visits.startup.resolved.settings.written;
    let shown = |chords: &ChordSource| {
        let read = chords.written_for(written);
        (page(&chart, &read), document(&read))
    };
    let (first, listed) = shown(&chords);
    let mut screen = ReadingScreen::new(first, listed);
    loop {
        match visits.show(&mut screen)? {
            Wish::Back => return Ok(AfterReading::Back),
            Wish::Play(bars) => return Ok(AfterReading::Play { chart: source.clone(), bars }),
            Wish::Neck(index) => {
                if let Some(found) = in_scale(&chords.written_for(written), index) {
                    neck::visit(visits, found)?;
                }
            }
            Wish::Keep(index, scale) => {
                let scale = by_itself_sounding(written).scale(scale);
                let said = change(visits, &chart, chords.form.chords.get(index), Some(scale));
                chords = read(&chart, visits);
                let (page, listed) = shown(&chords);
                screen.replace(page, listed);
                screen.say(&files::said(said));
            }
            Wish::TakeOut(index) => {
                let said = change(visits, &chart, chords.form.chords.get(index), None);
                chords = read(&chart, visits);
                let (page, listed) = shown(&chords);
                screen.replace(page, listed);
                screen.say(&files::said(said));
            }
        }
    }
}

/// The chords with what is kept for them.
fn read(chart: &Chart, visits: &mut Visits<'_, '_>) -> ChordSource {
    let kept = visits.startup.kept(visits.out);
    ChordSource::of_chart(&kept.on(chart.clone()), &Overrides::default())
}

/// Keeps a scale for a chord, or takes out what is kept; says what became of it.
fn change(
    visits: &mut Visits<'_, '_>,
    chart: &Chart,
    chord: Option<&FormChord>,
    scale: Option<ScaleRequest>,
) -> Result<String, Failure> {
    let Some((chord, place)) = chord.and_then(|chord| Some((chord, chord.place?))) else {
        return Ok("no chord sounds here".to_owned());
    };
    let symbol = &chord.text;
    let journal = Journal::in_folder(&data_folder(std::env::var_os(FOLDER_VARIABLE))?);
    let kept = visits.startup.kept(visits.out);
    let said = if let Some(scale) = scale {
        let said = format!("kept {scale} for {symbol}; u takes it out");
        let before = kept.on(chart.clone()).decisions().remove(&place).unwrap_or_default();
        kept_scales::keep(&journal, chart, place, Decided { scale: Some(scale), ..before })?;
        said
    } else {
        let there = kept.of_chart(chart.title(), Some(place));
        if there.is_empty() {
            return Ok(format!("nothing of yours is kept for {symbol} here"));
        }
        kept_scales::take_out(&journal, there)?;
        format!("taken out: {symbol} has the scale found for it")
    };
    visits.startup.kept_has_changed();
    Ok(said)
}

fn document(chords: &ChordSource) -> ReadingDocument {
    ReadingDocument::new(chords.id.clone(), &chords.form, &chords.reading)
}

fn page(chart: &Chart, chords: &ChordSource) -> Page {
    let header = chart.header();
    let heading = Heading {
        title: chart.title().to_owned(),
        key: chords.id.key.clone().unwrap_or_default(),
        written: chords.id.written,
        feel_and_tempo: format!("{} {}", header.feel.name(), header.tempo.get().round()),
        ..Heading::default()
    };
    Page::new(&chords.form, &chords.reading, heading)
}

/// A chord of the form in its scale, before the chord that follows.
fn in_scale(chords: &ChordSource, index: usize) -> Option<ChordInScale> {
    let chord = chords.form.chords.get(index)?.symbol?;
    let read = chords.reading.chords.get(index)?.as_ref()?;
    let next =
        chords.form.chords[index + 1..].iter().find_map(|next| next.symbol.filter(|next| *next != chord));
    Some(ChordInScale { chord, scale: read.scale.clone(), why: read.short_why(), next })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::theory::chord::BareSymbols;

    #[test]
    fn the_neck_has_the_scale_in_force_and_the_chord_that_follows() {
        let (chart, _) =
            Chart::parse("a.bars", "| Dm7 | Dm7 | N.C. | G7 |", BareSymbols::default()).expect("a chart");
        let chords = ChordSource::of_chart(&chart, &Overrides::default());
        let found = in_scale(&chords, 0).expect("a chord");
        assert_eq!(found.next.map(|next| next.to_string()).as_deref(), Some("G7"));
        assert_eq!(Some(&found.scale), chords.reading.chords[0].as_ref().map(|read| &read.scale));
        let silent = chords.form.chords.iter().position(|chord| chord.symbol.is_none()).expect("N.C.");
        assert_eq!(in_scale(&chords, silent), None);
        assert_eq!(in_scale(&chords, 99), None);
    }
}
