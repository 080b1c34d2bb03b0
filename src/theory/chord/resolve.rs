//! From the words of a symbol to the quality they stand for.

use super::parse::{BareSymbols, Dim, Eleven, Sus, Sus4};
use super::quality::{Arpeggio, Colour, Colours, Quality};
use super::words::{Change, Family, Fifth, Number, Third};

/// What has been read of a quality so far.
#[derive(Clone, Copy)]
pub(super) struct Parts {
    pub(super) family: Family,
    pub(super) number: Option<Number>,
    pub(super) colours: Colours,
    pub(super) fifth: Fifth,
    pub(super) flat_six: bool,
    pub(super) major_seventh: bool,
    pub(super) third: Third,
    pub(super) add: Option<Arpeggio>,
    pub(super) alt: bool,
}

impl Parts {
    pub(super) const fn of(family: Family) -> Self {
        Self {
            family,
            number: None,
            colours: Colours::NONE,
            fifth: Fifth::Plain,
            flat_six: false,
            major_seventh: false,
            third: Third::Plain,
            add: None,
            alt: false,
        }
    }

    /// Takes in a number: the chord's own where it has none yet, else a colour beside it (`7(13)`).
    pub(super) fn take_number(&mut self, number: Number) -> Option<()> {
        if self.number.is_none() {
            self.number = Some(number);
            return Some(());
        }
        let colour = match number {
            Number::Nine => Colour::Nine,
            Number::Eleven => Colour::Eleven,
            Number::Thirteen => Colour::Thirteen,
            _ => return None,
        };
        self.colours = self.colours.with(colour);
        Some(())
    }

    pub(super) fn take_change(&mut self, change: Change) {
        match change {
            Change::Colour(colour) => self.colours = self.colours.with(colour),
            Change::Fifth(fifth) => self.fifth = self.fifth.and(fifth),
            Change::FlatSix => self.flat_six = true,
            Change::MajorSeventh => self.major_seventh = true,
            Change::Third(third) => self.third = third,
            Change::AddNine if self.add.is_none() => self.add = Some(Arpeggio::Add9),
            Change::AddNine => self.colours = self.colours.with(Colour::Nine),
            Change::AddEleven if self.add.is_none() => self.add = Some(Arpeggio::Add11),
            Change::AddEleven => self.colours = self.colours.with(Colour::Eleven),
            Change::Alt => self.alt = true,
            Change::Separator => {}
        }
    }
}

/// The seventh that family and number ask for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Seventh {
    None,
    Sixth,
    Minor,
    Major,
}

/// The quality that the words stand for; `None` where they do not go together.
pub(super) fn resolve(mut parts: Parts, bare: BareSymbols) -> Option<Quality> {
    if parts.fifth == Fifth::Both {
        return None;
    }
    let seventh = seventh_of(&mut parts)?;
    let arpeggio = match parts.third {
        _ if parts.alt => resolve_altered(parts, seventh),
        Third::Absent => resolve_power(parts, seventh),
        Third::Plain if parts.number == Some(Number::Five) => resolve_power(parts, seventh),
        Third::Plain => resolve_family(&mut parts, seventh, bare),
        third => resolve_sus(parts, third, seventh, bare),
    }?;
    finish(parts, arpeggio)
}

fn resolve_altered(parts: Parts, seventh: Seventh) -> Option<Arpeggio> {
    let plain = matches!(parts.family, Family::Plain | Family::Dominant)
        && (parts.fifth, parts.third) == (Fifth::Plain, Third::Plain)
        && matches!(parts.number, None | Some(Number::Seven));
    let bare = parts.colours.is_empty() && parts.add.is_none() && seventh != Seventh::Major;
    (plain && bare && !parts.flat_six).then_some(Arpeggio::Altered)
}

fn resolve_power(parts: Parts, seventh: Seventh) -> Option<Arpeggio> {
    let plain = parts.family == Family::Plain && parts.fifth == Fifth::Plain && parts.add.is_none();
    (plain && seventh == Seventh::None && parts.colours.is_empty()).then_some(Arpeggio::Power)
}

fn resolve_family(parts: &mut Parts, seventh: Seventh, bare: BareSymbols) -> Option<Arpeggio> {
    match parts.family {
        Family::Plain | Family::Major | Family::Delta | Family::Dominant => {
            resolve_major(parts, seventh, bare)
        }
        Family::Minor => resolve_minor(parts, seventh),
        Family::Diminished => resolve_diminished(*parts, seventh, bare),
        Family::HalfDiminished => (seventh != Seventh::Sixth).then_some(Arpeggio::HalfDiminished),
        Family::Augmented => resolve_augmented(*parts, seventh),
        Family::Lydian | Family::Phrygian => resolve_mode_word(parts),
    }
}

/// Turns the number into a seventh and its colour.
fn seventh_of(parts: &mut Parts) -> Option<Seventh> {
    let colour = match parts.number {
        Some(Number::Nine | Number::SixNine) => Some(Colour::Nine),
        Some(Number::Eleven) => Some(Colour::Eleven),
        Some(Number::Thirteen) => Some(Colour::Thirteen),
        _ => None,
    };
    parts.colours = colour.map_or(parts.colours, |c| parts.colours.with(c));
    let major = parts.major_seventh || matches!(parts.family, Family::Major | Family::Delta);
    match parts.number {
        Some(Number::Two) if parts.add.is_none() => {
            parts.add = Some(Arpeggio::Add9);
            Some(Seventh::None)
        }
        Some(Number::Two) => None,
        Some(Number::Six | Number::SixNine) => Some(Seventh::Sixth),
        Some(Number::Seven | Number::Nine | Number::Eleven | Number::Thirteen) if major => {
            Some(Seventh::Major)
        }
        Some(Number::Seven | Number::Nine | Number::Eleven | Number::Thirteen) => Some(Seventh::Minor),
        None | Some(Number::Five) if parts.family == Family::Delta || parts.major_seventh => {
            Some(Seventh::Major)
        }
        None if parts.family == Family::Dominant => None,
        None | Some(Number::Five) => Some(Seventh::None),
    }
}

fn resolve_sus(parts: Parts, third: Third, seventh: Seventh, bare: BareSymbols) -> Option<Arpeggio> {
    let plain = matches!(parts.family, Family::Plain | Family::Major | Family::Delta | Family::Dominant);
    if !plain || parts.fifth != Fifth::Plain || parts.flat_six {
        return None;
    }
    let coloured = !parts.colours.is_empty();
    match (third, seventh) {
        (Third::Sus2, Seventh::None) if !coloured => Some(Arpeggio::Sus2),
        (Third::Sus2, _) | (_, Seventh::Sixth) => None,
        (_, Seventh::Major) => Some(Arpeggio::Major7Sus4),
        (_, Seventh::Minor) => Some(Arpeggio::Dominant7Sus4),
        (Third::Sus, Seventh::None) if coloured || bare.sus == Sus::Seventh => Some(Arpeggio::Dominant7Sus4),
        (_, Seventh::None) if bare.sus4 == Sus4::Seventh => Some(Arpeggio::Dominant7Sus4),
        (_, Seventh::None) => Some(Arpeggio::Sus4),
    }
}

fn resolve_major(parts: &mut Parts, seventh: Seventh, bare: BareSymbols) -> Option<Arpeggio> {
    if parts.flat_six {
        parts.flat_six = false;
        parts.colours = parts.colours.with(Colour::FlatThirteen);
    }
    Some(match (seventh, parts.fifth) {
        (Seventh::Minor, Fifth::Plain)
            if parts.number == Some(Number::Eleven) && bare.eleven == Eleven::Suspended =>
        {
            parts.colours = parts.colours.without(Colour::Eleven).with(Colour::Nine);
            Arpeggio::Dominant7Sus4
        }
        (Seventh::Minor, Fifth::Plain) => Arpeggio::Dominant7,
        (Seventh::Minor, Fifth::Flat) => Arpeggio::Dominant7Flat5,
        (Seventh::Minor, Fifth::Sharp) => Arpeggio::Dominant7Sharp5,
        (Seventh::Major, Fifth::Plain) => Arpeggio::Major7,
        (Seventh::Major, Fifth::Flat) => Arpeggio::Major7Flat5,
        (Seventh::Major, Fifth::Sharp) => Arpeggio::Major7Sharp5,
        (Seventh::Sixth, Fifth::Plain) => Arpeggio::Sixth,
        (Seventh::None, Fifth::Plain) => resolve_major_triad(parts),
        (Seventh::None, Fifth::Flat) => Arpeggio::MajorFlat5,
        (Seventh::None, Fifth::Sharp) => Arpeggio::Augmented,
        (Seventh::Sixth, _) | (_, Fifth::Both) => return None,
    })
}

/// A triad with a 6 added is a 6 chord; an added 9 or 11 is a chord tone.
fn resolve_major_triad(parts: &mut Parts) -> Arpeggio {
    if parts.colours.has(Colour::Thirteen) {
        parts.colours = parts.colours.without(Colour::Thirteen);
        return Arpeggio::Sixth;
    }
    parts.add.take().unwrap_or(Arpeggio::Major)
}

fn resolve_minor(parts: &mut Parts, seventh: Seventh) -> Option<Arpeggio> {
    if parts.flat_six && (seventh != Seventh::None || parts.fifth != Fifth::Plain) {
        parts.flat_six = false;
        parts.colours = parts.colours.with(Colour::FlatThirteen);
    }
    Some(match (seventh, parts.fifth) {
        (Seventh::Minor, Fifth::Plain) => Arpeggio::Minor7,
        (Seventh::Minor, Fifth::Flat) => Arpeggio::HalfDiminished,
        (Seventh::Minor, Fifth::Sharp) => Arpeggio::Minor7Sharp5,
        (Seventh::Major, Fifth::Plain) => Arpeggio::MinorMajor7,
        (Seventh::Major, Fifth::Flat) => Arpeggio::DiminishedMajor7,
        (Seventh::Sixth, Fifth::Plain) => Arpeggio::Minor6,
        (Seventh::None, Fifth::Flat) => Arpeggio::DiminishedTriad,
        (Seventh::None, Fifth::Plain) => resolve_minor_triad(parts),
        (Seventh::Major | Seventh::Sixth | Seventh::None, _) | (_, Fifth::Both) => return None,
    })
}

fn resolve_minor_triad(parts: &mut Parts) -> Arpeggio {
    if std::mem::take(&mut parts.flat_six) {
        return Arpeggio::MinorFlat6;
    }
    if parts.colours.has(Colour::Thirteen) {
        parts.colours = parts.colours.without(Colour::Thirteen);
        return Arpeggio::Minor6;
    }
    if parts.add == Some(Arpeggio::Add9) {
        parts.add = None;
        return Arpeggio::MinorAdd9;
    }
    Arpeggio::Minor
}

fn resolve_diminished(parts: Parts, seventh: Seventh, bare: BareSymbols) -> Option<Arpeggio> {
    if parts.fifth != Fifth::Plain || parts.flat_six {
        return None;
    }
    match (seventh, parts.number) {
        (Seventh::Major, _) => Some(Arpeggio::DiminishedMajor7),
        (Seventh::Minor, Some(Number::Seven)) => Some(Arpeggio::Diminished7),
        (Seventh::None, _) if bare.dim == Dim::Seventh => Some(Arpeggio::Diminished7),
        (Seventh::None, _) => Some(Arpeggio::DiminishedTriad),
        _ => None,
    }
}

fn resolve_augmented(parts: Parts, seventh: Seventh) -> Option<Arpeggio> {
    if parts.fifth == Fifth::Flat || parts.flat_six {
        return None;
    }
    match seventh {
        Seventh::None => Some(Arpeggio::Augmented),
        Seventh::Minor => Some(Arpeggio::Dominant7Sharp5),
        Seventh::Major => Some(Arpeggio::Major7Sharp5),
        Seventh::Sixth => None,
    }
}

/// `lyd` is a maj7#11, `phryg` a 7sus4 with b9; neither takes anything more.
fn resolve_mode_word(parts: &mut Parts) -> Option<Arpeggio> {
    if parts.number.is_some() || !parts.colours.is_empty() || parts.add.is_some() {
        return None;
    }
    let (colour, arpeggio) = match parts.family {
        Family::Lydian => (Colour::SharpEleven, Arpeggio::Major7),
        _ => (Colour::FlatNine, Arpeggio::Dominant7Sus4),
    };
    parts.colours = parts.colours.with(colour);
    Some(arpeggio)
}

/// Turns what was added into colours and drops colours that are chord tones already.
fn finish(parts: Parts, arpeggio: Arpeggio) -> Option<Quality> {
    if parts.flat_six || (parts.major_seventh && !arpeggio.set().has_semitone(11)) {
        return None;
    }
    let added = match parts.add {
        Some(Arpeggio::Add9) => parts.colours.with(Colour::Nine),
        Some(_) => parts.colours.with(Colour::Eleven),
        None => parts.colours,
    };
    let colours = added.iter().filter(|c| !arpeggio.set().has_semitone(c.semitones()));
    Some(Quality { arpeggio, colours: colours.fold(Colours::NONE, Colours::with) })
}
