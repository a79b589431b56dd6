//! The fuzzer by hand: `cargo run -p visviva-tests --bin fuzz -- --seconds 1800 --seed 7`.
//!
//! Each input that breaks a door is written to `tests/fuzz/corpus`, where the next run begins with it.

use std::io::Write;
use std::path::Path;
use std::process::ExitCode;

use visviva_tests::fuzz::{Campaign, Corpus, Kind};

fn main() -> ExitCode {
    let mut out = std::io::stdout();
    let mut campaign = Campaign { seconds: 20.0, seed: 1 };
    let words: Vec<String> = std::env::args().skip(1).collect();
    for pair in words.chunks(2) {
        let read = match pair {
            [flag, value] if flag == "--seconds" => value.parse().map(|seconds| campaign.seconds = seconds).is_ok(),
            [flag, value] if flag == "--seed" => value.parse().map(|seed| campaign.seed = seed).is_ok(),
            _ => false,
        };
        if !read {
            let _ = writeln!(out, "usage: fuzz [--seconds NUMBER] [--seed NUMBER]");
            return ExitCode::from(2);
        }
    }
    let tally = campaign.run(&Corpus::of_the_tree());
    let _ = writeln!(
        out,
        "seed {}: {} scripts, {} system files, {} values; answered with a value: {:?}; failures: {}",
        campaign.seed,
        tally.executions[0],
        tally.executions[1],
        tally.executions[2],
        tally.answered,
        tally.failures.len()
    );
    for (index, failure) in tally.failures.iter().enumerate() {
        let ending = match failure.kind {
            Kind::Script => "rhai",
            Kind::System => "toml",
            Kind::Value => "value",
        };
        let name = format!("broke-{}-{index}.{ending}", campaign.seed);
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz/corpus").join(&name);
        let saved = std::fs::write(&path, &failure.input).is_ok();
        let _ = writeln!(out, "{}\n  kept as {name}: {saved}", failure.what);
    }
    if tally.failures.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
