//! How long is one solution of Kepler's equation, and one flight along a conic?
//!
//! `cargo bench -p visviva-engine --bench kepler -- --json FILE --beside FILE`: on each width of lanes that the processor
//! has, one by one, and flights from states in a list as well as from columns. Every item is checked, and that its bits are
//! the same on all.

#![allow(
    clippy::print_stdout,
    clippy::expect_used,
    unreachable_pub,
    missing_docs,
    dead_code,
    reason = "a bench reports"
)]

#[path = "../../tests/benchmark/inputs.rs"]
mod inputs;
#[path = "../../tests/benchmark/measure.rs"]
mod measure;

use measure::{Measured, number, reference};
use visviva_engine::conic::{
    State, angular_momentum, anomaly, energy, propagate, propagate_batch, propagate_columns_at,
};
use visviva_engine::numerics::lanes::Width;
use visviva_engine::vector::Vec3;

const ITEMS: usize = 1_000_000;
/// Items of one burst: short, so that what else the machine does hits all contenders alike.
const BURST: usize = 10_000;
/// The same for flights; the rounds below go through the whole batch.
const FLIGHTS: usize = 10_000;

fn main() {
    let item = |i| inputs::kepler_equation(inputs::KEPLER_EQUATION_SEED, i as u64);
    let (e, mean): (Vec<f64>, Vec<f64>) = (0..ITEMS).map(item).unzip();
    let flights: Vec<(State, f64)> = (0..ITEMS)
        .map(|i| {
            let (r, v, dt) = inputs::kepler_propagation(inputs::KEPLER_PROPAGATION_SEED, i as u64);
            (State::new(Vec3::from(r), Vec3::from(v)), dt)
        })
        .collect();
    let widths: Vec<Width> = Width::ALL.into_iter().filter(|width| width.is_here()).collect();
    // The last of each are those found one by one; the widest lanes stand before them.
    let mut anomalies = vec![vec![0.0; ITEMS]; widths.len() + 1];
    let columns: [Vec<f64>; 7] = std::array::from_fn(|c| {
        let number = |(start, dt): &(State, f64)| match c {
            0..3 => start.position[c],
            3..6 => start.velocity[c - 3],
            _ => *dt,
        };
        flights.iter().map(number).collect()
    });
    let mut ends: Vec<[Vec<f64>; 6]> = vec![std::array::from_fn(|_| vec![0.0; ITEMS]); widths.len() + 1];
    let mut plain = vec![0.0; ITEMS];
    let mut states = vec![flights[0].0; ITEMS];
    let times = {
        let (e, mean, flights, columns, states, plain) = (&e, &mean, &flights, &columns, &mut states, &mut plain);
        let mut contenders: Vec<(usize, Box<dyn FnMut() + '_>)> = Vec::new();
        for (k, answers) in anomalies.iter_mut().enumerate() {
            let width = widths.get(k).copied();
            let mut at = 0;
            contenders.push((
                BURST,
                Box::new(move || {
                    let all = at..at + BURST;
                    if let Some(width) = width {
                        let (e, mean) = (&e[all.clone()], &mean[all.clone()]);
                        anomaly::eccentric_from_mean_batch_at(width, e, mean, &mut answers[all]);
                    } else {
                        for i in all {
                            answers[i] = std::hint::black_box(anomaly::eccentric_from_mean(e[i], mean[i]));
                        }
                    }
                    at = (at + BURST) % ITEMS;
                }),
            ));
        }
        for (k, ends) in ends.iter_mut().enumerate() {
            let width = widths.get(k).copied();
            let mut at = 0;
            contenders.push((
                FLIGHTS,
                Box::new(move || {
                    let all = at..at + FLIGHTS;
                    if let Some(width) = width {
                        let given = columns.each_ref().map(|column| &column[all.clone()]);
                        let ends = ends.each_mut().map(|column| &mut column[all.clone()]);
                        propagate_columns_at(width, 1.0, given, ends, |i, error| panic!("{i}: {error}"));
                    } else {
                        for i in all {
                            let (state, dt) = &flights[i];
                            let State { position: r, velocity: v } =
                                propagate(1.0, state, *dt).expect("every item has an answer");
                            for (column, number) in ends.iter_mut().zip([r[0], r[1], r[2], v[0], v[1], v[2]]) {
                                column[i] = number;
                            }
                        }
                    }
                    at = (at + FLIGHTS) % ITEMS;
                }),
            ));
        }
        let mut from = 0;
        contenders.push((
            FLIGHTS,
            Box::new(move || {
                propagate_batch(1.0, flights[from..from + FLIGHTS].iter().copied(), |i, end| {
                    states[from + i] = end.expect("every item has an answer");
                });
                from = (from + FLIGHTS) % ITEMS;
            }),
        ));
        let mut at = 0;
        contenders.push((
            BURST,
            Box::new(move || {
                for i in at..at + BURST {
                    plain[i] = textbook(e[i], mean[i]);
                }
                at = (at + BURST) % ITEMS;
            }),
        ));
        let mut all: Vec<(usize, &mut dyn FnMut())> =
            contenders.iter_mut().map(|(burst, run)| (*burst, &mut **run as &mut dyn FnMut())).collect();
        measure::interleaved(ITEMS, ITEMS / FLIGHTS + 50, &mut all)
    };
    let kinds = widths.len() + 1;
    println!("the cited method as its paper writes it, library sine and cosine: {:.1} ns", times[2 * kinds + 1] * 1e9);
    let same = |strangers: usize, what: &str| {
        println!("{what}: {strangers} items whose bits depend on the width or on company");
        if strangers == 0 { 0.0 } else { f64::INFINITY }
    };
    let widest = widths.len() - 1;
    let differ = |a: &f64, b: &f64| a.to_bits() != b.to_bits();
    let strangers =
        anomalies.iter().map(|row| row.iter().zip(&anomalies[widest]).filter(|(a, b)| differ(a, b)).count());
    let equation = equation_error(&e, &mean, &anomalies[widest]) + same(strangers.sum(), "kepler_equation");
    let found: Vec<State> = (0..ITEMS)
        .map(|i| {
            let [x, y, z, u, v, w] = ends[widest].each_ref().map(|column| column[i]);
            State::new(Vec3::new(x, y, z), Vec3::new(u, v, w))
        })
        .collect();
    let strangers = ends.iter().map(|row| {
        let apart = |i: &usize| row.iter().zip(&ends[widest]).any(|(a, b)| differ(&a[*i], &b[*i]));
        (0..ITEMS).filter(apart).count()
    });
    let bits = |state: &State| {
        let State { position: r, velocity: v } = state;
        [r[0], r[1], r[2], v[0], v[1], v[2]].map(f64::to_bits)
    };
    let apart_as_states = states.iter().zip(&found).filter(|(a, b)| bits(a) != bits(b)).count();
    let strangers = strangers.sum::<usize>() + apart_as_states;
    let flight = flight_error(&flights, &found) + same(strangers, "kepler_propagation");
    for (k, name) in widths.iter().map(|width| format!("{width:?}")).chain(["one by one".to_string()]).enumerate() {
        let rows = [("kepler_equation", times[k], equation), ("kepler_propagation", times[kinds + k], flight)]
            .map(|(problem, seconds_per_unit, error)| Measured { problem, seconds_per_unit, error });
        measure::report_as(&format!("engine, {name}"), &rows);
    }
    let states = Measured { problem: "kepler_propagation", seconds_per_unit: times[2 * kinds], error: flight };
    measure::report_as("engine, states", &[states]);
    measure::report(&[
        Measured { problem: "kepler_equation", seconds_per_unit: times[widest], error: equation },
        Measured { problem: "kepler_propagation", seconds_per_unit: times[kinds + widest], error: flight },
    ]);
}

/// A yardstick for a busy machine: the method of [Markley1995] step by step, with what the language's library offers.
fn textbook(e: f64, mean: f64) -> f64 {
    use std::f64::consts::PI;
    let alpha = (3.0 * PI * PI + 1.6 * PI * (PI - mean.abs()) / (1.0 + e)) / (PI * PI - 6.0);
    let d = 3.0 * (1.0 - e) + alpha * e;
    let q = 2.0 * alpha * d * (1.0 - e) - mean * mean;
    let r = (3.0 * alpha * d * (d - 1.0 + e) + mean * mean) * mean;
    let w = (r.abs() + (q * q * q + r * r).sqrt()).powf(2.0 / 3.0);
    let start = (2.0 * r * w / (w * w + w * q + q * q) + mean) / d;
    let (sine, cosine) = start.sin_cos();
    let (f0, f1, f2, f3) = (start - e * sine - mean, 1.0 - e * cosine, e * sine, e * cosine);
    let d3 = -f0 / (f1 - 0.5 * f0 * f2 / f1);
    let d4 = -f0 / (f1 + 0.5 * d3 * f2 + d3 * d3 * f3 / 6.0);
    start - f0 / (f1 + 0.5 * d4 * f2 + d4 * d4 * f3 / 6.0 - d4 * d4 * d4 * f2 / 24.0)
}

/// The largest conditioned error of the reference rows; infinite if any item is off by more than 1e-15 conditioned.
fn equation_error(e: &[f64], mean: &[f64], answers: &[f64]) -> f64 {
    let (mut worst, mut wrong) = (0.0_f64, 0);
    for ((&e, &mean), &answer) in e.iter().zip(mean).zip(answers) {
        let half = (0.5 * answer).sin();
        let rate = (1.0 - e) + 2.0 * e * half * half;
        let size = answer.abs();
        let condition = ((mean.abs() + e * answer.sin().abs()) / (rate * size)).max(1.0);
        let off = (anomaly::mean_from_eccentric(e, answer) - mean).abs() / (rate * size * condition);
        worst = worst.max(off);
        wrong += usize::from(off.is_nan() || off > 1e-15);
    }
    println!("kepler_equation: all {} items, conditioned error at most {worst:.2e}, {wrong} wrong", answers.len());
    let (stride, rows) = reference("kepler_equation");
    let mut error = if wrong == 0 { 0.0 } else { f64::INFINITY };
    for (i, row) in rows.iter().enumerate() {
        let expected = number(&row[0]);
        error = f64::max(error, (answers[i * stride] - expected).abs() / expected.abs() / number(&row[1]).max(1.0));
    }
    error
}

/// The sum over the seven inputs of the relative change of the end by the relative change of the input.
fn condition(start: &State, dt: f64, end: &State) -> f64 {
    const NUDGE: f64 = 1e-7;
    let mut sum = 0.0;
    for k in 0..7 {
        let (mut start, mut dt) = (*start, dt);
        match k {
            0..3 => start.position[k] *= 1.0 + NUDGE,
            3..6 => start.velocity[k - 3] *= 1.0 + NUDGE,
            _ => dt *= 1.0 + NUDGE,
        }
        let Ok(moved) = propagate(1.0, &start, dt) else { return f64::NAN };
        let place = (moved.position - end.position).norm() / end.radius();
        let velocity = (moved.velocity - end.velocity).norm() / end.speed();
        sum += place.max(velocity) / NUDGE;
    }
    sum
}

/// The largest conditioned error of the reference rows; infinite if any item breaks a law or does not fly back.
fn flight_error(flights: &[(State, f64)], ends: &[State]) -> f64 {
    let (mut worst_law, mut worst_closure, mut wrong) = (0.0_f64, 0.0_f64, 0);
    for ((start, dt), end) in flights.iter().zip(ends) {
        // Twenty roundings of what one rounding of an input does; on the way back they meet the error of the way there.
        let there = 20.0 * f64::EPSILON * (1.0 + condition(start, *dt, end));
        let back = 1.0 + condition(end, -dt, start);
        let size = |state: &State| 0.5 * state.velocity.norm_squared() + 1.0 / state.radius();
        let by_energy = (energy(1.0, start) - energy(1.0, end)).abs() / size(start).max(size(end));
        let sweep = |state: &State| state.radius() * state.speed();
        let by_momentum = (angular_momentum(start) - angular_momentum(end)).norm() / sweep(start).max(sweep(end));
        let law = by_energy.max(by_momentum) / there;
        let closure = propagate(1.0, end, -dt).map_or(f64::NAN, |home| {
            let place = (home.position - start.position).norm() / start.radius();
            let velocity = (home.velocity - start.velocity).norm() / start.speed();
            place.max(velocity) / (there * back)
        });
        worst_law = worst_law.max(law);
        worst_closure = worst_closure.max(closure);
        wrong += usize::from(law.is_nan() || closure.is_nan() || law > 1.0 || closure > 1.0);
    }
    println!(
        "kepler_propagation: all {} items, laws at most {worst_law:.3} and closure {worst_closure:.3} of the bound, {wrong} wrong",
        ends.len()
    );
    let (stride, rows) = reference("kepler_propagation");
    let mut error = if wrong == 0 { 0.0 } else { f64::INFINITY };
    for (i, row) in rows.iter().enumerate() {
        let expected: Vec<f64> = row[0].as_array().expect("six numbers").iter().map(number).collect();
        let end = &ends[i * stride];
        let (place, velocity) = (Vec3::from_row_slice(&expected[..3]), Vec3::from_row_slice(&expected[3..]));
        let off =
            ((end.position - place).norm() / place.norm()).max((end.velocity - velocity).norm() / velocity.norm());
        error = f64::max(error, off / number(&row[1]).max(1.0));
    }
    error
}
