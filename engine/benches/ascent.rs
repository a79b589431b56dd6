//! How long does one flight from the pad to an orbit take, with closed-loop steering, and how long the search for the best?
//!
//! `cargo bench -p visviva-engine --bench ascent`; `-- --check` flies each once and times nothing. Every flight is held to the orbit it is for.

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

use visviva_engine::air_flight::ascent::{Ascent, Entry, Settings, Target, Task, Way, ascend, ascend_once};
use visviva_engine::conic::State;
use visviva_engine::motion::force::Surroundings;
use visviva_engine::numerics::watch::Watch;
use visviva_engine::system::{EphemerisChoice, System};
use visviva_engine::vector::Vec3;
use visviva_engine::vehicle::Vehicle;

/// One flight may take this long, s: a search flies some thirty, and shall seem to answer at once.
const CEILING: f64 = 5e-3;

/// Most that an apsis may miss its target by, m.
const MISS: f64 = 500.0;

fn main() {
    println!("ascent                                   flights     one flight     the search");
    for (what, system, body, latitude, vehicle, carried, altitude, entry) in [
        ("lantern from Veyra, 180 km, direct", "velm", "Veyra", 6.0, "lantern", None, 180e3, Entry::Direct),
        ("lantern from Veyra, 180 km, cheapest", "velm", "Veyra", 6.0, "lantern", None, 180e3, Entry::Cheapest),
        ("petrel from the Earth, 300 km, direct", "sol", "Earth", 28.5, "petrel", None, 300e3, Entry::Direct),
        (
            "ascent craft from Maren, 339 km",
            "velm",
            "Maren",
            0.0,
            "lantern",
            Some("ascent craft"),
            339e3,
            Entry::Cheapest,
        ),
    ] {
        let system = System::embedded(system, EphemerisChoice::Default).expect("a system");
        let body = system.body(body).expect("a body");
        let whole = Vehicle::embedded(vehicle).expect("a vehicle");
        let vehicle = carried.map_or(&whole, |name| whole.carried(name).expect("carried"));
        let around = Surroundings::of(&body, system.epoch());
        let place = body.body_fixed(system.epoch()) * ground(body.radius(), body.polar_radius(), latitude);
        let settings = Settings { entry, ..Settings::default() };
        let task = Task {
            body: &body,
            around: &around,
            pad: State::new(place, around.air_velocity(&place)),
            north: body.pole(system.epoch()),
            vehicle,
            target: Target::circular(&body, altitude),
            settings: &settings,
        };
        let mut found = None;
        let mut search = || found = Some(ascend(&task, &Watch::none()).expect("an ascent"));
        let whole_search = measure::interleaved(1, 9, &mut [(1, &mut search)])[0];
        let best = found.expect("an ascent");
        sound(&best);
        let (kick, way): (f64, Way) = (best.kick, best.way);
        let mut flown = None;
        let mut one = || flown = Some(ascend_once(&task, kick, way, &Watch::none()).expect("an ascent"));
        let one_flight = measure::interleaved(1, 31, &mut [(1, &mut one)])[0];
        let flown = flown.expect("an ascent");
        sound(&flown);
        assert_eq!(flown.state, best.state, "the best flight, flown again, is the same");
        // Nothing is timed when only checking: not a number.
        assert!(one_flight.is_nan() || one_flight < CEILING, "one flight takes {one_flight} s");
        println!("{what:<40} {:>7} {:>11.3} ms {:>11.1} ms", best.flights, one_flight * 1e3, whole_search * 1e3);
    }
}

/// Place at a geodetic latitude (degrees) on an ellipsoid, in its own axes.
fn ground(equatorial: f64, polar: f64, latitude: f64) -> Vec3 {
    let (sin, cos) = latitude.to_radians().sin_cos();
    let normal = equatorial * equatorial / (equatorial * cos).hypot(polar * sin);
    Vec3::new(normal * cos, 0.0, normal * (polar / equatorial).powi(2) * sin)
}

fn sound(ascent: &Ascent) {
    let miss = ascent.miss;
    assert!(miss.periapsis.abs() < MISS && miss.apoapsis.abs() < MISS, "{miss:?}");
    assert!((ascent.accounts.ideal - ascent.losses() - ascent.accounts.gained()).abs() < 1e-5, "{:?}", ascent.accounts);
}
