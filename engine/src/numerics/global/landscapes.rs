//! Published test functions for global search, with their known minima.
//!
//! Definitions and minima as collected in [MolgaSmutnicki2005] and [DixonSzego1978], from memory.

use super::{Found, Options, Stage, Stop, search};
use crate::numerics::watch::Watch;
use std::cell::Cell;
use std::f64::consts::{E, PI, TAU};

struct Landscape {
    name: &'static str,
    cost: fn(&[f64]) -> f64,
    bounds: (f64, f64),
    unknowns: usize,
    least: f64,
    evaluations: usize,
}

fn rastrigin(x: &[f64]) -> f64 {
    x.iter().map(|x| x * x - 10.0 * (TAU * x).cos() + 10.0).sum()
}

fn ackley(x: &[f64]) -> f64 {
    let n = x.len() as f64;
    let (square, cosine) =
        (x.iter().map(|x| x * x).sum::<f64>() / n, x.iter().map(|x| (TAU * x).cos()).sum::<f64>() / n);
    20.0 + E - 20.0 * (-0.2 * square.sqrt()).exp() - cosine.exp()
}

fn griewank(x: &[f64]) -> f64 {
    let product: f64 = x.iter().zip(1..).map(|(x, i)| (x / f64::from(i).sqrt()).cos()).product();
    x.iter().map(|x| x * x).sum::<f64>() / 4000.0 - product + 1.0
}

/// Schwefel's function 7: the lowest valley lies far from the next lowest, near a corner of the box.
fn schwefel(x: &[f64]) -> f64 {
    x.iter().map(|x| -x * x.abs().sqrt().sin()).sum()
}

fn rosenbrock(x: &[f64]) -> f64 {
    x.windows(2).map(|p| 100.0 * (p[1] - p[0] * p[0]).powi(2) + (1.0 - p[0]).powi(2)).sum()
}

fn michalewicz(x: &[f64]) -> f64 {
    -x.iter().zip(1..).map(|(x, i)| x.sin() * (f64::from(i) * x * x / PI).sin().powi(20)).sum::<f64>()
}

/// Shekel's foxholes with ten holes. [DixonSzego1978]
fn shekel(x: &[f64]) -> f64 {
    const HOLES: [([f64; 4], f64); 10] = [
        ([4.0, 4.0, 4.0, 4.0], 0.1),
        ([1.0, 1.0, 1.0, 1.0], 0.2),
        ([8.0, 8.0, 8.0, 8.0], 0.2),
        ([6.0, 6.0, 6.0, 6.0], 0.4),
        ([3.0, 7.0, 3.0, 7.0], 0.4),
        ([2.0, 9.0, 2.0, 9.0], 0.6),
        ([5.0, 5.0, 3.0, 3.0], 0.3),
        ([8.0, 1.0, 8.0, 1.0], 0.7),
        ([6.0, 2.0, 6.0, 2.0], 0.5),
        ([7.0, 3.6, 7.0, 3.6], 0.5),
    ];
    -HOLES.iter().map(|(a, c)| 1.0 / (c + x.iter().zip(a).map(|(x, a)| (x - a) * (x - a)).sum::<f64>())).sum::<f64>()
}

const LANDSCAPES: &[Landscape] = &[
    Landscape {
        name: "Rastrigin",
        cost: rastrigin,
        bounds: (-5.12, 5.12),
        unknowns: 10,
        least: 0.0,
        evaluations: 100_000,
    },
    Landscape { name: "Ackley", cost: ackley, bounds: (-32.0, 30.0), unknowns: 10, least: 0.0, evaluations: 100_000 },
    Landscape {
        name: "Griewank",
        cost: griewank,
        bounds: (-600.0, 500.0),
        unknowns: 10,
        least: 0.0,
        evaluations: 200_000,
    },
    // -418.9829 for each unknown.
    Landscape {
        name: "Schwefel",
        cost: schwefel,
        bounds: (-500.0, 500.0),
        unknowns: 10,
        least: -4189.829,
        evaluations: 100_000,
    },
    Landscape {
        name: "Rosenbrock",
        cost: rosenbrock,
        bounds: (-5.0, 10.0),
        unknowns: 10,
        least: 0.0,
        evaluations: 100_000,
    },
    Landscape {
        name: "Michalewicz",
        cost: michalewicz,
        bounds: (0.0, PI),
        unknowns: 10,
        least: -9.66015,
        evaluations: 100_000,
    },
    Landscape { name: "Shekel", cost: shekel, bounds: (0.0, 10.0), unknowns: 4, least: -10.5364, evaluations: 40_000 },
];

fn look(landscape: &Landscape, seed: u64) -> Found {
    let options = Options { seed, evaluations: landscape.evaluations, ..Options::default() };
    search(&vec![landscape.bounds; landscape.unknowns], landscape.cost, &options, &Watch::none(), &mut |_| {})
}

#[test]
fn published_minima_are_found() {
    for landscape in LANDSCAPES {
        for seed in [1, 2, 3] {
            let found = look(landscape, seed);
            // Half of the last digit printed; zero minima to the polish's own tolerance.
            let bound = if landscape.least == 0.0 { 1e-7 } else { 1e-5 * landscape.least.abs() };
            assert!(
                (found.cost - landscape.least).abs() <= bound,
                "{} from seed {seed}: {found:?}, expected {}",
                landscape.name,
                landscape.least
            );
            assert!(found.evaluations <= landscape.evaluations && found.stop == Stop::Evaluations);
        }
    }
}

#[test]
fn one_seed_one_answer() {
    let bits = |seed| {
        let found = look(&LANDSCAPES[6], seed);
        (found.x.iter().map(|x| x.to_bits()).collect::<Vec<_>>(), found.cost.to_bits(), found.evaluations)
    };
    assert_eq!(bits(7), bits(7));
    assert_ne!(bits(7), bits(8));
}

#[test]
fn stops_are_told_apart() {
    let go = |options: &Options, watch: &Watch<'_>, bounds: &[(f64, f64)]| {
        search(bounds, rastrigin, options, watch, &mut |_| {})
    };
    let (box2, none) = ([(-5.12, 5.12); 2], Watch::none());
    let reached = go(&Options { target: Some(1.0), ..Options::default() }, &none, &box2);
    assert!(reached.stop == Stop::Target && reached.cost <= 1.0 && reached.evaluations < 5000, "{reached:?}");
    let one = go(&Options { rounds: 1, ..Options::default() }, &none, &box2);
    assert!(one.stop == Stop::Rounds && one.rounds == 1 && one.cost < 1e-9, "{one:?}");
    assert_eq!(go(&Options::default(), &Watch::new(&|| true), &box2).stop, Stop::Interrupted);
    for bad in [vec![], vec![(1.0, 0.0)], vec![(f64::NAN, 1.0)], vec![(0.0, f64::INFINITY)]] {
        assert_eq!(go(&Options::default(), &none, &bad).stop, Stop::IllPosed);
    }
    // No finite cost anywhere: the budget is spent and nothing is found, nor claimed.
    let options = Options { evaluations: 500, ..Options::default() };
    let nothing = search(&box2, |_| f64::NAN, &options, &none, &mut |_| {});
    assert!(nothing.cost == f64::INFINITY && nothing.stop == Stop::Evaluations, "{nothing:?}");
}

#[test]
fn progress_is_told_and_a_fixed_unknown_stays() {
    let calls = Cell::new(0);
    let mut last = f64::INFINITY;
    let options = Options { evaluations: 3000, exploration: 1000, ..Options::default() };
    let found = search(&[(-5.0, 5.0), (2.0, 2.0)], rastrigin, &options, &Watch::none(), &mut |progress| {
        calls.set(calls.get() + 1);
        assert!(progress.cost <= last && progress.x[1] == 2.0 && progress.evaluations <= progress.budget);
        assert!(progress.round >= 1 && matches!(progress.stage, Stage::Exploring | Stage::Hopping | Stage::Polishing));
        last = progress.cost;
    });
    assert!(calls.get() > 10 && found.x[1] == 2.0 && (found.cost - 4.0).abs() < 1e-9, "{found:?}");
}
