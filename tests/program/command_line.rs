//! The program from outside: exit statuses, standard input and output, pipes.

use std::io::Write as _;
use std::process::{Command, Output, Stdio};

use serde_json::Value;

mod voyages;

fn visviva(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_visviva"));
    command.args(arguments).env("NO_COLOR", "1").stdin(Stdio::null());
    command
}

fn run(arguments: &[&str]) -> (i32, String, String) {
    told(visviva(arguments).output().expect("the program runs"))
}

fn told(output: Output) -> (i32, String, String) {
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
    (output.status.code().unwrap_or(-1), text(output.stdout), text(output.stderr))
}

fn script(text: &str) -> tempfile::NamedTempFile {
    let mut file = tempfile::Builder::new().suffix(".rhai").tempfile().expect("a file");
    file.write_all(text.as_bytes()).expect("written");
    file
}

fn path(file: &tempfile::NamedTempFile) -> &str {
    file.path().to_str().expect("a path")
}

#[test]
fn eval_prints_a_value() {
    assert_eq!(run(&["eval", "300.km / 2.s"]), (0, "150 km/s\n".to_owned(), String::new()));
}

#[test]
fn eval_of_a_mistake_shows_line_caret_and_hint() {
    let (status, out, error) = run(&["eval", "300.km + 2.s"]);
    assert_eq!((status, out.as_str()), (1, ""));
    for part in ["error: cannot add a time to a length", "<eval>:1:8", "300.km + 2.s", "^", "help: "] {
        assert!(error.contains(part), "{part} is missing in\n{error}");
    }
}

#[test]
fn eval_json_gives_si_and_unit() {
    let (status, out, _) = run(&["eval", "--json", "300.km"]);
    let document: Value = serde_json::from_str(&out).expect("one document");
    assert_eq!((status, &document["value"]["value"], &document["value"]["unit"]), (0, &300_000.0.into(), &"m".into()));
}

#[test]
fn eval_reads_standard_input() {
    let mut child =
        visviva(&["eval", "-"]).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().expect("the program runs");
    child.stdin.take().expect("its input").write_all(b"7/2").expect("written");
    let (status, out, _) = told(child.wait_with_output().expect("the program ends"));
    assert_eq!((status, out.as_str()), (0, "3.5\n"));
}

#[test]
fn usage_errors_are_2() {
    for arguments in [
        &["fly"][..],
        &["run"],
        &["run", "no-such-script.rhai"],
        &["run", "--model", "n-body", "x.rhai"],
        &["eval", "1", "--time", "-3"],
        &["doc", "quux"],
    ] {
        let (status, out, error) = run(arguments);
        assert_eq!((status, out.as_str()), (2, ""), "{arguments:?}");
        assert!(!error.is_empty());
    }
}

#[test]
fn a_requirement_that_is_not_met_is_3() {
    let file = script("record(\"height\", 300.km); require(1.km > 2.km, \"fly high\");");
    let (status, out, _) = run(&["run", path(&file)]);
    assert_eq!(status, 3);
    assert!(out.contains("height") && out.contains("300 km") && out.contains("NOT MET"), "{out}");
}

#[test]
fn an_input_is_set_and_its_dimension_held() {
    let file = script("record(\"twice\", 2 * input(\"first pass\", 176.km));");
    let json = |arguments: &[&str]| {
        let (status, out, error) = run(&[&["run", path(&file), "--json"], arguments].concat());
        (status, serde_json::from_str::<Value>(&out).ok(), error)
    };
    for set in ["first pass=100.km", "first pass = 100 km", "first pass=100000.m"] {
        let (status, document, _) = json(&["--set", set]);
        let document = document.expect("one document");
        assert_eq!((status, &document["records"][0]["value"]["value"]), (0, &200_000.0.into()), "{set}");
    }
    let (status, document, _) = json(&["--set", "first pass=3.s"]);
    let document = document.expect("one document");
    assert_eq!((status, &document["status"]), (1, &1.into()));
    let (status, document, error) = json(&["--set", "frist pass=3.km"]);
    assert_eq!((status, document), (2, None));
    assert!(error.contains("did you mean `first pass`"), "{error}");
}

#[test]
fn a_failed_run_still_gives_its_document() {
    let file = script("record(\"height\", 300.km);\nrecord(\"sum\", 300.km + 2.s);");
    let (status, out, _) = run(&["run", "--json", path(&file)]);
    let document: Value = serde_json::from_str(&out).expect("one document");
    assert_eq!((status, &document["status"]), (1, &1.into()));
    assert_eq!(document["records"].as_array().map(Vec::len), Some(1));
    assert_eq!(document["diagnostics"][0]["place"]["line"], 2);
    let keys = [
        "format",
        "status",
        "script",
        "inputs",
        "records",
        "requirements",
        "voyages",
        "ledger",
        "audit",
        "diagnostics",
    ];
    let object = document.as_object().expect("an object");
    assert_eq!(object.len(), keys.len());
    assert!(keys.iter().all(|key| object.contains_key(*key)));
}

#[test]
fn check_lists_inputs_and_finds_unknown_words() {
    let good = script("let pe = input(\"first pass\", 176.km); record(\"pe\", pe);");
    let (status, out, _) = run(&["check", "--json", path(&good)]);
    let document: Value = serde_json::from_str(&out).expect("one document");
    let input = &document["scripts"][0]["inputs"][0];
    assert_eq!((status, &input["name"], &input["dimension"]), (0, &"first pass".into(), &"length".into()));
    let bad = script("recrod(\"pe\", 1);");
    let (status, _, error) = run(&["check", path(&bad)]);
    assert_eq!(status, 1);
    assert!(error.contains("did you mean `record`"), "{error}");
}

#[test]
fn a_reader_who_goes_away_is_no_panic() {
    let file = script("for i in 0..20000 { print(`line ${i}`); }");
    let mut child =
        visviva(&["run", path(&file)]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("the program runs");
    drop(child.stdout.take());
    let (_, _, error) = told(child.wait_with_output().expect("the program ends"));
    assert!(!error.contains("panic"), "{error}");
}

/// What Ctrl-C does.
#[cfg(unix)]
fn press_interrupt(child: &std::process::Child) {
    std::thread::sleep(std::time::Duration::from_millis(500));
    let sent = Command::new("kill").args(["-INT", &child.id().to_string()]).status().expect("kill runs");
    assert!(sent.success());
}

#[cfg(unix)]
#[test]
fn an_interrupted_run_is_130_and_keeps_what_was_recorded() {
    let file = script("record(\"height\", 300.km); loop { }");
    let child = visviva(&["run", "--json", path(&file)]).stdout(Stdio::piped()).spawn().expect("the program runs");
    press_interrupt(&child);
    let (status, out, _) = told(child.wait_with_output().expect("the program ends"));
    let document: Value = serde_json::from_str(&out).expect("one document");
    assert_eq!((status, &document["status"]), (130, &130.into()));
    assert_eq!(document["records"][0]["name"], "height");
}

#[cfg(unix)]
#[test]
fn an_interrupted_search_answers_what_it_has_where_the_script_takes_that() {
    let task = "search: \"global\", bounds: #{ a: [0, 1] }, evaluations: 1_000_000_000, cost: |u| (u.a - 0.3) ** 2 + 1";
    for (more, wanted) in [(", partial: true", 0), ("", 130)] {
        let file = script(&format!(
            "let s = minimise(#{{ {task}{more} }}); record(\"found\", s.x.a); record(\"why\", s.why);"
        ));
        let child = visviva(&["run", "--json", path(&file)]).stdout(Stdio::piped()).spawn().expect("the program runs");
        press_interrupt(&child);
        let (status, out, _) = told(child.wait_with_output().expect("the program ends"));
        let document: Value = serde_json::from_str(&out).expect("one document");
        assert_eq!(status, wanted, "{out}");
        if status == 0 {
            // A hundred thousand tries and more bring one unknown far nearer than this.
            let found = document["records"][0]["value"].as_f64().or(document["records"][0]["value"]["value"].as_f64());
            assert!((found.expect("a number") - 0.3).abs() < 1e-3, "{out}");
            assert_eq!(document["records"][1]["value"], "interrupted");
        }
    }
}

#[cfg(unix)]
#[test]
fn an_interrupted_line_keeps_what_was_made() {
    let home = tempfile::tempdir().expect("a folder");
    let mut child = visviva(&["repl"])
        .env("XDG_STATE_HOME", home.path())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program runs");
    let mut input = child.stdin.take().expect("its input");
    input.write_all(b"let made = 3.km;\nlet n = 0; loop { n += 1; }\n").expect("written");
    press_interrupt(&child);
    input.write_all(b"made == 3.km && n > 0\n").expect("written");
    drop(input);
    let (status, out, error) = told(child.wait_with_output().expect("the program ends"));
    assert_eq!((status, out.trim()), (0, "true"), "{error}");
    assert!(error.contains("interrupted"), "{error}");
}

#[test]
fn doc_looks_words_up() {
    let (status, out, _) = run(&["doc", "sqrt"]);
    assert_eq!(status, 0);
    assert!(out.contains("square root"));
    assert_eq!(run(&["doc"]).0, 0);
    assert!(run(&["doc", "units"]).1.contains("km_s"));
}

#[test]
fn scripts_import_only_below_their_folder() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("part.rhai"), "fn twice(x) { x * 2 }").expect("written");
    let main = folder.path().join("main.rhai");
    std::fs::write(&main, "import \"part\" as part; record(\"twice\", part::twice(3.km));").expect("written");
    let main = main.to_str().expect("a path");
    let (status, out, error) = run(&["run", main]);
    assert_eq!(status, 0, "{error}");
    assert!(out.contains("6000 m") || out.contains("6 km"), "{out}");
    let moved = script("import \"/etc/hostname\" as part;");
    assert_eq!(run(&["run", path(&moved)]).0, 1);
}

#[test]
fn eval_of_a_period_is_read_in_minutes_and_in_seconds() {
    let expression = "circular(system(\"sol\").Earth, 300.km).period";
    let (status, out, _) = run(&["eval", expression]);
    assert_eq!((status, out.as_str()), (0, "90.52 min\n"));
    let (status, out, _) = run(&["eval", "--json", expression]);
    let document: Value = serde_json::from_str(&out).expect("one document");
    // Kepler's third law with the Earth's equatorial radius [Archinal2018] and its GM in km³/s² [Park2021].
    let expected = std::f64::consts::TAU * ((6378.1366_f64 + 300.0).powi(3) / 398_600.435_507).sqrt();
    let period = document["value"]["value"].as_f64().expect("a number");
    // The radius is stated to 0.1 m, which is 1e-4 s of the period.
    assert!(status == 0 && (period - expected).abs() < 1e-4, "{period}");
    assert_eq!(document["value"]["unit"], "s");
}
