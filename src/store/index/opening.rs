//! From a folder to an index that can be asked, whatever is found there: as a file, made again, or in memory.

use rusqlite::Connection;

use super::trouble::{Fault, Remedy};
use super::{Index, IndexError, Place, Trouble, database, seal};
use crate::store::error_words::in_words;

impl Index {
    /// Opens the file, or works around it.
    pub(super) fn open_file(&mut self) -> Result<(), IndexError> {
        let turn = seal::turn(&self.path);
        match self.open_in_turn() {
            Ok(()) => Ok(()),
            Err(fault) => {
                drop(turn);
                self.work_around(&fault)
            }
        }
    }

    fn open_in_turn(&mut self) -> Result<(), Fault> {
        let (is_new, found) = (!self.path.exists(), seal::found(&self.path));
        if self.path.metadata().is_ok_and(|there| there.is_file() && there.len() == 0) {
            self.troubles.push(Trouble::Empty { path: self.path.clone() });
        }
        self.place = Place::File;
        self.opened = seal::Identity::of(&self.path);
        self.connection = database::open_file(&self.path)?;
        self.opened = seal::Identity::of(&self.path);
        if is_new && database::is_on_network(&self.path) {
            self.troubles.push(Trouble::Network { path: self.path.clone() });
        }
        if !is_new && found != seal::Found::AsLeft {
            database::check(&self.connection)?;
            if found == seal::Found::Touched && !self.was_emptied() {
                self.troubles.push(Trouble::Touched { path: self.path.clone() });
            }
        }
        Ok(())
    }

    fn was_emptied(&self) -> bool {
        self.troubles.iter().any(|trouble| matches!(trouble, Trouble::Empty { .. }))
    }

    /// Goes on after a fault: with an index made again, or with one in memory.
    pub(super) fn work_around(&mut self, fault: &Fault) -> Result<(), IndexError> {
        let was_made_again = self.troubles.iter().any(|trouble| matches!(trouble, Trouble::Damaged { .. }));
        let (path, why) = (self.path.clone(), fault.in_words());
        match (self.place, fault.remedy()) {
            (Place::Memory, _) => return Err(IndexError::Broken(why)),
            (Place::File, Remedy::MakeAgain) if !was_made_again => return self.make_again(why),
            (Place::File, Remedy::LeaveNewer(layout)) => self.troubles.push(Trouble::Newer { path, layout }),
            (Place::File, Remedy::LeaveBusy) => self.troubles.push(Trouble::Busy { path }),
            (Place::File, Remedy::DoWithout | Remedy::MakeAgain) => {
                self.troubles.push(Trouble::Unusable { path, why });
            }
        }
        self.go_into_memory()
    }

    /// Closes the file, if one is open, and seals it, so that the next program need not check it.
    pub(super) fn close(&mut self) {
        let is_open = self.connection.path().is_some_and(|path| !path.is_empty());
        if is_open && self.opened == seal::Identity::of(&self.path) {
            let turn = seal::turn(&self.path);
            // What SQLite keeps beside the file is taken into it. If that cannot be done, or no memory can be had, no seal
            // is set, and the next program checks the file.
            if let Ok(memory) = Connection::open_in_memory()
                && std::mem::replace(&mut self.connection, memory).close().is_ok()
            {
                seal::set(&self.path, turn);
            }
        }
    }

    pub(super) fn go_into_memory(&mut self) -> Result<(), IndexError> {
        self.close();
        self.place = Place::Memory;
        let made = database::open_memory(Some(&self.path));
        self.connection = made.map_err(|fault| IndexError::Broken(fault.in_words()))?;
        Ok(())
    }

    /// Moves a damaged index aside, with what SQLite keeps beside it, and begins a new one. Where another program has
    /// already done so, its new one is taken.
    fn make_again(&mut self, fault: String) -> Result<(), IndexError> {
        let turn = seal::turn(&self.path);
        // Closed first, so that it writes nothing any more.
        self.connection = Connection::open_in_memory()
            .map_err(|error| IndexError::Broken(Fault::from(error).in_words()))?;
        let path = self.path.clone();
        if seal::Identity::of(&path) == self.opened {
            match seal::move_aside(&path) {
                Ok(moved_to) => self.troubles.push(Trouble::Damaged { path, fault, moved_to }),
                Err(error) => {
                    let error = in_words(&error);
                    let why = format!("{fault}, and it cannot be moved aside: {error}");
                    self.troubles.push(Trouble::Unusable { path, why });
                    return self.go_into_memory();
                }
            }
        }
        match self.open_in_turn() {
            Ok(()) => Ok(()),
            Err(fault) => {
                drop(turn);
                self.work_around(&fault)
            }
        }
    }
}
