//! Digests made up for tests.

use jiff::civil::{Date, date};

use crate::practice::Digest;
use crate::practice::digest::{Group, Landed, Part, Placed, Rests, VERSION};
use crate::tally::settings::{Counting, ShareBy};

/// A take of 100 notes on a day of November 2026, 55 of them chord tones, 10 open, at 120.
pub fn take(number: u32, day: i8) -> Digest {
    on(number, date(2026, 11, day))
}

/// The same on any day.
pub fn on(number: u32, day: Date) -> Digest {
    let part = |n| Part { n, effect: 1.0 };
    Digest {
        version: VERSION,
        rules: 1,
        take: number,
        sha256: String::new(),
        day,
        seconds: 60.0,
        title: "Cellar Stairs".to_owned(),
        chart_sha256: String::new(),
        form_sha256: "cellar".to_owned(),
        key: Some("Bb".to_owned()),
        tempo: 120.0,
        feel: Some("swing".to_owned()),
        bars: None,
        choruses: 1,
        bars_played: 16,
        counting: Counting::Strict,
        share_by: ShareBy::Count,
        settings_sha256: String::new(),
        struck: 100,
        misread: 0,
        counted: 100.0,
        chord: part(55.0),
        scale: part(25.0),
        other: part(0.0),
        scale_and_other: part(25.0),
        outside: part(20.0),
        resolved: part(10.0),
        open: part(10.0),
        by_duration: [0.6, 0.25, 0.0, 0.15],
        guide_tones: 30.0,
        landings: Landed { n: 8, of: 20 },
        running_the_scale: Some(4.0 / 7.0),
        kinds: vec![kind("m7", 60.0, 36.0, 4.0), kind("7", 40.0, 19.0, 6.0)],
        regions: vec![kind("Bb major", 100.0, 55.0, 10.0)],
        register: Some([58, 64, 67, 71, 79]),
        rests: Rests { beats: 6.0, of: 64.0, longest_run: 20.0 },
        places: Vec::new(),
    }
}

fn kind(name: &str, counted: f64, chord: f64, open: f64) -> Group {
    let landings = Landed { n: 4, of: 10 };
    Group { name: name.to_owned(), counted, chord, outside: 2.0 * open, open, guide_tones: 15.0, landings }
}

impl Digest {
    /// With so many chord tones of its notes.
    #[must_use]
    pub fn with_chord(self, n: f64) -> Self {
        Self { chord: Part { n, effect: 1.0 }, ..self }
    }

    /// With a stretch in a position.
    #[must_use]
    pub fn in_position(mut self, key: &str, start: &str, notes: usize) -> Self {
        self.places.push(Placed { key: key.to_owned(), start: start.to_owned(), notes });
        self
    }
}
