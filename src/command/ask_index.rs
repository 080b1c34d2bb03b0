//! Asking the index: opened for this user, told how takes are judged; what is wrong with it is said.

use std::sync::Arc;

use serde_json::{Map, Value};

use crate::judge::Choices;
use crate::store::index::{Index, IndexError, Judging};
use crate::store::settings::Settings;
use crate::store::takes::{FOLDER_VARIABLE, data_folder};

use super::exit_status::Failure;
use super::long_work;
use super::output::Output;
use super::startup::Startup;

/// Asks a question of the index. Takes are judged by the settings of their day, under the flags of this run. Where much is
/// to be judged first, a bar is shown on a terminal.
pub fn ask<T>(
    startup: &Startup,
    out: &mut Output,
    question: impl FnOnce(&mut Index, Judging<'_>) -> Result<T, IndexError>,
) -> Result<T, Failure> {
    let mut index = Index::open(&data_folder(std::env::var_os(FOLDER_VARIABLE))?)?;
    let today = startup.choices(&startup.resolved.settings, out);
    let choices = |of_day: &Map<String, Value>| -> Choices {
        let resolved = startup.sources.resolve_for_take(of_day);
        let of_day = |settings: Settings| Choices { kept: Arc::clone(&today.kept), ..settings.choices() };
        resolved.map_or_else(|_| today.clone(), of_day)
    };
    let bar = long_work::bar(0);
    let progress = |done: usize, all: usize| {
        bar.set_length(all as u64);
        bar.set_position(done as u64);
    };
    let answer = question(&mut index, Judging { choices: &choices, progress: &progress });
    bar.finish_and_clear();
    for trouble in index.troubles() {
        out.remark(&trouble.to_string());
    }
    Ok(answer?)
}
