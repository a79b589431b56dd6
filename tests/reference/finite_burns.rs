//! Burns that take their time: every case of `finite_burn.toml`. Departures are flown along the velocity from a circular orbit until their energy; the rest
//! are closed forms, the spiral is flown too.

use visviva_engine::burn::departure::injection;
use visviva_engine::burn::finite::{self, FiniteError, Phase, Supply, estimate};
use visviva_engine::conic::State;
use visviva_engine::constants::STANDARD_GRAVITY;
use visviva_engine::motion::force::{Attitude, Surroundings};
use visviva_engine::numerics::watch::Watch;
use visviva_tests::{Table, read_toml};

use crate::kepler::number;

/// GM of the Earth and its radius, as the file gives them in its notes, m³/s² and m.
const EARTH: f64 = 3.986_004_418e14;
const RADIUS: f64 = 6_378_137.0;

/// Mass at ignition, kg: every figure of a case is per mass, so that any will do.
const MASS: f64 = 1000.0;

/// Every case of the file, to the digits that it gives.
pub(crate) fn table() -> Table {
    let file = "flight/finite_burn.toml";
    let mut table =
        Table::new(file, "integrations and closed forms named in the rows; [Edelbaum1961], [Tsien1953], [Robbins1966]");
    for case in read_toml(file)["case"].as_array().expect("cases") {
        let id = case["id"].as_str().expect("text");
        let bound = number(case, "rel_tol").unwrap_or(1e-6);
        for (name, expected) in case["expected"].as_table().expect("a table") {
            let row = format!("{id} {name}");
            let expected =
                expected.as_float().or_else(|| expected.as_integer().map(|whole| whole as f64)).expect("a number");
            match answer(id, name, &case["inputs"]) {
                Ok(Some(got)) => table.relative(row, got, expected, bound),
                Ok(None) => table.failed(row, "nothing computed under this name"),
                Err(error) => table.failed(row, error),
            }
        }
    }
    table
}

fn answer(id: &str, name: &str, inputs: &toml::Value) -> Result<Option<f64>, FiniteError> {
    let input = |name: &str| number(inputs, name).unwrap_or(f64::NAN);
    let given = |name: &str| number(inputs, name);
    if given("initial_thrust_to_weight").is_some() {
        return departure(name, &input);
    }
    if given("hyperbolic_excess_before_m_s").is_some() {
        let excess = estimate::excess_after(
            input("periapsis_speed_m_s"),
            input("dv_m_s"),
            input("hyperbolic_excess_before_m_s"),
        )?;
        return Ok((name == "v_inf_m_s").then_some(excess));
    }
    if id.starts_with("low-thrust-spiral") {
        let spiral =
            estimate::spiral(EARTH, 1e3 * input("r0_km"), 1e3 * input("r1_km"), 0.0, input("acceleration_m_s2"))?;
        return Ok(match name {
            "dv_m_s" => Some(spiral.dv),
            "time_s" => Some(spiral.time),
            _ => None,
        });
    }
    if id.starts_with("constant-radial-thrust") {
        let radius = 1e3 * input("radius_km");
        let gravity = EARTH / (radius * radius);
        return Ok(match name {
            "threshold_m_s2" => Some(estimate::radial_escape(EARTH, radius)?),
            "threshold_over_local_g" => Some(estimate::radial_escape(EARTH, radius)? / gravity),
            "apse_radius_km" => match estimate::radial(EARTH, radius, gravity * input("acceleration_over_local_g"))? {
                estimate::Radial::Apse(apse) => Some(apse / 1e3),
                estimate::Radial::Escape => None,
            },
            _ => None,
        });
    }
    if id.contains("robbins") {
        let (radius, dv) = (RADIUS + 1e3 * input("parking_altitude_km"), input("impulsive_dv_m_s"));
        return Ok(match name {
            "robbins_estimate_m_s" => Some(estimate::centred_loss(EARTH, radius, dv, input("burn_s"))?),
            // The burn of that time beginning at the impulse, to the energy of the impulse: its thrust follows from the time, at the 450 s of the other rows.
            "measured_m_s" => Some(measured(radius, dv, input("burn_s"))?),
            _ => None,
        });
    }
    Ok(None)
}

/// A circular orbit, and what an impulse along it makes of its energy: state, energy.
fn parked(radius: f64, c3: f64) -> (State, f64) {
    (State::new([radius, 0.0, 0.0].into(), [0.0, (EARTH / radius).sqrt(), 0.0].into()), 0.5 * c3)
}

/// A supply of one phase that burns until a hundredth of the mass is left.
fn supply(acceleration: f64, isp: f64) -> Result<Supply, FiniteError> {
    Supply::new(vec![Phase {
        thrust: MASS * acceleration,
        exit_area: 0.0,
        exhaust_speed: isp * STANDARD_GRAVITY,
        mass: MASS,
        propellant: 0.99 * MASS,
    }])
}

fn departure(name: &str, input: &dyn Fn(&str) -> f64) -> Result<Option<f64>, FiniteError> {
    let earth = 1e3 * input("earth_radius_km");
    let (radius, c3) = (earth + 1e3 * input("parking_altitude_km"), 1e6 * input("c3_km2_s2"));
    let supply = supply(input("initial_thrust_to_weight") * STANDARD_GRAVITY, input("isp_s"))?;
    let (state, energy) = parked(radius, c3);
    let along = Attitude::Along { sign: 1.0 };
    let (flown, dv) =
        finite::until_energy(&Surroundings::point(EARTH), &state, &supply, along, energy, &Watch::none())?;
    let impulse = injection(EARTH, c3, radius)?.dv;
    Ok(match name {
        "burn_s" => Some(flown.end.time),
        "dv_m_s" => Some(dv),
        "impulsive_dv_m_s" => Some(impulse),
        "finite_burn_loss_m_s" => Some(dv - impulse),
        "altitude_at_cutoff_km" => Some((finite::state_of(&flown.end).radius() - earth) / 1e3),
        _ => None,
    })
}

/// Loss of the burn along the velocity that lasts `time`: the thrust is found by cutting a bracket of it in half.
fn measured(radius: f64, dv: f64, time: f64) -> Result<f64, FiniteError> {
    let speed = (EARTH / radius).sqrt() + dv;
    let (state, energy) = parked(radius, speed * speed - 2.0 * EARTH / radius);
    let fly = |acceleration: f64| -> Result<(f64, f64), FiniteError> {
        let supply = supply(acceleration, 450.0)?;
        let along = Attitude::Along { sign: 1.0 };
        let (flown, spent) =
            finite::until_energy(&Surroundings::point(EARTH), &state, &supply, along, energy, &Watch::none())?;
        Ok((flown.end.time, spent - dv))
    };
    let (mut low, mut high) = (0.2 * dv / time, 2.0 * dv / time);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if fly(middle)?.0 > time { low = middle } else { high = middle }
    }
    Ok(fly(high)?.1)
}
