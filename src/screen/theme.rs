//! How things look: glyphs and ink, chosen once for a terminal.
//!
//! No meaning rests on colour alone: it tints marks that have a shape of their own. Words keep the terminal's colour.

use ratatui::style::{Color, Modifier, Style};

use crate::report::{self, Signs};

/// Which characters may be drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Glyphs {
    /// Box lines and signs such as `°`.
    #[default]
    Unicode,
    /// ASCII alone.
    Ascii,
}

/// Which colours may be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Ink {
    /// None: bold and dim only.
    #[default]
    NoColour,
    /// For a dark background.
    OnDark,
    /// For a light background.
    OnLight,
}

/// What a piece of the screen is, which says how it looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Words.
    Plain,
    /// Where the music is now.
    Now,
    /// What steps back: functions, notices, keys.
    Aside,
    /// A chord tone.
    ChordTone,
    /// A scale tone.
    ScaleTone,
    /// A note outside.
    Outside,
}

/// The roles of pictures that reports draw, too.
impl From<report::Role> for Role {
    fn from(role: report::Role) -> Self {
        match role {
            report::Role::Chord => Self::ChordTone,
            report::Role::Scale => Self::ScaleTone,
            report::Role::Outside => Self::Outside,
            report::Role::Dim => Self::Aside,
            report::Role::Heading => Self::Now,
        }
    }
}

/// Glyphs and ink of a terminal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Theme {
    /// Which characters may be drawn.
    pub glyphs: Glyphs,
    /// Which colours may be used.
    pub ink: Ink,
}

// Hues that people with any colour vision tell apart (Okabe & Ito, *Color Universal Design*, 2008).
const SKY: Color = Color::Rgb(0x56, 0xb4, 0xe9);
const BLUE: Color = Color::Rgb(0x00, 0x72, 0xb2);
const PALE_BLUE: Color = Color::Rgb(0x4f, 0x8f, 0xb8);
const ORANGE: Color = Color::Rgb(0xe6, 0x9f, 0x00);
const VERMILLION: Color = Color::Rgb(0xd5, 0x5e, 0x00);

impl Theme {
    /// The style of a role.
    pub fn style(self, role: Role) -> Style {
        let modifier = match role {
            Role::Now | Role::ChordTone => Modifier::BOLD,
            Role::Aside => Modifier::DIM,
            Role::Plain | Role::ScaleTone | Role::Outside => Modifier::empty(),
        };
        // Without colour the foreground is `Reset`: a colour code there would end bold and dim.
        Style::new().fg(self.colour(role)).add_modifier(modifier)
    }

    const fn colour(self, role: Role) -> Color {
        match (self.ink, role) {
            (Ink::NoColour, _) | (_, Role::Plain | Role::Now | Role::Aside) => Color::Reset,
            (Ink::OnDark, Role::ChordTone) => SKY,
            (Ink::OnLight, Role::ChordTone) => BLUE,
            (_, Role::ScaleTone) => PALE_BLUE,
            (Ink::OnDark, Role::Outside) => ORANGE,
            (Ink::OnLight, Role::Outside) => VERMILLION,
        }
    }

    /// A barline.
    pub const fn barline(self) -> &'static str {
        match self.glyphs {
            Glyphs::Unicode => "│",
            Glyphs::Ascii => "|",
        }
    }

    /// Stands where a text was cut; one column.
    pub const fn cut_mark(self) -> &'static str {
        match self.glyphs {
            Glyphs::Unicode => "…",
            Glyphs::Ascii => ".",
        }
    }

    /// A text with the glyphs that may be drawn.
    pub fn text(self, text: &str) -> String {
        match self.glyphs {
            Glyphs::Unicode => text.to_owned(),
            Glyphs::Ascii => Signs::Ascii.write(text).into_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_colour_every_role_keeps_its_weight_and_no_hue() {
        let theme = Theme::default();
        for role in [Role::Now, Role::Aside, Role::ChordTone, Role::Outside] {
            assert_eq!(theme.style(role).fg, Some(Color::Reset));
        }
        assert!(theme.style(Role::Now).add_modifier.contains(Modifier::BOLD));
    }

    #[test]
    fn ascii_texts_are_ascii() {
        let theme = Theme { glyphs: Glyphs::Ascii, ink: Ink::NoColour };
        assert_eq!(theme.text("#I°7 B♭△ │»[3]│"), "#Idim7 Bbmaj7 |>[3]|");
    }
}
