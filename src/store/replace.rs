//! Replacing a file whole: written beside, synced, then renamed over the old one.
//!
//! A reader sees the old text or the new, never half of one, and a power cut loses nothing that was there.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::error_words::in_words;

/// Puts `text` in place of the file at `path`. Its folder must be there: a slip in a path is to make no folders.
///
/// A symbolic link is followed, so that the file it names is replaced and the link stays. The new file keeps the
/// permissions of the old one. What is no ordinary file (a device, a pipe) is written into and stays what it is.
/// Errors come in plain words that can follow the path and a colon.
pub fn replace(path: &Path, text: &str) -> io::Result<()> {
    replace_bytes(path, text.as_bytes())
}

/// Puts `bytes` in place of the file at `path`, as [`replace`] does with a text.
pub fn replace_bytes(path: &Path, bytes: &[u8]) -> io::Result<()> {
    replace_as_told(path, bytes).map_err(|error| io::Error::new(error.kind(), in_words(&error)))
}

fn replace_as_told(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let target = if path.exists() { fs::canonicalize(path)? } else { path.to_path_buf() };
    if fs::metadata(&target).is_ok_and(|there| !there.is_file()) {
        return File::options().write(true).open(&target)?.write_all(bytes);
    }
    let folder = folder_of(&target);
    if let Err(error) = fs::metadata(&folder) {
        return Err(if error.kind() == io::ErrorKind::NotFound { no_folder(&folder) } else { error });
    }
    let beside = beside(&target);
    let written = write_and_rename(&beside, &target, bytes);
    if written.is_err() {
        // The first error is the one to report; a leftover beside the file harms nothing.
        let _ = fs::remove_file(&beside);
    }
    written?;
    sync_folder(&folder)
}

fn no_folder(folder: &Path) -> io::Error {
    let said = format!("there is no folder {}; check the path, or make the folder first", folder.display());
    io::Error::new(io::ErrorKind::NotFound, said)
}

fn write_and_rename(beside: &Path, target: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = File::create(beside)?;
    file.write_all(bytes)?;
    if let Ok(old) = fs::metadata(target) {
        file.set_permissions(old.permissions())?;
    }
    file.sync_all()?;
    fs::rename(beside, target)
}

/// The folder a file stands in; the current one for a bare name.
fn folder_of(path: &Path) -> PathBuf {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent.to_path_buf(),
        _ => PathBuf::from("."),
    }
}

/// A name in the same folder that no two processes share.
fn beside(target: &Path) -> PathBuf {
    let name = target.file_name().unwrap_or_default().to_string_lossy();
    target.with_file_name(format!(".{name}.{}.new", std::process::id()))
}

/// Makes the disk hold that the file at `path` is there, or is there no longer.
pub(super) fn sync_folder_of(path: &Path) -> io::Result<()> {
    sync_folder(&folder_of(path))
}

/// Makes the rename last. Folders can be synced on Unix only.
#[cfg(unix)]
fn sync_folder(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn sync_folder(_folder: &Path) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder() -> tempfile::TempDir {
        tempfile::tempdir().expect("a temporary folder")
    }

    fn names_in(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).expect("a folder");
        entries.map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned()).collect()
    }

    #[cfg(unix)]
    #[test]
    fn what_is_no_ordinary_file_is_never_replaced() {
        use std::os::unix::fs::FileTypeExt;
        let folder = folder();
        let path = folder.path().join("socket");
        let _socket = std::os::unix::net::UnixListener::bind(&path).expect("a socket");
        assert!(replace(&path, "one").is_err(), "a socket takes no text");
        assert!(fs::metadata(&path).expect("still there").file_type().is_socket());
        assert_eq!(names_in(folder.path()), ["socket"]);
    }

    #[test]
    fn a_file_is_replaced_and_nothing_is_left_beside_it() {
        let folder = folder();
        let path = folder.path().join("settings.toml");
        replace(&path, "one").expect("a first write");
        replace(&path, "two").expect("a second write");
        assert_eq!(fs::read_to_string(&path).expect("the file"), "two");
        assert_eq!(names_in(folder.path()), ["settings.toml"]);
    }

    #[test]
    fn a_folder_that_is_not_there_is_said_and_not_made() {
        let folder = folder();
        let missing = folder.path().join("a");
        let error = replace(&missing.join("b.bars"), "one").expect_err("no folder");
        assert_eq!(error.kind(), io::ErrorKind::NotFound);
        let expect =
            format!("there is no folder {}; check the path, or make the folder first", missing.display());
        assert_eq!(error.to_string(), expect);
        assert!(names_in(folder.path()).is_empty());
    }

    #[test]
    fn what_goes_wrong_is_said_in_plain_words() {
        let folder = folder();
        fs::write(folder.path().join("file"), "one").expect("a file");
        let error = replace(&folder.path().join("file/b.bars"), "one").expect_err("a file in the way");
        assert_eq!(error.to_string(), "a part of this path is a file, not a folder");
    }

    #[test]
    fn a_folder_in_the_way_is_an_error_and_leaves_nothing_behind() {
        let folder = folder();
        let path = folder.path().join("settings.toml");
        fs::create_dir(&path).expect("a folder in the way");
        assert!(replace(&path, "one").is_err());
        assert_eq!(names_in(folder.path()), ["settings.toml"]);
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_and_permissions_are_kept() {
        use std::os::unix::fs::{PermissionsExt, symlink};
        let folder = folder();
        let real = folder.path().join("real.toml");
        let link = folder.path().join("settings.toml");
        fs::write(&real, "one").expect("a file");
        fs::set_permissions(&real, fs::Permissions::from_mode(0o600)).expect("permissions");
        symlink(&real, &link).expect("a link");
        replace(&link, "two").expect("a write");
        assert_eq!(fs::read_to_string(&real).expect("the file"), "two");
        assert!(fs::symlink_metadata(&link).expect("the link").is_symlink());
        assert_eq!(fs::metadata(&real).expect("the file").permissions().mode() & 0o777, 0o600);
    }
}
