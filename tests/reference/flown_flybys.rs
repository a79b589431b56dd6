//! Flown flybys: what their published altitudes say about their published effects, and what the arcs between their dates ask for.

use visviva_engine::arc::{TransferOptions, transfer};
use visviva_engine::arc::{flyby, flyby_burn};
use visviva_engine::system::{Body, EphemerisChoice, System};
use visviva_engine::time::Epoch;
use visviva_tests::{Table, read_toml};

use crate::kepler::number;

/// Bodies of the rows whose altitude and excess speed fix the change of velocity that was published.
const EFFECTS: [(&str, &str, &str); 7] = [
    ("ms01", "Venus", "boost_km_s"),
    ("ms09", "Mercury", "effective_dv_km_s"),
    ("ms10", "Mercury", "effective_dv_km_s"),
    ("ms11", "Mercury", "effective_dv_km_s"),
    ("ms12", "Earth", "effective_dv_km_s"),
    ("ms13", "Venus", "effective_dv_km_s"),
    ("ms23", "Earth", "boost_km_s"),
];

/// Body before, body passed, body after, with their dates (UTC, to the hour, from memory of the missions' event lists).
const CHAINS: [(&str, [(&str, &str); 3]); 5] = [
    ("ms05", [("Earth", "1989-10-18T23:00:00"), ("Venus", "1990-02-10T05:59:00"), ("Earth", "1990-12-08T20:35:00")]),
    ("ms15", [("Earth", "1977-09-05T12:56:00"), ("Jupiter", "1979-03-05T12:05:00"), ("Saturn", "1980-11-12T23:46:00")]),
    (
        "ms18",
        [("Jupiter", "1979-07-09T22:29:00"), ("Saturn", "1981-08-26T03:24:00"), ("Uranus", "1986-01-24T17:59:00")],
    ),
    (
        "ms19",
        [("Saturn", "1981-08-26T03:24:00"), ("Uranus", "1986-01-24T17:59:00"), ("Neptune", "1989-08-25T03:56:00")],
    ),
    ("ms21", [("Earth", "1973-11-03T05:45:00"), ("Venus", "1974-02-05T17:01:00"), ("Mercury", "1974-03-29T20:47:00")]),
];

/// Every row that says more than the hyperbola relations alone.
pub(crate) fn table() -> Table {
    let source =
        "flight reports named in the rows of trajectory/missions.toml: order of magnitude, bounds beside the checks";
    let mut table = Table::new("flown flybys and savings", source);
    let cases = read_toml("trajectory/missions.toml");
    let all = cases["case"].as_array().expect("cases");
    let case = |id: &str| all.iter().find(|case| case["id"].as_str() == Some(id)).expect("a row");
    let sol = System::embedded("sol", EphemerisChoice::Default).expect("the embedded system");
    let body = |name: &str| sol.body(name).expect("a body");
    for (id, name, effect) in EFFECTS {
        let (published, check) = (&case(id)["published"], &case(id)["check"]);
        let speed = number(check, "vinf").or(number(check, "assumed_vinf")).expect("an excess speed") * 1e3;
        let planet = body(name);
        let radius = planet.radius() + number(published, "altitude_km").expect("an altitude") * 1e3;
        let turn = flyby::turn_angle(planet.gm(), speed, radius).unwrap_or(f64::NAN);
        let dv = 2.0 * speed * (0.5 * turn).sin() / 1e3;
        // The reports give two digits, half a unit of which is 1 %; excess speeds from dates add another (heading of the file).
        table.relative(format!("{id} change of velocity"), dv, number(published, effect).expect("an effect"), 0.02);
    }
    for (id, stops) in CHAINS {
        match asked(&sol, &stops) {
            Ok((planet, pass)) => {
                let check = &case(id)["check"];
                let wanted = number(check, "rp_predicted_from_dates_km").expect("a periapsis");
                // d ln r = −(1 + s)/s · cot(δ/2)·dδ/2 − 2 d ln v: 1 % of the excess speed is 2 % of r, and turns it by as much again.
                table.relative(format!("{id} periapsis asked for"), pass.pass.periapsis_radius / 1e3, wanted, 0.04);
                // The burn at periapsis is (v_out² − v_in²)/(2 v_p): what the row's own excess speeds make of it, and 1 % of each of theirs.
                let figure = |name: &str| number(check, name).or(number(check, &format!("{name}_from_dates")));
                let (v_in, v_out) = (figure("vinf_in").expect("a speed"), figure("vinf_out").expect("a speed"));
                let fast = (v_in * v_in + 2.0 * planet.gm_system() / 1e9 / wanted).sqrt();
                let told = (v_out * v_out - v_in * v_in) / (2.0 * fast);
                let bound = 0.01 * (v_in * v_in + v_out * v_out) / fast;
                table.add(
                    format!("{id} burn at {}", planet.name()),
                    (pass.pass.burn / 1e3 - told).abs(),
                    bound,
                    "km/s",
                );
            }
            Err(why) => table.failed(id, why),
        }
    }
    io(&mut table, case("ms08"), &body("Io"), &body("Jupiter"));
    table
}

/// The pass with a burn between the arcs that the dates ask for.
fn asked(sol: &System, stops: &[(&str, &str); 3]) -> Result<(Body, flyby_burn::BurnPass), String> {
    let arc = |from: &(&str, &str), to: &(&str, &str)| {
        let body = |name: &str| sol.body(name).map_err(|error| error.to_string());
        let epoch = |text: &str| Epoch::parse(&format!("{text} UTC")).map_err(|error| error.to_string());
        transfer(&body(from.0)?, &body(to.0)?, epoch(from.1)?, epoch(to.1)?, &TransferOptions::default())
            .map_err(|error| error.to_string())
    };
    let (first, second) = (arc(&stops[0], &stops[1])?, arc(&stops[1], &stops[2])?);
    let planet = sol.body(stops[1].0).map_err(|error| error.to_string())?;
    let (v_in, v_out) = (first.v_inf_arrive.ok_or("no asymptote")?, second.v_inf_depart.ok_or("no asymptote")?);
    let pass =
        flyby_burn::with_burn(planet.gm_system(), &v_in, &v_out, 0.0, f64::INFINITY).map_err(|e| e.to_string())?;
    Ok((planet, pass))
}

/// The pass of Io before the insertion about Jupiter: both in one plane, Io on a circle, the insertion at four radii of Jupiter.
fn io(table: &mut Table, case: &toml::Value, io: &Body, jupiter: &Body) {
    let (published, check) = (&case["published"], &case["check"]);
    let v = number(check, "jupiter_arrival_vinf").expect("an excess speed") * 1e3;
    let (gm, ring, low) = (jupiter.gm(), 421_800e3, 4.0 * jupiter.radius());
    // In on the hyperbola with that periapsis, past Io's circle.
    let periapsis_speed = (v * v + 2.0 * gm / low).sqrt();
    let speed = (v * v + 2.0 * gm / ring).sqrt();
    let across = low * periapsis_speed / ring;
    let (inward, circle) = ((speed * speed - across * across).sqrt(), (gm / ring).sqrt());
    let relative = (across - circle).hypot(inward);
    let radius = io.radius() + number(published, "altitude_km").expect("an altitude") * 1e3;
    let turn = flyby::turn_angle(io.gm(), relative, radius).unwrap_or(f64::NAN);
    // Turned against Io's motion: the energy falls by Io's speed times what the velocity loses along it.
    let angle = inward.atan2(across - circle);
    let lost = circle * relative * (angle.cos() - (angle + turn).cos());
    let slower = (periapsis_speed * periapsis_speed - 2.0 * lost).sqrt();
    let saved = periapsis_speed - slower;
    let told = number(published, "jupiter_insertion_saving_m_s").expect("a saving");
    table.relative(
        "ms08 relative speed at Io",
        relative / 1e3,
        number(check, "io_relative_speed").expect("a speed"),
        0.01,
    );
    // The published figure is told as `about`, two digits and a half: the row's own estimate is 6 % below it.
    table.relative("ms08 saving of the insertion", saved, told, 0.15);
}
