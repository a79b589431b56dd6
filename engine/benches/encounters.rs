//! How long is the search for the next sphere of influence on a long coast?
//!
//! `cargo bench -p visviva-engine --bench encounters` prints ms for one search of each kind and the encounters found.
//! Every encounter is checked: inside the sphere, closing a tenth of a second before and opening a tenth after.
//! `-- --check` does that once and times nothing. A search about the Sun should take 1 ms, one across four moons 50 ms.

#![allow(clippy::print_stdout, clippy::expect_used, reason = "a bench reports")]

use std::time::Instant;

use visviva_engine::conic::State;
use visviva_engine::constants::DAY;
use visviva_engine::numerics::watch::Watch;
use visviva_engine::orbit::{Orbit, Placement, Shape};
use visviva_engine::system::{Body, EphemerisChoice, System};
use visviva_engine::time::Epoch;
use visviva_engine::vector::Vec3;

/// A search over every child.
struct Kind {
    name: &'static str,
    orbit: Orbit,
    days: f64,
}

fn main() {
    let check = std::env::args().any(|argument| argument == "--check");
    for kind in kinds() {
        if check {
            println!("{:<44} {} encounters, each a closest approach", kind.name, encounters(&kind));
            continue;
        }
        let mut times: Vec<f64> = (0..21)
            .map(|_| {
                let before = Instant::now();
                std::hint::black_box(encounters(&kind));
                before.elapsed().as_secs_f64() * 1e3
            })
            .collect();
        times.sort_by(f64::total_cmp);
        let median = times[times.len() / 2];
        println!("{:<44} {median:>10.3} ms  {} encounters", kind.name, encounters(&kind));
    }
}

/// All encounters with all children.
fn encounters(kind: &Kind) -> usize {
    let mut count = 0;
    for child in kind.orbit.body().children() {
        let (mut from, limit) = (0.0, kind.days * DAY);
        while let Some(met) = kind
            .orbit
            .closest_between(&child, (from, limit), &mut false, &Watch::none())
            .expect("the ephemeris reaches")
        {
            let rate = |time: f64| {
                let relative = kind.orbit.relative_to(&child, time).expect("the ephemeris reaches");
                relative.position.dot(&relative.velocity)
            };
            assert!(met.relative.radius() < child.sphere_of_influence(), "outside {}", child.name());
            assert!(
                rate(met.time - 0.1) < 0.0 && rate(met.time + 0.1) > 0.0,
                "no closest approach to {}",
                child.name()
            );
            count += 1;
            from = met.time + 1.0;
        }
    }
    count
}

fn kinds() -> Vec<Kind> {
    let velm = System::embedded("velm", EphemerisChoice::Default).expect("velm");
    let sol = System::embedded("sol", EphemerisChoice::Default).expect("sol");
    let epoch = Epoch::parse("2031-02-20T00:00:00 TDB").expect("an epoch");
    let shaped = |body: &Body, low: f64, high: f64, inclination: f64| {
        let shape = Shape::Apsides { periapsis_radius: low, apoapsis_radius: high };
        let place = Placement { inclination, ..Placement::default() };
        Orbit::shaped(body, shape, place, epoch, &body.orbit_plane()).expect("an orbit")
    };
    let (sun, oru, jupiter) = (sol.root(), velm.body("Oru").expect("Oru"), sol.body("Jupiter").expect("Jupiter"));
    let earth = sol.body("Earth").expect("Earth").state(epoch).expect("a place");
    let beside = State::new(earth.position + Vec3::new(0.0, 0.0, 1.5e9), earth.velocity * 1.0001);
    vec![
        Kind { name: "Sun, 0.7 to 1.6 au, 5 years", orbit: shaped(&sun, 1.05e11, 2.4e11, 0.05), days: 1826.0 },
        Kind { name: "Sun, 0.9 to 6 au, 12 years", orbit: shaped(&sun, 1.35e11, 9.0e11, 0.02), days: 4383.0 },
        Kind {
            name: "Sun, beside the Earth, 5 years",
            orbit: Orbit::new(sun, epoch, beside).expect("an orbit"),
            days: 1826.0,
        },
        Kind { name: "Oru, across four moons, 10 years", orbit: shaped(&oru, 3.0e8, 2.1e9, 0.02), days: 3652.0 },
        Kind {
            name: "Jupiter, across four moons, 10 years",
            orbit: shaped(&jupiter, 3.0e8, 2.1e9, 0.02),
            days: 3652.0,
        },
    ]
}
