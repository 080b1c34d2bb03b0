//! How sure a share is: intervals and design effects, within a take and over takes; trends.
//!
//! It knows no music. Pure functions, on whichever thread asks.

pub mod interval;
pub mod design;
pub mod takes;
pub mod trend;

pub use design::design_effect;
pub use interval::{Interval, Level, newcombe, wilson};
pub use takes::{Compared, Pooled, between_takes, compare};
pub use trend::{Trend, theil_sen};
