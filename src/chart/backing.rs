//! The charts that ship: the files of `backing/`, part of the program.

/// A chart that ships.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Backing {
    /// The name of its file without `.bars`, by which it is asked for.
    pub stem: &'static str,
    /// Its text.
    pub text: &'static str,
}

/// Declares the charts by their stems.
macro_rules! backing {
    ($($stem:literal)*) => {
        &[$(Backing {
            stem: $stem,
            text: include_str!(concat!("../../backing/", $stem, ".bars")),
        }),*]
    };
}

impl Backing {
    /// Every chart that ships, easier forms first.
    pub const ALL: &[Self] = backing! {
        "filing-cabinet"
        "cellar-stairs"
        "night-window"
        "even-paint"
        "blue-tiles"
        "two-lamps"
        "bus-shelter"
        "corner-shop"
        "tide-table"
        "umbrella-stand"
        "ladder-in-the-hall"
        "kettle-on"
        "borrowed-pencil"
        "three-doors"
        "loose-change"
        "last-tram"
        "odd-shoes"
    };

    /// The chart whose file has this stem (`bus-shelter`).
    pub fn find(stem: &str) -> Option<&'static Self> {
        Self::ALL.iter().find(|chart| chart.stem == stem)
    }
}
