//! The result as a page: one HTML file that stands by itself, for reading, printing and mailing.
//!
//! No script, nothing fetched, every picture inline and beside a table of the same figures. All figures come from the
//! documents that `--json` prints; the only thing worked out here is where on the paper a mark stands. Each kind of page is
//! a file; what they share is [`page`] (the frame), [`picture`], [`table`], [`palette`] and [`labels`].

pub mod palette;
pub mod page;
pub mod table;
pub mod picture;
pub mod text_width;
pub mod labels;
pub mod marks;
pub mod weeks;
pub mod take;
pub mod class;
pub mod assignment;
