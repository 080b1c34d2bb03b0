//! The counts above the rows, each with its interval and what stands beside it.

use crate::report::number::percent;
use crate::report::review::chorus_words::{
    Part, asked, first_fit, fit, landings_with_interval, rests_in_brief, running_the_scale,
    share_with_interval,
};
use crate::screen::chorus::seen::Seen;
use crate::tally::verdict::Measure;

/// The first row: which take, which chorus, how many notes, by which counting.
pub(super) fn heading(seen: &Seen, part: Part) -> String {
    let review = &seen.review;
    let counted = part.figures(review).counted;
    let take = seen.take_words();
    let heading = &seen.page_of(part).heading;
    let words = [
        heading.title.as_str(),
        &take,
        &seen.part_words(part),
        &heading.feel_tempo_and_written(),
        &format!("{counted} notes"),
        review.settings.counting,
    ];
    let words: Vec<&str> = words.into_iter().filter(|word| !word.is_empty()).collect();
    words.join("   ")
}

/// The rows of figures, the weightiest first.
pub(super) fn rows(seen: &Seen, part: Part, is_wide: bool) -> Vec<String> {
    let review = &seen.review;
    let figures = part.figures(review);
    let counted = figures.counted;
    let of = |name: &str, share| format!("{name:9}{}", share_with_interval(share, counted));
    let asked = |measure, share: Option<f64>| {
        asked(measure, share, seen.bands.as_ref()).map_or_else(String::new, |asked| format!("   {asked}"))
    };
    let [low, high] = review.totals.recorded_soloists.map(percent);
    let running = running_the_scale(review).map_or_else(String::new, |running| running + "   ");
    let beside = format!("{running}recorded soloists {low}-{high}");
    let all_notes = figures.landings.baseline;
    let all_notes = all_notes.map_or_else(String::new, |all| format!("   all notes {}", percent(all)));
    let chord = of("chord", figures.chord) + &asked(Measure::Chord, figures.chord.share);
    let mut rows =
        if is_wide { vec![format!("{chord}   {beside}")] } else { vec![chord, format!("{:10}{beside}", "")] };
    let other = figures.other.n;
    let other = if other.0 > 0.0 { format!("   and {other} from another scale (~)") } else { String::new() };
    let what_became = format!("   {} resolved >, {} open ?", figures.resolved.n, figures.open.n);
    rows.push(of("scale", figures.scale) + &other + &asked(Measure::Scale, figures.scale.share));
    rows.push(of("outside", figures.outside) + &what_became + &asked(Measure::Open, figures.open.share));
    let rests = if is_wide { format!("   {}", rests_in_brief(review, part)) } else { String::new() };
    rows.push(format!(
        "landings {}   on the 3 or 7{all_notes}{rests}",
        landings_with_interval(figures.landings)
    ));
    if first_fit(review).is_some() {
        rows.extend(fit(review).map(|fit| format!("{fit}   s keep it")));
    }
    let granted = seen.granted.as_ref();
    rows.extend(granted.map(|granted| if is_wide { granted.words() } else { granted.brief() }));
    rows
}
