//! How long is one solution of Lambert's problem, without and with whole revolutions?
//!
//! `cargo bench -p visviva-engine --bench lambert -- --json FILE`. Every item of both batches is flown and its miss checked.

#![allow(
    clippy::print_stdout,
    clippy::expect_used,
    unreachable_pub,
    missing_docs,
    dead_code,
    reason = "a bench reports"
)]

#[path = "../../tests/benchmark/flown.rs"]
mod flown;
#[path = "../../tests/benchmark/inputs.rs"]
mod inputs;
#[path = "../../tests/benchmark/measure.rs"]
mod measure;

use std::num::NonZeroU32;

use measure::{Measured, number, reference};
use visviva_engine::arc::lambert::{Branch, Ends, LambertArc, Way, solve_batch_at, solve_one, solve_pair_batch_at};
use visviva_engine::conic::State;
use visviva_engine::numerics::lanes::Width;
use visviva_engine::vector::Vec3;

const SINGLE: usize = 1_000_000;
const MULTIPLE: usize = 100_000;
/// Items of one burst: short, so that what else the machine does hits all contenders alike.
const BURST: usize = 5_000;
const NORTH: Vec3 = Vec3::new(0.0, 0.0, 1.0);

fn problems(seed: u64, count: usize, multiple: bool) -> Vec<(Ends, NonZeroU32)> {
    let item = |i: usize| {
        let (r1, r2, time, revolutions) = inputs::lambert(seed, i as u64, multiple);
        let ends = Ends { r1: Vec3::from(r1), r2: Vec3::from(r2), time };
        // Of no account without a revolution.
        (ends, NonZeroU32::new(revolutions as u32).unwrap_or(NonZeroU32::MIN))
    };
    (0..count).map(item).collect()
}

/// One by one, for the count of evaluations and for the bits.
fn alone(ends: &Ends, revolutions: u32, branch: Branch) -> LambertArc {
    let way = Way::Prograde(NORTH);
    solve_one(1.0, &ends.r1, &ends.r2, ends.time, way, revolutions, branch).expect("every item has an answer")
}

/// The answers of one width of lanes.
struct Answers {
    width: Width,
    arcs: Vec<[Vec3; 2]>,
    branches: Vec<[Vec3; 4]>,
}

fn main() {
    let single: Vec<Ends> =
        problems(inputs::LAMBERT_SEED, SINGLE, false).into_iter().map(|problem| problem.0).collect();
    let multiple = problems(inputs::LAMBERT_MULTIREV_SEED, MULTIPLE, true);
    let here = Width::ALL.into_iter().filter(|width| width.is_here());
    let mut answers: Vec<Answers> = here
        .map(|width| Answers { width, arcs: vec![[NORTH; 2]; SINGLE], branches: vec![[NORTH; 4]; MULTIPLE] })
        .collect();
    let mut one_by_one: Vec<[Vec3; 2]> = vec![[NORTH; 2]; SINGLE];
    let mut runs: Vec<(usize, Box<dyn FnMut() + '_>)> = Vec::new();
    for Answers { width, arcs, branches } in &mut answers {
        let (single, multiple) = (&single, &multiple);
        let (mut from, mut at, width) = (0, 0, *width);
        let once = move || {
            let given = single[from..from + BURST].iter().copied();
            solve_batch_at(width, 1.0, Way::Prograde(NORTH), given, |i, arc| {
                let arc = arc.expect("every item has an answer");
                arcs[from + i] = [arc.v1, arc.v2];
            });
            from = (from + BURST) % SINGLE;
        };
        let twice = move || {
            let given = multiple[at..at + BURST].iter().copied();
            solve_pair_batch_at(width, 1.0, Way::Prograde(NORTH), given, |i, pair| {
                let [left, right] = pair.expect("every item has two answers");
                branches[at + i] = [left.v1, left.v2, right.v1, right.v2];
            });
            at = (at + BURST) % MULTIPLE;
        };
        runs.push((BURST, Box::new(once)));
        runs.push((2 * BURST, Box::new(twice)));
    }
    let mut first = 0;
    let separate = || {
        for (answer, ends) in one_by_one[first..first + BURST].iter_mut().zip(&single[first..first + BURST]) {
            let arc = alone(ends, 0, Branch::Single);
            *answer = [arc.v1, arc.v2];
        }
        first = (first + BURST) % SINGLE;
    };
    runs.push((BURST, Box::new(separate)));
    let mut contenders: Vec<(usize, &mut dyn FnMut())> =
        runs.iter_mut().map(|(items, run)| (*items, run.as_mut() as &mut dyn FnMut())).collect();
    let times = measure::interleaved(SINGLE, SINGLE / BURST, &mut contenders);
    drop(contenders);
    drop(runs);
    let Answers { arcs, branches, .. } = answers.last().expect("plain lanes are everywhere");
    let mut same = one_by_one == *arcs;
    println!("one by one: {:.1} ns, the same bits: {same}", times[times.len() - 1] * 1e9);
    for (answer, times) in answers.iter().zip(times.chunks(2)) {
        let fits = answer.arcs == *arcs && answer.branches == *branches;
        let (once, twice) = (times[0] * 1e9, times[1] * 1e9);
        println!(
            "lanes {:?}: {once:.1} ns without, {twice:.1} ns with revolutions, the same bits: {fits}",
            answer.width
        );
        same &= fits;
    }
    let widest = &times[2 * answers.len() - 2..];
    let flat: Vec<(Ends, [Vec3; 2])> =
        multiple.iter().zip(branches).flat_map(|(p, a)| [(p.0, [a[0], a[1]]), (p.0, [a[2], a[3]])]).collect();
    let plain: Vec<(Ends, [Vec3; 2])> = single.iter().copied().zip(arcs.iter().copied()).collect();
    let steps = |count: usize, of: &dyn Fn(usize) -> u32| f64::from((0..count).map(of).sum::<u32>()) / count as f64;
    let branch = |i: usize| if i.is_multiple_of(2) { Branch::Left } else { Branch::Right };
    println!(
        "evaluations of the time equation: {:.3} without, {:.3} with revolutions",
        steps(10_000, &|i| alone(&single[i], 0, Branch::Single).iterations),
        steps(10_000, &|i| alone(&multiple[i].0, multiple[i].1.get(), branch(i)).iterations),
    );
    let single_error = if same { error("lambert", &plain) } else { f64::INFINITY };
    measure::report(&[
        Measured { problem: "lambert", seconds_per_unit: widest[0], error: single_error },
        Measured { problem: "lambert_multirev", seconds_per_unit: widest[1], error: error("lambert_multirev", &flat) },
    ]);
}

/// The largest conditioned error of the reference rows; infinite if any arc, flown, misses its end by more than twenty
/// roundings of what one rounding of the flight's start does, or flies the wrong way round.
fn error(problem: &'static str, answers: &[(Ends, [Vec3; 2])]) -> f64 {
    let (mut worst, mut worst_miss, mut wrong) = (0.0_f64, 0.0_f64, 0);
    for (given, [v1, v2]) in answers {
        let start = State::new(given.r1, *v1);
        let (place, share) = flown::miss(1.0, &start, given.time, &State::new(given.r2, *v2));
        worst_miss = worst_miss.max(place);
        worst = worst.max(share);
        wrong += usize::from(!(share <= 1.0 && given.r1.cross(v1).z > 0.0));
    }
    println!(
        "{problem}: all {} arcs, miss at most {worst_miss:.2e}, {worst:.3} of the bound, {wrong} wrong",
        answers.len()
    );
    let (stride, rows) = reference(problem);
    let mut error = if wrong == 0 { 0.0 } else { f64::INFINITY };
    let mut compare = |row: &serde_json::Value, [v1, v2]: &[Vec3; 2]| {
        let expected: Vec<f64> = row[0].as_array().expect("six numbers").iter().map(number).collect();
        let (first, second) = (Vec3::from_row_slice(&expected[..3]), Vec3::from_row_slice(&expected[3..]));
        let off = ((v1 - first).norm() / first.norm()).max((v2 - second).norm() / second.norm());
        error = f64::max(error, off / number(&row[1]).max(1.0));
    };
    for (i, row) in rows.iter().enumerate() {
        if row[0][0].is_array() {
            compare(&row[0], &answers[2 * i * stride].1);
            compare(&row[1], &answers[2 * i * stride + 1].1);
        } else {
            compare(row, &answers[i * stride].1);
        }
    }
    error
}
