//! Are the published optima of multiple gravity assists found from scratch, how often, and what does it cost?
//!
//! `cargo bench -p visviva-engine --bench global` looks for all six from ten seeds; `-- --check` for the first from two; `-- NAME …`
//! for those named; `-- --evaluations N`, `-- --seeds N`, `-- --exploration N` say how long, how often, and how a round is divided. A seed succeeds when it comes within 1 % of the
//! best published value (or betters it) without violating a constraint.

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
use visviva_engine::numerics::global::{self, Found, Options, Progress};
use visviva_engine::numerics::watch::Watch;

const PROBLEMS: &str = include_str!("../../tests/reference/trajectory/global_optimisation_problems.toml");
const EPHEMERIS: &str = include_str!("../../tests/reference/trajectory/global_optimisation_ephemeris.toml");

/// Evaluations a seed: what the problems of six to eight unknowns need, and those of twelve and more.
fn budget(problem: &Problem) -> usize {
    if problem.bounds.len() < 10 { 400_000 } else { 2_000_000 }
}

/// By the gradient, or without.
fn look(problem: &Problem, options: &Options, plain: bool, trace: bool) -> Found {
    let watch = Watch::none();
    let mut last = f64::INFINITY;
    let mut tell = |at: &Progress<'_>| {
        if trace && at.cost < last - 1e-4 * last.abs() {
            last = at.cost;
            println!("  round {} {:?}, {} evaluations: {:.5}", at.round, at.stage, at.evaluations, at.cost);
        }
    };
    if plain {
        return global::search(&problem.bounds, |x| problem.cost(x), options, &watch, &mut tell);
    }
    let domain = problem.domain();
    let mut cost =
        |x: &[f64], roundness: f64, gradient: Option<&mut [f64]>| problem.cost_with_gradient(x, roundness, gradient);
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
    let seeds = number("--seeds").unwrap_or(if check { 2 } else { 10 }) as u64;
    let all = problems(PROBLEMS, EPHEMERIS);
    let named: Vec<&Problem> = all.iter().filter(|problem| given.contains(&problem.id)).collect();
    let chosen = match (named.is_empty(), check) {
        (false, _) => named,
        (true, true) => all.iter().take(1).collect(),
        (true, false) => all.iter().collect(),
    };
    println!(
        "problem         published   reproduced  best found      mean found  seeds met  evaluations a seed   s a seed"
    );
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
        let begun = Instant::now();
        let found: Vec<(f64, bool)> = (number("--first").unwrap_or(1) as u64..)
            .take(seeds as usize)
            .map(|seed| {
                let exploration = number("--exploration").unwrap_or(0);
                let patience = number("--patience").unwrap_or(0);
                let options = Options { seed, evaluations, exploration, patience, ..Options::default() };
                let found = look(problem, &options, flag("--without-gradient"), flag("--trace"));
                let value = problem.value(&found.x).expect("the search answers a place with a value");
                let met = value.violation < 1e-6 && sign * value.objective <= sign * goal + 0.01 * goal.abs();
                (value.objective, met)
            })
            .collect();
        let seconds = begun.elapsed().as_secs_f64() / seeds as f64;
        let best = found.iter().map(|one| one.0).min_by(|a, b| (sign * a).total_cmp(&(sign * b))).unwrap_or(f64::NAN);
        let mean = found.iter().map(|one| one.0).sum::<f64>() / seeds as f64;
        let met = found.iter().filter(|one| one.1).count();
        println!(
            "{:<14} {goal:>10.4} {reproduced:>12.4} {best:>11.4} {mean:>15.4} {met:>7}/{seeds:<3} {evaluations:>16} {seconds:>10.2}",
            problem.id
        );
        if check {
            assert!(met > 0, "no seed met {}", problem.id);
        }
    }
}
