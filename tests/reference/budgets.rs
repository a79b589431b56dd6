//! The budget of a textbook's journey: circles in one plane, from a parking orbit at the Earth into an ellipse at Mars.

use visviva_engine::arc::ArrivalOrbit;
use visviva_engine::numerics::watch::Watch;
use visviva_engine::system::System;
use visviva_engine::voyage::budget::{JourneyOptions, budget};
use visviva_tests::{Table, read_toml};

use crate::kepler::number;

/// `maneuvers.toml`, departure from a circle of 300 km and capture into an ellipse of seven hours: [Curtis2014], examples 8.4 and 8.5.
pub(crate) fn table() -> Table {
    let mut table = Table::new(
        "budget of a textbook's journey",
        "[Curtis2014], examples 8.4 and 8.5, from maneuvers.toml; bounds beside",
    );
    let cases = read_toml("trajectory/maneuvers.toml");
    let all = cases["case"].as_array().expect("cases");
    let of = |kind: &str| all.iter().find(|case| case["kind"].as_str() == Some(kind)).expect("a case");
    let (departure, capture) = (of("departure_hyperbola"), of("capture_orbit"));
    let given = |name: &str| number(&departure["input"], name).expect("an input");
    let text = format!(
        r#"epoch = "2000-01-01T12:00:00 TDB"
[[body]]
name = "Sun"
gm = "{:e} km^3/s^2"
radius = "696000 km"
[[body]]
name = "Earth"
parent = "Sun"
gm = "{:e} km^3/s^2"
radius = "6378 km"
orbit = {{ plane = "reference", semi_major_axis = "{:e} km", eccentricity = 0.0, inclination = "0 deg", ascending_node = "0 deg", argument_of_periapsis = "0 deg", mean_anomaly = "0 deg" }}
[[body]]
name = "Mars"
parent = "Sun"
gm = "{:e} km^3/s^2"
radius = "3396 km"
orbit = {{ plane = "reference", semi_major_axis = "{:e} km", eccentricity = 0.0, inclination = "0 deg", ascending_node = "0 deg", argument_of_periapsis = "0 deg", mean_anomaly = "60 deg" }}
"#,
        given("mu_sun"),
        given("mu_earth"),
        given("r_earth_km"),
        number(&capture["input"], "mu_mars").expect("an input"),
        given("r_mars_km"),
    );
    let system = match System::parse(&text, "textbook") {
        Ok(system) => system,
        Err(error) => {
            table.failed("the system", format!("{error:?}"));
            return table;
        }
    };
    let body = |name: &str| system.body(name).expect("a body");
    let computed = |name: &str| number(&capture["computed"], name).expect("a figure");
    let (periapsis, axis) = (computed("rp_km") * 1e3, computed("a_km") * 1e3);
    let mars = body("Mars").radius();
    let arrival = ArrivalOrbit::Ellipse {
        periapsis_altitude: periapsis - mars,
        apoapsis_altitude: 2.0 * axis - periapsis - mars,
    };
    let first = system.epoch();
    let altitude = given("rp_km") * 1e3 - body("Earth").radius();
    let options = JourneyOptions::new((first, first.after(800.0 * 86_400.0)), altitude, arrival);
    match budget(&body("Earth"), &body("Mars"), &options, &Watch::none()) {
        Ok(found) => {
            let dv = |name: &str| found.line(name).map_or(f64::NAN, |line| line.dv / 1e3);
            // The book's spheres are points. Ours meet the aims: ten to twenty thousand kilometres of an arc of a hundred million turn the excess
            // velocity by 1e-4 of the planets' speeds, some metres a second of three kilometres; their squares enter the burns.
            let out = number(&departure["computed"], "dv").expect("a figure");
            table.relative("departure", dv("departure from Earth"), out, 2e-3);
            table.relative("capture", dv("capture at Mars"), computed("dv"), 5e-3);
            let sum = found.with_margin() / 1e3;
            let by_hand = 1.05 * (dv("departure from Earth") + dv("capture at Mars")) + 2.0 * 0.05;
            table.relative("sum with margins", sum, by_hand, 1e-12);
        }
        Err(error) => table.failed("the budget", error),
    }
    table
}
