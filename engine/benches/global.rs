//! Are the published optima of multiple gravity assists found from scratch, how often, and what does it cost?
//!
//! `cargo bench -p visviva-engine --bench global` looks for all six from the seeds 1 to 10; `-- --check` for the first from one; `-- NAME …` for those
//! named; `-- --seeds N --first N --evaluations N` say from how many seeds, from which on, and how long; `--without-gradient` searches by the cost alone;
//! `--trace` shows the way. A seed succeeds when it comes within 0.1 % of the best published value (or betters it) without violating a
//! constraint, and nearly when within 1 %. Seconds are processor time of the thread.

#![allow(
    clippy::print_stdout,
    clippy::expect_used,
    unreachable_pub,
    missing_docs,
    dead_code,
    reason = "a bench reports"
)]

#[path = "../../tests/reference/assist_gradients.rs"]
mod assist_gradients;
#[path = "../../tests/reference/assist_problems.rs"]
mod assist_problems;

use assist_problems::{Problem, floats, problems};
use std::time::Instant;
use visviva_engine::numerics::global::{self, Found, Look, Options, Progress};
use visviva_engine::numerics::watch::Watch;

const PROBLEMS: &str = include_str!("../../tests/reference/trajectory/global_optimisation_problems.toml");
const EPHEMERIS: &str = include_str!("../../tests/reference/trajectory/global_optimisation_ephemeris.toml");

/// Evaluations a seed; a gradient counts as three.
fn budget(problem: &Problem) -> usize {
    match problem.id.as_str() {
        "cassini1" => 200_000,
        "sagas" => 400_000,
        "messenger_full" => 10_000_000,
        "gtoc1" => 3_000_000,
        _ => 1_500_000,
    }
}

/// Processor time of this thread, s; the clock where the system does not tell.
fn processor_time(begun: Instant) -> f64 {
    let counted = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = counted.and_then(|text| text.split_whitespace().next()?.parse::<f64>().ok());
    nanoseconds.map_or_else(|| begun.elapsed().as_secs_f64(), |nanoseconds| 1e-9 * nanoseconds)
}

/// By the gradient, or without.
fn look(problem: &Problem, options: &Options, plain: bool, trace: bool) -> Found {
    let watch = Watch::none();
    let mut last = f64::INFINITY;
    let mut tell = |at: &Progress<'_>| {
        if trace && !(at.cost >= last - 1e-4 * last.abs()) {
            last = at.cost;
            println!("  round {} {:?}, {} evaluations: {:.5}", at.round, at.stage, at.evaluations, at.cost);
        }
    };
    if plain {
        return global::search(&problem.bounds, |x| problem.cost(x), options, &watch, &mut tell);
    }
    let domain = problem.domain();
    let parts = problem.parts();
    let mut cost = |x: &[f64], look: Look, gradient: Option<&mut [f64]>| match parts.get(look.stages.wrapping_sub(1)) {
        Some(part) => Problem::cost_of_part(part, x, look.roundness, gradient),
        None => problem.cost_with_gradient(x, look.roundness, gradient),
    };
    let found = global::search_with_gradient(&domain, &mut cost, options, &watch, &mut tell);
    if trace {
        println!("  rounds {:.4?}", found.round_costs);
    }
    found
}

fn main() {
    let given: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    let number = |name: &str| {
        let at = given.iter().position(|word| word == name)?;
        given.get(at + 1)?.parse::<usize>().ok()
    };
    let flag = |name: &str| given.iter().any(|word| word == name);
    let check = flag("--check");
    let seeds = number("--seeds").unwrap_or(if check { 1 } else { 10 }) as u64;
    let all = problems(PROBLEMS, EPHEMERIS);
    let named: Vec<&Problem> = all.iter().filter(|problem| given.contains(&problem.id)).collect();
    let chosen = match (named.is_empty(), check) {
        (false, _) => named,
        (true, true) => all.iter().take(1).collect(),
        (true, false) => all.iter().collect(),
    };
    println!(
        "problem         published   reproduced    best found    mean found  met  nearly  seeds  evaluations  s a seed"
    );
    let begun = Instant::now();
    for problem in chosen {
        let evaluations = number("--evaluations").unwrap_or_else(|| budget(problem));
        let reproduced = problem
            .vectors
            .iter()
            .find(|vector| vector.get("published").is_some())
            .or(problem.vectors.first())
            .and_then(|vector| problem.value(&floats(vector, "x")))
            .map_or(f64::NAN, |value| value.objective);
        let goal = problem.best_published.unwrap_or(reproduced);
        let sign = if problem.maximises() { -1.0 } else { 1.0 };
        let before = processor_time(begun);
        let first = number("--first").unwrap_or(1) as u64;
        let found: Vec<(f64, f64)> = (first..first + seeds)
            .map(|seed| {
                let (exploration, patience) = (number("--exploration").unwrap_or(0), number("--patience").unwrap_or(0));
                let options = Options { seed, evaluations, exploration, patience, ..Options::default() };
                let found = look(problem, &options, flag("--without-gradient"), flag("--trace"));
                let value = problem.value(&found.x).expect("the search answers a place with a value");
                // By how much it misses the goal, as a share of it; a violated constraint misses it altogether.
                let kept = value.violation < 1e-6;
                let short = if kept { sign * (value.objective - goal) / goal.abs() } else { f64::INFINITY };
                if flag("--trace") {
                    println!(
                        "  seed {seed}: {:.6}, {:.1} s so far; x = {:?}",
                        value.objective,
                        processor_time(begun) - before,
                        found.x
                    );
                }
                (value.objective, short)
            })
            .collect();
        let seconds = (processor_time(begun) - before) / seeds as f64;
        let best = found.iter().map(|one| one.0).min_by(|a, b| (sign * a).total_cmp(&(sign * b))).unwrap_or(f64::NAN);
        let mean = found.iter().map(|one| one.0).sum::<f64>() / seeds as f64;
        let [met, nearly] = [1e-3, 1e-2].map(|bound| found.iter().filter(|one| one.1 <= bound).count());
        println!(
            "{:<14} {goal:>10.4} {reproduced:>12.4} {best:>13.5} {mean:>13.5} {met:>4} {nearly:>7} {seeds:>6} {evaluations:>12} {seconds:>9.2}",
            problem.id
        );
        if check {
            assert!(met > 0, "no seed met {}", problem.id);
        }
    }
}
