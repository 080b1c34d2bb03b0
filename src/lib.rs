//! barwise: practise improvising over chord changes.
//!
//! The modules stand in reading order: a tune is written (`chart`), meant (`harmony`), played (`take`) and heard
//! (`tally`). Data goes one way; see DEVELOPERS.md for the map and the laws.

pub mod theory;
pub mod time;
pub mod chart;
pub mod harmony;
pub mod neck;
pub mod take;
pub mod statistics;
pub mod tally;
pub mod practice;
pub mod report;
pub mod judge;
pub mod band;
pub mod demo;
pub mod live;
pub mod store;
pub mod screen;
pub mod command;
