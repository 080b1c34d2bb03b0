//! The digest of a judged take: everything that progress over weeks asks of it, and nothing else.
//!
//! It is flat, carries its own version and the number of the counting rules, and can be kept and read back without the
//! take. It holds no time of day and no file name. A digest can always be made again from its take; one of another
//! [`VERSION`] is made again rather than read.

mod make;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::statistics::{Interval, Level, wilson};
use crate::tally::settings::{Counting, ShareBy};

pub use make::{CAPTURE_SETTINGS, JudgedTake, form_text};

/// The version of the digest: a change of what a field holds counts it up.
pub const VERSION: u32 = 1;

/// What is kept of one judged take.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Digest {
    /// [`VERSION`] of the program that made it.
    pub version: u32,
    /// The number of the counting rules ([`crate::tally::RULES`]).
    pub rules: u32,
    /// Number of the take.
    pub take: u32,
    /// SHA-256 of its file, in hexadecimal.
    pub sha256: String,
    /// The day its file was written, in the local zone of that day.
    pub day: Date,
    /// Seconds from bar 1 to the end of the last bar, or to where it was stopped.
    pub seconds: f64,

    /// Title of the chart; empty where there is none.
    pub title: String,
    /// SHA-256 of the chart's text, in hexadecimal. The same chart in another key has another.
    pub chart_sha256: String,
    /// SHA-256 of the whole form as [`form_text`] writes it, in hexadecimal: the same in any key, whatever the title,
    /// tempo and feel, and also where only some bars were played.
    pub form_sha256: String,
    /// Key signature it was played with, as a header writes it: `Eb`, `F#m`. A transposed take has another than the
    /// chart's other takes.
    pub key: Option<String>,
    /// Quarter notes a minute at the start.
    pub tempo: f64,
    /// How the band moved, by the take itself, else by the chart's header; `None` without either.
    pub feel: Option<String>,
    /// First and last bar of the form, from 1, where only some were played again and again; `None` for all.
    pub bars: Option<(usize, usize)>,
    /// Times through.
    pub choruses: u32,
    /// Bars that were the player's, as far as they were played.
    pub bars_played: usize,

    /// How notes of another listed scale were counted.
    pub counting: Counting,
    /// Whether verdicts look at counted notes or at sounding time.
    pub share_by: ShareBy,
    /// SHA-256, in hexadecimal, of the settings that decide how notes are counted. Facts about the instrument
    /// ([`CAPTURE_SETTINGS`]) are not among them.
    pub settings_sha256: String,

    /// Notes struck, left-out ones too.
    pub struck: usize,
    /// Of these, misread ones: ghosts and re-triggers.
    pub misread: usize,
    /// Notes counted.
    pub counted: f64,
    /// Chord tones.
    pub chord: Part,
    /// Scale tones.
    pub scale: Part,
    /// Notes of another scale; 0 when counted strictly.
    pub other: Part,
    /// Scale tones and notes of another scale together, as a lenient verdict takes them.
    pub scale_and_other: Part,
    /// Outside notes.
    pub outside: Part,
    /// Outside notes that resolved.
    pub resolved: Part,
    /// Outside notes that did not.
    pub open: Part,
    /// Shares of sounding time: chord, scale, other, outside.
    pub by_duration: [f64; 4],
    /// Thirds and sevenths among the counted notes: what landings are held against.
    pub guide_tones: f64,
    /// How changes were met.
    pub landings: Landed,
    /// Chord share of running the scale over what was played; `None` without a chord.
    pub running_the_scale: Option<f64>,

    /// By kind of chord (`m7`, `7`, `major`), in the order they come.
    pub kinds: Vec<Group>,
    /// By the key a chord is heard in (`Eb major`, `modal`), in the order they come.
    pub regions: Vec<Group>,
    /// Lowest, quartiles and highest MIDI key of the counted notes; `None` when nothing is counted.
    pub register: Option<[u8; 5]>,
    /// Beats of silence, of how many, and the longest stretch without one.
    pub rests: Rests,
    /// Where the line lay on the neck, bar by bar added up; empty where strings are not known.
    pub places: Vec<Placed>,
}

/// How many notes are of a kind, and what its share is worth.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Part {
    /// Notes of the kind.
    pub n: f64,
    /// Design effect of its share of the counted notes, from the take's own bars; 1 to 3.
    pub effect: f64,
}

/// Changes met.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Landed {
    /// Met with a third or seventh, or what stands for them.
    pub n: usize,
    /// Met with a note at all.
    pub of: usize,
}

/// Counts over one kind of chord, or in one key.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Group {
    /// Its name.
    pub name: String,
    /// Notes counted.
    pub counted: f64,
    /// Chord tones.
    pub chord: f64,
    /// Outside notes.
    pub outside: f64,
    /// Outside notes that did not resolve.
    pub open: f64,
    /// Thirds and sevenths.
    pub guide_tones: f64,
    /// How changes to such a chord were met.
    pub landings: Landed,
}

/// Silences of half a beat or more.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Rests {
    /// Beats of silence.
    pub beats: f64,
    /// Beats of the player's bars.
    pub of: f64,
    /// The longest stretch without a silence, in beats.
    pub longest_run: f64,
}

/// Notes played in one position of a key.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Placed {
    /// Tonic of the major key, or of the relative major of a minor one.
    pub key: String,
    /// The note the position begins with on the lowest string.
    pub start: String,
    /// Notes of the bars that lay in it.
    pub notes: usize,
}

impl Digest {
    /// The share of counted notes that `part` is, if any is counted.
    pub fn share(&self, part: Part) -> Option<f64> {
        (self.counted > 0.0).then(|| part.n / self.counted)
    }

    /// The 95 % interval of a share of this take alone.
    pub fn interval(&self, part: Part) -> Option<Interval> {
        wilson(part.n / part.effect, self.counted / part.effect, Level::ONE)
    }

    /// Misread notes, as a part of all notes struck.
    pub fn ghost_part(&self) -> f64 {
        if self.struck == 0 { 0.0 } else { self.misread as f64 / self.struck as f64 }
    }

    /// Whether the whole form was played, not some bars of it again and again.
    pub const fn is_whole(&self) -> bool {
        self.bars.is_none()
    }

    /// Notes a bar.
    pub fn notes_a_bar(&self) -> Option<f64> {
        (self.bars_played > 0).then(|| self.counted / self.bars_played as f64)
    }
}
