//! How long does a search for all windows between two planets in twenty years take, every minimum refined?
//!
//! `cargo bench -p visviva-engine --bench windows`; `-- --check` searches once and times nothing. Each minimum is set beside its own
//! neighbourhood: places around it on three scales cost more, or it lies on a bound.

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

use visviva_engine::arc::{Rank, WindowOptions, opportunities, windows};
use visviva_engine::numerics::watch::Watch;
use visviva_engine::system::{EphemerisChoice, System};
use visviva_engine::time::Epoch;

const DAY: f64 = 86_400.0;

fn main() {
    let system = System::embedded("sol", EphemerisChoice::Default).expect("the embedded system");
    let body = |name: &str| system.body(name).expect("a body");
    let date = |text: &str| Epoch::parse(text).expect("a date");
    let between = (date("2026-01-01 TDB"), date("2046-01-01 TDB"));
    println!("trip            revolutions  minima        least     search      planned");
    for (to, days, revolutions) in [
        ("Mars", (60.0, 500.0), 0),
        ("Mars", (60.0, 1200.0), 1),
        ("Venus", (40.0, 350.0), 0),
        ("Jupiter", (300.0, 1800.0), 0),
    ] {
        let mut options = WindowOptions::new(between, 300e3);
        options.rank = Some(Rank::Excess { arrival_weight: 1.0 });
        options.shoot = false;
        options.revolutions = revolutions;
        options.flight_time = Some((days.0 * DAY, days.1 * DAY));
        let (from, to) = (body("Earth"), body(to));
        let mut found = Vec::new();
        let mut search = || found = opportunities(&from, &to, &options, &Watch::none()).expect("a search");
        let search_time = measure::interleaved(1, 15, &mut [(1, &mut search)])[0];
        let mut planned = 0;
        let mut plan = || planned = windows(&from, &to, &options, &Watch::none()).expect("a search").list.len();
        let plan_time = measure::interleaved(1, 5, &mut [(1, &mut plan)])[0];
        println!(
            "Earth-{:<9} {revolutions:>11} {:>7} {:>12.6} km/s {:>9.3} ms {:>9.3} ms",
            to.name(),
            found.len(),
            found[0].cost / 1e3,
            search_time * 1e3,
            plan_time * 1e3
        );
    }
}
