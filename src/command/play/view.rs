//! How a take is shown while it is played: on a screen, line by line, or not at all.

use std::io::IsTerminal;

use crate::command::exit_status::Failure;
use crate::command::output::Output;
use crate::live::keep::KeeperEnd;
use crate::live::{self, Played, SessionPlan};
use crate::report::theme::Ground;
use crate::report::{Ink, OutputForm, Signs};
use crate::screen::page::Page;
use crate::screen::playing::Shown;
use crate::screen::theme::{Glyphs, Ink as ScreenInk, Theme};
use crate::screen::{plain, playing};

use super::PlayArgs;

/// How the take is shown while it lasts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::command) enum View {
    /// The playing screen.
    Screen,
    /// One line a bar.
    Plain,
    /// Nothing.
    Nothing,
}

impl View {
    /// The view asked for; without a terminal there is no screen, and that is said.
    pub fn of(args: &PlayArgs, out: &mut Output) -> Self {
        Self::asked(args.headless, args.plain, out)
    }

    /// The view that two flags ask for.
    pub fn asked(headless: bool, plain: bool, out: &mut Output) -> Self {
        let terminal = std::io::stdout().is_terminal() && std::io::stdin().is_terminal();
        match (headless, plain) {
            (true, _) => Self::Nothing,
            (false, true) => Self::Plain,
            (false, false) if terminal => Self::Screen,
            (false, false) => {
                out.remark("No terminal: playing without a screen. --plain prints one line a bar.");
                Self::Nothing
            }
        }
    }
}

/// Plays the take and shows it.
pub(in crate::command) fn show(
    plan: &SessionPlan,
    page: &Page,
    view: View,
    opening: &Shown,
    keeper: KeeperEnd,
    out: &mut Output,
) -> Result<Played, Failure> {
    let played = match view {
        View::Screen => live::play(plan, keeper, |end| playing::run(page, opening, theme(out.form()), end)),
        View::Plain => live::play(plan, keeper, |end| plain::run(page, &mut std::io::stdout(), end)),
        View::Nothing => live::play(plan, keeper, live::headless),
    };
    played.map_err(Failure::from)
}

/// The look of the screen, from the form that results are printed in.
pub fn theme(form: OutputForm) -> Theme {
    let glyphs = if form.signs() == Signs::Ascii { Glyphs::Ascii } else { Glyphs::Unicode };
    let ink = match form.ink() {
        Ink::Plain | Ink::Weight => ScreenInk::NoColour,
        Ink::Colour { ground: Ground::Dark, .. } => ScreenInk::OnDark,
        Ink::Colour { ground: Ground::Light, .. } => ScreenInk::OnLight,
    };
    Theme { glyphs, ink }
}
