//! `man`: the manual in man's own form, one page for the program and one for each command, behind each other.

use std::io::Write;

use clap::CommandFactory;
use clap_mangen::Man;
use clap_mangen::roff::{Roff, roman};

use crate::store::settings::{TABLE, place};
use crate::store::takes;

use super::Cli;
use super::exit_status::{Ending, Failure};
use super::output::{NO_COLOR, Output};

/// Carries the command out.
pub fn run(out: &mut Output) -> Result<Ending, Failure> {
    let mut pages = Vec::new();
    let mut command = Cli::command();
    command.build();
    page(&command, &mut pages)?;
    about_the_whole(&mut pages)?;
    for subcommand in command.get_subcommands().filter(|subcommand| subcommand.get_name() != "help") {
        page(subcommand, &mut pages)?;
    }
    out.text(&String::from_utf8_lossy(&pages))?;
    Ok(Ending::Fine)
}

/// The page of one command.
fn page(command: &clap::Command, pages: &mut impl Write) -> std::io::Result<()> {
    let man = Man::new(command.clone());
    man.render_title(pages)?;
    man.render_name_section(pages)?;
    man.render_synopsis_section(pages)?;
    man.render_description_section(pages)?;
    man.render_options_section(pages)?;
    if command.has_subcommands() {
        man.render_subcommands_section(pages)?;
    }
    Ok(())
}

/// The sections that belong to no single command: exit codes, environment, files.
fn about_the_whole(pages: &mut impl Write) -> std::io::Result<()> {
    let mut roff = Roff::new();
    roff.control("SH", ["EXIT STATUS"]);
    for ending in Ending::ALL {
        entry(&mut roff, &ending.code().to_string(), ending.meaning());
    }
    roff.control("SH", ["ENVIRONMENT"]);
    for setting in &TABLE {
        entry(&mut roff, &setting.variable(), setting.help);
    }
    entry(&mut roff, place::FOLDER_VARIABLE, "the folder of the settings file");
    entry(&mut roff, takes::FOLDER_VARIABLE, "the folder in which the folder of takes stands");
    entry(&mut roff, NO_COLOR, "if set, marks stand out by weight alone");
    roff.control("SH", ["FILES"]);
    entry(&mut roff, place::FILE, "your settings; \"barwise settings --json\" says where it stands");
    entry(
        &mut roff,
        takes::FOLDER,
        "the folder of your takes; \"barwise takes --json\" says where each stands",
    );
    roff.to_writer(pages)
}

fn entry(roff: &mut Roff, term: &str, meaning: &str) {
    roff.control("TP", []);
    roff.text([roman(term)]);
    roff.text([roman(meaning)]);
}
