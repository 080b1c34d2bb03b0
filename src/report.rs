//! What is printed: the documents, and each shape once in every form it is asked for.
//!
//! It computes nothing and writes nowhere: every number comes from a document, every document from a tally or a reading,
//! and it returns text. The rows a command gives are laid out in [`table`] for a terminal or a pipe, as [`output_form`]
//! says.

pub mod home;
pub mod number;
pub mod reading;
pub mod region_lines;
pub mod cautions;
pub mod review;
pub mod why;
pub mod html;
pub mod takes;
pub mod soundcheck;
pub mod band;
pub mod beside;
pub mod calibration;
pub mod picture;
pub mod neck;
pub mod verdict;
pub mod progress;
pub mod assignment;
pub mod class;
pub mod model;
pub mod settings;
pub mod schema;
pub mod spreadsheet;
pub mod signs;
pub mod theme;
pub mod table;
pub mod output_form;

pub use output_form::OutputForm;
pub use signs::Signs;
pub use table::{Align, Cell, Column, Row, Table};
pub use theme::{Ink, Role};
