//! Knowledge points up the list of floors: a module of the engine uses what stands above it, never what stands below.

use std::path::Path;

use crate::tree::{files, root, shown, text};

/// The floors of `engine`, top first; modules on one floor may use those to their left.
const FLOORS: [&[&str]; 8] = [
    &["constants", "vector", "frame", "numerics", "quantity", "time"],
    &["conic"],
    &["system", "ephemeris"],
    &["orbit", "motion"],
    &["burn", "arc"],
    &["vehicle", "air_flight", "sea_flight"],
    &["audit"],
    &["voyage"],
];

fn place_of(module: &str) -> Option<(usize, usize)> {
    FLOORS
        .iter()
        .enumerate()
        .find_map(|(floor, modules)| modules.iter().position(|m| *m == module).map(|seat| (floor, seat)))
}

fn module_of(path: &Path) -> Option<String> {
    let inside = path.strip_prefix(root().join("engine/src")).ok()?;
    let first = inside.components().next()?.as_os_str().to_string_lossy().into_owned();
    Some(first.trim_end_matches(".rs").to_string())
}

/// The modules that a text names as `crate::NAME`.
fn named(text: &str) -> Vec<String> {
    text.lines()
        .filter(|line| !line.trim_start().starts_with("//"))
        .flat_map(|line| line.split("crate::").skip(1))
        .map(|rest| rest.chars().take_while(|c| c.is_ascii_alphanumeric() || *c == '_').collect())
        .filter(|name: &String| !name.is_empty())
        .collect()
}

#[test]
fn the_floors_hold() {
    let mut wrong = Vec::new();
    for path in files("engine/src", "rs") {
        let Some(here) = module_of(&path).filter(|name| name != "lib") else {
            continue;
        };
        let own = place_of(&here).unwrap_or_else(|| panic!("{}: no floor is named for `{here}`", shown(&path)));
        for name in named(&text(&path)) {
            let Some(other) = place_of(&name) else {
                continue;
            };
            if other > own && !(other.0 == 0 && own.0 == 0) {
                wrong.push(format!("{} uses crate::{name}, which stands below it", shown(&path)));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_engine_knows_no_interpreter_file_clock_or_terminal() {
    let forbidden = [
        "rhai",
        "std::fs",
        "std::env",
        "std::time",
        "SystemTime",
        "Instant::now",
        "println!",
        "eprintln!",
        "thread_rng",
    ];
    let mut wrong = Vec::new();
    for path in files("engine/src", "rs") {
        for (number, line) in text(&path).lines().enumerate() {
            let code = line.split("//").next().unwrap_or_default();
            wrong.extend(
                forbidden
                    .iter()
                    .filter(|word| code.contains(**word))
                    .map(|word| format!("{}:{}: {word}", shown(&path), number + 1)),
            );
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
