//! The colours of the pages, and what each is drawn on.
//!
//! Blue and vermillion after Okabe & Ito, "Color Universal Design" (2008); the rest is ours. Fills differ by pattern as
//! well, so that no colour is needed. Contrast after WCAG 2.2: text 4.5 to 1 (1.4.3), graphics 3 to 1 (1.4.11).

use std::fmt;

/// A colour. Prints as `#0072b2`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Colour(pub u8, pub u8, pub u8);

impl fmt::Display for Colour {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "#{:02x}{:02x}{:02x}", self.0, self.1, self.2)
    }
}

/// The paper.
pub const PAPER: Colour = Colour(0xff, 0xff, 0xff);
/// Words and the strongest lines.
pub const INK: Colour = Colour(0x1a, 0x1a, 0x1a);
/// Words of less weight.
pub const MUTED: Colour = Colour(0x59, 0x59, 0x59);
/// Barlines, brackets, frets.
pub const RULE: Colour = Colour(0x8a, 0x85, 0x77);
/// What is only there to be calm: lines between rows, a grid behind a scale that has numbers.
pub const HAIR: Colour = Colour(0xe4, 0xe0, 0xd6);
/// A band that was asked for; its edges are ruled.
pub const BAND: Colour = Colour(0xf3, 0xf0, 0xe8);
/// Chord tones.
pub const CHORD: Colour = Colour(0x00, 0x72, 0xb2);
/// Scale tones, and those of another scale.
pub const SCALE: Colour = Colour(0x4f, 0x8f, 0xb8);
/// Between the hatching of scale tones.
pub const SCALE_GROUND: Colour = Colour(0xe9, 0xf1, 0xf7);
/// Notes outside.
pub const OUTSIDE: Colour = Colour(0xd5, 0x5e, 0x00);
/// Between the dots of notes outside.
pub const OUTSIDE_GROUND: Colour = Colour(0xff, 0xf4, 0xec);
/// The lane of a chord tone behind the line.
pub const LANE: Colour = Colour(0xeb, 0xf2, 0xf8);
/// The lane of a third or seventh; ruled above and below.
pub const GUIDE: Colour = Colour(0xd8, 0xe6, 0xf1);
/// The edge of that lane.
pub const GUIDE_EDGE: Colour = Colour(0x6d, 0x94, 0xae);

/// Every colour by the name that the style sheet has for it.
pub const NAMED: [(&str, Colour); 14] = [
    ("paper", PAPER),
    ("ink", INK),
    ("muted", MUTED),
    ("rule", RULE),
    ("hair", HAIR),
    ("band", BAND),
    ("chord", CHORD),
    ("scale", SCALE),
    ("scale-ground", SCALE_GROUND),
    ("outside", OUTSIDE),
    ("outside-ground", OUTSIDE_GROUND),
    ("lane", LANE),
    ("guide", GUIDE),
    ("guide-edge", GUIDE_EDGE),
];

/// What something is drawn for, and so how far it has to stand out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Use {
    /// Words.
    Text,
    /// A mark that says something.
    Graphic,
    /// A ground or a line that says nothing which is not said otherwise.
    Ground,
}

/// Every pair that is drawn: what, on what, what for.
pub const DRAWN: [(Colour, Colour, Use); 24] = [
    (INK, PAPER, Use::Text),
    (MUTED, PAPER, Use::Text),
    (PAPER, CHORD, Use::Text),
    (INK, BAND, Use::Text),
    (MUTED, BAND, Use::Text),
    (INK, LANE, Use::Text),
    (INK, GUIDE, Use::Text),
    (MUTED, LANE, Use::Text),
    (MUTED, GUIDE, Use::Text),
    (INK, OUTSIDE_GROUND, Use::Text),
    (RULE, PAPER, Use::Graphic),
    (CHORD, PAPER, Use::Graphic),
    (CHORD, BAND, Use::Graphic),
    (SCALE, PAPER, Use::Graphic),
    (SCALE, BAND, Use::Graphic),
    (SCALE, SCALE_GROUND, Use::Graphic),
    (OUTSIDE, PAPER, Use::Graphic),
    (OUTSIDE, BAND, Use::Graphic),
    (OUTSIDE, OUTSIDE_GROUND, Use::Graphic),
    (GUIDE_EDGE, PAPER, Use::Graphic),
    (HAIR, PAPER, Use::Ground),
    (BAND, PAPER, Use::Ground),
    (LANE, PAPER, Use::Ground),
    (GUIDE, PAPER, Use::Ground),
];

/// The colours as custom properties of a style sheet.
pub fn properties() -> String {
    let property = |(name, colour): &(&str, Colour)| format!("--{name}:{colour}");
    NAMED.iter().map(property).collect::<Vec<_>>().join(";")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Contrast by the formula of WCAG 2.2, "relative luminance" and "contrast ratio".
    fn contrast(a: Colour, b: Colour) -> f64 {
        let linear = |channel: u8| {
            let c = f64::from(channel) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        };
        let luminance = |Colour(r, g, b)| 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn contrast_is_what_the_guidelines_say_of_known_pairs() {
        let check = |a, b, expect: f64| assert!((contrast(a, b) - expect).abs() < 0.01, "{}", contrast(a, b));
        check(PAPER, Colour(0, 0, 0), 21.0);
        check(PAPER, PAPER, 1.0);
        check(PAPER, Colour(0x76, 0x76, 0x76), 4.54); // the lightest grey that may be text on white
    }

    #[test]
    fn every_pair_that_is_drawn_stands_out_as_far_as_its_use_asks() {
        for (front, ground, purpose) in DRAWN {
            let least = match purpose {
                Use::Text => 4.5,
                Use::Graphic => 3.0,
                Use::Ground => 1.0,
            };
            let found = contrast(front, ground);
            assert!(found >= least, "{front} on {ground}: {found:.2}, {least} is needed");
        }
    }

    #[test]
    fn every_colour_is_named_once_and_drawn_on_or_with() {
        for (name, colour) in NAMED {
            assert_eq!(
                NAMED.iter().filter(|named| named.1 == colour || named.0 == name).count(),
                1,
                "{name}"
            );
            assert!(DRAWN.iter().any(|&(front, ground, _)| front == colour || ground == colour), "{name}");
        }
    }
}
