//! Musical and physical time: exact integers, instants apart from lengths.
//!
//! It is not a clock: nothing here knows what time it is. Floats appear only where a number is shown.

pub mod near;
pub mod units;
pub mod meter;
pub mod tempo;

pub use meter::{BarGrid, Meter};
pub use tempo::{Bpm, TempoMap};
pub use units::{FrameRate, FrameSpan, Frames, NanoSpan, Nanos, TICKS_PER_QUARTER, TickSpan, Ticks};
