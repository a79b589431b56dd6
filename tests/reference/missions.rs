//! Flown missions: what the hyperbola relations alone say about the published figures.

use visviva_engine::arc::flyby;
use visviva_engine::burn::capture;
use visviva_tests::{Table, read_toml};

use crate::kepler::number;

/// Cases whose excess speed and turn, or whose published elements, fix the rest without an ephemeris.
pub(crate) fn table() -> Table {
    let file = "trajectory/missions.toml";
    let source =
        "flight reports and atlases named in the rows; hyperbola relations, bound 1e-5 of the six digits printed";
    let mut table = Table::new(file, source);
    for case in read_toml(file)["case"].as_array().expect("cases") {
        let id = case["id"].as_str().expect("id");
        let Some(check) = case.get("check") else { continue };
        let published = &case["published"];
        let value = |name: &str| number(check, name);
        // Six digits are printed of each; the turn carries its own rounding into the velocity change.
        let bound = 1e-5;
        let speed = value("vinf").or(value("assumed_vinf"));
        if let (Some(speed), Some(turn), Some(dv)) = (speed, value("turn_deg"), value("dv_flyby")) {
            relations(&mut table, id, speed, turn.to_radians(), dv, bound);
        }
        if let (Some(a), Some(e)) = (number(published, "a_km"), number(published, "e")) {
            // Any gm gives the same shape: lengths only.
            let (gm, a) = (1.0, -a);
            // The eccentricity is published with five decimals: half a unit of the last one goes into e − 1.
            let bound = bound + 5e-6 / (e - 1.0);
            let speed = (gm / a).sqrt();
            let periapsis = value("rp_from_elements_km").unwrap_or(f64::NAN);
            let turn = flyby::turn_angle(gm, speed, a * (e - 1.0)).unwrap_or(f64::NAN);
            table.relative(
                format!("{id} turn from elements"),
                turn.to_degrees(),
                value("turn_deg").unwrap_or(f64::NAN),
                bound,
            );
            let back = flyby::periapsis_for_turn(gm, speed, turn).unwrap_or(f64::NAN);
            table.relative(format!("{id} periapsis from elements"), back, periapsis, bound);
            if let (Some(v), Some(dv)) = (value("vinf_from_elements"), value("dv_flyby")) {
                relations(&mut table, id, v, turn, dv, bound);
            }
        }
        if let (Some(speed), Some(dv)) = (value("arrival_vinf"), value("impulsive_dv_m_s")) {
            insertion(&mut table, id, published, speed, dv);
        }
    }
    table
}

/// dv = 2 v∞ sin(δ/2), through the pass that the turn asks for.
fn relations(table: &mut Table, id: &str, speed: f64, turn: f64, dv: f64, bound: f64) {
    let pass = flyby::periapsis_for_turn(1.0, speed, turn).and_then(|periapsis| {
        let v = visviva_engine::vector::Vec3::new(speed, 0.0, 0.0);
        flyby::bend(1.0, &v, periapsis, &visviva_engine::vector::Vec3::new(0.0, 1.0, 0.0))
    });
    match pass {
        Ok(pass) => table.relative(format!("{id} velocity change"), pass.dv(), dv, bound),
        Err(error) => table.failed(format!("{id} velocity change"), error),
    }
}

/// Insertion from the arrival speed into the published orbit. Planetary constants from memory of the fact sheets: one
/// percent, as the readme of the table states for what hangs on constants that are not listed.
fn insertion(table: &mut Table, id: &str, published: &toml::Value, speed: f64, dv: f64) {
    let Some(altitude) = number(published, "rp_alt_km") else { return };
    let (gm, radius) = if speed > 4.0 { (324_858.6, 6051.8) } else { (42_828.4, 3396.2) };
    let periapsis = radius + altitude;
    let apoapsis = match (number(published, "ra_alt_km"), number(published, "period_h")) {
        (Some(height), _) => radius + height,
        (None, Some(hours)) => {
            let turns = hours * 3600.0 / std::f64::consts::TAU;
            2.0 * f64::cbrt(gm * turns * turns) - periapsis
        }
        _ => return,
    };
    match capture::between_apses(gm, speed, periapsis, apoapsis) {
        Ok(into) => table.relative(format!("{id} insertion"), into.dv * 1000.0, dv, 0.01),
        Err(error) => table.failed(format!("{id} insertion"), error),
    }
}
