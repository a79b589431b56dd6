//! The tables of a stage's equipment.

use super::{MASS_RANGE, POSITIVE, count, name, share, tables};
use crate::system::{Fields, Located, SystemError};
use crate::vehicle::{Battery, Chute, ChuteKind, Equipment, Fairing, Float, HeatShield, Hull, Legs, Panel};

/// Heights and lengths, m.
const HEIGHT: (f64, f64) = (0.0, 1e9);

/// The keys of a stage that hold equipment.
pub(super) const KEYS: [&str; 8] = ["fairing", "heat_shield", "chute", "legs", "battery", "panel", "float", "hull"];

/// What a stage has, and the names of the parts that can be thrown off.
pub(super) fn read(stage: &Fields<'_>) -> Result<(Equipment, Vec<Located<String>>), SystemError> {
    let mut names = Vec::new();
    let mut equipment = Equipment::default();
    for fields in tables(stage, "fairing", &FAIRING, "[{ name = \"fairing\", mass = \"6000 kg\" }]")? {
        let label = name(&fields, "fairing")?;
        equipment.fairings.push(fairing(&fields, &label.value)?);
        names.push(label);
    }
    for fields in tables(stage, "heat_shield", &SHIELD, "[{ name = \"aeroshell\", mass = \"1900 kg\" }]")? {
        let label = name(&fields, "aeroshell")?;
        equipment.heat_shields.push(shield(&fields, &label.value)?);
        names.push(label);
    }
    for fields in tables(stage, "chute", &CHUTE, "[{ kind = \"main\", number = 3, diameter = \"36 m\", … }]")? {
        equipment.chutes.push(chute(&fields)?);
    }
    for fields in tables(stage, "legs", &["number", "rated_speed"], "[{ number = 4, rated_speed = \"1.5 m/s\" }]")? {
        let rated_speed = fields.required_within("rated_speed", "1.5 m/s", (1e-6, 1e4), "above zero")?;
        equipment.legs.push(Legs { number: count(&fields, "number")?, rated_speed });
    }
    for fields in tables(stage, "battery", &["energy"], "[{ energy = \"4 kWh\" }]")? {
        let energy = fields.required_within("energy", "4 kWh", POSITIVE, "above zero")?;
        equipment.batteries.push(Battery { energy });
    }
    for fields in tables(stage, "panel", &["area", "efficiency"], "[{ area = \"30 m^2\", efficiency = 0.3 }]")? {
        let area = fields.required_within("area", "30 m^2", POSITIVE, "above zero")?;
        let efficiency = share(&fields, "efficiency", "0.3", (1e-6, 1.0), "above 0 and at most 1")?;
        let efficiency = efficiency.ok_or_else(|| fields.missing("efficiency", "0.3"))?;
        equipment.panels.push(Panel { area, efficiency });
    }
    for fields in
        tables(stage, "float", &FLOAT, "[{ number = 3, diameter = \"2.3 m\", height = \"3 m\", offset = \"2.45 m\" }]")?
    {
        let length = |key, example| fields.required_within(key, example, (1e-6, HEIGHT.1), "above zero");
        equipment.floats.push(Float {
            number: count(&fields, "number")?.unwrap_or(1),
            diameter: length("diameter", "2.3 m")?,
            height: length("height", "3.0 m")?,
            offset: fields.quantity_within("offset", "2.45 m", HEIGHT, "zero or more")?.unwrap_or(0.0),
            bottom: fields.quantity_within("bottom", "0 m", HEIGHT, "zero or more")?.unwrap_or(0.0),
        });
    }
    if let Some(fields) = stage.fields("hull", &HULL, "{ volume = \"0.715 m^3\" }")? {
        equipment.hull = Some(hull(&fields)?);
    }
    Ok((equipment, names))
}

const FAIRING: [&str; 7] = ["name", "mass", "segments", "diameter", "altitude", "heat_flux", "leaves"];

fn fairing(fields: &Fields<'_>, name: &str) -> Result<Fairing, SystemError> {
    Ok(Fairing {
        name: name.to_owned(),
        mass: fields.required_within("mass", "6000 kg", MASS_RANGE, "above zero")?,
        segments: count(fields, "segments")?.unwrap_or(2),
        diameter: fields.quantity_within("diameter", "8.2 m", POSITIVE, "above zero")?,
        altitude: fields.quantity_within("altitude", "110 km", HEIGHT, "zero or more")?,
        heat_flux: fields.quantity_within("heat_flux", "1135 W/m^2", POSITIVE, "above zero")?,
        leaves: fields.text("leaves", "booster")?.map(|text| text.value),
    })
}

const SHIELD: [&str; 7] =
    ["name", "mass", "diameter", "drag_coefficient", "nose_radius", "ablator", "heat_of_ablation"];

fn shield(fields: &Fields<'_>, name: &str) -> Result<HeatShield, SystemError> {
    Ok(HeatShield {
        name: name.to_owned(),
        mass: fields.quantity_within("mass", "1900 kg", (0.0, MASS_RANGE.1), "zero or more")?.unwrap_or(0.0),
        diameter: fields.quantity_within("diameter", "7.6 m", POSITIVE, "above zero")?,
        drag_coefficient: share(fields, "drag_coefficient", "1.45", (1e-6, 10.0), "above 0 and at most 10")?,
        nose_radius: fields.quantity_within("nose_radius", "4.5 m", POSITIVE, "above zero")?,
        ablator: fields.quantity_within("ablator", "130 kg", (0.0, MASS_RANGE.1), "zero or more")?,
        heat_of_ablation: fields.quantity_within("heat_of_ablation", "20 MJ/kg", POSITIVE, "above zero")?,
    })
}

const CHUTE: [&str; 6] = ["kind", "number", "diameter", "drag_coefficient", "altitude", "speed"];

fn chute(fields: &Fields<'_>) -> Result<Chute, SystemError> {
    let kind = fields.required_text("kind", "main")?;
    let kind = match kind.value.as_str() {
        "drogue" => ChuteKind::Drogue,
        "main" => ChuteKind::Main,
        other => {
            return Err(fields.out_of_range("kind", kind.span, format!("{other:?}"), "\"drogue\" or \"main\""));
        }
    };
    let drag = share(fields, "drag_coefficient", "0.8", (1e-6, 10.0), "above 0 and at most 10")?;
    Ok(Chute {
        kind,
        number: count(fields, "number")?.unwrap_or(1),
        diameter: fields.required_within("diameter", "36 m", POSITIVE, "above zero")?,
        drag_coefficient: drag.ok_or_else(|| fields.missing("drag_coefficient", "0.8"))?,
        altitude: fields.quantity_within("altitude", "13.7 km", HEIGHT, "zero or more")?,
        speed: fields.quantity_within("speed", "150 m/s", POSITIVE, "above zero")?,
    })
}

const FLOAT: [&str; 5] = ["number", "diameter", "height", "offset", "bottom"];
const HULL: [&str; 6] = ["volume", "rated_pressure", "centre", "hatch", "hatch_limit", "ballast"];

fn hull(fields: &Fields<'_>) -> Result<Hull, SystemError> {
    let height = |key, example| fields.quantity_within(key, example, HEIGHT, "zero or more");
    Ok(Hull {
        volume: fields.quantity_within("volume", "0.715 m^3", POSITIVE, "above zero")?,
        rated_pressure: fields.quantity_within("rated_pressure", "16 MPa", POSITIVE, "above zero")?,
        centre: height("centre", "1.5 m")?,
        hatch: height("hatch", "1.60 m")?,
        hatch_limit: height("hatch_limit", "0.80 m")?,
        ballast: fields.quantity_within("ballast", "220 kg", (0.0, MASS_RANGE.1), "zero or more")?,
    })
}
