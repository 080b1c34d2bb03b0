//! Whether a folder can be written, and how much room there is.

use std::fs::{self, File};
use std::io;
use std::path::Path;

use super::in_words::in_words;

/// Whether `folder` can be written, tried with a file that goes away at once; where it is not there yet, whether it could
/// be made. The error is in plain words.
pub fn writable(folder: &Path) -> io::Result<()> {
    let there = nearest(folder);
    let probe = there.join(format!(".barwise-{}.probe", std::process::id()));
    let tried = File::create_new(&probe).and_then(|file| file.sync_all());
    // Whatever became of the trial, nothing of it is to stay; a file that was not made cannot be taken away.
    let _ = fs::remove_file(&probe);
    tried.map_err(|error| io::Error::new(error.kind(), format!("{}: {}", there.display(), in_words(&error))))
}

/// The folder, or the nearest one above it that is there.
fn nearest(folder: &Path) -> &Path {
    folder.ancestors().find(|above| above.exists()).unwrap_or(Path::new("."))
}

/// Bytes that are free for this user where `folder` stands or would stand; `None` where the system does not say.
#[cfg(all(unix, feature = "live"))]
pub fn free_bytes(folder: &Path) -> Option<u64> {
    let told = rustix::fs::statvfs(nearest(folder)).ok()?;
    told.f_bavail.checked_mul(told.f_frsize)
}

/// Bytes that are free where `folder` stands: nothing here asks the system.
#[cfg(not(all(unix, feature = "live")))]
pub fn free_bytes(_: &Path) -> Option<u64> {
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_that_is_yours_can_be_written_and_nothing_is_left_in_it() {
        let folder = tempfile::tempdir().expect("a folder");
        writable(&folder.path().join("not/there/yet")).expect("it could be made");
        assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), 0);
    }

    #[test]
    fn a_file_in_the_way_is_said() {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("takes");
        fs::write(&file, "x").expect("a file");
        let error = writable(&file).expect_err("no folder").to_string();
        assert!(error.ends_with("a part of this path is a file, not a folder"), "{error}");
    }
}
