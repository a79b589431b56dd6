//! Printing that survives a reader who goes away, and colour only where it is wanted.

use std::io::{IsTerminal, Write};
use std::path::Path;

use serde_json::{Value, json};

use crate::api::value;
use crate::diagnostic::Diagnostic;
use crate::diagnostic::render::render;
use crate::diagnostic::source::Sources;
use crate::session::Outcome;

/// Prints to standard output. A closed pipe ends the program quietly, as the reader wished.
pub(crate) fn print(text: &str) {
    let mut out = std::io::stdout().lock();
    if out.write_all(text.as_bytes()).and_then(|()| out.flush()).is_err() {
        std::process::exit(0);
    }
}

/// Prints a line to standard output.
pub(crate) fn line(text: &str) {
    print(&format!("{text}\n"));
}

/// Prints a line to standard error.
pub(crate) fn complain(text: &str) {
    // Nothing can be said where printing fails.
    let _ = writeln!(std::io::stderr().lock(), "{text}");
}

/// Prints diagnostics to standard error, in colour on a terminal that has it.
pub(crate) fn diagnostics(list: &[Diagnostic], sources: &Sources) {
    for diagnostic in list {
        let text = render(diagnostic, sources, true);
        let mut out = anstream::stderr().lock();
        // Nothing can be said where printing fails.
        let _ = writeln!(out, "{text}");
    }
}

/// A usage error of our own: the text on standard error, exit status 2.
pub(crate) fn usage(text: &str) -> super::Status {
    complain(&format!("error: {text}"));
    super::USAGE
}

/// Whether standard output is a terminal.
pub(crate) fn on_terminal() -> bool {
    std::io::stdout().is_terminal()
}

/// Reads a script, `-` being standard input; answers its text and the folder it may read.
pub(crate) fn read_script(path: &Path) -> Result<(String, String, std::path::PathBuf), String> {
    let here = || std::env::current_dir().unwrap_or_else(|_| Path::new(".").to_owned());
    if path == Path::new("-") {
        let text = std::io::read_to_string(std::io::stdin())
            .map_err(|error| format!("cannot read standard input: {error}"))?;
        return Ok(("<stdin>".to_owned(), text, here()));
    }
    let text = std::fs::read_to_string(path).map_err(|error| format!("cannot read {}: {error}", path.display()))?;
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).map_or_else(here, Path::to_owned);
    Ok((path.display().to_string(), text, folder))
}

/// The `--json` document of a run (`language.md`, section 7).
pub(crate) fn document(script: &str, outcome: &Outcome, status: i32) -> Value {
    let mut ledger = Vec::new();
    let mut audit = Vec::new();
    for voyage in outcome.voyages.iter().filter(|voyage| voyage.shown()) {
        let named = |row: Value, leg: &str| {
            let mut whole = json!({ "voyage": voyage.name(), "leg": leg });
            if let (Some(object), Value::Object(row)) = (whole.as_object_mut(), row) {
                object.extend(row);
            }
            whole
        };
        ledger.extend(voyage.ledger().into_iter().map(|row| named(row.json, &row.leg)));
        audit.extend(voyage.audit().into_iter().map(|row| {
            let mut whole = named(row.json, &row.leg);
            if let Some(object) = whole.as_object_mut() {
                object.insert("law".to_owned(), Value::String(row.law));
            }
            whole
        }));
    }
    json!({
        "format": 1,
        "status": status,
        "script": script,
        "inputs": outcome.inputs.iter().map(|input| json!({
            "name": input.name, "default": value::to_json(&input.default), "value": value::to_json(&input.value),
        })).collect::<Vec<_>>(),
        "records": outcome.records.iter().map(|record| json!({
            "name": record.name, "value": value::to_json(&record.value),
        })).collect::<Vec<_>>(),
        "requirements": outcome.requirements.iter().map(|requirement| json!({
            "why": requirement.why, "met": requirement.met, "place": requirement.place,
        })).collect::<Vec<_>>(),
        "voyages": outcome.voyages.iter().filter(|voyage| voyage.shown()).map(|voyage| json!({
            "name": voyage.name(), "outcome": voyage.outcome(), "why": voyage.why(),
        })).collect::<Vec<_>>(),
        "ledger": ledger,
        "audit": audit,
        "diagnostics": outcome.diagnostics.iter().map(Diagnostic::to_json).collect::<Vec<_>>(),
    })
}
