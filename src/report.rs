//! What is printed: the documents, and one file a format.
//!
//! It computes nothing: every number comes from a document, every document from a tally or a reading. Returns text.

pub mod number;
pub mod reading;
pub mod review;
pub mod why;
