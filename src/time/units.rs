//! The units of time: ticks of musical time, nanoseconds of physical time; an instant is never a length.

use std::ops::{Add, AddAssign, Mul, Neg, Sub};

/// Ticks in a quarter note: 2^6 · 3^2 · 5 · 7, so that halves, triplets, quintuplets and septuplets are whole numbers
/// and a Standard MIDI File can carry it as its division (at most 32,767).
pub const TICKS_PER_QUARTER: i64 = 20_160;

/// Declares an instant and its length: the difference of two instants is a length, and only lengths add up.
macro_rules! instant_and_span {
    ($instant:ident, $span:ident, $unit:literal) => {
        #[doc = concat!("An instant, in ", $unit, " from a start that the context names.")]
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
        pub struct $instant(pub i64);

        #[doc = concat!("A length, in ", $unit, ".")]
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
        pub struct $span(pub i64);

        impl $instant {
            /// The start.
            pub const ZERO: Self = Self(0);
        }

        impl $span {
            /// No time at all.
            pub const ZERO: Self = Self(0);
        }

        impl Sub for $instant {
            type Output = $span;
            fn sub(self, earlier: Self) -> $span {
                $span(self.0 - earlier.0)
            }
        }

        impl Add<$span> for $instant {
            type Output = Self;
            fn add(self, span: $span) -> Self {
                Self(self.0 + span.0)
            }
        }

        impl AddAssign<$span> for $instant {
            fn add_assign(&mut self, span: $span) {
                self.0 += span.0;
            }
        }

        impl Sub<$span> for $instant {
            type Output = Self;
            fn sub(self, span: $span) -> Self {
                Self(self.0 - span.0)
            }
        }

        impl Add for $span {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl AddAssign for $span {
            fn add_assign(&mut self, other: Self) {
                self.0 += other.0;
            }
        }

        impl Sub for $span {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl Neg for $span {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }

        impl Mul<i64> for $span {
            type Output = Self;
            fn mul(self, times: i64) -> Self {
                Self(self.0 * times)
            }
        }

        impl std::iter::Sum for $span {
            fn sum<I: Iterator<Item = Self>>(spans: I) -> Self {
                spans.fold(Self::ZERO, Add::add)
            }
        }
    };
}

instant_and_span!(Ticks, TickSpan, "ticks (20,160 to the quarter note)");
instant_and_span!(Nanos, NanoSpan, "nanoseconds");
instant_and_span!(Frames, FrameSpan, "frames (one sample of every channel)");

/// Frames a second: the pace of a sound device.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FrameRate(std::num::NonZeroU32);

impl FrameRate {
    /// `hertz` frames a second, or `None` for 0.
    pub const fn new(hertz: u32) -> Option<Self> {
        match std::num::NonZeroU32::new(hertz) {
            Some(hertz) => Some(Self(hertz)),
            None => None,
        }
    }

    /// Frames a second.
    pub const fn hertz(self) -> u32 {
        self.0.get()
    }

    /// How many frames last as long as `span`, rounded down.
    pub const fn frames(self, span: NanoSpan) -> FrameSpan {
        FrameSpan((span.0 as i128 * self.hertz() as i128).div_euclid(1_000_000_000) as i64)
    }

    /// How long `span` lasts, rounded down.
    pub const fn nanos(self, span: FrameSpan) -> NanoSpan {
        NanoSpan((span.0 as i128 * 1_000_000_000).div_euclid(self.hertz() as i128) as i64)
    }
}

impl TickSpan {
    /// A whole number of quarter notes.
    pub const fn quarters(quarters: i64) -> Self {
        Self(quarters * TICKS_PER_QUARTER)
    }

    /// The length in quarter notes, for showing.
    pub fn in_quarters(self) -> f64 {
        self.0 as f64 / TICKS_PER_QUARTER as f64
    }
}

impl Nanos {
    /// The instant in milliseconds, for showing.
    pub fn in_millis(self) -> f64 {
        self.0 as f64 / 1e6
    }
}

impl NanoSpan {
    /// A whole number of milliseconds.
    pub const fn millis(millis: i64) -> Self {
        Self(millis * 1_000_000)
    }

    /// The length in milliseconds, for showing.
    pub fn in_millis(self) -> f64 {
        self.0 as f64 / 1e6
    }

    /// The length times `numerator / denominator`, rounded down.
    #[must_use]
    pub const fn scaled(self, numerator: i64, denominator: i64) -> Self {
        match self.0.checked_mul(numerator) {
            Some(product) => Self(product.div_euclid(denominator)),
            None => Self((self.0 as i128 * numerator as i128).div_euclid(denominator as i128) as i64),
        }
    }
}
