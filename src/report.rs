//! What is printed: each shape once, in every form it is asked for.
//!
//! It computes nothing and writes nowhere: it returns text. The rows a command gives are laid out in [`table`] for a
//! terminal, a pipe or a JSON document, as [`output_form`] says.

pub mod output_form;
pub mod schema;
pub mod settings;
pub mod signs;
pub mod table;
pub mod theme;

pub use output_form::OutputForm;
pub use signs::Signs;
pub use table::{Align, Cell, Column, Row, Table};
pub use theme::{Ink, Role};
