//! The language suite. A file is cut at lines of dashes into cases; each case runs on its own. A comment
//! `// error: 9-26 no periapsis to burn at` stands above the line at fault: columns of the caret, then how the message
//! begins. A case without one must run to its end.

use std::path::{Path, PathBuf};

use visviva::session::{Config, Session};

fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("a folder of the suite") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            files(&path, found);
        } else if path.extension().is_some_and(|end| end == "rhai") {
            found.push(path);
        }
    }
}

/// What a case must answer: nothing, or an error on a line, at columns, with a text.
fn expected(case: &str) -> Option<(usize, String, String)> {
    let (index, line) = case.lines().enumerate().find(|(_, line)| line.trim_start().starts_with("// error: "))?;
    let rest = line.trim_start().trim_start_matches("// error: ");
    let (columns, text) = rest.split_once(' ').expect("columns, then the text");
    Some((index + 2, columns.to_owned(), text.trim().to_owned()))
}

/// One case; the answer is what is wrong with it.
fn failure(case: &str) -> Option<String> {
    let session = Session::new(Config::default());
    let outcome = session.evaluate("case", case);
    match (expected(case), outcome.diagnostics.first()) {
        (None, None) => None,
        (None, Some(diagnostic)) => Some(visviva::diagnostic::render::render(diagnostic, session.sources(), false)),
        (Some((line, ..)), None) => Some(format!("no error on line {line}")),
        (Some((line, columns, text)), Some(diagnostic)) => {
            let place = diagnostic.place.as_ref();
            let got =
                place.map_or_else(String::new, |place| format!("{}:{}-{}", place.line, place.column, place.end - 1));
            let wanted = format!("{line}:{columns}");
            let right = got == wanted && diagnostic.what.starts_with(&text);
            (!right).then(|| format!("expected {wanted} {text}\n     got {got} {}", diagnostic.what))
        }
    }
}

#[test]
fn every_case_answers_as_it_says() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("suite");
    let mut found = Vec::new();
    files(&root, &mut found);
    found.sort();
    let (mut cases, mut wrong) = (0, Vec::new());
    for path in found {
        let text = std::fs::read_to_string(&path).expect("a file of the suite");
        for case in text.split("// ----\n").filter(|case| !case.trim().is_empty()) {
            cases += 1;
            if let Some(why) = failure(case) {
                wrong.push(format!("{}:\n{case}\n{why}\n", path.display()));
            }
        }
    }
    assert!(cases >= 40, "only {cases} cases were found");
    assert!(wrong.is_empty(), "{} of {cases} cases are wrong\n\n{}", wrong.len(), wrong.join("\n"));
}
