//! What the screens after a take are drawn from: the page, the review, and what the player has entered about it.

use std::sync::Arc;

use crate::report::review::chorus_words::Part;
use crate::report::review::contests_granted::Granted;
use crate::report::review::{ChordRecord, NoteRecord, Review};
use crate::screen::page::Page;
use crate::tally::verdict::Bands;

/// A take as it stands.
#[derive(Clone, Debug)]
pub struct Seen {
    /// The tune.
    pub page: Page,
    /// What was found.
    pub review: Review,
    /// What is asked of it, if anything is.
    pub bands: Option<Bands>,
    /// Its figures with the contested notes granted, where there are any.
    pub granted: Option<Granted>,
    /// The notes that are contested, by index, each with what it is heard as.
    pub contests: Vec<(usize, String)>,
    /// The player's notes to self on it, oldest first.
    pub notes_to_self: Vec<String>,
    /// The bars kept as phrases: chorus, first and last bar.
    pub phrases: Vec<(u32, usize, usize)>,
    /// Notes that were left out as misread and brought back, by index.
    pub brought_back: Vec<usize>,
}

/// Shared by the screens that show it.
pub type SeenTake = Arc<Seen>;

impl Seen {
    /// How many choruses there are to look at.
    pub fn choruses(&self) -> u32 {
        self.review.choruses.as_ref().map_or(0, Vec::len) as u32
    }

    /// The part that is looked at first: the last chorus in which something counted.
    pub fn first_part(&self) -> Part {
        let mut counted = self.review.choruses.iter().flatten().filter(|chorus| chorus.counted.0 > 0.0);
        counted.next_back().map_or(Part::Chorus(1), |chorus| Part::Chorus(chorus.chorus))
    }

    /// The part that is looked at next: the chorus behind it, behind the last one the whole take, then the first again.
    pub fn part_behind(&self, part: Part) -> Part {
        match part {
            Part::Chorus(chorus) if chorus < self.choruses() => Part::Chorus(chorus + 1),
            Part::Chorus(_) if self.choruses() > 1 => Part::Take,
            Part::Chorus(_) | Part::Take => Part::Chorus(1),
        }
    }

    /// `chorus 2 of 3`, `whole take`; where the tune goes through keys with its key.
    pub fn part_words(&self, part: Part) -> String {
        match part {
            Part::Chorus(chorus) => {
                format!("chorus {chorus} of {}{}", self.choruses(), self.page_of(part).key_of_chorus())
            }
            Part::Take => format!("all {} choruses", self.choruses()),
        }
    }

    /// `take 14`; nothing where it is not kept.
    pub fn take_words(&self) -> String {
        self.review.source.take.map_or_else(String::new, |take| format!("take {take}"))
    }

    /// The page of a part.
    pub fn page_of(&self, part: Part) -> &Page {
        match part {
            Part::Chorus(chorus) => self.page.of_chorus(u16::try_from(chorus).unwrap_or(u16::MAX)),
            Part::Take => self.page.of_chorus(1),
        }
    }

    /// The soundings of chords of a part, in order.
    pub fn chords(&self, part: Part) -> impl Iterator<Item = &ChordRecord> {
        self.review.chords.iter().flatten().filter(move |chord| part.has(chord.chorus))
    }

    /// What another listen says of a note: as what it is contested, if it is.
    pub fn contest(&self, note: usize) -> Option<&str> {
        self.contests.iter().find(|(index, _)| *index == note).map(|(_, heard)| heard.as_str())
    }

    /// The notes that are left out, and those that were brought back.
    pub fn left_out(&self) -> Vec<&NoteRecord> {
        let is_out = |note: &&NoteRecord| !note.counted || self.brought_back.contains(&note.index);
        self.review.notes.iter().flatten().filter(is_out).collect()
    }
}
