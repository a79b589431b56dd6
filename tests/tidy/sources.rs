//! Every source that code cites is in the bibliography, and the bibliography is in order.

use std::collections::BTreeSet;

use crate::tree::{root, rust_files, shown, text};

/// Keys of `docs/references.md`: `- **[Battin1999]** ...`.
fn bibliography() -> Vec<String> {
    text(&root().join("docs/references.md"))
        .lines()
        .filter_map(|line| line.strip_prefix("- **["))
        .filter_map(|line| line.split(']').next())
        .map(str::to_string)
        .collect()
}

/// Words in square brackets of comments that look like a source: a capital letter first, a year inside.
fn cited(text: &str) -> BTreeSet<String> {
    text.lines()
        .filter(|line| line.contains("//"))
        .flat_map(|line| line.split('[').skip(1))
        .filter_map(|rest| rest.split(']').next())
        .filter(|key| key.len() > 5 && key.starts_with(|c: char| c.is_ascii_uppercase()))
        .filter(|key| key.chars().all(|c| c.is_ascii_alphanumeric()))
        .filter(|key| key.as_bytes().windows(4).any(|four| four.iter().all(u8::is_ascii_digit)))
        .map(str::to_string)
        .collect()
}

#[test]
fn cited_sources_are_in_the_bibliography() {
    let known: BTreeSet<_> = bibliography().into_iter().collect();
    let missing: Vec<_> = rust_files()
        .iter()
        .flat_map(|path| cited(&text(path)).into_iter().map(move |key| (key, shown(path))))
        .filter(|(key, _)| !known.contains(key))
        .collect();
    assert!(missing.is_empty(), "not in docs/references.md: {missing:?}");
}

#[test]
fn the_bibliography_is_sorted_and_names_each_source_once() {
    let keys = bibliography();
    assert!(!keys.is_empty(), "docs/references.md lists no source in the form `- **[Key1999]** ...`");
    let mut sorted = keys.clone();
    sorted.sort();
    sorted.dedup();
    assert_eq!(keys, sorted);
}
