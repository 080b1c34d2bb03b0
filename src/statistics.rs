//! How sure a share is: intervals and design effects.
//!
//! It knows no music. Pure functions, on whichever thread asks.

pub mod interval;
pub mod design;

pub use design::design_effect;
pub use interval::{Interval, Level, newcombe, wilson};
