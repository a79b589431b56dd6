//! Reading the tree: where the workspace stands and which files it holds.

use std::fs;
use std::path::{Path, PathBuf};

/// The folder that holds the workspace.
pub(crate) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the package lies in the workspace").to_path_buf()
}

/// Every file below `folder` (relative to the workspace) whose name ends with `.extension`, in order of name.
pub(crate) fn files(folder: &str, extension: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    walk(&root().join(folder), extension, &mut found);
    found.sort();
    found
}

fn walk(folder: &Path, extension: &str, found: &mut Vec<PathBuf>) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    for entry in entries.flatten() {
        let path = entry.path();
        if path.is_dir() {
            walk(&path, extension, found);
        } else if path.extension().is_some_and(|e| e == extension) {
            found.push(path);
        }
    }
}

/// Every Rust file of the workspace.
pub(crate) fn rust_files() -> Vec<PathBuf> {
    ["engine", "scripting", "tests"].iter().flat_map(|folder| files(folder, "rs")).collect()
}

/// The path as the workspace sees it, for messages.
pub(crate) fn shown(path: &Path) -> String {
    path.strip_prefix(root()).unwrap_or(path).display().to_string()
}

/// The text of a file of the tree.
pub(crate) fn text(path: &Path) -> String {
    fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", shown(path)))
}
