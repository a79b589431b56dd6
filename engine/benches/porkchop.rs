//! How long is one cell of a grid of departure and arrival dates, with the excess speeds at both ends?
//!
//! `cargo bench -p visviva-engine --bench porkchop -- --json FILE`. The arc of every cell is flown and its miss checked.

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
#[path = "../../tests/benchmark/measure.rs"]
mod measure;

use measure::{Measured, number, reference};
use visviva_engine::arc::lambert::{Branch, Ends, LambertArc, Way, solve_batch, solve_one};
use visviva_engine::conic::{Elements, State, anomaly};
use visviva_engine::vector::Vec3;

/// m³/s², the Sun. [Park2021]
const GM: f64 = 1.3271244004127942e20;
const AU: f64 = 149_597_870_700.0;
const DAY: f64 = 86_400.0;
/// Dates of departure, and dates of arrival.
const DATES: usize = 1000;
/// Rows of the grid in one burst.
const ROWS: usize = 5;
const NORTH: Vec3 = Vec3::new(0.0, 0.0, 1.0);

/// Mean elements at J2000: a (au), e, then inclination, mean longitude, longitude of perihelion, node (deg), the
/// published table for 1800 to 2050. [JPLPlanets]
const EARTH: [f64; 6] = [1.00000261, 0.01671123, -1.531e-5, 100.46457166, 102.93768193, 0.0];
const MARS: [f64; 6] = [1.52371034, 0.0933941, 1.84969142, -4.55343205, -23.94362959, 49.55953891];

/// A planet on its fixed ellipse, `day` days after J2000.
fn planet([a, e, inclination, longitude, perihelion, node]: [f64; 6], day: f64) -> State {
    let a = a * AU;
    let mean = (longitude - perihelion).to_radians() + (GM / (a * a * a)).sqrt() * (day * DAY);
    let elements = Elements {
        semi_latus_rectum: a * (1.0 - e * e),
        eccentricity: e,
        inclination: inclination.to_radians(),
        ascending_node: node.to_radians(),
        argument_of_periapsis: (perihelion - node).to_radians(),
        true_anomaly: anomaly::true_from_eccentric(e, anomaly::eccentric_from_mean(e, mean)),
    };
    elements.to_state(GM).expect("an ellipse")
}

fn departure_day(i: usize) -> f64 {
    9650.0 + 0.4 * i as f64
}

fn arrival_day(j: usize) -> f64 {
    10_060.0 + 0.5 * j as f64
}

/// What the arc of a cell joins.
fn ends(i: usize, j: usize, from: &State, to: &State) -> Ends {
    Ends { r1: from.position, r2: to.position, time: arrival_day(j) * DAY - departure_day(i) * DAY }
}

/// The arc of a cell, by itself.
fn arc(i: usize, j: usize, from: &State, to: &State) -> LambertArc {
    let Ends { r1, r2, time } = ends(i, j, from, to);
    solve_one(GM, &r1, &r2, time, Way::Prograde(NORTH), 0, Branch::Single).expect("every cell has an arc")
}

fn excess(arc: &LambertArc, from: &State, to: &State) -> [f64; 2] {
    [(arc.v1 - from.velocity).norm(), (arc.v2 - to.velocity).norm()]
}

fn main() {
    let mut cells = vec![[0.0; 2]; DATES * DATES];
    let mut first = 0;
    // Each burst of rows pays for its own dates of departure and its share of the dates of arrival.
    let mut arrivals: Vec<State> = (0..DATES).map(|j| planet(MARS, arrival_day(j))).collect();
    let mut fill = || {
        let share = DATES / (DATES / ROWS);
        for (j, arrival) in arrivals.iter_mut().enumerate().skip(first).take(share) {
            *arrival = planet(MARS, arrival_day(j));
        }
        for i in first..first + ROWS {
            let from = planet(EARTH, departure_day(i));
            let ends = arrivals.iter().enumerate().map(|(j, to)| ends(i, j, &from, to));
            let row = &mut cells[i * DATES..(i + 1) * DATES];
            solve_batch(GM, Way::Prograde(NORTH), ends, |j, arc| {
                row[j] = excess(&arc.expect("every cell has an arc"), &from, &arrivals[j]);
            });
        }
        first = (first + ROWS) % DATES;
    };
    let times = measure::interleaved(DATES * DATES, DATES / ROWS, &mut [(ROWS * DATES, &mut fill)]);
    measure::report(&[Measured { problem: "porkchop", seconds_per_unit: times[0], error: error(&cells) }]);
}

/// The largest conditioned error of the reference cells; infinite if the arc of any cell, flown, misses its end.
fn error(cells: &[[f64; 2]]) -> f64 {
    let (mut worst, mut worst_miss, mut wrong) = (0.0_f64, 0.0_f64, 0);
    let arrivals: Vec<State> = (0..DATES).map(|j| planet(MARS, arrival_day(j))).collect();
    for i in 0..DATES {
        let from = planet(EARTH, departure_day(i));
        for (j, to) in arrivals.iter().enumerate() {
            let arc = arc(i, j, &from, to);
            let start = State::new(from.position, arc.v1);
            let time = arrival_day(j) * DAY - departure_day(i) * DAY;
            let (miss, share) = flown::miss(GM, &start, time, &State::new(to.position, arc.v2));
            worst_miss = worst_miss.max(miss);
            worst = worst.max(share);
            let fits = excess(&arc, &from, to) == cells[i * DATES + j];
            wrong += usize::from(!(share <= 1.0 && fits && start.position.cross(&arc.v1).z > 0.0));
        }
    }
    println!(
        "porkchop: all {} cells, miss at most {worst_miss:.2e}, {worst:.3} of the bound, {wrong} wrong",
        cells.len()
    );
    let (_, rows) = reference("porkchop");
    let mut error = if wrong == 0 { 0.0 } else { f64::INFINITY };
    for row in &rows {
        let index = |k: usize| row[k].as_u64().expect("a place in the grid") as usize;
        let cell = cells[index(0) * DATES + index(1)];
        let expected = [number(&row[2]), number(&row[3])];
        let off = (cell[0] - expected[0]).abs().max((cell[1] - expected[1]).abs());
        error = f64::max(error, off / expected[0].max(expected[1]) / number(&row[4]).max(1.0));
    }
    error
}
