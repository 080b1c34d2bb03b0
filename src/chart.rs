//! The written page: charts, their text form, and the form they unfold to.
//!
//! It is not harmony: it knows which chord stands where, never what it means. Takes text, touches no disk.

pub mod form;

pub use form::{Form, FormBar, FormChord};
