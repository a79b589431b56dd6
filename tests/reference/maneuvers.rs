//! Manoeuvres of the textbooks: every case of `maneuvers.toml`, by its kind.

use std::collections::BTreeMap;
use std::f64::consts::{PI, TAU};

use visviva_engine::arc::flyby;
use visviva_engine::burn::{BurnError, bi_elliptic, capture, departure, hohmann, phasing, plane};
use visviva_engine::conic::{Elements, State, eccentricity_vector};
use visviva_engine::system::System;
use visviva_engine::vector::Vec3;
use visviva_tests::{Table, read_toml};

use crate::kepler::number;

type Answers = BTreeMap<&'static str, f64>;

/// Every case: our own digits to 1e-12, the book's within its rounding.
pub(crate) fn table() -> Table {
    let file = "trajectory/maneuvers.toml";
    let source = "textbooks named in the rows; computed to 1e-12 (closed forms), published within its own rounding";
    let mut table = Table::new(file, source);
    for case in read_toml(file)["case"].as_array().expect("cases") {
        let text = |key: &str| case[key].as_str().expect("text");
        let (id, kind) = (text("id"), text("kind"));
        let input = |name: &str| number(&case["input"], name).unwrap_or(f64::NAN);
        let answers = match answers(kind, &input) {
            Ok(answers) => answers,
            Err(error) => {
                table.failed(format!("{id} {kind}"), error);
                continue;
            }
        };
        for (set, bound) in [("computed", 1e-12), ("published", input_of(case, "test_rel_tol_vs_published"))] {
            for (name, value) in case[set].as_table().expect("a table") {
                let row = format!("{id} {kind} {set} {name}");
                let expected = value.as_float().unwrap_or(f64::NAN);
                match answers.get(name.as_str()) {
                    Some(got) => table.relative(row, *got, expected, bound),
                    None => table.failed(row, "nothing computed under this name"),
                }
            }
        }
    }
    table
}

fn input_of(case: &toml::Value, name: &str) -> f64 {
    number(case, name).unwrap_or(f64::NAN)
}

/// km and km/s throughout: the engine's formulas hold in any consistent unit, here with gm in km³/s².
fn answers(kind: &str, input: &dyn Fn(&str) -> f64) -> Result<Answers, BurnError> {
    let mu = input("mu");
    let degrees = |name: &str| input(name).to_radians();
    Ok(match kind {
        "hohmann" => {
            let up = hohmann::circular(mu, input("r1_km"), input("r2_km"))?;
            Answers::from([("dv1", up.dv1), ("dv2", up.dv2), ("dv_total", up.dv()), ("tof_min", up.time / 60.0)])
        }
        "bielliptic_vs_hohmann" => {
            let (r1, far, r2) = (input("r1_km"), input("rb_km"), input("r2_km"));
            let (over, plain) = (bi_elliptic::bi_elliptic(mu, r1, far, r2)?, hohmann::circular(mu, r1, r2)?);
            Answers::from([
                ("dv1", over.dv1),
                ("dv2", over.dv2),
                ("dv3_signed", over.dv3),
                ("bielliptic_dv", over.dv()),
                ("bielliptic_h", over.time / 3600.0),
                ("bielliptic_s", over.time),
                ("hohmann_dv", plain.dv()),
                ("hohmann_h", plain.time / 3600.0),
                ("hohmann_s", plain.time),
            ])
        }
        "one_tangent_burn" => {
            let fast = hohmann::one_tangent(mu, input("r1_km"), input("r2_km"), degrees("nu_at_r2_deg"))?;
            Answers::from([
                ("e", fast.eccentricity),
                ("a_km", fast.semi_major_axis),
                ("dv1", fast.dv1),
                ("dv2", fast.dv2),
                ("dv_total", fast.dv()),
                ("tof_min", fast.time / 60.0),
            ])
        }
        "plane_change_circular" => Answers::from([("dv", plane::turn(input("v_km_s"), 0.0, degrees("di_deg"))?)]),
        "plane_change_elliptic" => {
            let elements = Elements {
                semi_latus_rectum: input("p_km"),
                eccentricity: input("e"),
                inclination: 0.0,
                ascending_node: 0.0,
                argument_of_periapsis: degrees("argp_deg"),
                true_anomaly: degrees("nu_deg") - TAU,
            };
            let state = elements.to_state(mu)?;
            let path = (state.position.dot(&state.velocity) / (state.radius() * state.speed())).asin();
            Answers::from([
                ("r_km", state.radius()),
                ("v_km_s", state.speed()),
                ("fpa_deg", path.to_degrees()),
                ("dv", plane::turn(state.speed(), path, degrees("di_deg"))?),
            ])
        }
        "node_change" => turned(input("v_km_s"), degrees("i_deg"), degrees("i_deg"), degrees("draan_deg"))?,
        "node_and_inclination_change" => {
            turned(input("v_km_s"), degrees("i1_deg"), degrees("i2_deg"), degrees("draan_deg"))?
        }
        "hohmann_from_ellipse" => {
            let (periapsis, apoapsis, r2) = (input("rp1_km"), input("ra1_km"), input("r2_km"));
            let up = hohmann::between_apses(mu, periapsis, apoapsis, r2, r2)?;
            // The rocket equation, written out: vehicles are a matter of another floor.
            let burnt = 1.0 - (-up.dv() * 1000.0 / (input("isp_s") * input("g0"))).exp();
            Answers::from([
                ("dvA", up.dv1),
                ("dvB", up.dv2),
                ("dv_total", up.dv()),
                ("propellant_kg", input("m0_kg") * burnt),
            ])
        }
        "bielliptic_thresholds" => {
            let at = bi_elliptic::thresholds();
            Answers::from([
                ("R_parabolic_beats_hohmann", at.parabolic),
                ("R_any_bielliptic_beats_hohmann", at.always),
                ("max_hohmann_dv_over_v1", at.greatest_hohmann),
            ])
        }
        "departure_hyperbola" => {
            let transfer = hohmann::circular(input("mu_sun"), input("r_earth_km"), input("r_mars_km"))?;
            let (gm, radius, speed) = (input("mu_earth"), input("rp_km"), transfer.dv1);
            let burn = departure::injection(gm, speed * speed, radius)?;
            let turn = flyby::turn_angle(gm, speed, radius).unwrap_or(f64::NAN);
            Answers::from([
                ("vinf", speed),
                ("v_circ", burn.speed - burn.dv),
                ("dv", burn.dv),
                ("e", burn.eccentricity),
                ("beta_deg", (PI - departure::asymptote_true_anomaly(burn.eccentricity)?).to_degrees()),
                ("turn_deg", turn.to_degrees()),
                ("aim_radius_km", flyby::aim_radius(gm, speed, radius).unwrap_or(f64::NAN)),
            ])
        }
        "capture_orbit" => {
            let into = capture::cheapest_of_period(input("mu_mars"), input("vinf_km_s"), input("period_s"))?;
            let beta = PI - departure::asymptote_true_anomaly(into.hyperbola_eccentricity)?;
            Answers::from([
                ("vinf", input("vinf_km_s")),
                ("a_km", into.semi_major_axis()),
                ("e_capture", into.eccentricity()),
                ("rp_km", into.periapsis_radius),
                ("dv", into.dv),
                ("aim_radius_km", into.aim_radius),
                ("beta_deg", beta.to_degrees()),
            ])
        }
        "planetary_flyby" => planetary_flyby(input)?,
        "synodic_period" => {
            Answers::from([("synodic_d", phasing::synodic_period(input("T_earth_d"), input("T_planet_d"))?)])
        }
        "wait_time" => {
            let transfer = hohmann::circular(input("mu_sun"), input("r_earth_km"), input("r_mars_km"))?.time / 86400.0;
            let (home, target) = (input("T_earth_d"), input("T_mars_d"));
            Answers::from([
                ("transfer_d", transfer),
                ("final_phase_deg", phasing::arrival_phase_angle(home, transfer)?.to_degrees()),
                ("wait_d", phasing::wait_time(home, target, transfer)?),
            ])
        }
        "sphere_of_influence" => Answers::from([("soi_km", sphere(input))]),
        "phasing" => {
            let plan = phasing::circular(mu, input("r_km"), degrees("lead_deg"), input("k_revs") as u32)?;
            Answers::from([("phasing_period_s", plan.period), ("a_km", plan.semi_major_axis), ("dv_total", plan.dv())])
        }
        "injection" => {
            let burn = departure::injection(mu, input("C3"), input("rp_km"))?;
            Answers::from([("dv", burn.dv), ("v_perigee", burn.speed), ("e", burn.eccentricity)])
        }
        _ => Answers::new(),
    })
}

/// The sphere that a system of these two bodies gives the lesser one, km; NaN if the system is refused.
fn sphere(input: &dyn Fn(&str) -> f64) -> f64 {
    let text = format!(
        r#"epoch = "2000-01-01T12:00:00 TDB"
[[body]]
name = "Centre"
gm = "{:e} km^3/s^2"
radius = "10 km"
[[body]]
name = "Satellite"
parent = "Centre"
gm = "{:e} km^3/s^2"
radius = "1 km"
orbit = {{ plane = "reference", semi_major_axis = "{:e} km", eccentricity = 0.0, inclination = "0 deg", ascending_node = "0 deg", argument_of_periapsis = "0 deg", mean_anomaly = "0 deg" }}
"#,
        input("mass_central_kg") * GRAVITATION_KM3,
        input("mass_kg") * GRAVITATION_KM3,
        input("a_km"),
    );
    let system = System::parse(&text, "pair");
    system.and_then(|system| system.body("Satellite")).map_or(f64::NAN, |body| body.sphere_of_influence() / 1000.0)
}

/// Newtonian constant of gravitation, km³/(kg s²): it drops out of the ratio of the masses.
const GRAVITATION_KM3: f64 = visviva_engine::constants::GRAVITATION * 1e-9;

fn turned(speed: f64, before: f64, after: f64, node: f64) -> Result<Answers, BurnError> {
    let crossing = plane::crossing(before, after, node)?;
    Ok(Answers::from([("theta_deg", crossing.angle.to_degrees()), ("dv", plane::turn(speed, 0.0, crossing.angle)?)]))
}

/// A planar flyby of a planet on a circle, approached from a transfer that left at aphelion: on the dark and on the sunlit side.
fn planetary_flyby(input: &dyn Fn(&str) -> f64) -> Result<Answers, BurnError> {
    let (sun, planet) = (input("mu_sun"), input("mu_venus"));
    let (start, radius, anomaly) = (input("r_earth_km"), input("r_venus_km"), input("nu_at_venus_deg").to_radians());
    let eccentricity = (start - radius) / (start + radius * anomaly.cos());
    let transfer = Elements {
        semi_latus_rectum: start * (1.0 - eccentricity),
        eccentricity,
        inclination: 0.0,
        ascending_node: 0.0,
        argument_of_periapsis: 0.0,
        true_anomaly: anomaly,
    };
    let here = transfer.to_state(sun)?;
    let outward = here.position / here.radius();
    let along = Vec3::new(0.0, 0.0, 1.0).cross(&outward);
    let v_planet = along * (sun / radius).sqrt();
    let v_in = here.velocity - v_planet;
    let rp = input("rp_flyby_km");
    let bend = |side: Vec3| flyby::bend(planet, &v_in, rp, &side).map_err(|_| BurnError::NoDirection { what: "bend" });
    // The dark side is away from the Sun.
    let (dark, sunlit) = (bend(outward)?, bend(-outward)?);
    let after = |pass: &flyby::Flyby| {
        let state = State::new(here.position, v_planet + pass.v_out);
        let momentum = state.position.cross(&state.velocity).z;
        let apse = eccentricity_vector(sun, &state);
        let e = apse.norm();
        let nu = apse.cross(&state.position).z.atan2(apse.dot(&state.position)).to_degrees().rem_euclid(360.0);
        (momentum, e, momentum * momentum / sun / (1.0 + e), nu)
    };
    let (d, s) = (after(&dark), after(&sunlit));
    Ok(Answers::from([
        ("e_transfer", eccentricity),
        ("vinf", v_in.norm()),
        ("e_hyp", 1.0 + rp * v_in.norm_squared() / planet),
        ("turn_deg", dark.turn_angle.to_degrees()),
        ("dark_h", d.0),
        ("dark_e", d.1),
        ("dark_perihelion_km", d.2),
        ("dark_nu_deg", d.3),
        ("sunlit_h", s.0),
        ("sunlit_e", s.1),
        ("sunlit_perihelion_km", s.2),
        ("sunlit_nu_deg", s.3),
    ]))
}

/// Angles that practice knows.
pub(crate) fn practice_table() -> Table {
    let mut table = Table::new("phase angles of practice", "common practice, no source");
    let angle = phasing::hohmann_phase_angle(1.0, 5.0).map_or(f64::NAN, f64::to_degrees);
    table.add("target five times farther out: 96 degrees ahead", (angle - 96.0).abs(), 0.5, "degrees");
    table
}
