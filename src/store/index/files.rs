//! Which take files are there, and which of them the index has to read: a comparison of names, sizes and times.

use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;

use jiff::Timestamp;
use rayon::prelude::*;

use crate::store::error_words::in_words;
use crate::store::takes::KeptTake;

/// A take file as the folder shows it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Seen {
    /// Number of the take.
    pub number: u32,
    /// The file.
    pub path: PathBuf,
    /// Bytes.
    pub size: i64,
    /// When it was written, in nanoseconds from 1970.
    pub modified: i64,
}

/// A take file as the index knows it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Known {
    /// Its name in the folder.
    pub file: String,
    /// Bytes.
    pub size: i64,
    /// When it was written, in nanoseconds from 1970.
    pub modified: i64,
}

impl Seen {
    /// Its name in the folder.
    pub(super) fn file(&self) -> String {
        self.path.file_name().unwrap_or_default().to_string_lossy().into_owned()
    }

    /// When it was written.
    pub(super) fn written_at(&self) -> Timestamp {
        Timestamp::from_nanosecond(self.modified.into()).unwrap_or(Timestamp::UNIX_EPOCH)
    }

    fn is(&self, known: &Known) -> bool {
        (self.size, self.modified) == (known.size, known.modified) && self.file() == known.file
    }
}

/// Looks at each take's file; one that cannot be looked at comes with the reason. Files that have just gone are left out.
pub(super) fn look(takes: Vec<KeptTake>) -> (Vec<Seen>, Vec<(u32, String)>) {
    let looked: Vec<_> = takes.into_par_iter().filter_map(look_at).collect();
    let mut seen = Vec::with_capacity(looked.len());
    let mut unread = Vec::new();
    for one in looked {
        match one {
            Ok(file) => seen.push(file),
            Err(said) => unread.push(said),
        }
    }
    (seen, unread)
}

fn look_at(take: KeptTake) -> Option<Result<Seen, (u32, String)>> {
    let KeptTake { number, path } = take;
    let told = fs::metadata(&path).and_then(|data| Ok((data.len(), data.modified()?)));
    match told {
        Ok((size, modified)) => {
            let modified = Timestamp::try_from(modified).map_or(0, |at| at.as_nanosecond() as i64);
            Some(Ok(Seen { number, path, size: size.cast_signed(), modified }))
        }
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => None,
        Err(error) => Some(Err((number, format!("{}: {}", path.display(), in_words(&error))))),
    }
}

/// What there is to do for the index to know the files that are there.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Work {
    /// Takes whose files are gone.
    pub gone: Vec<u32>,
    /// Files that are new, that have changed, or that lack the tally that is asked for.
    pub to_read: Vec<Seen>,
    /// How many of these are new.
    pub new: usize,
    /// How many have changed.
    pub changed: usize,
}

/// Compares what is there with what is known; `untallied` are known takes that lack a tally.
pub(super) fn compare(seen: Vec<Seen>, known: &BTreeMap<u32, Known>, untallied: &[u32]) -> Work {
    let mut work = Work::default();
    let mut here = std::collections::BTreeSet::new();
    for file in seen {
        here.insert(file.number);
        let known = known.get(&file.number);
        let (is_new, is_same) = (known.is_none(), known.is_some_and(|known| file.is(known)));
        work.new += usize::from(is_new);
        work.changed += usize::from(!is_new && !is_same);
        if !is_same || untallied.binary_search(&file.number).is_ok() {
            work.to_read.push(file);
        }
    }
    work.gone = known.keys().filter(|number| !here.contains(number)).copied().collect();
    work
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(number: u32, size: i64) -> Seen {
        Seen { number, path: format!("takes/take-{number:04}.mid").into(), size, modified: 5 }
    }

    #[test]
    fn only_what_is_new_or_changed_or_untallied_is_read() {
        let known = |number: u32, size: i64| {
            (number, Known { file: format!("take-{number:04}.mid"), size, modified: 5 })
        };
        let known = BTreeMap::from([known(1, 10), known(2, 10), known(3, 10), known(4, 10)]);
        let work = compare(vec![seen(1, 10), seen(2, 11), seen(3, 10), seen(5, 10)], &known, &[3]);
        assert_eq!(work.to_read, [seen(2, 11), seen(3, 10), seen(5, 10)]);
        assert_eq!((work.new, work.changed, work.gone), (1, 1, vec![4]));
    }

    #[test]
    fn a_file_that_has_just_gone_is_left_out_and_one_that_cannot_be_looked_at_is_said() {
        let folder = tempfile::tempdir().expect("a folder");
        fs::write(folder.path().join("file"), b"x").expect("a file");
        let take = |number, name: &str| KeptTake { number, path: folder.path().join(name) };
        let (seen, unread) = look(vec![take(1, "file"), take(2, "gone"), take(3, "file/in the way")]);
        assert_eq!(seen.iter().map(|file| (file.number, file.size)).collect::<Vec<_>>(), [(1, 1)]);
        assert_eq!(unread.len(), 1);
        assert!(unread[0].1.ends_with("a part of this path is a file, not a folder"), "{unread:?}");
    }
}
