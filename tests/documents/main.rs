//! The documents: every script block runs as it stands, every link leads somewhere.

use std::path::{Path, PathBuf};

use visviva::session::{Config, Session};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the workspace").to_path_buf()
}

fn text(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// The fenced blocks of a language, each with the line it begins on.
fn blocks(text: &str, language: &str) -> Vec<(usize, String)> {
    let mut found: Vec<(usize, String)> = Vec::new();
    let mut inside = false;
    for (number, line) in text.lines().enumerate() {
        if line.starts_with("```") {
            inside = !inside && line == format!("```{language}");
            if inside {
                found.push((number + 1, String::new()));
            }
        } else if inside && let Some((_, block)) = found.last_mut() {
            block.push_str(line);
            block.push('\n');
        }
    }
    found
}

#[test]
fn every_script_block_runs() {
    let mut run = 0;
    for name in ["README.md", "docs/tutorial.md"] {
        for (line, block) in blocks(&text(&root().join(name)), "rhai") {
            let outcome = Session::new(Config::default()).evaluate("block", &block);
            let said: Vec<String> = outcome.diagnostics.iter().map(|d| d.to_json().to_string()).collect();
            assert!(outcome.ran(), "{name}:{line}: {said:?}");
            assert!(matches!(outcome.status(), 0), "{name}:{line} ends with {}", outcome.status());
            run += 1;
        }
    }
    assert!(run >= 10, "{run} blocks");
}

#[test]
fn every_link_leads_somewhere() {
    let mut documents = vec![root().join("README.md"), root().join("DEVELOPERS.md")];
    documents.extend(std::fs::read_dir(root().join("docs")).expect("docs").flatten().map(|entry| entry.path()));
    let mut broken = Vec::new();
    for document in documents.iter().filter(|path| path.extension().is_some_and(|extension| extension == "md")) {
        let body = text(document);
        for link in body.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
            let file = link.split('#').next().unwrap_or_default();
            if file.is_empty() || file.contains("://") {
                continue;
            }
            let target = document.parent().unwrap_or(Path::new("")).join(file);
            if !target.exists() {
                broken.push(format!("{} -> {link}", document.display()));
            }
        }
    }
    assert!(broken.is_empty(), "{broken:#?}");
}

#[test]
fn the_readme_shows_the_two_commands_first() {
    let commands = blocks(&text(&root().join("README.md")), "sh");
    assert_eq!(commands.len(), 2);
    assert_eq!(commands[0].1.trim(), "cargo run --release -- run scripts/mars-and-back.rhai");
    assert_eq!(commands[1].1.trim(), "cargo test --workspace");
}
