//! Voyages through the program: exit statuses, the document of `--json`, folders for results and pictures.

use std::collections::BTreeSet;
use std::path::Path;
use std::process::Stdio;

use serde_json::Value;

use super::{path, press_interrupt, run, script, told, visviva};

const BEGUN: &str = "let v = voyage(vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s }), \
                     circular(system(\"velm\").Veyra, 300.km));\n";
/// Brakes below the ground.
const LOST: &str = "v.burn(burn(#{ along: -500.m_s }));\nv.coast(1.days);\n";

/// Runs what follows after a voyage has begun; status, output and messages.
fn flown(text: &str, arguments: &[&str]) -> (i32, String, String) {
    let file = script(&format!("{BEGUN}{text}"));
    run(&[&["run", path(&file)], arguments].concat())
}

fn document(text: &str) -> (i32, Value) {
    let (status, out, error) = flown(text, &["--json"]);
    assert!(error.is_empty(), "{error}");
    (status, serde_json::from_str(&out).expect("one document"))
}

#[test]
fn a_voyage_that_comes_home_is_0() {
    let (status, out, error) = flown("v.burn(burn(#{ along: 30.m_s }));\nv.coast(1.hours);\nv.finish();", &[]);
    assert_eq!((status, error.as_str()), (0, ""));
    for part in ["voyage craft: home", "ledger", "burn", "coast", "in all", "audit", "rocket equation", "good"] {
        assert!(out.contains(part), "{part} is missing in\n{out}");
    }
}

#[test]
fn a_lost_voyage_is_3_until_the_script_asks_or_has_a_plan_b() {
    let (status, lost) = document(LOST);
    assert_eq!((status, &lost["status"], &lost["voyages"][0]["outcome"]), (3, &3.into(), &"lost".into()));
    let why = lost["voyages"][0]["why"].as_str().expect("a reason");
    assert!(why.contains("struck the ground of Veyra"), "{why}");
    for asked in ["v.outcome", "v.why", "v.place", "record(\"place\", v.place)"] {
        assert_eq!(document(&format!("{LOST}{asked};")).0, 0, "{asked}");
    }
    // To ask before it is lost tells the script nothing.
    assert_eq!(document(&format!("v.outcome;\n{LOST}")).0, 3);
    // What does not tell how it stands is no question.
    assert_eq!(document(&format!("{LOST}v.mass; v.ledger; v.name;")).0, 3);
    let (status, branched) = document(&format!("let w = v.branch();\n{LOST}w.coast(1.days);"));
    assert_eq!((status, &branched["voyages"][1]["outcome"]), (0, &"under way".into()));
    // The branch itself is nobody's plan B.
    assert_eq!(document("let w = v.branch(); w.burn(burn(#{ along: -500.m_s })); w.coast(1.days);").0, 3);
    // One that is made by a search stays out of the answer.
    let searched = "minimise(#{ guess: #{ a: 1 }, cost: |u| { let w = v.branch(); w.burn(burn(#{ along: -500.m_s })); \
                    w.coast(1.days); (u.a - 2) ** 2 } });";
    let (status, document) = document(searched);
    assert_eq!((status, document["voyages"].as_array().map(Vec::len)), (0, Some(1)));
}

#[test]
fn a_verb_on_a_lost_voyage_is_1_and_keeps_the_record() {
    let (status, document) = document(&format!("{LOST}v.coast(1.hours);"));
    assert_eq!((status, &document["status"]), (1, &1.into()));
    assert_eq!(document["diagnostics"][0]["place"]["line"], 4);
    assert_eq!(document["voyages"][0]["outcome"], "lost");
    assert_eq!(document["ledger"].as_array().map(Vec::len), Some(2));
}

#[test]
fn a_requirement_about_a_voyage_fails_with_3() {
    let text = "v.burn(burn(#{ along: 30.m_s }));\nrequire(v.dv_left > 5.km_s, \"keep a reserve\");";
    let (status, document) = document(text);
    assert_eq!((status, &document["requirements"][0]["met"]), (3, &false.into()));
    assert_eq!(document["requirements"][0]["why"], "keep a reserve");
    assert_eq!(flown("v.coast(1.hours); require(v.dv_left > 2.km_s, \"reserve\");", &[]).0, 0);
}

#[test]
fn the_model_that_is_not_there_is_a_usage_error() {
    let (status, out, error) = flown("v.coast(1.hours);", &["--model", "n-body"]);
    assert_eq!((status, out.as_str()), (2, ""));
    assert!(error.contains("not there yet"), "{error}");
    assert_eq!(flown("v.coast(1.hours);", &["--model", "conics"]).0, 0);
}

#[cfg(unix)]
#[test]
fn an_interrupted_verb_is_130_and_leaves_the_voyage_as_it_was() {
    let file = script(&format!("{BEGUN}v.coast(1.hours);\nv.coast_to(|s| s.altitude - 9000.km);"));
    let child = visviva(&["run", "--json", path(&file)]).stdout(Stdio::piped()).spawn().expect("the program runs");
    press_interrupt(&child);
    let (status, out, _) = told(child.wait_with_output().expect("the program ends"));
    let document: Value = serde_json::from_str(&out).expect("one document");
    assert_eq!((status, &document["status"]), (130, &130.into()));
    assert_eq!(document["ledger"].as_array().map(Vec::len), Some(1));
    assert_eq!(document["voyages"][0]["outcome"], "under way");
}

/// The keys of an object.
fn keys(value: &Value) -> BTreeSet<&str> {
    value.as_object().expect("an object").keys().map(String::as_str).collect()
}

#[track_caller]
fn has(value: &Value, wanted: &[&str]) {
    let missing: Vec<&&str> = wanted.iter().filter(|key| !keys(value).contains(**key)).collect();
    assert!(missing.is_empty(), "{missing:?} missing in {value}");
}

#[track_caller]
fn quantity(value: &Value, unit: &str) -> f64 {
    assert_eq!(keys(value), BTreeSet::from(["value", "unit"]), "{value}");
    assert_eq!(value["unit"], unit);
    value["value"].as_f64().expect("a number")
}

#[track_caller]
fn epoch(value: &Value) {
    assert_eq!(keys(value), BTreeSet::from(["iso", "scale"]), "{value}");
    assert_eq!((value["iso"].as_str().map(|iso| &iso[..5]), &value["scale"]), (Some("2140-"), &"TDB".into()));
}

#[test]
fn the_document_is_as_it_is_described() {
    let text = "record(\"height\", input(\"height\", 300.km));\nv.burn(burn(#{ along: 30.m_s, outward: 40.m_s }));\n\
                v.coast(1.hours);\nrecord(\"now\", v.epoch);\nrecord(\"place\", v.orbit.r);\nrecord(\"count\", 3);\n\
                require(v.audit.good, \"all laws hold\");\nv.finish();";
    let (status, whole) = document(text);
    assert_eq!(status, 0);
    let expected =
        "format status script inputs records requirements voyages ledger audit diagnostics".split(' ').collect();
    assert_eq!(keys(&whole), expected);
    assert_eq!((&whole["format"], &whole["status"]), (&1.into(), &0.into()));
    has(&whole["inputs"][0], &["name", "default", "value"]);
    let records = whole["records"].as_array().expect("a list");
    let names: Vec<&Value> = records.iter().map(|record| &record["name"]).collect();
    assert_eq!(names, ["height", "now", "place", "count"]);
    assert_eq!(quantity(&records[0]["value"], "m"), 300e3);
    epoch(&records[1]["value"]);
    assert_eq!(keys(&records[2]["value"]), BTreeSet::from(["value", "unit", "frame"]));
    assert_eq!(records[2]["value"]["value"].as_array().map(Vec::len), Some(3));
    assert_eq!(records[3]["value"], 3);
    has(&whole["requirements"][0], &["why", "met", "place"]);
    assert_eq!(keys(&whole["voyages"][0]), BTreeSet::from(["name", "outcome", "why"]));
    assert_eq!(whole["voyages"][0], serde_json::json!({ "name": "craft", "outcome": "home", "why": null }));
    let ledger = whole["ledger"].as_array().expect("a list");
    assert_eq!(ledger.iter().map(|row| &row["leg"]).collect::<Vec<_>>(), ["burn", "coast"]);
    for row in ledger {
        has(row, &["voyage", "leg", "start", "end", "dv", "propellant", "mass"]);
        epoch(&row["start"]);
        epoch(&row["end"]);
    }
    // 3, 4, 5; and the rocket equation with g0 = 9.80665 m/s² [SuttonBiblarz2017, equation 4-6].
    assert!((quantity(&ledger[0]["dv"], "m/s") - 50.0).abs() < 1e-12);
    let spent = 5000.0 * (1.0 - (-50.0_f64 / (320.0 * 9.806_65)).exp());
    // A thousand roundings of 5000 kg.
    assert!((quantity(&ledger[0]["propellant"], "kg") - spent).abs() < 1e-9);
    assert!((quantity(&ledger[1]["mass"], "kg") - (5000.0 - spent)).abs() < 1e-9);
    let audit = whole["audit"].as_array().expect("a list");
    assert!(audit.len() >= 5, "{audit:?}");
    for row in audit {
        has(row, &["voyage", "leg", "law", "residual", "bound", "verdict"]);
        assert_eq!(row["verdict"], "good");
        let size = |key: &str| row[key].as_f64().or_else(|| row[key]["value"].as_f64()).expect("a number");
        assert!(size("residual") <= size("bound"), "{row}");
    }
    assert_eq!(whole["diagnostics"].as_array().map(Vec::len), Some(0));
}

#[test]
fn two_runs_give_the_same_bytes() {
    let text = "let w = v.branch();\nv.burn(burn(#{ along: 300.m_s }));\nv.coast(20.minutes);\n\
                v.correct(#{ aim: periapsis_aim(v.body, #{ periapsis_altitude: 250.km }) });\nv.coast_to(\"periapsis\");\n\
                let s = minimise(#{ guess: #{ a: 10.m_s }, cost: |u| { let x = w.branch(); x.burn(burn(#{ across: u.a })); \
                abs(x.orbit.speed - 7.km_s).to(\"m/s\") } });\nrecord(\"found\", s);\nrecord(\"track\", v.track());\n\
                record(\"craft\", v); record(\"vehicle\", v.vehicle);";
    let file = script(&format!("{BEGUN}{text}"));
    let once = run(&["run", "--json", path(&file)]);
    assert_eq!((once.0, once.2.as_str()), (0, ""));
    assert_eq!(once, run(&["run", "--json", path(&file)]));
    let shown = run(&["run", path(&file)]);
    assert_eq!(shown, run(&["run", path(&file)]));
}

/// Every file below a folder.
fn files(folder: &Path) -> Vec<String> {
    let mut found = Vec::new();
    let mut open = vec![folder.to_owned()];
    while let Some(next) = open.pop() {
        for entry in std::fs::read_dir(next).into_iter().flatten() {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                open.push(path);
            } else {
                found.push(path.strip_prefix(folder).expect("below it").to_string_lossy().into_owned());
            }
        }
    }
    found.sort();
    found
}

#[test]
fn results_go_below_the_folder_in_the_form_of_their_names() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("results");
    std::fs::create_dir(&out).expect("made");
    std::fs::write(out.join("note.txt"), "older and longer than what comes").expect("written");
    let text = "v.burn(burn(#{ along: 30.m_s })); v.coast(1.hours);\nsave(v.ledger, \"tables/ledger.csv\");\n\
                save(v.audit, \"tables/audit.csv\"); save(v.ledger, \"ledger.json\");\n\
                save(v.track(#{ count: 5 }), \"track.csv\"); save(v.track(#{ count: 5 }), \"track.json\");\n\
                save(picture(\"system\", v), \"path.svg\"); save(v.mass, \"mass.json\"); save(\"short\", \"note.txt\");";
    let (status, _, error) = flown(text, &["--out", out.to_str().expect("a path")]);
    assert_eq!((status, error.as_str()), (0, ""));
    // Nothing else, such as a file that was begun, is left.
    let expected = [
        "ledger.json",
        "mass.json",
        "note.txt",
        "path.svg",
        "tables/audit.csv",
        "tables/ledger.csv",
        "track.csv",
        "track.json",
    ];
    assert_eq!(files(&out), expected);
    let read = |name: &str| std::fs::read_to_string(out.join(name)).expect("a file");
    assert_eq!(read("note.txt"), "short");
    assert_eq!(read("track.csv").lines().count(), 1 + 2 + 5);
    assert!(read("track.csv").starts_with("epoch,leg,about,body,x_m,"));
    assert!(read("tables/ledger.csv").starts_with("leg,start,end,"));
    // The two forms of a track tell one number.
    let track: Value = serde_json::from_str(&read("track.json")).expect("a document");
    let cell = read("track.csv").lines().nth(1).and_then(|row| row.split(',').nth(4)?.parse::<f64>().ok());
    assert_eq!(cell, track["points"][0]["r"]["value"][0].as_f64());
    let document: Value = serde_json::from_str(&read("ledger.json")).expect("a document");
    assert_eq!(document["rows"].as_array().map(Vec::len), Some(2));
    assert!(read("path.svg").starts_with("<?xml") && read("path.svg").trim_end().ends_with("</svg>"));
    assert_eq!(serde_json::from_str::<Value>(&read("mass.json")).expect("a document")["unit"], "kg");
}

#[test]
fn nothing_is_written_outside_of_the_folder_or_in_a_wrong_form() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("results");
    std::fs::create_dir(&out).expect("made");
    let elsewhere = folder.path().join("elsewhere");
    std::fs::create_dir(&elsewhere).expect("made");
    #[cfg(unix)]
    std::os::unix::fs::symlink(&elsewhere, out.join("link")).expect("a link");
    let absolute = folder.path().join("absolute.csv");
    let absolute = format!("save(v.ledger, {:?});", absolute.to_str().expect("a path"));
    for text in [
        "save(v.ledger, \"../ledger.csv\");",
        "save(v.ledger, \"tables/../../ledger.csv\");",
        absolute.as_str(),
        "save(v.ledger, \"link/ledger.csv\");",
        "save(v.ledger, \"\");",
        "save(v.ledger, \"..\");",
        "save(v.ledger, \"ledger.svg\");",
        "save(v.ledger, \"ledger\");",
        "save(picture(\"system\", v), \"path.csv\");",
        "save(v.mass, \"mass.csv\");",
    ] {
        if text.contains("link/") && cfg!(not(unix)) {
            continue;
        }
        let (status, _, error) = flown(text, &["--out", out.to_str().expect("a path")]);
        assert_eq!(status, 1, "{text}\n{error}");
        assert!(error.contains("cannot be saved") || error.contains("outside of the folder"), "{text}\n{error}");
        assert_eq!(files(folder.path()), Vec::<String>::new(), "{text}");
    }
}

#[test]
fn pictures_are_kept_as_they_are_made() {
    let folder = tempfile::tempdir().expect("a folder");
    let pictures = folder.path().join("drawn/here");
    let text = "v.coast(1.hours); picture(\"system\", v); picture(\"sytem\", v);";
    let (status, _, error) = flown(text, &["--pictures", pictures.to_str().expect("a path")]);
    assert_eq!(status, 1, "{error}");
    assert_eq!(files(&pictures), ["system-craft.png", "system-craft.svg"]);
    let svg = std::fs::read_to_string(pictures.join("system-craft.svg")).expect("a file");
    assert!(svg.starts_with("<?xml") && svg.trim_end().ends_with("</svg>"));
}

#[test]
fn a_module_that_is_given_a_voyage_flies_that_very_voyage() {
    let folder = tempfile::tempdir().expect("a folder");
    let part = "fn away(v) { v.burn(burn(#{ along: 30.m_s })); v.coast(1.hours); }\n\
                fn begun() { voyage(vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s, name: \"sent\" }), \
                circular(system(\"velm\").Veyra, 300.km)) }";
    std::fs::write(folder.path().join("part.rhai"), part).expect("written");
    let main = folder.path().join("main.rhai");
    let text = format!(
        "import \"part\" as part;\n{BEGUN}part::away(v);\nlet w = part::begun();\npart::away(w);\nw.coast(1.hours);"
    );
    std::fs::write(&main, text).expect("written");
    let (status, out, error) = run(&["run", "--json", main.to_str().expect("a path")]);
    assert_eq!(status, 0, "{error}");
    let document: Value = serde_json::from_str(&out).expect("one document");
    let rows: Vec<(&str, &str)> = document["ledger"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|row| (row["voyage"].as_str().unwrap_or(""), row["leg"].as_str().unwrap_or("")))
        .collect();
    assert_eq!(rows, [("craft", "burn"), ("craft", "coast"), ("sent", "burn"), ("sent", "coast"), ("sent", "coast")]);
}
