//! Where the settings file stands on this system.

use std::ffi::OsString;
use std::path::PathBuf;

use etcetera::BaseStrategy;

/// The environment variable that names the folder of the settings file.
pub const FOLDER_VARIABLE: &str = "BARWISE_CONFIG_DIR";

/// The name of the file in its folder.
pub const FILE: &str = "settings.toml";

/// Says that the system names no home folder.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "no home folder is known for the settings: set {FOLDER_VARIABLE} to a folder, or name a file with --config"
)]
pub struct NoHome;

/// The settings file of this user: in `folder` (the value of [`FOLDER_VARIABLE`]) if it is given, else in `barwise`
/// within the folder the system keeps settings in (XDG Base Directory Specification; the roaming folder on Windows).
pub fn settings_path(folder: Option<OsString>) -> Result<PathBuf, NoHome> {
    if let Some(folder) = folder.filter(|folder| !folder.is_empty()) {
        return Ok(PathBuf::from(folder).join(FILE));
    }
    let system = etcetera::choose_base_strategy().map_err(|_| NoHome)?;
    Ok(system.config_dir().join("barwise").join(FILE))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_that_is_named_is_taken_as_it_is() {
        assert_eq!(settings_path(Some("here".into())), Ok(PathBuf::from("here/settings.toml")));
    }

    #[test]
    fn an_empty_folder_name_is_as_good_as_none() {
        assert_eq!(settings_path(Some("".into())), settings_path(None));
    }
}
