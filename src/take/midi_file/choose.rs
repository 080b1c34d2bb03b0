//! Which track is judged, and where the chords stand.

use std::fmt;

use super::{MidiFile, MidiTrack};
use crate::take::message::Meaning;
use crate::time::Ticks;

/// The name of the track that is judged unless another is asked for.
const SOLO: &str = "Solo";
/// The name of the track whose texts are chords.
const CHORDS: &str = "Chords";

/// A track as a message names it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TrackSummary {
    /// Its number, from 1.
    pub number: usize,
    /// Its name; empty where it has none.
    pub name: String,
    /// How many notes it strikes.
    pub notes: usize,
}

impl fmt::Display for TrackSummary {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let plural = if self.notes == 1 { "" } else { "s" };
        if self.name.is_empty() {
            write!(f, "{} ({} note{plural})", self.number, self.notes)
        } else {
            write!(f, "{} \"{}\" ({} note{plural})", self.number, self.name, self.notes)
        }
    }
}

/// Says why no track can be judged, and what to type.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoTrack {
    /// No track has that name or number.
    #[error(
        "no track \"{wanted}\": the file has {}: type --track with a name or number of these",
        listed(tracks)
    )]
    Unknown {
        /// What was asked for.
        wanted: String,
        /// All tracks.
        tracks: Vec<TrackSummary>,
    },
    /// None is named Solo and more than one has notes.
    #[error(
        "several tracks have notes: {}: choose one, such as --track {}",
        listed(tracks),
        first_number(tracks)
    )]
    Several {
        /// The tracks with notes.
        tracks: Vec<TrackSummary>,
    },
    /// No notes at all.
    #[error(
        "no track has notes: the file has {}: record or export the solo as a track named Solo",
        listed(tracks)
    )]
    Silent {
        /// All tracks.
        tracks: Vec<TrackSummary>,
    },
}

/// The most tracks that a message lists.
const MOST_LISTED: usize = 24;

fn listed(tracks: &[TrackSummary]) -> String {
    let mut names: Vec<String> = tracks.iter().take(MOST_LISTED).map(ToString::to_string).collect();
    if tracks.len() > MOST_LISTED {
        names.push(format!("{} more", tracks.len() - MOST_LISTED));
    }
    names.join(", ")
}

fn first_number(tracks: &[TrackSummary]) -> usize {
    tracks.first().map_or(1, |track| track.number)
}

impl MidiTrack {
    fn is_named(&self, wanted: &str) -> bool {
        let same = |name: &str| name.to_lowercase() == wanted.trim().to_lowercase();
        self.name.as_deref().is_some_and(same)
    }
}

impl MidiFile {
    /// When the last key of a track is struck; the start of the file if none is.
    pub fn last_strike(&self, track: usize) -> Ticks {
        let messages = self.tracks.get(track).into_iter().flat_map(|track| &track.messages);
        let strikes = messages.filter(|timed| matches!(timed.message.meaning(), Meaning::NoteOn { .. }));
        strikes.map(|timed| timed.ticks).max().unwrap_or(Ticks::ZERO)
    }

    /// The index of the track to judge: the one `wanted` by name (any case) or number from 1; else the one named
    /// Solo, else the only one with notes. Of several with the same name the first that has notes.
    pub fn solo_track(&self, wanted: Option<&str>) -> Result<usize, NoTrack> {
        match wanted {
            Some(wanted) => {
                self.track_named(wanted).or_else(|| self.track_numbered(wanted)).ok_or_else(|| {
                    NoTrack::Unknown {
                        wanted: wanted.chars().filter(|c| !c.is_control()).collect(),
                        tracks: self.track_summaries(),
                    }
                })
            }
            None => self.track_named(SOLO).map_or_else(|| self.only_track_with_notes(), Ok),
        }
    }

    /// The chord texts: those of the track named Chords if there is one, else every text, lyric and marker of every
    /// track, in order of time. Whether they read as chords is for the chart to say.
    pub fn chord_texts(&self) -> Vec<(Ticks, String)> {
        let tracks = match self.tracks.iter().find(|track| track.is_named(CHORDS)) {
            Some(chords) => std::slice::from_ref(chords),
            None => &self.tracks,
        };
        let texts = tracks.iter().flat_map(|track| &track.texts);
        let mut texts: Vec<_> = texts.map(|text| (text.at, text.text.clone())).collect();
        texts.sort_by_key(|&(at, _)| at);
        texts
    }

    /// Whether a track is named for its chords.
    pub fn has_chords_track(&self) -> bool {
        self.tracks.iter().any(|track| track.is_named(CHORDS))
    }

    /// Every track's number, name and count of notes.
    pub fn track_summaries(&self) -> Vec<TrackSummary> {
        let summary = |(index, track): (usize, &MidiTrack)| TrackSummary {
            number: index + 1,
            name: track.name.clone().unwrap_or_default(),
            notes: track.note_count,
        };
        self.tracks.iter().enumerate().map(summary).collect()
    }

    fn track_named(&self, wanted: &str) -> Option<usize> {
        let mut named = (0..self.tracks.len()).filter(|&index| self.tracks[index].is_named(wanted));
        let first = named.next()?;
        let with_notes = std::iter::once(first).chain(named).find(|&index| self.tracks[index].note_count > 0);
        Some(with_notes.unwrap_or(first))
    }

    fn track_numbered(&self, wanted: &str) -> Option<usize> {
        let number: usize = wanted.trim().parse().ok()?;
        let index = number.checked_sub(1)?;
        (index < self.tracks.len()).then_some(index)
    }

    fn only_track_with_notes(&self) -> Result<usize, NoTrack> {
        let mut summaries = self.track_summaries();
        let has_notes = |track: &TrackSummary| track.notes > 0;
        match summaries.iter().filter(|track| has_notes(track)).count() {
            0 => Err(NoTrack::Silent { tracks: summaries }),
            1 => Ok(summaries.iter().position(has_notes).unwrap_or_default()),
            _ => {
                summaries.retain(has_notes);
                Err(NoTrack::Several { tracks: summaries })
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::take::midi_file::{TextKind, TrackText};
    use crate::time::{Nanos, TempoMap};

    fn file(tracks: &[(&str, usize)]) -> MidiFile {
        let track = |&(name, note_count): &(&str, usize)| MidiTrack {
            name: (!name.is_empty()).then(|| name.to_owned()),
            note_count,
            ..MidiTrack::default()
        };
        MidiFile {
            tempo: TempoMap::default(),
            meters: Vec::new(),
            key: None,
            tracks: tracks.iter().map(track).collect(),
            end: Nanos::ZERO,
            end_ticks: Ticks::ZERO,
            warnings: Vec::new(),
        }
    }

    #[test]
    fn the_track_is_chosen_by_name_number_or_default() {
        let check = |tracks: &[(&str, usize)], wanted, expect| {
            assert_eq!(file(tracks).solo_track(wanted).ok(), expect, "{tracks:?} {wanted:?}");
        };
        let band = [("", 0), ("Bass", 40), ("solo", 12)];
        check(&band, None, Some(2));
        check(&band, Some("BASS"), Some(1));
        check(&band, Some("2"), Some(1));
        check(&band, Some("4"), None);
        check(&band, Some("0"), None);
        check(&[("", 0), ("Lead", 3)], None, Some(1));
        check(&[("Solo", 0), ("Solo", 5)], None, Some(1));
        check(&[("a", 1), ("b", 1)], None, None);
        check(&[("a", 0)], None, None);
        check(&[("2", 1), ("b", 1)], Some("2"), Some(0));
    }

    #[test]
    fn an_unclear_choice_lists_the_tracks_and_what_to_type() {
        let error = file(&[("", 0), ("Bass", 40), ("Lead", 1)]).solo_track(None).expect_err("two with notes");
        assert_eq!(
            error.to_string(),
            "several tracks have notes: 2 \"Bass\" (40 notes), 3 \"Lead\" (1 note): choose one, such as --track 2"
        );
    }

    #[test]
    fn chord_texts_come_from_the_track_of_that_name_or_from_all() {
        let text = |at, text: &str| TrackText { at: Ticks(at), kind: TextKind::Lyric, text: text.to_owned() };
        let mut file = file(&[("one", 0), ("two", 0)]);
        file.tracks[0].texts = vec![text(5, "G7")];
        file.tracks[1].texts = vec![text(0, "Dm7")];
        let texts =
            |file: &MidiFile| file.chord_texts().into_iter().map(|(_, text)| text).collect::<Vec<_>>();
        assert_eq!(texts(&file), ["Dm7", "G7"]);
        file.tracks[1].name = Some("CHORDS".to_owned());
        assert_eq!(texts(&file), ["Dm7"]);
    }
}
