//! The bin: takes that were dropped, in a folder beside the others, until they are brought back or deleted for good.
//!
//! A take that was deleted leaves an empty file behind that keeps its number, so that what was entered about it is never
//! taken for another's.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use super::{KeptTake, NotKept, TAKE, TakeFolder, unwritable};
use crate::store::replace::sync_folder_of;

/// The name of the folder in that of the takes.
pub const FOLDER: &str = "bin";

/// The ending of the file that keeps a number.
const GONE: &str = "gone";

impl TakeFolder {
    fn bin(&self) -> Self {
        Self { path: self.path.join(FOLDER) }
    }

    /// The takes in the bin, by number.
    pub fn in_bin(&self) -> Result<Vec<KeptTake>, NotKept> {
        self.bin().numbered(TAKE)
    }

    /// The files that keep the numbers of takes that were deleted for good.
    pub(super) fn gone(&self) -> Result<Vec<KeptTake>, NotKept> {
        self.bin().numbered(GONE)
    }

    /// Moves a take to the bin.
    pub fn drop_take(&self, number: u32) -> Result<PathBuf, NotKept> {
        let take = self.find(number)?;
        let bin = self.bin();
        fs::create_dir_all(&bin.path).map_err(unwritable(&bin.path))?;
        move_to(&take.path, bin.file(number, TAKE))
    }

    /// Brings a take back from the bin.
    pub fn restore(&self, number: u32) -> Result<KeptTake, NotKept> {
        let in_bin = self.in_bin()?;
        let Some(take) = in_bin.iter().find(|take| take.number == number) else {
            return Err(NotKept::NotInBin {
                number,
                there: in_bin.into_iter().map(|take| take.number).collect(),
            });
        };
        let path = move_to(&take.path, self.file(number, TAKE))?;
        Ok(KeptTake { number, path })
    }

    /// The take with this number, kept or in the bin.
    pub fn find_anywhere(&self, number: u32) -> Result<KeptTake, NotKept> {
        match self.find(number) {
            Err(error @ NotKept::NoTake { .. }) => {
                self.in_bin()?.into_iter().find(|take| take.number == number).ok_or(error)
            }
            found => found,
        }
    }

    /// Deletes a take, kept or in the bin. Its number is kept.
    pub fn delete(&self, take: &KeptTake) -> Result<(), NotKept> {
        let bin = self.bin();
        fs::create_dir_all(&bin.path).map_err(unwritable(&bin.path))?;
        let keeps_number = bin.file(take.number, GONE);
        File::create(&keeps_number).map_err(unwritable(&keeps_number))?;
        fs::remove_file(&take.path).and_then(|()| sync_folder_of(&take.path)).map_err(unwritable(&take.path))
    }
}

/// Renames a file to a name that must not be taken.
fn move_to(from: &Path, to: PathBuf) -> Result<PathBuf, NotKept> {
    if to.exists() {
        return Err(unwritable(&to)(io::Error::from(io::ErrorKind::AlreadyExists)));
    }
    let moved = fs::rename(from, &to).and_then(|()| sync_folder_of(&to)).and_then(|()| sync_folder_of(from));
    moved.map_err(unwritable(&to))?;
    Ok(to)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::takes::tests::{folder, head};

    fn with_take(folder: &TakeFolder) -> u32 {
        let (number, _log) = folder.begin(&head()).expect("begun");
        folder.finish(number, format!("take {number}").as_bytes()).expect("kept");
        number
    }

    #[test]
    fn a_take_that_is_dropped_keeps_its_number_to_itself() {
        let (_home, folder) = folder();
        let binned = folder.drop_take(with_take(&folder)).expect("dropped");
        assert!(binned.exists() && folder.list().expect("takes").is_empty());
        assert_eq!(folder.begin(&head()).expect("begun").0, 2);
    }

    #[test]
    fn a_dropped_take_comes_back_as_it_was() {
        let (_home, folder) = folder();
        let number = with_take(&folder);
        folder.drop_take(number).expect("dropped");
        assert_eq!(folder.find_anywhere(number).expect("in the bin").path, folder.bin().file(1, TAKE));
        let back = folder.restore(number).expect("restored");
        assert_eq!(fs::read(&back.path).expect("a file"), b"take 1");
        assert_eq!(folder.list().expect("takes"), [back]);
        let message = folder.restore(number).expect_err("it is not there").to_string();
        assert_eq!(message, "no take 1 in the bin; it is empty");
    }

    #[test]
    fn nothing_is_written_over_on_the_way_to_the_bin_or_back() {
        let (_home, folder) = folder();
        let number = with_take(&folder);
        folder.drop_take(number).expect("dropped");
        fs::write(folder.file(number, TAKE), b"another").expect("a file of that name");
        assert!(folder.restore(number).is_err() && folder.drop_take(number).is_err());
        assert_eq!(fs::read(folder.file(number, TAKE)).expect("a file"), b"another");
        assert_eq!(fs::read(folder.bin().file(number, TAKE)).expect("a file"), b"take 1");
        let message = folder.restore(7).expect_err("it is not there").to_string();
        assert_eq!(message, "no take 7 in the bin; in it: 1");
    }

    #[test]
    fn a_take_that_is_deleted_is_gone_and_its_number_with_it() {
        let (_home, folder) = folder();
        let (first, second) = (with_take(&folder), with_take(&folder));
        folder.drop_take(first).expect("dropped");
        for number in [first, second] {
            let take = folder.find_anywhere(number).expect("a take");
            folder.delete(&take).expect("deleted");
            assert!(!take.path.exists());
        }
        assert!(matches!(folder.find_anywhere(first), Err(NotKept::NoTake { .. })));
        assert_eq!(with_take(&folder), 3, "a number is given once");
    }

    #[test]
    fn a_bin_that_cannot_be_read_gives_no_number_a_second_time() {
        let (home, folder) = folder();
        with_take(&folder);
        fs::write(home.path().join("takes/bin"), b"").expect("a file in the way");
        assert!(matches!(folder.begin(&head()), Err(NotKept::Unreadable { .. })));
    }
}
