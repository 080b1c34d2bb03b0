//! Laws of the source that no compiler checks: what is absent from which room, how long files are, what a module says
//! first, what stands at the top of the tree.

use std::fs;
use std::path::{Path, PathBuf};

/// Rooms that do no input or output, read no clock, spawn nothing and print nothing.
const PURE_ROOMS: [&str; 11] = [
    "theory",
    "time",
    "chart",
    "harmony",
    "neck",
    "take",
    "tally",
    "statistics",
    "practice",
    "band",
    "report",
];

/// What a pure room never names, each as a whole word.
const IMPURE: [&str; 11] = [
    "std::fs",
    "std::net",
    "std::thread",
    "std::env",
    "std::process",
    "process::",
    "Instant",
    "SystemTime",
    "println!",
    "eprintln!",
    "rand::",
];

/// Modules of the standard library that a pure room never brings in by a list of names.
const IMPURE_MODULES: [&str; 5] = ["fs", "net", "thread", "env", "process"];

/// The most lines of code in a file, its tests, comments and blank lines left out.
const LONGEST_FILE: usize = 400;

/// What may stand at the top of the tree beside dot-files.
const TOP_LEVEL: [&str; 11] = [
    "Cargo.toml",
    "Cargo.lock",
    "README.md",
    "DEVELOPERS.md",
    "LICENSE",
    "src",
    "tests",
    "benches",
    "backing",
    "examples",
    "target",
];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Every Rust file below `folder`.
fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let Ok(entries) = fs::read_dir(folder) else {
        return Vec::new();
    };
    let mut files: Vec<PathBuf> = entries
        .map(|entry| entry.expect("an entry").path())
        .flat_map(|path| if path.is_dir() { rust_files(&path) } else { vec![path] })
        .filter(|path| path.extension().is_some_and(|extension| extension == "rs"))
        .collect();
    files.sort();
    files
}

/// The files of the library and the program; `tests.rs` holds tests alone.
fn source_files() -> Vec<PathBuf> {
    let files = rust_files(&root().join("src")).into_iter();
    files.filter(|path| !path.ends_with("tests.rs")).collect()
}

fn read(path: &Path) -> String {
    fs::read_to_string(path).expect("a source file")
}

/// A file without its tests, comments and blank lines.
fn code(text: &str) -> String {
    let before_tests = text.split("#[cfg(test)]\nmod ").next().unwrap_or_default();
    let before_tests = before_tests.split("#[cfg(test)]\npub").next().unwrap_or_default();
    let lines = before_tests.lines().map(|line| line.split(" // ").next().unwrap_or_default());
    let lines = lines.filter(|line| !line.trim().is_empty() && !line.trim_start().starts_with("//"));
    lines.collect::<Vec<_>>().join("\n")
}

/// Whether `code` names `word` with no letter, digit or underscore on either side.
fn names(code: &str, word: &str) -> bool {
    let part_of_a_name = |sign: char| sign.is_alphanumeric() || sign == '_';
    code.match_indices(word).any(|(at, _)| {
        let before = code[..at].chars().next_back().is_some_and(part_of_a_name);
        let after = code[at + word.len()..].chars().next().is_some_and(part_of_a_name);
        let ends_open = word.ends_with(|sign: char| !part_of_a_name(sign));
        !before && (ends_open || !after)
    })
}

/// What a pure room may not have, of what `code` has.
fn impurities(code: &str) -> Vec<&'static str> {
    let lists = code.split("use std::{").skip(1).filter_map(|rest| rest.split(';').next());
    let listed = lists.flat_map(|list| IMPURE_MODULES.into_iter().filter(move |module| names(list, module)));
    IMPURE.into_iter().filter(|word| names(code, word)).chain(listed).collect()
}

fn room_of(path: &Path) -> Option<String> {
    let inside = path.strip_prefix(root().join("src")).ok()?;
    let first = inside.components().next()?.as_os_str().to_string_lossy().into_owned();
    Some(first.trim_end_matches(".rs").to_owned())
}

#[test]
fn impurities_are_recognised() {
    let check = |code: &str, expect: &[&str]| assert_eq!(impurities(code), expect, "{code}");
    check("use std::fs;", &["std::fs"]);
    check("use std::{fmt, fs};", &["fs"]);
    check("use std::{\n    env,\n    fmt,\n};", &["env"]);
    check("let now = Instant::now();", &["Instant"]);
    check("std::process::exit(1)", &["std::process", "process::"]);
    check("println!(\"x\")", &["println!"]);
    check("let instant: Instants = env!(\"X\"); my_println!()", &[]);
    check(&code("//! println!\nfn a() {} // std::fs\n#[cfg(test)]\nmod tests { use std::fs; }"), &[]);
}

#[test]
fn pure_rooms_touch_nothing_outside_themselves() {
    for path in source_files() {
        if room_of(&path).is_some_and(|room| PURE_ROOMS.contains(&room.as_str())) {
            let found = impurities(&code(&read(&path)));
            assert!(found.is_empty(), "{} names {found:?}", path.display());
        }
    }
}

#[test]
fn no_file_is_too_long_to_read_at_one_go() {
    for path in source_files() {
        let lines = code(&read(&path)).lines().count();
        assert!(lines <= LONGEST_FILE, "{} has {lines} lines of code", path.display());
    }
}

#[test]
fn every_module_says_what_it_is_first() {
    for path in ["src", "tests", "benches"].iter().flat_map(|folder| rust_files(&root().join(folder))) {
        assert!(read(&path).starts_with("//! "), "{} does not open with //!", path.display());
    }
}

#[test]
fn nothing_is_left_undone_or_skipped() {
    let banned = [
        concat!("todo", "!("),
        concat!("unimplemented", "!("),
        concat!("#[ig", "nore"),
        concat!("db", "g!("),
    ];
    for path in ["src", "tests", "benches"].iter().flat_map(|folder| rust_files(&root().join(folder))) {
        let text = read(&path);
        let found: Vec<_> = banned.iter().filter(|word| text.contains(**word)).collect();
        assert!(found.is_empty(), "{} has {found:?}", path.display());
    }
}

#[test]
fn no_module_is_a_mod_rs() {
    for path in rust_files(&root().join("src")) {
        assert_ne!(path.file_name(), Some("mod.rs".as_ref()), "{}", path.display());
    }
}

#[test]
fn the_top_of_the_tree_holds_what_is_expected_there() {
    for entry in fs::read_dir(root()).expect("the tree") {
        let name = entry.expect("an entry").file_name().to_string_lossy().into_owned();
        assert!(name.starts_with('.') || TOP_LEVEL.contains(&name.as_str()), "{name} stands at the top");
    }
}

/// Cargo runs `tests/NAME.rs` and `tests/NAME/main.rs` by itself; any other file must be a module of one that runs.
#[test]
fn every_test_file_is_run() {
    let tests = root().join("tests");
    let files = rust_files(&tests);
    let users = files.iter().cloned().chain(rust_files(&root().join("benches")));
    let declared: Vec<String> = users.flat_map(|path| modules_declared_in(&read(&path))).collect();
    for path in &files {
        let depth = path.strip_prefix(&tests).expect("a file below tests").components().count();
        let stem = path.file_stem().expect("a name").to_string_lossy().into_owned();
        let is_target = depth == 1 || depth == 2 && stem == "main";
        assert!(is_target || declared.contains(&stem), "{} is never run", path.display());
    }
    let manifest = fs::read_to_string(root().join("Cargo.toml")).expect("the manifest");
    assert!(!manifest.contains("autotests"), "cargo finds the tests by itself");
}

fn modules_declared_in(text: &str) -> Vec<String> {
    let names = text.lines().filter_map(|line| line.trim().trim_start_matches("pub ").strip_prefix("mod "));
    names.filter_map(|name| name.strip_suffix(';')).map(str::to_owned).collect()
}
