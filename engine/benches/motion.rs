//! How long does a trajectory take that no closed form gives?
//!
//! `cargo bench -p visviva-engine --bench motion -- --json FILE`. The settings follow from one tolerance; of the powers of ten and their thirds from
//! loose to tight the first that meets the required error is timed, as for the programs of other languages.

#![allow(
    clippy::print_stdout,
    clippy::expect_used,
    unreachable_pub,
    missing_docs,
    dead_code,
    reason = "a bench reports"
)]

#[path = "motion/fields.rs"]
mod fields;
#[path = "../../tests/benchmark/inputs.rs"]
mod inputs;
#[path = "../../tests/benchmark/measure.rs"]
mod measure;

use fields::{Arenstorf, Cruise, Oblate, Pass, PassEvents, Pleiades};
use measure::{Measured, number};
use serde_json::Value;
use visviva_engine::motion::{Events, Field, NoEvents, Point, Trajectory, explicit, gauss};
use visviva_engine::numerics::watch::Watch;

/// Answers and definitions of `tests/benchmark/trajectories.json`.
fn answers() -> Value {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../tests/benchmark/trajectories.json");
    serde_json::from_str(&std::fs::read_to_string(path).expect("reference answers")).expect("JSON")
}

fn numbers<const N: usize>(value: &Value) -> [f64; N] {
    std::array::from_fn(|i| number(&value[i]))
}

/// How far the ends of the first trajectories are from their references.
fn off<const D: usize>(ends: &[Point<D>], lanes: &Value, relative: bool) -> f64 {
    let mut worst = 0.0_f64;
    for (end, lane) in ends.iter().zip(lanes.as_array().expect("lanes")) {
        let place: [f64; D] = numbers(lane);
        let length = |v: &dyn Fn(usize) -> f64| (0..D).map(|d| v(d) * v(d)).sum::<f64>().sqrt();
        let away = length(&|d| end.position[d] - place[d]);
        let error = if relative { away / length(&|d| place[d]) } else { away };
        // Not `max`, which would lose a value that is no number.
        if !(error <= worst) {
            worst = error;
        }
    }
    worst
}

/// How far the ends and the times of events are off what is required.
type Judge<'a, const D: usize> = Box<dyn Fn(&[Point<D>], &[Vec<f64>]) -> f64 + 'a>;

/// A problem: its starts, and how an answer is judged.
struct Problem<'a, F, const D: usize> {
    name: &'static str,
    field: F,
    starts: Vec<Point<D>>,
    until: f64,
    required: f64,
    error: Judge<'a, D>,
}

#[derive(Clone, Copy, PartialEq, Debug)]
enum Method {
    Gauss,
    Explicit,
    ExplicitInLanes,
    /// By collocation, one after another, without pieces.
    GaussEnds,
}

fn fly<F: Field<D>, V: Events<D, E>, const D: usize, const E: usize>(
    problem: &Problem<'_, F, D>,
    events: &V,
    method: Method,
    tolerance: f64,
) -> (Vec<Point<D>>, Vec<Vec<f64>>, usize) {
    let (mut ends, mut times, mut evaluations) = (Vec::new(), Vec::new(), 0);
    if matches!(method, Method::ExplicitInLanes | Method::GaussEnds) {
        let (field, starts, until, watch) = (&problem.field, &problem.starts, problem.until, Watch::none());
        let found = match method {
            Method::GaussEnds => gauss::ends_of_many(field, starts, until, tolerance, &watch),
            _ => explicit::ends_of_many(field, starts, until, tolerance, &watch),
        };
        let ends = found.into_iter().map(|end| end.expect("an end")).collect();
        return (ends, times, 0);
    }
    for start in &problem.starts {
        let flown: (Trajectory<D>, _) = match method {
            Method::Gauss => gauss::integrate(&problem.field, *start, problem.until, tolerance, events, &Watch::none()),
            _ => explicit::integrate(&problem.field, *start, problem.until, tolerance, events, &Watch::none()),
        }
        .expect("a trajectory");
        ends.push(flown.0.end());
        times.push(flown.1.iter().map(|met| met.point.time).collect());
        evaluations += flown.0.work().evaluations;
    }
    (ends, times, evaluations / problem.starts.len())
}

/// Finds the first tolerance that meets the required error, and times it.
fn run<F: Field<D>, V: Events<D, E>, const D: usize, const E: usize>(
    problem: &Problem<'_, F, D>,
    events: &V,
    methods: &[Method],
    reported: Method,
    rows: &mut Vec<Measured>,
) {
    for &method in methods {
        let mut setting = None;
        // Powers of ten and their thirds, as the other programs'.
        for step in 12..=32 {
            let tolerance = 10_f64.powi(-(step / 2)) * if step % 2 == 0 { 1.0 } else { 0.3 };
            let (ends, times, evaluations) = fly(problem, events, method, tolerance);
            let error = (problem.error)(&ends, &times);
            if error <= problem.required {
                setting = Some((tolerance, error, evaluations));
                break;
            }
        }
        let Some((tolerance, error, evaluations)) = setting else {
            println!("{:<20} {method:?}: misses {:e}", problem.name, problem.required);
            if method == reported {
                rows.push(Measured { problem: problem.name, seconds_per_unit: f64::NAN, error: f64::INFINITY });
            }
            continue;
        };
        let once = || {
            std::hint::black_box(fly(problem, events, method, std::hint::black_box(tolerance)));
        };
        let mut many = || {
            for _ in 0..(256 / problem.starts.len()).max(1) {
                once();
            }
        };
        let units = (256 / problem.starts.len()).max(1) * problem.starts.len();
        let times = measure::interleaved(1, 15, &mut [(units, &mut many)]);
        println!(
            "{:<20} {method:?} at {tolerance:e}: {:.1} µs, error {error:.1e}, {evaluations} evaluations",
            problem.name,
            times[0] * 1e6
        );
        if method == reported {
            rows.push(Measured { problem: problem.name, seconds_per_unit: times[0], error });
        }
    }
}

fn starts<const W: usize, const D: usize>(start: [f64; W], batch: &Value, many: bool) -> Vec<Point<D>> {
    let count = if many { batch["n"].as_u64().expect("a count") } else { 1 };
    let (seed, share) = if many { (batch["seed"].as_u64().expect("a seed"), number(&batch["rel"])) } else { (0, 0.0) };
    (0..count)
        .map(|i| {
            let s = inputs::moved(start, seed, i, share);
            Point { time: 0.0, position: std::array::from_fn(|d| s[d]), velocity: std::array::from_fn(|d| s[D + d]) }
        })
        .collect()
}

fn main() {
    let all = answers();
    let defined = &all["definitions"];
    let both = [Method::Gauss, Method::Explicit];
    let three = [Method::GaussEnds, Method::Explicit, Method::ExplicitInLanes];
    let mut rows = Vec::new();
    for many in [false, true] {
        let name = |single: &'static str, batch: &'static str| if many { batch } else { single };
        let methods: &[Method] = if many { &three } else { &both };
        let collocation = methods[0];

        let d = &defined["j2"];
        let (r, v): ([f64; 3], [f64; 3]) = (numbers(&d["r0"]), numbers(&d["v0"]));
        let start: [f64; 6] = [r[0], r[1], r[2], v[0], v[1], v[2]];
        let problem = Problem {
            name: name("j2", "j2_batch"),
            field: Oblate::new(number(&d["mu"]), number(&d["j2"]), number(&d["re"])),
            starts: starts::<6, 3>(start, &d["batch"], many),
            until: number(&d["t_end"]),
            required: number(&d["required"]),
            error: Box::new(|ends, _| off(ends, &all["j2"]["lanes"], true)),
        };
        run(&problem, &NoEvents, methods, collocation, &mut rows);

        let d = &defined["cruise"];
        let (r, v): ([f64; 3], [f64; 3]) = (numbers(&d["r0"]), numbers(&d["v0"]));
        let start: [f64; 6] = [r[0], r[1], r[2], v[0], v[1], v[2]];
        let problem = Problem {
            name: name("cruise", "cruise_batch"),
            field: Cruise::new(&all["constants"], number(&d["t0_days"])),
            starts: starts::<6, 3>(start, &d["batch"], many),
            until: number(&d["t_end"]),
            required: number(&d["required_m"]),
            error: Box::new(|ends, _| off(ends, &all["cruise"]["lanes"], false)),
        };
        run(&problem, &NoEvents, methods, collocation, &mut rows);

        let d = &defined["pleiades"];
        let (x, y): ([f64; 7], [f64; 7]) = (numbers(&d["x0"]), numbers(&d["y0"]));
        let (vx, vy): ([f64; 7], [f64; 7]) = (numbers(&d["vx0"]), numbers(&d["vy0"]));
        let start: [f64; 28] = std::array::from_fn(|i| [x, y, vx, vy][i / 7][i % 7]);
        let problem = Problem {
            name: name("pleiades", "pleiades_batch"),
            field: Pleiades { mass: numbers(&d["mass"]) },
            starts: starts::<28, 14>(start, &d["batch"], many),
            until: number(&d["t_end"]),
            required: number(&d["required"]),
            error: Box::new(|ends, _| off(ends, &all["pleiades"]["lanes"], true)),
        };
        run(&problem, &NoEvents, methods, collocation, &mut rows);

        let d = &defined["arenstorf"];
        let start: [f64; 4] = numbers(&d["y0"]);
        for (periods, answer, required) in [(1.0, "arenstorf_1", "required_1"), (3.0, "arenstorf_3", "required_3")] {
            if many && periods > 1.0 {
                continue;
            }
            let problem = Problem {
                name: if many { "arenstorf_1_batch" } else { answer },
                field: Arenstorf { share: number(&d["mu"]) },
                starts: starts::<4, 2>(start, &d["batch"], many),
                until: periods * number(&d["period"]),
                required: number(&d[required]),
                error: Box::new(|ends, _| off(ends, &all[answer]["lanes"], false)),
            };
            let reported = if many { Method::ExplicitInLanes } else { collocation };
            run(&problem, &NoEvents, methods, reported, &mut rows);
        }

        let d = &defined["aeropass"];
        let (r, v): ([f64; 3], [f64; 3]) = (numbers(&d["r0"]), numbers(&d["v0"]));
        let start: [f64; 6] = [r[0], r[1], r[2], v[0], v[1], v[2]];
        let field = Pass::new(d);
        let events = PassEvents { radius: number(&d["radius"]) + number(&d["altitude_event"]) };
        let (place, clock) = (number(&d["required_m"]), number(&d["required_event_s"]));
        let problem = Problem {
            name: name("aeropass", "aeropass_batch"),
            field,
            starts: starts::<6, 3>(start, &d["batch"], many),
            until: number(&d["t_end"]),
            required: 1.0,
            error: Box::new(|ends, times| {
                let mut worst = off(ends, &all["aeropass"]["lanes"], false) / place;
                for (found, wanted) in times.iter().zip(all["aeropass"]["events"].as_array().expect("events")) {
                    let wanted: Vec<f64> = wanted.as_array().expect("events").iter().map(|e| number(&e[1])).collect();
                    let mut found = found.clone();
                    found.sort_by(f64::total_cmp);
                    if found.len() != wanted.len() {
                        return f64::INFINITY;
                    }
                    for (a, b) in found.iter().zip(&wanted) {
                        worst = worst.max((a - b).abs() / clock);
                    }
                }
                worst
            }),
        };
        run(&problem, &events, &both, Method::Gauss, &mut rows);
    }
    short_stretches(&all["definitions"]["j2"]);
    measure::report(&rows);
}

/// What one call costs, as a guidance law makes them by the hundred: shares of a turn about an oblate body.
fn short_stretches(d: &Value) {
    let field = Oblate::new(number(&d["mu"]), number(&d["j2"]), number(&d["re"]));
    let start = Point { time: 0.0, position: numbers(&d["r0"]), velocity: numbers(&d["v0"]) };
    let turn = number(&d["t_end"]) / 100.0;
    for share in [20.0, 1000.0] {
        let mut evaluations = 0;
        let mut many = || {
            for _ in 0..1000 {
                let until = std::hint::black_box(turn / share);
                let flown = gauss::integrate(&field, start, until, 1e-10, &NoEvents, &Watch::none());
                evaluations = flown.expect("a trajectory").0.work().evaluations;
            }
        };
        let times = measure::interleaved(1, 15, &mut [(1000, &mut many)]);
        println!("1/{share} of a turn at 1e-10: {:.0} ns a call, {evaluations} evaluations", times[0] * 1e9);
    }
}
