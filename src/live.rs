//! The live room: devices, threads and the clock that ties them. The only place that touches any of the three.
//!
//! It knows no music theory: the band's notes come from [`crate::band`], and what the chords mean is drawn by
//! [`crate::screen`] from the place that a [`Moment`] names. [`play`] runs one take:
//!
//! | thread | runs | gets | gives |
//! |---|---|---|---|
//! | audio callback | [`callback`] | orders by ring | playheads by ring |
//! | MIDI driver | [`midi_in`] | the wire | stamped messages by channel |
//! | session | [`session`] | all of these, cues | moments |
//! | the caller's | a view | moments | cues |
//! | MIDI watch | [`midi_in`] | the list of inputs | what came and went |
//! | reopening, after a loss | [`reopen`] | what was lost | it, open again |

#[cfg(feature = "live")]
mod arrivals;
#[cfg(feature = "live")]
pub mod audio;
pub mod begin_cues;
pub mod buffer;
pub mod calibration;
pub mod callback;
pub mod clock;
pub mod devices;
pub mod input_rank;
pub mod look;
pub mod foot;
pub mod listening;
pub mod midi_from_file;
#[cfg(feature = "live")]
mod input_watch;
#[cfg(feature = "live")]
pub mod midi_in;
#[cfg(feature = "jack")]
pub mod midi_in_jack;
pub mod moment;
pub mod keep;
pub mod plan;
pub mod playheads;
pub mod reopen;
pub mod session;
pub mod shifted;
pub mod silent;
#[cfg(all(unix, feature = "live"))]
pub mod stderr_guard;
pub mod stop_signal;
pub mod wires;

pub use devices::{notes_in_names, sound_is_there};
pub use foot::{FootAction, FootSwitch};
pub use moment::{Moment, Place};
pub use plan::{
    FileStart, LiveError, NotesChoice, Played, SessionPlan, SoundChoice, SoundNames, Stopped, ViewBroke,
};
pub use session::{headless, play};
pub use wires::{Cue, ShortMessage, StampedMessage, ViewEnd};
