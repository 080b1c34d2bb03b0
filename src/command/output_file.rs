//! Files that results are written to. None of the player's own files is written over by a result.

use std::path::Path;

use super::exit_status::Failure;
use crate::store::takes::{FOLDER_VARIABLE, data_folder};

/// Refuses to write a result where it would cost the player something: over a take or what else is kept with them, or over a file
/// that by its ending is something else. `endings` are those of such results, in small letters; `flag` names the path.
pub fn may_write(path: &Path, endings: &[&str], flag: &str) -> Result<(), Failure> {
    if path == Path::new("-") {
        return Ok(());
    }
    let shown = path.display();
    if path.is_file() && is_among_takes(path) {
        return Err(Failure::bad_input(format!(
            "{flag} {shown}: a file of the folder in which takes are kept is not written over. Choose another name"
        )));
    }
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    let is_such_a_result = ending.is_some_and(|ending| endings.contains(&ending.as_str()));
    if path.is_file() && !is_such_a_result {
        let ending = endings.first().unwrap_or(&"");
        return Err(Failure::bad_input(format!(
            "{flag} {shown}: there is such a file already, and it is no .{ending}. Choose another name"
        )));
    }
    Ok(())
}

/// Refuses a name under which there is anything already, or that does not end as such results do.
pub fn may_be_new(path: &Path, endings: &[&str]) -> Result<(), Failure> {
    let shown = path.display();
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    if !ending.is_some_and(|ending| endings.contains(&ending.as_str())) {
        let endings = endings.iter().map(|ending| format!(".{ending}")).collect::<Vec<_>>().join(" or ");
        return Err(Failure::bad_input(format!("{shown}: choose a name that ends in {endings}")));
    }
    if path.symlink_metadata().is_ok() {
        return Err(Failure::bad_input(format!(
            "{shown}: there is such a file already. Choose another name"
        )));
    }
    Ok(())
}

/// Whether a path leads into the folder of this user's takes. A folder that is not there holds none.
fn is_among_takes(path: &Path) -> bool {
    let Ok(data) = data_folder(std::env::var_os(FOLDER_VARIABLE)) else { return false };
    let folder = path.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    match (folder.canonicalize(), data.canonicalize()) {
        (Ok(folder), Ok(data)) => folder.starts_with(data),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(name: &str, is_there: bool, endings: &[&str], expect: Result<(), &str>) {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join(name);
        if is_there {
            std::fs::write(&path, b"mine").expect("written");
        }
        let found = may_write(&path, endings, "--html");
        match expect {
            Ok(()) => assert!(found.is_ok(), "{name}"),
            Err(said) => assert!(found.is_err_and(|failure| failure.message().contains(said)), "{name}"),
        }
    }

    #[test]
    fn a_result_takes_the_place_of_such_a_result_alone() {
        check("take.html", false, &["html", "htm"], Ok(()));
        check("take.html", true, &["html", "htm"], Ok(()));
        check("TAKE.HTM", true, &["html", "htm"], Ok(()));
        check("bands.toml", true, &["html", "htm"], Err("it is no .html"));
        check("page", true, &["html", "htm"], Err("it is no .html"));
        check("page", false, &["html", "htm"], Ok(()));
    }
}
