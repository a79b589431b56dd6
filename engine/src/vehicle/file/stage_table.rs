//! One `[[stage]]` of a vehicle file.

use super::{MASS_RANGE, POSITIVE, count, equipment_tables, name, refused, share, tables, texts};
use crate::system::{Fields, Located, SystemError, nearest};
use crate::vehicle::{Engine, Mount, Stage, VehicleError};

/// A stage, and what it says about others.
pub(super) struct Draft {
    pub(super) file: usize,
    pub(super) name: Located<String>,
    pub(super) stage: Stage,
    /// The carried craft that it is part of; the vehicle itself when `None`.
    pub(super) craft: Option<Located<String>>,
    pub(super) carries: Vec<Located<String>>,
    pub(super) parts: Vec<Located<String>>,
}

pub(super) const KEYS: [&str; 23] = [
    "name",
    "craft",
    "number",
    "dry",
    "propellant",
    "tank",
    "residual",
    "boil_off",
    "engines",
    "inert",
    "throttle",
    "throttle_beside",
    "beside",
    "feeds",
    "carries",
    equipment_tables::KEYS[0],
    equipment_tables::KEYS[1],
    equipment_tables::KEYS[2],
    equipment_tables::KEYS[3],
    equipment_tables::KEYS[4],
    equipment_tables::KEYS[5],
    equipment_tables::KEYS[6],
    equipment_tables::KEYS[7],
];

const TANK: [&str; 4] = ["holds", "mass", "capacity", "role"];

pub(super) fn read(fields: &Fields<'_>, file: usize, engines: &[Engine]) -> Result<Draft, SystemError> {
    let label = name(fields, "core")?;
    let from_zero = (0.0, MASS_RANGE.1);
    let dry = fields.required_within("dry", "14500 kg", MASS_RANGE, "above zero")?;
    let mounts = mounts(fields, engines)?;
    let (held, unusable) = propellant(fields, &mounts)?;
    let residual =
        fields.quantity_within("residual", "500 kg", from_zero, "zero or more")?.unwrap_or(0.0).max(unusable);
    if residual > held {
        let span = fields.value("residual").map_or(fields.span.clone(), toml::Spanned::span);
        return Err(fields.out_of_range("residual", span, format!("{residual} kg"), "part of the propellant"));
    }
    let inert = fields.boolean("inert")?.unwrap_or(false);
    let refuse = |error: VehicleError, instead: &str| refused(label.span.clone(), error.to_string(), instead);
    let feeds = fields.text("feeds", "core")?;
    let usable = held - residual;
    let mut stage = if !mounts.is_empty() {
        Stage::of_engines(&label.value, dry, usable, mounts)
            .map_err(|error| refuse(error, "give every engine a thrust: thrust = \"28 kN\""))?
    } else if feeds.is_some() {
        Stage::tank(&label.value, dry, usable).map_err(|error| refuse(error, "see docs/vehicles.md, stages"))?
    } else if inert && held == 0.0 {
        Stage::inert(&label.value, dry).map_err(|error| refuse(error, "see docs/vehicles.md, stages"))?
    } else {
        let error = VehicleError::NoEngine { stage: label.value.clone() };
        let instead = "write engines = [{ engine = \"…\", number = 1 }], or inert = true for a load without propellant";
        return Err(refuse(error, instead));
    };
    stage.residual = residual;
    stage.boil_off = fields.quantity_within("boil_off", "0.8 kg/d", (0.0, POSITIVE.1), "zero or more")?.unwrap_or(0.0);
    let part = "above 0 and at most 1.2";
    stage.throttle = share(fields, "throttle", "0.79", (1e-6, 1.2), part)?.unwrap_or(1.0);
    stage.throttle_beside = share(fields, "throttle_beside", "0.55", (1e-6, 1.2), part)?;
    let mut stage = stage.times(count(fields, "number")?.unwrap_or(1));
    stage.feeds = feeds.map(|text| text.value);
    stage.beside = fields.text("beside", "core")?.map(|text| text.value).or_else(|| stage.feeds.clone());
    if let Some(feeds) = &stage.feeds
        && stage.beside.as_ref() != Some(feeds)
    {
        let why = format!("stage `{}` feeds `{feeds}` and does not stand beside it", label.value);
        return Err(refused(label.span.clone(), why, "leave `beside` out: what feeds a stage stands beside it"));
    }
    let (equipment, parts) = equipment_tables::read(fields)?;
    stage.equipment = equipment;
    Ok(Draft {
        file,
        stage,
        craft: fields.text("craft", "lander")?,
        carries: texts(fields, "carries", "lander")?,
        parts,
        name: label,
    })
}

/// The engines of one unit, found by name.
fn mounts(fields: &Fields<'_>, engines: &[Engine]) -> Result<Vec<Mount>, SystemError> {
    let shape = "[{ engine = \"pad methalox\", number = 2 }]";
    let mut mounts = Vec::new();
    for row in tables(fields, "engines", &["engine", "number"], shape)? {
        let wanted = row.required_text("engine", "pad methalox")?;
        let Some(engine) = engines.iter().find(|engine| engine.name == wanted.value) else {
            let why = format!("{} names an engine `{}` that there is none of", fields.owner, wanted.value);
            let instead = match nearest(&wanted.value, engines.iter().map(|engine| engine.name.as_str())) {
                Some(near) => format!("did you mean `{near}`?"),
                None => "describe it: [[engine]], name, thrust and isp".to_owned(),
            };
            return Err(refused(wanted.span, why, &instead));
        };
        mounts.push(Mount { engine: engine.clone(), number: count(&row, "number")?.unwrap_or(1) });
    }
    Ok(mounts)
}

/// Propellant of one unit, and what of it the mixture ratio leaves over, kg.
fn propellant(fields: &Fields<'_>, mounts: &[Mount]) -> Result<(f64, f64), SystemError> {
    let from_zero = (0.0, MASS_RANGE.1);
    let rows = tables(fields, "tank", &TANK, "[{ holds = \"methane\", role = \"fuel\", mass = \"40 t\" }]")?;
    let stated = fields.quantity_within("propellant", "180 t", from_zero, "zero or more")?;
    if rows.is_empty() {
        return Ok((stated.unwrap_or(0.0), 0.0));
    }
    if stated.is_some() {
        let why = format!("{} tells its propellant twice, by `propellant` and by its tanks", fields.owner);
        return Err(refused(fields.span.clone(), why, "leave `propellant` out"));
    }
    let (mut held, mut oxidiser, mut fuel) = (0.0, 0.0, 0.0);
    for row in rows {
        let mass = row.required_within("mass", "40 t", from_zero, "zero or more")?;
        if let Some(capacity) = row.quantity_within("capacity", "42 t", MASS_RANGE, "above zero")?
            && mass > capacity
        {
            let span = row.value("mass").map_or(row.span.clone(), toml::Spanned::span);
            return Err(row.out_of_range("mass", span, format!("{mass} kg"), "what the tank can hold at most"));
        }
        row.text("holds", "methane")?;
        held += mass;
        match row.text("role", "fuel")? {
            None => {}
            Some(role) if role.value == "fuel" => fuel += mass,
            Some(role) if role.value == "oxidiser" => oxidiser += mass,
            Some(role) => {
                let shown = format!("{:?}", role.value);
                return Err(row.out_of_range("role", role.span, shown, "\"fuel\" or \"oxidiser\""));
            }
        }
    }
    let ratio = mounts.iter().find_map(|mount| mount.engine.mixture_ratio);
    let unusable = match ratio {
        // The one that runs out first leaves some of the other.
        Some(ratio) if fuel > 0.0 && oxidiser > 0.0 => {
            let burned = (fuel * (1.0 + ratio)).min(oxidiser * (1.0 + 1.0 / ratio));
            (fuel + oxidiser - burned).max(0.0)
        }
        _ => 0.0,
    };
    Ok((held, unusable))
}
