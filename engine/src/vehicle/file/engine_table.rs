//! One `[[engine]]` of a vehicle file.

use toml::Spanned;
use toml::de::DeValue;

use super::{MASS_RANGE, POSITIVE, count, name, refused, share};
use crate::system::{Fields, Located, SystemError};
use crate::vehicle::{Engine, VehicleError};

pub(super) const KEYS: [&str; 9] =
    ["name", "thrust", "isp", "at", "throttle", "ignitions", "propellant", "mixture_ratio", "mass"];

pub(super) fn read(fields: &Fields<'_>) -> Result<Located<Engine>, SystemError> {
    let label = name(fields, "pad methalox")?;
    let isp = fields.required_within("isp", "352 s", (1e-3, 1e9), "above zero")?;
    let thrust = fields.quantity_within("thrust", "1150 kN", POSITIVE, "above zero")?;
    let refuse = |error: VehicleError| refused(fields.span.clone(), error.to_string(), "see docs/vehicles.md, engines");
    let mut engine = Engine::new(&label.value, isp, thrust).map_err(refuse)?;
    if let Some(at) =
        fields.fields("at", &["pressure", "isp", "thrust"], "{ pressure = \"101.325 kPa\", isp = \"318 s\" }")?
    {
        let pressure = at.required_within("pressure", "101.325 kPa", POSITIVE, "above zero")?;
        let impulse = at.quantity_within("isp", "318 s", (1e-3, 1e9), "above zero")?;
        let force = at.quantity_within("thrust", "1039 kN", (0.0, POSITIVE.1), "zero or more")?;
        let refuse = |error: VehicleError| {
            refused(at.span.clone(), error.to_string(), "give the figures in vacuum outside of `at`")
        };
        engine = match (impulse, force) {
            (Some(impulse), None) => engine.with_impulse_at(pressure, impulse).map_err(refuse)?,
            (None, Some(force)) => engine.with_thrust_at(pressure, force).map_err(refuse)?,
            (None, None) => return Err(at.missing("isp", "\"318 s\"")),
            (Some(_), Some(_)) => {
                let why = format!("{} tells both thrust and specific impulse; one of them says it all", at.owner);
                return Err(refused(at.span.clone(), why, "leave `thrust` out: the mass flow is the same in air"));
            }
        };
    }
    if let Some((least, greatest, span)) = throttle(fields)? {
        engine = engine
            .with_throttle(least, greatest)
            .map_err(|error| refused(span, error.to_string(), "write throttle = [0.55, 1.0]"))?;
    }
    engine.ignitions = count(fields, "ignitions")?;
    engine.propellant = fields.text("propellant", "methalox")?.map(|text| text.value);
    engine.mixture_ratio = share(fields, "mixture_ratio", "3.6", (1e-3, 1e3), "above zero")?;
    engine.mass = fields.quantity_within("mass", "1350 kg", MASS_RANGE, "above zero")?;
    Ok(Located { value: engine, span: label.span })
}

/// Least and greatest share.
fn throttle(fields: &Fields<'_>) -> Result<Option<(f64, f64, std::ops::Range<usize>)>, SystemError> {
    let Some(list) = fields.list("throttle", "[0.55, 1.0]")? else {
        return Ok(None);
    };
    let number = |value: &Spanned<DeValue<'_>>| match value.get_ref() {
        DeValue::Float(number) => number.as_str().parse::<f64>().ok(),
        DeValue::Integer(number) => number.as_str().parse::<f64>().ok(),
        _ => None,
    };
    let span = fields.value("throttle").map_or(fields.span.clone(), Spanned::span);
    let [least, greatest] = list else {
        let shown = format!("a list of {}", list.len());
        return Err(fields.out_of_range(
            "throttle",
            span,
            shown,
            "least and greatest share of the thrust: [0.55, 1.0]",
        ));
    };
    match (number(least), number(greatest)) {
        (Some(least), Some(greatest)) => Ok(Some((least, greatest, span))),
        _ => Err(fields.wrong_kind("throttle", least, "a list of two numbers", "[0.55, 1.0]")),
    }
}
