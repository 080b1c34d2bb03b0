//! How home is drawn: the top row, what is to be played, the charts, what is known of the chosen one.

use super::{Chosen, HOME, Home};
use crate::report::home::{ChartRow, ToPlay};
use crate::screen::canvas::Canvas;
use crate::screen::playing::KeyList;
use crate::screen::theme::Role;

/// Width and height from which each form is drawn.
const FULL: (u16, u16) = (80, 24);
const SMALL: (u16, u16) = (40, 10);
/// Most rows of what is to be played today.
const MOST_TO_PLAY: usize = 4;

pub(super) fn draw(home: &Home, canvas: &mut Canvas<'_>) {
    let (width, height) = (canvas.width(), canvas.height());
    if width < SMALL.0 || height < SMALL.1 {
        canvas.write(0, 0, "too small: 40x10 needed", Role::Plain);
        return;
    }
    let is_full = width >= FULL.0 && height >= FULL.1;
    let below = head(home, is_full, canvas);
    if home.key_list == KeyList::Shown {
        HOME.write_list(below, canvas);
    } else {
        let foot = if is_full { 6 } else { 3 };
        list(home, (below, height - foot), is_full, canvas);
        known(home, height - foot, is_full, canvas);
    }
    last_row(home, canvas);
}

/// What was found to play on; says which row comes below.
fn head(home: &Home, is_full: bool, canvas: &mut Canvas<'_>) -> u16 {
    let document = &home.document;
    canvas.write(1, 0, "barwise", Role::Now);
    let day = document.today.strftime("%a %-d %b").to_string();
    canvas.write(11, 0, &day, Role::Plain);
    let found = [format!("notes in: {}", document.notes_in), format!("sound out: {}", document.sound_out)];
    let width = usize::from(canvas.width());
    if is_full && 25 + found[0].chars().count() + 4 + found[1].chars().count() < width {
        canvas.write(25, 0, &found[0], Role::Plain);
        canvas.write(29 + found[0].chars().count() as u16, 0, &found[1], Role::Plain);
        return 2;
    }
    canvas.write(1, 1, &found[0], Role::Plain);
    canvas.write(1, 2, &found[1], Role::Plain);
    if is_full { 4 } else { 3 }
}

/// Both lists, from row `top` to before row `end`; the one below scrolls so that the cursor is in sight.
fn list(home: &Home, (top, end): (u16, u16), is_full: bool, canvas: &mut Canvas<'_>) {
    let document = &home.document;
    let mut y = top;
    if !document.to_play.is_empty() {
        let heading = if document.is_first_run { "to begin with" } else { "to play today" };
        canvas.write(1, y, heading, Role::Aside);
        if is_full {
            canvas.write(39, y, "last heard", Role::Aside);
            canvas.write(53, y, "why", Role::Aside);
        }
        y += 1;
        // Some charts stay in sight on the smallest screen, too.
        let most = MOST_TO_PLAY.min(usize::from(end.saturating_sub(y)) / 2).max(1);
        let first = home.cursor.min(document.to_play.len() - 1).saturating_sub(most - 1);
        for (nth, row) in document.to_play.iter().enumerate().skip(first).take(most) {
            to_play(row, home.cursor == nth, y, is_full, canvas);
            y += 1;
        }
        y += u16::from(is_full);
    }
    let room = usize::from(end.saturating_sub(y + 1));
    if room == 0 || document.charts.is_empty() {
        return;
    }
    canvas.write(1, y, &format!("charts ({})", document.charts.len()), Role::Aside);
    if is_full {
        for (x, name) in
            [(24, "key"), (30, "bars"), (36, "feel"), (45, "tempo"), (53, "takes"), (60, "last chord share")]
        {
            canvas.write(x, y, name, Role::Aside);
        }
    }
    let chosen = home.cursor.checked_sub(document.to_play.len());
    let first = chosen.map_or(0, |chosen| (chosen + 1).saturating_sub(room));
    for (row, chart) in document.charts.iter().enumerate().skip(first).take(room) {
        y += 1;
        let is_chosen = chosen == Some(row);
        let tempo = chart.tempo + if is_chosen { f64::from(home.faster) } else { 0.0 };
        chart_row(chart, tempo, is_chosen, y, is_full, canvas);
    }
}

fn to_play(row: &ToPlay, is_chosen: bool, y: u16, is_full: bool, canvas: &mut Canvas<'_>) {
    let role = mark(is_chosen, y, canvas);
    let room = if is_full { 35 } else { canvas.width().saturating_sub(3) };
    canvas.write_within(3, y, room, &row.what, role);
    if is_full {
        canvas.write_within(39, y, 13, &row.last, Role::Plain);
        canvas.write(53, y, &row.why, Role::Plain);
    }
}

fn chart_row(chart: &ChartRow, tempo: f64, is_chosen: bool, y: u16, is_full: bool, canvas: &mut Canvas<'_>) {
    let role = mark(is_chosen, y, canvas);
    let tempo = format!("{:>5}", tempo.round());
    if !is_full {
        let title_room = canvas.width().saturating_sub(3 + 15);
        canvas.write_within(3, y, title_room, &chart.title, role);
        let right = canvas.width().saturating_sub(14);
        canvas.write(right, y, &chart.key, Role::Plain);
        canvas.write(right + 6, y, &tempo, Role::Plain);
        return;
    }
    canvas.write_within(3, y, 20, &chart.title, role);
    canvas.write_within(24, y, 5, &chart.key, Role::Plain);
    canvas.write(30, y, &format!("{:>4}", chart.bars), Role::Plain);
    canvas.write_within(36, y, 8, &chart.feel, Role::Plain);
    canvas.write(45, y, &tempo, Role::Plain);
    canvas.write(53, y, &format!("{:>5}", chart.takes), Role::Plain);
    canvas.write(60, y, &chart.share, Role::Plain);
}

/// Marks the chosen row; says how its first words are written.
fn mark(is_chosen: bool, y: u16, canvas: &mut Canvas<'_>) -> Role {
    if is_chosen {
        canvas.write(1, y, ">", Role::Now);
        Role::Now
    } else {
        Role::Plain
    }
}

/// What is known of the chosen chart, and of the time played today.
fn known(home: &Home, top: u16, is_full: bool, canvas: &mut Canvas<'_>) {
    let chart = match home.row(home.cursor) {
        Some(Chosen::Chart(chart)) => home.document.charts.get(chart),
        Some(Chosen::ToPlay(_)) | None => None,
    };
    if let Some(chart) = chart.filter(|_| is_full) {
        canvas.write(1, top + 1, &format!("{:20}  {}", chart.title, chart.regions), Role::Plain);
        if let Some(last) = &chart.last_take {
            canvas.write(3, top + 2, &format!("last take: {last}"), Role::Plain);
        }
    }
    if let Some(pause) = home.document.pause() {
        canvas.write(1, top + if is_full { 3 } else { 0 }, &pause, Role::Plain);
    }
}

/// What had to be said, or what is typed; below it the keys.
fn last_row(home: &Home, canvas: &mut Canvas<'_>) {
    let above = canvas.height() - 2;
    if let Some(line) = &home.typing {
        line.draw(above, canvas);
    } else if let Some(said) = &home.said {
        canvas.write(1, above, said, Role::Plain);
    }
    let row = HOME.bottom_row(usize::from(canvas.width().saturating_sub(24)));
    canvas.write(0, above + 1, &format!(" space or foot top row  {row}"), Role::Aside);
}
