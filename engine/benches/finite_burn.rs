//! How long does it take to solve a burn under thrust, by each law of attitude, and split over passes?
//!
//! `cargo bench -p visviva-engine --bench finite_burn`; `-- --check` solves each once and times nothing. Each is held to what its impulse gives.

#![allow(
    clippy::print_stdout,
    clippy::expect_used,
    unreachable_pub,
    missing_docs,
    dead_code,
    reason = "a bench reports"
)]

#[path = "../../tests/benchmark/measure.rs"]
mod measure;

use visviva_engine::burn::finite::{Impulse, Law, Phase, Supply, split};
use visviva_engine::conic::State;
use visviva_engine::motion::force::Surroundings;
use visviva_engine::numerics::watch::Watch;
use visviva_engine::vector::Vec3;

/// GM of the Earth, m³/s², and a circle 300 km up, m.
const GM: f64 = 3.986_004_418e14;
const RADIUS: f64 = 6_678_137.0;

fn main() {
    let before = State::new([RADIUS, 0.0, 0.0].into(), [0.0, (GM / RADIUS).sqrt(), 0.0].into());
    let speed = (1e7 + 2.0 * GM / RADIUS).sqrt();
    let impulse = Impulse { before, dv: Vec3::new(0.0, speed - before.speed(), 0.0) };
    let phase = Phase { thrust: 4e4, exit_area: 0.0, exhaust_speed: 4413.0, mass: 1e4, propellant: 9000.0 };
    let supply = Supply::new(vec![phase]).expect("a supply");
    let around = Surroundings::point(GM);
    println!("law          passes  flights         loss       solved in");
    for (law, passes) in [(Law::Turning, 1), (Law::Fixed, 1), (Law::Along, 1), (Law::Turning, 5)] {
        let mut found = None;
        let mut solve = || {
            found = Some(split(&around, &impulse, &supply, law, passes, 0.0, &Watch::none()).expect("a burn"));
        };
        let time = measure::interleaved(1, 15, &mut [(1, &mut solve)])[0];
        let found = found.expect("a burn");
        let flights: usize = found.passes.iter().map(|pass| pass.burn.flights).sum();
        assert!(found.passes.iter().all(|pass| pass.burn.misfit < 1e-3), "every burn meets what its impulse gives");
        println!(
            "{:<12} {passes:>6} {flights:>8} {:>8.3} m/s {:>12.3} ms",
            format!("{law:?}"),
            found.loss(),
            time * 1e3
        );
    }
}
