//! A frame of the playing screen at three sizes, beside a screen of plain words of the same size: the ratio is the figure.
//!
//! `cargo bench --bench frame`.

use barwise::chart::{Backing, Chart, Turns};
use barwise::harmony::Overrides;
use barwise::judge::ChordSource;
use barwise::live::{Moment, Place};
use barwise::screen::playing::neck_and_keys::{Instrument, Window};
use barwise::screen::playing::{Shown, draw};
use barwise::screen::{Heading, Ink, Page, Theme};
use barwise::theory::chord::BareSymbols;
use barwise::time::Ticks;
use divan::{Bencher, black_box};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::{Paragraph, Widget};

fn main() {
    divan::main();
}

/// Columns and rows.
const SIZES: [(u16, u16); 3] = [(80, 24), (120, 40), (300, 100)];

/// A chart that ships, as it stands on the screen.
fn page() -> Page {
    let backing = Backing::find("bus-shelter").expect("it ships");
    let (chart, _) = Chart::parse("bus-shelter.bars", backing.text, BareSymbols::default()).expect("a chart");
    let chords = ChordSource::of_chart(&chart, &Overrides::default());
    let heading = Heading {
        title: chart.title().to_owned(),
        feel_and_tempo: "swing 132".to_owned(),
        choruses: 3,
        turns: Turns::default(),
        ..Heading::default()
    };
    Page::new(&chords.form, &chords.reading, heading)
}

/// The whole neck and the keys, in the second chorus: as much as is ever drawn.
fn shown() -> Shown {
    Shown {
        moment: Moment {
            place: Place::Playing { chorus: 2, at: Ticks(5 * 80_640 + 60_000) },
            ..Moment::default()
        },
        window: Window::WholeNeck,
        instrument: Instrument::Both,
        ..Shown::default()
    }
}

fn area((width, height): (u16, u16)) -> Rect {
    Rect::new(0, 0, width, height)
}

#[divan::bench(args = SIZES)]
fn a_words_alone(bencher: Bencher, size: (u16, u16)) {
    let row = "words ".repeat(50);
    let text = vec![row; usize::from(size.1)].join("\n");
    bencher.bench_local(|| {
        let mut buffer = Buffer::empty(area(size));
        Paragraph::new(black_box(text.as_str())).render(buffer.area, &mut buffer);
        buffer
    });
}

#[divan::bench(args = SIZES)]
fn b_a_frame(bencher: Bencher, size: (u16, u16)) {
    let (page, shown, theme) = (page(), shown(), Theme { ink: Ink::OnDark, ..Theme::default() });
    bencher.bench_local(|| {
        let mut buffer = Buffer::empty(area(size));
        draw(&page, black_box(&shown), theme, buffer.area, &mut buffer);
        buffer
    });
}
