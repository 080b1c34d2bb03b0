//! What the mute key goes through: one part of the band after the other, then none.

use crate::band::Part;
use crate::band::voices::Hearing;
use crate::live::Cue;

/// What is silent.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Muted {
    /// Nothing but what the take began without.
    #[default]
    Nothing,
    /// The bass.
    Bass,
    /// The chords.
    Comp,
    /// Cymbals and bass drum.
    Drums,
}

impl Muted {
    /// The one after it; behind the last nothing again.
    #[must_use]
    pub const fn next(self) -> Self {
        match self {
            Self::Nothing => Self::Bass,
            Self::Bass => Self::Comp,
            Self::Comp => Self::Drums,
            Self::Drums => Self::Nothing,
        }
    }

    const fn parts(self) -> &'static [Part] {
        match self {
            Self::Nothing => &[],
            Self::Bass => &[Part::Bass],
            Self::Comp => &[Part::Comp],
            Self::Drums => &[Part::Ride, Part::Hat, Part::Kick],
        }
    }

    /// What is silent, in words; none where nothing is.
    pub const fn words(self) -> Option<&'static str> {
        match self {
            Self::Nothing => None,
            Self::Bass => Some("bass muted"),
            Self::Comp => Some("comp muted"),
            Self::Drums => Some("drums muted"),
        }
    }

    /// What the session has to be told to get from here to `next`. What was muted from the start, `always`, stays so.
    pub fn cues(self, next: Self, always: &[Part]) -> Vec<Cue> {
        let heard = self.parts().iter().filter(|part| !next.parts().contains(part) && !always.contains(part));
        let heard = heard.map(|&part| Cue::Hear(part, Hearing::Heard));
        heard.chain(next.parts().iter().map(|&part| Cue::Hear(part, Hearing::Muted))).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_part_after_the_other_is_silent_and_what_began_so_stays_so() {
        use Hearing::{Heard, Muted as Silent};
        let cues = |from: Muted| from.cues(from.next(), &[Part::Ride]);
        assert_eq!(cues(Muted::Nothing), [Cue::Hear(Part::Bass, Silent)]);
        assert_eq!(cues(Muted::Bass), [Cue::Hear(Part::Bass, Heard), Cue::Hear(Part::Comp, Silent)]);
        assert_eq!(cues(Muted::Drums), [Cue::Hear(Part::Hat, Heard), Cue::Hear(Part::Kick, Heard)]);
        assert_eq!(Muted::Drums.next(), Muted::Nothing);
    }
}
