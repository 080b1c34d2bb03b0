//! Whether a folder can be written, and how much room there is.

use std::fs::{self, File};
use std::io;
use std::path::Path;

use super::error_words::in_words;

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
#[cfg(unix)]
pub fn free_bytes(folder: &Path) -> Option<u64> {
    let told = rustix::fs::statvfs(nearest(folder)).ok()?;
    told.f_bavail.checked_mul(told.f_frsize)
}

/// Bytes that are free where `folder` stands: nothing here asks the system.
#[cfg(not(unix))]
pub fn free_bytes(_: &Path) -> Option<u64> {
    None
}

/// Whether `folder` seems to stand on another machine, or behind a program that stands for a disk. False where the
/// system does not say.
#[cfg(target_os = "linux")]
pub fn is_network(folder: &Path) -> bool {
    // The type is 32 bits wide, in a field that is wider on some machines and signed on others.
    rustix::fs::statfs(nearest(folder)).is_ok_and(|told| is_of_network(told.f_type as u32))
}

/// Whether `folder` stands on another machine: nothing here asks the system.
#[cfg(not(target_os = "linux"))]
pub fn is_network(_: &Path) -> bool {
    false
}

/// Whether a type of file system is one that is shared, or one of a program's own (statfs(2), "Linux manual page").
#[cfg(target_os = "linux")]
fn is_of_network(kind: u32) -> bool {
    const SHARED: [u32; 12] = [
        0x6969,      // NFS
        0x517B,      // SMB
        0xFF53_4D42, // CIFS
        0xFE53_4D42, // SMB 2
        0x0102_1997, // 9P
        0x6573_5546, // FUSE: shares over ssh, clouds
        0x5346_414F, // AFS
        0x7375_7245, // Coda
        0x564C,      // NCP
        0x00C3_6400, // Ceph
        0x0BD0_0BD0, // Lustre
        0x7461_636F, // OCFS2
    ];
    SHARED.contains(&kind)
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

    #[cfg(target_os = "linux")]
    #[test]
    fn shared_folders_are_told_from_disks() {
        let check = |kind: u32, expect: bool| assert_eq!(is_of_network(kind), expect, "{kind:x}");
        check(0x6969, true);
        check(0xFF53_4D42, true);
        check(0x6573_5546, true);
        check(0xEF53, false); // ext4
        check(0x0102_1994, false); // a disk in memory
        check(0x794C_7630, false); // the layers of a container
        assert!(!is_network(Path::new("/dev/shm/not/there/yet")));
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
