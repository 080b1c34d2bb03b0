//! The top row: what is played, and where in it.

use super::{Here, Playhead};
use crate::live::Moment;
use crate::live::moment::Place;
use crate::screen::canvas::Canvas;
use crate::screen::page::Page;
use crate::screen::theme::Role;

pub(super) fn full(page: &Page, moment: &Moment, here: &Here, canvas: &mut Canvas) {
    let heading = &page.heading;
    let width = canvas.width();
    let take = heading.take.map_or_else(String::new, |take| format!("take {take}"));
    let bar = bar(page, here).map(|bar| format!("bar {bar} of {}", page.bars_played())).unwrap_or_default();
    // The columns of an 80 column screen; wider ones leave more room between.
    let spread = width - 80;
    let take_at = (width - 1).saturating_sub(take.len() as u16);
    let place = place(page, moment);
    // Long ones begin earlier, so that a blank stays before what follows.
    let before = |next: u16, text: &str| next.saturating_sub(text.len() as u16 + 1);
    let bar_at = (58 + spread * 3 / 8).min(before(take_at, &bar));
    // Where the tune goes through keys, the key stands behind the chorus.
    let through_keys = heading.next_key.is_some();
    let feel = if through_keys { 21 } else { 27 + spread / 20 };
    // In a narrow row the instrument alone stands behind the tempo.
    let usual = 41 + spread * 7 / 20;
    let mut words = heading.feel_tempo_and_written();
    if feel + words.len() as u16 >= usual && !heading.written.is_concert() {
        words = format!("{} for {}", heading.feel_and_tempo, heading.written);
    }
    let behind = if heading.written.is_concert() { usual } else { usual.max(feel + words.len() as u16 + 1) };
    let chorus = behind.min(before(bar_at, &place)).max(feel);
    canvas.write_within(1, 0, if through_keys { feel - 2 } else { 21 }, &heading.title, Role::Plain);
    if !through_keys {
        canvas.write_within(22, 0, feel - 23, &heading.key, Role::Plain);
    }
    canvas.write_within(feel, 0, chorus.saturating_sub(feel + 1), &words, Role::Plain);
    canvas.write_within(chorus, 0, bar_at.saturating_sub(chorus + 1), &place, Role::Plain);
    canvas.write(bar_at, 0, &bar, Role::Plain);
    canvas.write(take_at, 0, &take, Role::Plain);
}

pub(super) fn small(page: &Page, moment: &Moment, here: &Here, canvas: &mut Canvas) {
    let bar = bar(page, here).map(|bar| format!("   bar {bar}")).unwrap_or_default();
    let place = place(page, moment) + &bar;
    let at = canvas.width().saturating_sub(place.len() as u16 + 2);
    canvas.write_within(1, 0, at.saturating_sub(2), &page.heading.title, Role::Plain);
    canvas.write(at, 0, &place, Role::Plain);
}

/// The number of the bar that sounds.
fn bar(page: &Page, here: &Here) -> Option<usize> {
    page.bars.get(here.bar).filter(|_| here.playhead == Playhead::Running).map(|bar| bar.number)
}

fn place(page: &Page, moment: &Moment) -> String {
    match moment.place {
        Place::Opening => "getting ready".to_owned(),
        Place::CountIn { click, of } => format!("count-in {click} of {of}"),
        Place::Playing { chorus, .. } => {
            format!("chorus {chorus} of {}{}", page.heading.choruses, page.key_of_chorus())
        }
        Place::Closing { .. } => "last note".to_owned(),
        Place::Over => "over".to_owned(),
    }
}
