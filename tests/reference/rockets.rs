//! Rockets: every case of `rockets_basic.toml` (rocket equation, thrust in air, nozzles) and `rockets_staging.toml` (serial, optimal, parallel and
//! crossfed stages).

use visviva_engine::constants::STANDARD_GRAVITY;
use visviva_engine::vehicle::{Engine, Mount, Nozzle, Stage, Vehicle, VehicleError, sizing};
use visviva_tests::{Table, read_toml};

use crate::kepler::{number, numbers};

/// One standard atmosphere, Pa, exact. (Resolution 4 of the 10th CGPM, 1954.)
const ATMOSPHERE: f64 = 101_325.0;

/// What a case gives for one name; a list where the file has one.
type Answer = Result<Option<Vec<f64>>, VehicleError>;

/// Every case of the basic file, to the digits that it gives.
pub(crate) fn table() -> Table {
    run("flight/rockets_basic.toml", "worked examples of the textbooks named in the rows", &basic)
}

/// Every case of the staging file.
pub(crate) fn staging_table() -> Table {
    run("flight/rockets_staging.toml", "textbook staging; tank bookkeeping and searches named in the rows", &staging)
}

fn run(file: &str, source: &str, answer: &dyn Fn(&str, &str, &toml::Value) -> Answer) -> Table {
    let mut table = Table::new(file, source);
    for case in read_toml(file)["case"].as_array().expect("cases") {
        let id = case["id"].as_str().expect("text");
        let bound = number(case, "rel_tol").unwrap_or(f64::NAN);
        for (name, expected) in case["expected"].as_table().expect("a table") {
            let row = format!("{id} {name}");
            match answer(id, name, &case["inputs"]) {
                Ok(Some(got)) => {
                    let expected = numbers(expected);
                    if got.len() != expected.len() {
                        table.failed(row.clone(), format!("{} figures instead of {}", got.len(), expected.len()));
                    }
                    for (got, expected) in got.iter().zip(expected) {
                        table.relative(row.clone(), *got, expected, bound);
                    }
                }
                Ok(None) => table.failed(row, "nothing computed under this name"),
                Err(error) => table.failed(row, error),
            }
        }
    }
    table
}

fn basic(id: &str, name: &str, inputs: &toml::Value) -> Answer {
    let input = |name: &str| number(inputs, name).unwrap_or(f64::NAN);
    let one = match id {
        _ if id.starts_with("rocket-equation") => spent(name, &input)?,
        _ if id.starts_with("propellant") => burnt(name, &input)?,
        _ if id.starts_with("vertical-climb") => climbed(name, &input)?,
        _ if id.starts_with("engine-ambient") => ambient(name, &input)?,
        _ if id.starts_with("thrust-") => pressed(name, &input)?,
        _ if id.starts_with("nozzle") => {
            let nozzle = Nozzle::new(input("gamma"), input("area_ratio"))?;
            match name {
                "exit_mach" => Some(nozzle.exit_mach),
                "exit_pressure_ratio" => Some(nozzle.exit_pressure_ratio()),
                "thrust_coefficient_vacuum" => Some(nozzle.thrust_coefficient()),
                "gamma_function" => Some(nozzle.flow_function()),
                _ => None,
            }
        }
        _ => None,
    };
    Ok(one.map(|figure| vec![figure]))
}

/// A vertical climb of a vehicle of one stage.
fn climbed(name: &str, input: &dyn Fn(&str) -> f64) -> Result<Option<f64>, VehicleError> {
    let (full, empty) = (input("initial_mass_kg"), input("final_mass_kg"));
    let vehicle = Vehicle::new("stage", empty, full - empty, input("isp_s"), None)?;
    let (time, gravity) = (input("burn_s"), input("gravity_m_s2"));
    let (speed, height, apex) = sizing::vertical_climb(vehicle.exhaust_speed(), full / empty, time, gravity);
    Ok(match name {
        "burnout_speed_m_s" => Some(speed),
        "burnout_altitude_m" => Some(height),
        "apex_altitude_m" => Some(apex),
        // What is missing of the ideal change of speed.
        "gravity_loss_m_s" => Some(vehicle.dv() - speed),
        _ => None,
    })
}

/// An engine told by its thrust at sea level and in vacuum.
fn ambient(name: &str, input: &dyn Fn(&str) -> f64) -> Result<Option<f64>, VehicleError> {
    let sea_level = Engine::new("at sea level", input("isp_sea_level_s"), Some(input("thrust_sea_level_N")))?;
    let vacuum = Engine::new("in vacuum", input("isp_vacuum_s"), Some(input("thrust_vacuum_N")))?;
    let engine = vacuum.with_thrust_at(ATMOSPHERE, input("thrust_sea_level_N"))?;
    let high = input("ambient_10km_Pa");
    Ok(match name {
        "mass_flow_from_sl_kg_s" => sea_level.mass_flow(),
        "mass_flow_from_vac_kg_s" => engine.mass_flow(),
        "exit_area_implied_m2" => Some(engine.exit_area()),
        "thrust_10km_N" => engine.thrust_at(high),
        "isp_10km_s" => Some(engine.specific_impulse_at(high)),
        "thrust_half_atm_N" => engine.thrust_at(0.5 * ATMOSPHERE),
        _ => None,
    })
}

/// An engine told by its exit area; where no flow is given, any impulse does for the thrust.
fn pressed(name: &str, input: &dyn Fn(&str) -> f64) -> Result<Option<f64>, VehicleError> {
    let (thrust, flow) = (input("vacuum_thrust_N"), input("mass_flow_kg_s"));
    let impulse = if flow.is_finite() { thrust / flow / STANDARD_GRAVITY } else { 300.0 };
    let engine = Engine::new("engine", impulse, Some(thrust))?.with_exit_area(input("exit_area_m2"))?;
    Ok(match name {
        "thrust_N" => engine.thrust_at(input("ambient_Pa")),
        "isp_s" => Some(engine.specific_impulse_at(input("ambient_Pa"))),
        _ => None,
    })
}

fn staging(id: &str, name: &str, inputs: &toml::Value) -> Answer {
    let input = |name: &str| number(inputs, name).unwrap_or(f64::NAN);
    let list = |name: &str| inputs.get(name).map(numbers).unwrap_or_default();
    let gravity = number(inputs, "g0_m_s2").unwrap_or(STANDARD_GRAVITY);
    if id.starts_with("optimal-staging") {
        let kinds: Vec<sizing::Kind> = list("isp_s")
            .iter()
            .zip(list("structural_ratio"))
            .map(|(isp, structural_ratio)| sizing::Kind { exhaust_speed: isp * gravity, structural_ratio })
            .collect();
        let split = sizing::lightest_split(&kinds, 1e3 * input("burnout_speed_km_s"), input("payload_kg"))?;
        return Ok(match name {
            "step_mass_kg" => Some(split.stages.iter().map(|stage| stage.step_mass).collect()),
            "initial_mass_kg" => Some(vec![split.initial_mass]),
            "dv_km_s" => Some(split.stages.iter().map(|stage| stage.dv / 1e3).collect()),
            _ => None,
        });
    }
    if id.starts_with("serial") {
        let mut stages = Vec::new();
        let masses = list("dry_kg").into_iter().zip(list("propellant_kg"));
        for (index, ((dry, propellant), isp)) in masses.zip(list("isp_s")).enumerate() {
            stages.push(Stage::new(&format!("stage {index}"), dry, propellant, isp, None)?);
        }
        stages.push(Stage::inert("payload", input("payload_kg"))?);
        let vehicle = Vehicle::of_stages("stack", stages)?;
        return Ok(match name {
            "dv_per_stage_m_s" => Some(vehicle.ladder().iter().map(|rung| rung.dv).collect()),
            "dv_total_m_s" => Some(vec![vehicle.dv()]),
            _ => None,
        });
    }
    let one = match id {
        _ if id.starts_with("curtis-restricted") => {
            let kind =
                sizing::Kind { exhaust_speed: input("isp_s") * gravity, structural_ratio: input("structural_ratio") };
            let payload = input("payload_fraction");
            match number(inputs, "stages") {
                Some(stages) => Some(sizing::like_stages(kind, payload, stages as u32)?),
                None => Some(sizing::like_stages_without_end(kind, payload)),
            }
        }
        _ if id.starts_with("parallel") => parallel(name, inputs, &input)?,
        _ if id.starts_with("payload-sensitivity") => {
            let speed = input("isp_s") * gravity;
            Some(sizing::dv_per_kilogram(speed, input("initial_mass_kg"), input("final_mass_kg")))
        }
        _ => None,
    };
    Ok(one.map(|figure| vec![figure]))
}

/// A core with units beside it, which feed it or do not.
fn parallel(name: &str, inputs: &toml::Value, input: &dyn Fn(&str) -> f64) -> Result<Option<f64>, VehicleError> {
    let stage = |what: &str, each: &str| {
        let isp = input(&format!("{what}_isp_s"));
        let thrust = input(&format!("{what}_flow_kg_s{each}")) * isp * STANDARD_GRAVITY;
        let engine = Engine::new(what, isp, Some(thrust))?;
        let (dry, propellant) = (input(&format!("{what}_dry_kg{each}")), input(&format!("{what}_propellant_kg{each}")));
        Stage::of_engines(what, dry, propellant, vec![Mount { engine, number: 1 }])
    };
    let boosters = stage("booster", "_each")?.times(input("boosters") as u32);
    let crossfeed = inputs["crossfeed"].as_bool().expect("a flag");
    let boosters = if crossfeed { boosters.feeding("core") } else { boosters.beside("core") };
    let payload = Stage::inert("payload", input("payload_kg"))?;
    let vehicle = Vehicle::of_stages("stack", vec![boosters, stage("core", "")?, payload])?;
    let ladder = vehicle.ladder();
    let [first, second] = ladder.as_slice() else { return Ok(None) };
    Ok(match name {
        "initial_mass_kg" => Some(vehicle.mass()),
        "booster_phase_s" => first.burn_time,
        "dv_booster_phase_m_s" => Some(first.dv),
        "core_propellant_left_at_separation_kg" => Some(second.propellant),
        "mass_after_separation_kg" => Some(second.mass_before),
        "dv_core_phase_m_s" => Some(second.dv),
        "dv_total_m_s" => Some(vehicle.dv()),
        "effective_isp_booster_phase_s" => Some(first.exhaust_speed / STANDARD_GRAVITY),
        _ => None,
    })
}

/// From both masses to the change of speed.
fn spent(name: &str, input: &dyn Fn(&str) -> f64) -> Result<Option<f64>, VehicleError> {
    let (full, empty) = (input("initial_mass_kg"), input("final_mass_kg"));
    let vehicle = Vehicle::new("stage", empty, full - empty, input("isp_s"), None)?;
    Ok(match name {
        "dv_m_s" => Some(vehicle.dv()),
        "mass_ratio" => Some(vehicle.mass() / vehicle.dry_mass()),
        "propellant_fraction" => Some(vehicle.propellant() / vehicle.mass()),
        _ => None,
    })
}

/// From the change of speed to the propellant: a tank of 1e6 kg is spent from until the rest is the final mass, the mass
/// before being the final one times exp(dv/c), sought by what the burn itself leaves (its share does not hang on the mass).
fn burnt(name: &str, input: &dyn Fn(&str) -> f64) -> Result<Option<f64>, VehicleError> {
    let (last, tank) = (input("final_mass_kg"), 1e6);
    let vehicle = Vehicle::new("stage", last, tank, input("isp_s"), None)?;
    let left = vehicle.spend(input("dv_m_s"))?;
    let first = last * vehicle.mass() / left.mass();
    Ok(match name {
        "initial_mass_kg" => Some(first),
        "propellant_kg" => Some(first - last),
        _ => None,
    })
}
