//! What the benches share: time on one core, reference answers, rows written beside those of other programs.

use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use std::time::Instant;

use serde_json::{Value, json};

/// One line of the outcome.
pub struct Measured {
    /// name of the problem, as in `reference.json`
    pub problem: &'static str,
    /// s for one unit of work
    pub seconds_per_unit: f64,
    /// largest conditioned error of the reference rows, infinite if an item of the batch is wrong
    pub error: f64,
}

/// Whether the bench is only to check its answers: every item once, nothing timed.
pub fn only_checking() -> bool {
    std::env::args().any(|argument| argument == "--check")
}

/// Processor time that this thread has used, s: what other programs do on a shared machine is left out.
///
/// Linux counts it to the nanosecond, but brings the count up to date only when the thread lets another one go first.
/// Elsewhere: the time since the first call.
fn thread_time() -> f64 {
    static START: OnceLock<Instant> = OnceLock::new();
    std::thread::yield_now();
    let counted = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = counted.and_then(|text| text.split(' ').next()?.parse::<f64>().ok());
    nanoseconds.map_or_else(|| START.get_or_init(Instant::now).elapsed().as_secs_f64(), |count| count * 1e-9)
}

/// Median processor time of a unit for each contender, s, its runs of `items` units interleaved over `rounds`.
///
/// `items`: of the whole batch. Each contender goes through it at least once; when only checking, just once and untimed.
pub fn interleaved(items: usize, rounds: usize, contenders: &mut [(usize, &mut dyn FnMut())]) -> Vec<f64> {
    if only_checking() {
        for (burst, run) in contenders.iter_mut() {
            for _ in 0..items.div_ceil(*burst) {
                run();
            }
        }
        return vec![f64::NAN; contenders.len()];
    }
    let mut samples = vec![Vec::new(); contenders.len()];
    for round in 0..=rounds {
        for (kept, (items, run)) in samples.iter_mut().zip(contenders.iter_mut()) {
            let before = thread_time();
            run();
            let spent = thread_time() - before;
            // The first round warms caches and is not kept.
            if round > 0 {
                kept.push(spent / *items as f64);
            }
        }
    }
    let median = |mut kept: Vec<f64>| {
        kept.sort_by(f64::total_cmp);
        kept[kept.len() / 2]
    };
    samples.into_iter().map(median).collect()
}

/// Stride (1 where rows say which item they are) and rows of a problem in `tests/benchmark/reference.json`.
pub fn reference(problem: &str) -> (usize, Vec<Value>) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/benchmark/reference.json");
    let text = std::fs::read_to_string(path).expect("reference answers");
    let all: Value = serde_json::from_str(&text).expect("reference answers are JSON");
    let stride = all[problem]["stride"].as_u64().unwrap_or(1);
    (stride as usize, all[problem]["rows"].as_array().expect("rows").clone())
}

/// A number, or a number in quotes that has more digits than a JSON reader may keep.
pub fn number(value: &Value) -> f64 {
    value.as_f64().or_else(|| value.as_str()?.parse().ok()).expect("a number")
}

/// The file after an option of the command line.
fn file_after(option: &str) -> Option<PathBuf> {
    let arguments: Vec<String> = std::env::args().collect();
    let place = arguments.iter().position(|argument| argument == option)?;
    arguments.get(place + 1).map(PathBuf::from)
}

/// Time a unit, s, of the fastest other program that meets the required error, from the file after `--beside`: an object
/// whose `rows` say `problem`, `seconds_per_unit` and whether the error was `met`.
fn fastest_other(problem: &str) -> Option<f64> {
    let text = std::fs::read_to_string(file_after("--beside")?).ok()?;
    let all: Value = serde_json::from_str(&text).ok()?;
    let rows = all["rows"].as_array()?.iter();
    rows.filter(|row| row["problem"] == problem && row["met"] == true)
        .filter_map(|row| row["seconds_per_unit"].as_f64())
        .min_by(f64::total_cmp)
}

/// Prints the outcome, and adds it to the file after `--json`, replacing rows of the same problem. An item that is wrong
/// ends the program with exit code 1.
pub fn report(rows: &[Measured]) {
    report_as("engine", rows);
    if rows.iter().any(|row| !row.error.is_finite()) {
        std::process::exit(1);
    }
}

/// [`report`] of one contender of several; does not end the program.
pub fn report_as(contender: &str, rows: &[Measured]) {
    for row in rows {
        let name = format!("{:<20} {contender:<20}", row.problem);
        if row.seconds_per_unit.is_nan() {
            println!("{name} error {:.2e}", row.error);
        } else {
            let ratio = fastest_other(row.problem).map_or_else(String::new, |other| {
                format!("  fastest other by this: {:.2}", other / row.seconds_per_unit)
            });
            println!("{name} {:>9.1} ns  error {:.2e}{ratio}", row.seconds_per_unit * 1e9, row.error);
        }
    }
    if let Some(file) = file_after("--json").filter(|_| !only_checking()) {
        write(&file, contender, rows);
    }
}

fn write(file: &Path, contender: &str, rows: &[Measured]) {
    let known = std::fs::read_to_string(file).ok().and_then(|text| serde_json::from_str::<Vec<Value>>(&text).ok());
    let mut all = known.unwrap_or_default();
    all.retain(|old| !rows.iter().any(|row| old["problem"] == row.problem && old["contender"] == contender));
    all.extend(rows.iter().map(|row| {
        json!({"problem": row.problem, "contender": contender, "seconds_per_unit": row.seconds_per_unit,
               "error": if row.error.is_finite() { row.error } else { 1e300 }, "setting": ""})
    }));
    let text = serde_json::to_string_pretty(&all).expect("rows are JSON");
    std::fs::write(file, text).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
}
