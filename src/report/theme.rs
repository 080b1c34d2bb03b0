//! The roles that marks play, and their colours.
//!
//! The nearer a note is to the chord, the more ink. Inside is one hue, strong then weak; outside is another; never red
//! against green. Letters and shapes always say the same, so that no colour is needed.

use anstyle::{Ansi256Color, Color, RgbColor, Style};

/// The part a piece of text plays.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Role {
    /// A chord tone.
    Chord,
    /// A scale tone.
    Scale,
    /// A note outside chord and scale.
    Outside,
    /// What matters least: the ground, chromatic places.
    Dim,
    /// The head of a column.
    Heading,
}

/// How roles stand out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Ink {
    /// Not at all: no escape sequence is printed.
    #[default]
    Plain,
    /// By bold and dim.
    Weight,
    /// By weight and colour.
    Colour {
        /// What the terminal prints on.
        ground: Ground,
        /// How many colours it knows.
        depth: Depth,
    },
}

/// What colours are printed on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ground {
    /// A dark screen.
    Dark,
    /// A light screen.
    Light,
}

/// How many colours can be printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Depth {
    /// The 256 of xterm.
    Indexed,
    /// Sixteen million.
    True,
}

/// A colour, exactly and as the nearest of the 256.
struct Hue(RgbColor, Ansi256Color);

// Blue, orange and vermillion after Okabe & Ito, "Color Universal Design" (2008); the weak blue is ours.
const SKY: Hue = Hue(RgbColor(0x56, 0xB4, 0xE9), Ansi256Color(74));
const BLUE: Hue = Hue(RgbColor(0x00, 0x72, 0xB2), Ansi256Color(25));
const WEAK_BLUE: Hue = Hue(RgbColor(0x4F, 0x8F, 0xB8), Ansi256Color(67));
const ORANGE: Hue = Hue(RgbColor(0xE6, 0x9F, 0x00), Ansi256Color(178));
const VERMILLION: Hue = Hue(RgbColor(0xD5, 0x5E, 0x00), Ansi256Color(166));

impl Ink {
    /// The style of `role`.
    pub fn style(self, role: Role) -> Style {
        match self {
            Self::Plain => Style::new(),
            Self::Weight => weight(role),
            Self::Colour { ground, depth } => {
                let colour = hue(role, ground).map(|Hue(exact, indexed)| match depth {
                    Depth::True => Color::from(exact),
                    Depth::Indexed => Color::from(indexed),
                });
                weight(role).fg_color(colour)
            }
        }
    }

    /// `text` in the style of `role`.
    pub fn paint(self, role: Role, text: &str) -> String {
        let style = self.style(role);
        format!("{style}{text}{style:#}")
    }
}

fn weight(role: Role) -> Style {
    match role {
        Role::Chord | Role::Heading => Style::new().bold(),
        Role::Dim => Style::new().dimmed(),
        Role::Scale | Role::Outside => Style::new(),
    }
}

fn hue(role: Role, ground: Ground) -> Option<Hue> {
    match (role, ground) {
        (Role::Chord, Ground::Dark) => Some(SKY),
        (Role::Chord, Ground::Light) => Some(BLUE),
        (Role::Scale, _) => Some(WEAK_BLUE),
        (Role::Outside, Ground::Dark) => Some(ORANGE),
        (Role::Outside, Ground::Light) => Some(VERMILLION),
        (Role::Dim | Role::Heading, _) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [Role; 5] = [Role::Chord, Role::Scale, Role::Outside, Role::Dim, Role::Heading];

    #[test]
    fn plain_ink_prints_no_escape() {
        for role in ALL {
            assert_eq!(Ink::Plain.paint(role, "x"), "x");
        }
    }

    #[test]
    fn weight_alone_prints_no_colour() {
        for role in ALL {
            let style = Ink::Weight.style(role);
            assert!(style.get_fg_color().is_none() && style.get_bg_color().is_none());
        }
    }

    #[test]
    fn the_256_colours_are_the_nearest_ones() {
        // xterm's cube: levels 0, 95, 135, 175, 215, 255 on each side; greys from 8 in steps of 10.
        let cube = |level: u8| if level == 0 { 0 } else { 55 + 40 * i32::from(level) };
        let exact = |index: u8| match index {
            16..=231 => [cube((index - 16) / 36), cube((index - 16) / 6 % 6), cube((index - 16) % 6)],
            _ => [8 + 10 * (i32::from(index) - 232); 3],
        };
        for Hue(RgbColor(r, g, b), Ansi256Color(indexed)) in [SKY, BLUE, WEAK_BLUE, ORANGE, VERMILLION] {
            let distance = |index: &u8| {
                let want = [r, g, b].map(i32::from);
                exact(*index).iter().zip(want).map(|(have, want)| (have - want).pow(2)).sum::<i32>()
            };
            let nearest = (16..=255u8).min_by_key(distance);
            assert_eq!(nearest, Some(indexed), "for {r:02x}{g:02x}{b:02x}");
        }
    }

    #[test]
    fn every_hue_stands_out_from_its_ground() {
        // Contrast after WCAG 2.2, 1.4.11: at least 3 to 1 for graphics.
        let linear = |channel: u8| {
            let c = f64::from(channel) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        };
        let luminance =
            |RgbColor(r, g, b): RgbColor| 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
        let contrast = |a: f64, b: f64| (a.max(b) + 0.05) / (a.min(b) + 0.05);
        for (ground, paper) in
            [(Ground::Dark, RgbColor(0x11, 0x11, 0x11)), (Ground::Light, RgbColor(255, 255, 255))]
        {
            for Hue(exact, _) in ALL.into_iter().filter_map(|role| hue(role, ground)) {
                assert!(contrast(luminance(exact), luminance(paper)) >= 3.0, "{exact:?} on {ground:?}");
            }
        }
    }
}
