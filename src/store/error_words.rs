//! What the system says about files, in plain words: no error numbers, no words of the system's own where ours are clearer.

use std::io::{self, ErrorKind};

/// Puts `error` in words that can follow a colon: "no permission", "the disk is full".
///
/// An error that carries a sentence of our own keeps it; what has no plain words here is said as the system says it.
pub fn in_words(error: &io::Error) -> String {
    if let Some(own) = error.get_ref() {
        return own.to_string();
    }
    let plain = match error.kind() {
        ErrorKind::NotFound => "there is no such file or folder",
        ErrorKind::PermissionDenied => "no permission",
        ErrorKind::StorageFull => "the disk is full",
        ErrorKind::QuotaExceeded => "your share of the disk is full",
        ErrorKind::ReadOnlyFilesystem => "the disk can only be read",
        ErrorKind::NotADirectory => "a part of this path is a file, not a folder",
        ErrorKind::IsADirectory => "it is a folder",
        ErrorKind::AlreadyExists => "there is such a file already",
        ErrorKind::InvalidFilename => "no name for a file here: too long, or with a sign that is not taken",
        _ => return without_number(&error.to_string()).to_owned(),
    };
    plain.to_owned()
}

/// The system's text without the number behind it: `Broken pipe (os error 32)` is `Broken pipe`.
fn without_number(text: &str) -> &str {
    text.rsplit_once(" (os error ").map_or(text, |(words, _)| words)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_often_happens_has_plain_words() {
        let check = |kind: ErrorKind, expect: &str| assert_eq!(in_words(&kind.into()), expect);
        check(ErrorKind::NotFound, "there is no such file or folder");
        check(ErrorKind::PermissionDenied, "no permission");
        check(ErrorKind::StorageFull, "the disk is full");
    }

    #[cfg(unix)]
    #[test]
    fn numbers_of_the_system_are_never_said() {
        // Every error number that Linux and macOS know lies below 134.
        for number in 1..134 {
            let said = in_words(&io::Error::from_raw_os_error(number));
            assert!(!said.is_empty() && !said.contains("os error"), "{number}: {said}");
        }
    }

    #[test]
    fn a_sentence_of_our_own_is_kept() {
        let error = io::Error::new(ErrorKind::NotFound, "there is no folder a");
        assert_eq!(in_words(&error), "there is no folder a");
    }
}
