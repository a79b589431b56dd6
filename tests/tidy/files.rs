//! What a file may be called, how it opens, how long it may be, and what stands at the top level.

use crate::tree::{root, rust_files, shown, text};

/// Names that say where code was put and not what it is.
const LAYER_WORDS: [&str; 7] = ["utils.rs", "util.rs", "helpers.rs", "common.rs", "misc.rs", "types.rs", "core.rs"];

/// A file longer than this holds more than one noun.
const LONGEST: usize = 450;

const TOP_LEVEL: [&str; 12] = [
    "Cargo.toml",
    "Cargo.lock",
    "README.md",
    "DEVELOPERS.md",
    "LICENSE-MIT",
    "LICENSE-APACHE",
    "engine",
    "scripting",
    "scripts",
    "tests",
    "docs",
    "target",
];

#[test]
fn every_file_opens_with_what_it_is() {
    let silent: Vec<_> =
        rust_files().into_iter().filter(|path| !text(path).starts_with("//!")).map(|path| shown(&path)).collect();
    assert!(silent.is_empty(), "these files do not open with `//!`: {silent:?}");
}

#[test]
fn no_file_is_named_after_a_layer() {
    let bad: Vec<_> = rust_files()
        .into_iter()
        .filter(|path| path.file_name().is_some_and(|name| LAYER_WORDS.iter().any(|word| name == *word)))
        .map(|path| shown(&path))
        .collect();
    assert!(bad.is_empty(), "name the noun instead: {bad:?}");
}

#[test]
fn files_hold_one_noun_each() {
    let long: Vec<_> = rust_files()
        .into_iter()
        .map(|path| (text(&path).lines().count(), shown(&path)))
        .filter(|(lines, _)| *lines > LONGEST)
        .collect();
    assert!(long.is_empty(), "longer than {LONGEST} lines: {long:?}");
}

#[test]
fn the_top_level_holds_only_its_rooms() {
    let strangers: Vec<_> = std::fs::read_dir(root())
        .expect("the workspace can be read")
        .flatten()
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .filter(|name| !name.starts_with('.') && !TOP_LEVEL.contains(&name.as_str()))
        .collect();
    assert!(strangers.is_empty(), "find a room inside for: {strangers:?}");
}

#[test]
fn nothing_is_switched_off_or_left_undone() {
    // The words are put together here so that this file does not find itself.
    let marks = [["TO", "DO"].concat(), ["FIX", "ME"].concat(), ["todo", "!("].concat(), ["#[ig", "nore"].concat()];
    let undone: Vec<_> = rust_files()
        .into_iter()
        .filter(|path| marks.iter().any(|mark| text(path).contains(mark.as_str())))
        .map(|path| shown(&path))
        .collect();
    assert!(undone.is_empty(), "unfinished or switched off: {undone:?}");
}

/// Files that hold unsafe code, each with its reason.
const UNSAFE: [(&str, &str); 3] = [
    (
        "engine/src/numerics/lanes/dispatch.rs",
        "calls functions compiled for an instruction set the processor was asked for",
    ),
    ("engine/src/numerics/lanes/x86_avx2.rs", "vector intrinsics"),
    ("engine/src/numerics/lanes/x86_avx512.rs", "vector intrinsics"),
];

#[test]
fn unsafe_stands_in_listed_files_only() {
    let word = ["unsafe", " {"].concat();
    let found: Vec<_> =
        rust_files().into_iter().filter(|path| text(path).contains(&word)).map(|path| shown(&path)).collect();
    let bad: Vec<_> = found.iter().filter(|path| UNSAFE.iter().all(|(file, _)| file != path)).collect();
    assert!(bad.is_empty(), "unsafe code outside the listed kernels: {bad:?}");
    let gone: Vec<_> = UNSAFE.iter().filter(|(file, _)| found.iter().all(|path| path != file)).collect();
    assert!(gone.is_empty(), "listed, but without unsafe code: {gone:?}");
}
