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
use visviva_engine::arc::excess::{ExcessInput, ExcessOutput, StateTable, excess_batch_at};
use visviva_engine::arc::lambert::{Branch, Ends, LambertArc, Way, solve_one};
use visviva_engine::conic::{Elements, State, anomaly};
use visviva_engine::numerics::lanes::Width;
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

/// What one width of lanes fills: cells, the excess speeds at both ends apart.
struct Cells {
    width: Width,
    departures: Vec<f64>,
    arrivals: Vec<f64>,
}

fn main() {
    let here = Width::ALL.into_iter().filter(|width| width.is_here());
    let nothing = || vec![0.0; DATES * DATES];
    let mut all: Vec<Cells> = here.map(|width| Cells { width, departures: nothing(), arrivals: nothing() }).collect();
    let mut runs: Vec<Box<dyn FnMut() + '_>> = Vec::new();
    for Cells { width, departures, arrivals } in &mut all {
        let width = *width;
        let mut first = 0;
        // Each burst of rows pays for its own dates of departure and its share of the dates of arrival.
        let mut table = StateTable::new((0..DATES).map(|j| Some(planet(MARS, arrival_day(j)))));
        let mut times = vec![0.0; DATES];
        let fill = move || {
            let share = DATES / (DATES / ROWS);
            for j in first..first + share {
                table.set(j, Some(planet(MARS, arrival_day(j))));
            }
            for i in first..first + ROWS {
                let from = StateTable::new([Some(planet(EARTH, departure_day(i)))]);
                for (j, time) in times.iter_mut().enumerate() {
                    *time = arrival_day(j) * DAY - departure_day(i) * DAY;
                }
                let input = ExcessInput { departures: from.all(), arrivals: table.all(), times: &times };
                let row = i * DATES..(i + 1) * DATES;
                let mut output =
                    ExcessOutput { departures: &mut departures[row.clone()], arrivals: &mut arrivals[row] };
                excess_batch_at(width, GM, &input, 0, Branch::Single, Way::Prograde(NORTH), &mut output)
                    .expect("lists fit");
            }
            first = (first + ROWS) % DATES;
        };
        runs.push(Box::new(fill));
    }
    let mut contenders: Vec<(usize, &mut dyn FnMut())> =
        runs.iter_mut().map(|run| (ROWS * DATES, run.as_mut() as &mut dyn FnMut())).collect();
    let times = measure::interleaved(DATES * DATES, DATES / ROWS, &mut contenders);
    drop(contenders);
    drop(runs);
    let widest = all.last().expect("plain lanes are everywhere");
    let mut same = true;
    for (cells, time) in all.iter().zip(&times) {
        let fits = cells.departures == widest.departures && cells.arrivals == widest.arrivals;
        println!("lanes {:?}: {:.1} ns, the same bits: {fits}", cells.width, time * 1e9);
        same &= fits;
    }
    let cells: Vec<[f64; 2]> = widest.departures.iter().zip(&widest.arrivals).map(|(a, b)| [*a, *b]).collect();
    let error = if same { error(&cells) } else { f64::INFINITY };
    measure::report(&[Measured { problem: "porkchop", seconds_per_unit: times[times.len() - 1], error }]);
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
