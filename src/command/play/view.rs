//! How a take is shown while it is played: on a screen, line by line, or not at all.

use std::io::IsTerminal;

use crate::command::exit_status::Failure;
use crate::command::output::Output;
use crate::live::keep::KeeperEnd;
use crate::live::{self, Played, SessionPlan};
use crate::report::theme::Ground;
use crate::report::{Ink, OutputForm, Signs};
use crate::screen::page::Page;
use crate::screen::playing::{Shown, SoFar, TallyShown};
use crate::screen::theme::{Glyphs, Ink as ScreenInk, Theme};
use crate::screen::{plain, playing};

use super::view_args::ViewArgs;

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
    pub fn of(args: &ViewArgs, out: &mut Output) -> Self {
        let terminal = std::io::stdout().is_terminal() && std::io::stdin().is_terminal();
        match (args.headless, args.plain) {
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

/// What is shown of a take while it lasts.
pub(in crate::command) struct ToShow<'a> {
    /// The tune.
    pub page: &'a Page,
    /// How the screen opens.
    pub opening: &'a Shown,
    /// How the line stands at a barline.
    pub so_far: &'a mut SoFar<'a>,
}

/// Plays the take and shows it.
pub(in crate::command) fn show(
    plan: &SessionPlan,
    view: View,
    ToShow { page, opening, so_far }: ToShow<'_>,
    keeper: KeeperEnd,
    out: &mut Output,
) -> Result<Played, Failure> {
    let played = match view {
        View::Screen => {
            let theme = theme(out.form());
            live::play(plan, keeper, |end| playing::run(page, opening, theme, so_far, end))
        }
        View::Plain => {
            let tally = (opening.tally == TallyShown::AtBarlines).then_some(so_far);
            live::play(plan, keeper, |end| plain::run(page, &mut std::io::stdout(), tally, end))
        }
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
