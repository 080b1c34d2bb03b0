//! Tables of a page: the same rows that a terminal shows, with headings for columns and rows.

use maud::{Markup, html};

use crate::report::table::{Align, Cell, Column, Row, Table};
use crate::report::theme::Role;

/// From how many rows on a table is folded until it is asked for.
const FOLDED_FROM: usize = 26;

/// What the rows of a table are called on paper.
#[derive(Clone, Copy, Debug)]
pub struct Title<'a> {
    /// Names the table within the page.
    pub id: &'a str,
    /// What it shows.
    pub caption: &'a str,
}

/// The table, its first column the heading of each row.
pub fn table(rows: &Table, title: Title<'_>) -> Markup {
    let noted = rows.rows.iter().any(|row| row.note.is_some());
    html! {
        div.wide tabindex="0" role="group" aria-label=(title.caption) {
            table id=(title.id) {
                caption { (title.caption) }
                thead {
                    tr {
                        @for column in &rows.columns { (heading(*column)) }
                        @if noted { th scope="col" { "why" } }
                    }
                }
                tbody {
                    @for row in &rows.rows { (body_row(row, &rows.columns, noted)) }
                }
            }
        }
        @for note in &rows.notes { p.note { (note) } }
    }
}

/// The table under a line that opens it; a short one is open from the start.
pub fn folding(rows: &Table, title: Title<'_>) -> Markup {
    if rows.rows.len() < FOLDED_FROM { table(rows, title) } else { folded(rows, title, "short") }
}

/// The table under a line that opens it. `print` is `short` where it is printed whether it is open or not, else `long`.
pub fn folded(rows: &Table, title: Title<'_>, print: &str) -> Markup {
    html! {
        details class=(print) {
            summary { (title.caption) " (" (rows.rows.len()) " rows)" }
            (table(rows, title))
        }
    }
}

fn heading(column: Column) -> Markup {
    let numbers = (column.align == Align::Right).then_some("n");
    html! { th scope="col" class=[numbers] { (column.in_full()) } }
}

fn body_row(row: &Row, columns: &[Column], noted: bool) -> Markup {
    let cells = row.cells.iter().zip(columns).enumerate();
    html! {
        tr {
            @for (index, (shown, column)) in cells {
                @let numbers = (column.align == Align::Right).then_some("n");
                @if index == 0 && !shown.is_empty() {
                    th scope="row" class=[numbers] { (cell(shown)) }
                } @else {
                    td class=[numbers] { (cell(shown)) }
                }
            }
            @if noted { td { (row.note.as_deref().unwrap_or_default()) } }
        }
    }
}

fn cell(cell: &Cell) -> Markup {
    let in_a_line = cell.spans.len() > 1 || cell.spans.iter().any(|(text, _)| text.starts_with(['[', '<']));
    html! {
        @if in_a_line {
            span.marks { @for (text, role) in &cell.spans { (span(text, *role)) } }
        } @else {
            @for (text, _) in &cell.spans { (text) }
        }
    }
}

fn span(text: &str, role: Option<Role>) -> Markup {
    match role {
        Some(Role::Chord) => html! { b { (text) } },
        Some(Role::Outside) => html! { i { (text) } },
        _ => html! { (text) },
    }
}
