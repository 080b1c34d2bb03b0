//! What is printed: the documents, and each shape once in every form it is asked for.
//!
//! It computes nothing and writes nowhere: every number comes from a document, every document from a tally or a reading,
//! and it returns text. The rows a command gives are laid out in [`table`] for a terminal or a pipe, as [`output_form`]
//! says.

pub mod number;
pub mod reading;
pub mod reading_text;
pub mod region_lines;
pub mod review;
pub mod why;
pub mod review_text;
pub mod review_notes;
pub mod review_page;
pub mod takes;
pub mod soundcheck;
pub mod calibration;
pub mod picture;
pub mod neck;
pub mod neck_picture;
pub mod neck_words;
pub mod keys_picture;
pub mod verdict;
pub mod assignment;
pub mod assignment_page;
pub mod class;
pub mod class_page;
pub mod model;
pub mod verdict_page;
pub mod progress;
pub mod progress_picture;
pub mod progress_words;
pub mod progress_rows;
pub mod progress_page;
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
