//! One tiny script for each message, named after it; the whole rendering is recorded beside it.

use std::path::{Path, PathBuf};

use visviva::diagnostic::render::render;
use visviva::session::{Config, Session};

fn scripts() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("messages");
    let mut found: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("the folder of messages")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|end| end == "rhai"))
        .collect();
    found.sort();
    found
}

#[test]
fn every_message_reads_as_recorded() {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("snapshots");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    let _bound = settings.bind_to_scope();
    let scripts = scripts();
    assert!(scripts.len() >= 30, "only {} messages are recorded", scripts.len());
    for path in scripts {
        let name = path.file_stem().expect("a name").to_string_lossy().into_owned();
        let text = std::fs::read_to_string(&path).expect("a script");
        let folder = path.parent().expect("a folder").join("modules");
        let session = Session::new(Config::default().reading(folder));
        let outcome = session.evaluate(&format!("{name}.rhai"), &text);
        let rendered: Vec<String> =
            outcome.diagnostics.iter().map(|diagnostic| render(diagnostic, session.sources(), false)).collect();
        assert!(!rendered.is_empty(), "{name} gives no message");
        insta::assert_snapshot!(name, rendered.join("\n"));
    }
}
