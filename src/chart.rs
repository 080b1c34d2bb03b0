//! The written page: charts, their text form, and the form they unfold to.
//!
//! It is not harmony: it knows which chord stands where, never what it means. Takes text, touches no disk.
//!
//! [`read`] turns a `.bars` text into a [`Chart`] ([`model`]) or says at once everything that stops it ([`slip`]);
//! [`repeats`] finds the order in which bars are played, [`unfold`] lays their chords out in time as a [`Form`].
//! [`change`] moves a chart to another key (spelled by `shift`) and sets scales, [`decision`] holds what a player decided
//! beside the text, `moved` moves a form alone, [`layout`] writes a text for a chart that has none yet,
//! [`turns`] says whose bar is whose when a form is shared, [`midi_chord_text`] makes a form of the chord texts in a MIDI file, [`backing`] holds the charts that ship.

pub mod ascii;
pub mod backing;
pub mod barline;
pub mod change;
pub mod decision;
pub mod midi_chord_text;
pub mod form;
pub mod header;
pub mod layout;
pub mod model;
mod moved;
pub mod read;
pub mod repeats;
pub mod sharing;
mod shift;
pub mod slip;
pub mod turns;
pub mod unfold;

pub use backing::Backing;
pub use barline::Barline;
pub use change::ChangeError;
pub use decision::{ChordPlace, Decided, Decisions};
pub use form::{Form, FormBar, FormChord, Sevenths};
pub use header::{Feel, Header};
pub use model::{BarContent, BeatPlace, Chart, Half, Section, WrittenBar, WrittenChord};
pub use moved::Move;
pub use slip::{Caution, ChartError, ChartErrors, Ink, Slip, TextPlace, Warning};
pub use turns::{Head, Trade, Turn, Turns};
