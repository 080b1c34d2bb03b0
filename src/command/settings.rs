//! `settings`: shows every setting with its value and origin, sets one, or prints the schema of a document.

use clap::{Args, Subcommand};

use crate::report::schema;
use crate::report::settings::{SettingRow, SettingsDocument};
use crate::store::settings::{Origin, Setting, Settings, SettingsFile, Sources, table};

use super::exit_status::{Ending, Failure};
use super::output::Output;
use super::startup::Startup;

/// What `settings` takes.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub struct SettingsArgs {
    #[command(subcommand)]
    command: Option<SettingsCommand>,
    /// The setting to show or set; all are shown without one
    key: Option<String>,
    /// The value to write into your settings file
    #[arg(allow_hyphen_values = true, conflicts_with = "reset")]
    value: Option<String>,
    /// Take the setting out of your settings file, so that its default holds again
    #[arg(long, requires = "key")]
    reset: bool,
}

#[derive(Debug, Subcommand)]
enum SettingsCommand {
    /// Print the JSON Schema (2020-12) of a document that --json prints
    Schema {
        /// Which document: settings
        name: String,
    },
}

impl SettingsArgs {
    /// Whether the settings file is written.
    pub const fn changes_the_file(&self) -> bool {
        self.value.is_some() || self.reset
    }
}

/// Carries the command out.
pub fn run(args: &SettingsArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    if let Some(SettingsCommand::Schema { name }) = &args.command {
        out.document(&schema::schema(name)?)?;
        return Ok(Ending::Fine);
    }
    match (args.key.as_deref(), &args.value) {
        (Some(key), Some(value)) => write(table::find(key)?, value, startup, out)?,
        (Some(key), None) if args.reset => reset(key, startup, out)?,
        (key, _) => show(key.map(table::find).transpose()?, startup, out)?,
    }
    Ok(Ending::Fine)
}

fn show(only: Option<&Setting>, startup: &Startup, out: &mut Output) -> Result<(), Failure> {
    let chosen = |setting: &Setting| only.is_none_or(|only| only.key == setting.key);
    let settings = &startup.resolved.settings;
    let rows = startup.resolved.with_origins().filter(|(setting, _)| chosen(setting));
    let rows = rows.map(|(setting, origin)| row(setting, settings, origin)).collect();
    let document = SettingsDocument::new(Some(startup.path.display().to_string()), rows);
    out.result(&document.table(), &document)
}

fn row(setting: &Setting, settings: &Settings, origin: &Origin) -> SettingRow {
    SettingRow {
        key: setting.key.to_owned(),
        value: setting.value(settings).into(),
        shown: setting.value(settings).to_string(),
        origin: origin.to_string(),
        default: setting.value(&Settings::default()).into(),
        accepts: setting.accepts(),
        help: setting.help.to_owned(),
        variable: setting.variable(),
        changes_figures: setting.changes_figures,
    }
}

fn write(setting: &Setting, value: &str, startup: &Startup, out: &mut Output) -> Result<(), Failure> {
    let mut settings = Settings::default();
    setting.set(&mut settings, &as_a_place(setting, value)?)?;
    file(startup).write(setting, &settings)?;
    out.remark(&format!("{} = {} in {}", setting.key, setting.value(&settings), startup.path.display()));
    warn_if_overruled(setting, startup, out);
    tell_rest(startup, out)
}

/// The value as it is kept: a file by its whole path, so that it is found from any folder; it must be there now.
fn as_a_place(setting: &Setting, value: &str) -> Result<String, Failure> {
    if !setting.names_a_file(value) {
        return Ok(value.to_owned());
    }
    let path = std::path::absolute(value)?;
    match path.metadata() {
        Ok(file) if file.is_file() => path.into_os_string().into_string().map_err(|_| {
            Failure::bad_input(format!("{}: {value} lies at a path that is no Unicode", setting.key))
        }),
        _ => Err(Failure::bad_input(format!(
            "{}: there is no file {}; check its name and folder",
            setting.key,
            path.display()
        ))),
    }
}

/// Takes what is written under `key` out of the file; also what is no setting, as long as it stands there.
fn reset(key: &str, startup: &Startup, out: &mut Output) -> Result<(), Failure> {
    let found = table::find(key);
    let stood_there = file(startup).remove(key)?;
    match found {
        Ok(setting) => {
            let default = setting.value(&Settings::default());
            out.remark(&format!("{key} = {default}, the default, again"));
            warn_if_overruled(setting, startup, out);
        }
        Err(_) if stood_there => out.remark(&format!("{key} is taken out of {}", startup.path.display())),
        Err(unknown) => return Err(unknown.into()),
    }
    tell_rest(startup, out)
}

/// Says what is still to be mended in the file as it is now.
fn tell_rest(startup: &Startup, out: &mut Output) -> Result<(), Failure> {
    startup.tell_slips(SettingsFile::read(&startup.path)?.as_ref(), out);
    Ok(())
}

/// The settings file as it was read, or an empty one in its place.
fn file(startup: &Startup) -> SettingsFile {
    startup.sources.file.clone().unwrap_or_else(|| SettingsFile::empty(&startup.path))
}

/// Says so where an environment variable or a flag beats what the file says.
fn warn_if_overruled(setting: &Setting, startup: &Startup, out: &mut Output) {
    let above_the_file = Sources { file: None, ..startup.sources.clone() };
    let stronger = above_the_file.resolve().ok().and_then(|resolved| resolved.origin(setting.key).cloned());
    if let Some(origin @ (Origin::Environment(_) | Origin::Flag(_))) = stronger {
        out.remark(&format!(
            "{origin} is stronger and still gives {}",
            setting.value(&startup.resolved.settings)
        ));
    }
}
