//! Every mission of `scripts` runs, meets its own demands and passes its audit; what it answers is recorded.

use std::path::{Path, PathBuf};

use visviva::session::{Config, Outcome, Session};
use visviva_tests::read_csv;

fn scripts() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the workspace").join("scripts");
    let mut found: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("the scripts")
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "rhai"))
        .collect();
    found.sort();
    found
}

fn run(path: &Path, inputs: &[(&str, &str)]) -> Outcome {
    let text = std::fs::read_to_string(path).expect("a script");
    let mut config = Config::default().reading(path.parent().expect("a folder"));
    config.settings.inputs = inputs.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect();
    Session::new(config).evaluate(&path.file_name().expect("a name").to_string_lossy(), &text)
}

/// Answers and ledgers as the terminal shows them: four digits, which no platform's last bits reach.
fn told(outcome: &Outcome) -> String {
    let records: Vec<String> = outcome
        .records
        .iter()
        .map(|record| format!("{}: {}", record.name, visviva::api::value::show(&record.value)))
        // Epochs show nanoseconds; a day is what four digits of the rest amount to.
        .map(|line| line.split('T').next().unwrap_or_default().to_owned())
        .collect();
    let legs: Vec<String> = outcome.voyages.iter().flat_map(|voyage| voyage.ledger()).map(|row| row.leg).collect();
    format!("{}\n--\n{}", records.join("\n"), legs.join("\n"))
}

#[test]
fn every_mission_flies() {
    let scripts = scripts();
    assert!(scripts.len() >= 2, "{scripts:?}");
    for path in scripts {
        let outcome = run(&path, &[]);
        let name = path.file_stem().expect("a name").to_string_lossy().into_owned();
        assert!(
            outcome.ran(),
            "{name}: {:?}",
            outcome.diagnostics.iter().map(visviva::diagnostic::Diagnostic::to_json).collect::<Vec<_>>()
        );
        assert_eq!(outcome.status(), 0, "{name}");
        assert!(outcome.requirements.iter().all(|demand| demand.met), "{name}");
        let audit: Vec<_> = outcome.voyages.iter().flat_map(|voyage| voyage.audit()).collect();
        // A script that only plans flies no voyage, and has nothing to audit.
        assert!(audit.is_empty() == outcome.voyages.is_empty() && audit.iter().all(|row| !row.failed), "{name}");
        insta::assert_snapshot!(name.as_str(), told(&outcome));
    }
}

#[test]
fn the_same_mission_twice_is_the_same_to_the_byte() {
    for path in scripts() {
        let text = |outcome: &Outcome| -> Vec<String> {
            let rows = outcome.voyages.iter().flat_map(|voyage| {
                let ledger = voyage.ledger().into_iter().map(|row| row.json.to_string());
                ledger.chain(voyage.audit().into_iter().map(|row| row.json.to_string())).collect::<Vec<_>>()
            });
            let records = outcome.records.iter().map(|record| visviva::api::value::to_json(&record.value).to_string());
            rows.chain(records).collect()
        };
        assert_eq!(text(&run(&path, &[])), text(&run(&path, &[])), "{}", path.display());
    }
}

/// The window that the mission finds is the published opportunity.
///
/// Every row of the Mars handbook table that gives the least C3 of an opportunity: the search ranked by C3, in a month
/// about its dates, must find it. Bound 0.12 km²/s²: what the file's own comment allows for departure from the Earth's
/// centre instead of the barycentre of Earth and Moon. [Burke2010]
#[test]
fn windows_of_the_language_match_the_published_opportunities() {
    let mut checked = 0;
    for row in read_csv("trajectory/opportunities.csv") {
        let text = |key: &str| row.text(key).to_owned();
        if !text("category").starts_with("mars_handbook_minimum") || text("criterion") != "min C3" {
            continue;
        }
        if !row.has("C3_published") {
            continue;
        }
        let (published, jd) = (row.number("C3_published"), row.number("dep_jd"));
        // The dates of the file are the minimum's own: a month about them holds that valley and no other.
        let code = format!(
            "let s = system(\"sol\"); let d = epoch(\"JD {jd} TDB\"); windows(s.Earth, s.Mars, #{{ between: [d - 15.days, d + 15.days], \
             flight_time: [{0}.days - 15.days, {0}.days + 15.days], parking: 300.km, rank: \"c3\" }}).cheapest.c3",
            row.number("tof_d")
        );
        let outcome = Session::new(Config::default()).evaluate("opportunity", &code);
        let answer = outcome.answer.unwrap_or_else(|| panic!("{}: no window", text("id")));
        let found = visviva::api::value::scalar(&answer.value).expect("a quantity").value / 1e6;
        assert!((found - published).abs() <= 0.12, "{}: {found:.3} for {published}", text("id"));
        checked += 1;
    }
    assert!(checked >= 5, "{checked} rows");
}
