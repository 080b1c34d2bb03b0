//! How sure a share is: intervals and design effects, within a take and over takes; trends.
//!
//! It knows no music. Pure functions, on whichever thread asks.

pub mod interval;
pub mod design_effect;
pub mod between_takes;
pub mod trend;

pub use between_takes::{Compared, Pooled, between_takes, compare};
pub use design_effect::design_effect;
pub use interval::{Interval, Level, newcombe, wilson};
pub use trend::{Trend, theil_sen};
