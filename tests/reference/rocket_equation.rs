//! The rocket equation: every case of `rocket_equation.toml`, by a vehicle of one stage.

use visviva_engine::vehicle::{Vehicle, VehicleError};
use visviva_tests::{Table, read_toml};

use crate::kepler::number;

/// Every case, to the digits that the file gives.
pub(crate) fn table() -> Table {
    let file = "flight/rocket_equation.toml";
    let mut table = Table::new(file, "worked examples of the textbooks named in the rows");
    for case in read_toml(file)["case"].as_array().expect("cases") {
        let id = case["id"].as_str().expect("text");
        let input = |name: &str| number(&case["inputs"], name).unwrap_or(f64::NAN);
        let bound = number(case, "rel_tol").unwrap_or(f64::NAN);
        let answer = |name: &str| if id.starts_with("propellant") { burnt(name, &input) } else { spent(name, &input) };
        for (name, expected) in case["expected"].as_table().expect("a table") {
            let row = format!("{id} {name}");
            match answer(name) {
                Ok(Some(got)) => table.relative(row, got, expected.as_float().unwrap_or(f64::NAN), bound),
                Ok(None) => table.failed(row, "nothing computed under this name"),
                Err(error) => table.failed(row, error),
            }
        }
    }
    table
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
