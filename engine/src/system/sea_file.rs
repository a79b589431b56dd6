//! The `sea` of a body in a system file, read and checked by itself, then built under the body's air and gravity.

use std::ops::Range;

use toml::Spanned;
use toml::de::DeValue;

use super::document::Fields;
use super::error::{Problem, SystemError};
use super::sea::{Equation, Mix, Sea, SeaSite, Shore, Water};

/// Every kind of water and its keys; the first one is meant where the file does not say.
const MODELS: [(&str, &[&str]); 4] = [
    ("linear", &["model", "salinity", "density", "compressibility", "temperature", "viscosity", "depth", "site"]),
    ("TEOS-10", &["model", "salinity", "temperature", "depth", "site"]),
    ("EOS-80", &["model", "salinity", "temperature", "depth", "site"]),
    ("hydrocarbon", &["model", "methane", "ethane", "nitrogen", "temperature", "depth", "site"]),
];
const ALL: [&str; 11] = [
    "model",
    "salinity",
    "density",
    "compressibility",
    "temperature",
    "viscosity",
    "methane",
    "ethane",
    "nitrogen",
    "depth",
    "site",
];

/// Salinities and temperatures that the equations of sea water were made for, kg/kg and K.
const SALINITIES: (f64, f64) = (0.0, 0.042);
const TEMPERATURES: (f64, f64) = (271.15, 313.15);
/// Pressure to which they are carried here, Pa: 11 000 dbar, the deepest place of the Earth.
const GREATEST_PRESSURE: f64 = 1.1e8;

/// What a file says of a sea.
pub(super) struct SeaDraft {
    span: Range<usize>,
    water: Water,
    temperature: Vec<(f64, f64)>,
    depth: (f64, f64),
    sites: Vec<SeaSite>,
}

/// Reads the sea of a body, where it has any.
pub(super) fn read(body: &Fields<'_>) -> Result<Option<SeaDraft>, SystemError> {
    let example = "{ density = \"1024 kg/m^3\", … }";
    let Some(all) = body.fields("sea", &ALL, example)? else {
        return Ok(None);
    };
    let model = all.text("model", "linear")?;
    let name = model.as_ref().map_or(MODELS[0].0, |model| model.value.as_str());
    let Some((name, known)) = MODELS.iter().find(|(known, _)| *known == name) else {
        let span = model.as_ref().map_or(all.span.clone(), |model| model.span.clone());
        let needs = "\"linear\", \"TEOS-10\", \"EOS-80\" or \"hydrocarbon\"";
        return Err(all.out_of_range("model", span, format!("{name:?}"), needs));
    };
    let Some(fields) = body.fields("sea", known, example)? else {
        return Ok(None);
    };
    let depth = depths(&fields)?;
    let sites = sites(&fields, depth)?;
    let (water, temperature) = match *name {
        "linear" => (linear(&fields)?, temperatures(&fields, (1.0, 1e4), "from 1 K to 10 000 K")?),
        "hydrocarbon" => {
            let mix = mix(&fields)?;
            let range = mix.temperatures();
            let needs = format!("from {:.2} K to {:.2} K, where all its parts are liquids", range.0, range.1);
            (Water::Hydrocarbon(mix), needed(&fields, range, &needs)?)
        }
        name => {
            let equation = if name == "TEOS-10" { Equation::Teos10 } else { Equation::Eos80 };
            let salinity = fields.required_within("salinity", "35.165 g/kg", SALINITIES, "from 0 to 42 g/kg")?;
            let needs = "from -2 to 40 degrees Celsius (271.15 K to 313.15 K)";
            (Water::SeaWater { equation, salinity }, needed(&fields, TEMPERATURES, needs)?)
        }
    };
    Ok(Some(SeaDraft { span: fields.span.clone(), water, temperature, depth, sites }))
}

fn depths(fields: &Fields<'_>) -> Result<(f64, f64), SystemError> {
    let shape = "[\"0 m\", \"6200 m\"]";
    let ends = fields.list("depth", shape)?.ok_or_else(|| fields.missing("depth", shape))?;
    let [shallow, deep] = ends else {
        let all = fields.value("depth").map_or(fields.span.clone(), Spanned::span);
        return Err(fields.out_of_range("depth", all, format!("a list of {}", ends.len()), "least and greatest depth"));
    };
    let least = fields.quantity_of("depth", shallow, "0 m")?;
    let most = fields.quantity_of("depth", deep, "6200 m")?;
    if !(least.value >= 0.0 && most.value > least.value && most.value <= 1e7) {
        let shown = format!("{} m to {} m", least.value, most.value);
        return Err(fields.out_of_range("depth", most.span, shown, "least and greatest depth, rising from 0 or more"));
    }
    Ok((least.value, most.value))
}

fn sites(fields: &Fields<'_>, depths: (f64, f64)) -> Result<Vec<SeaSite>, SystemError> {
    let shape = "[{ name = \"vent\", depth = \"4200 m\" }]";
    let mut sites = Vec::new();
    for value in fields.list("site", shape)?.unwrap_or_default() {
        let DeValue::Table(table) = value.get_ref() else {
            return Err(fields.wrong_kind("site", value, "a list of tables", shape));
        };
        let site = Fields::open(format!("a site of {}", fields.owner), value.span(), table, &["name", "depth"])?;
        let name = site.required_text("name", "vent")?.value;
        let depth = site.required_within("depth", "4200 m", depths, "inside the depths of the sea")?;
        sites.push(SeaSite { name, depth });
    }
    Ok(sites)
}

fn linear(fields: &Fields<'_>) -> Result<Water, SystemError> {
    Ok(Water::Linear {
        salinity: fields.required_within("salinity", "31 g/kg", (0.0, 0.999), "from 0 to less than 1")?,
        density: fields.required_within("density", "1024 kg/m^3", (1.0, 1e5), "from 1 to 1e5 kg/m³")?,
        compressibility: fields.required_within(
            "compressibility",
            "4.5e-10 1/Pa",
            (1e-15, 1e-3),
            "from 1e-15 to 1e-3 1/Pa",
        )?,
        viscosity: fields.quantity_within("viscosity", "1.3e-3 Pa s", (1e-9, 1e9), "positive")?,
    })
}

fn mix(fields: &Fields<'_>) -> Result<Mix, SystemError> {
    let mut shares = [0.0; 3];
    for (share, key) in shares.iter_mut().zip(["methane", "ethane", "nitrogen"]) {
        let Some(found) = fields.number(key, "0.7")? else { continue };
        if !(0.0..=1.0).contains(&found.value) {
            return Err(fields.out_of_range(key, found.span, found.value.to_string(), "a share by mole from 0 to 1"));
        }
        *share = found.value;
    }
    let sum: f64 = shares.iter().sum();
    match Mix::new(shares[0], shares[1], shares[2]) {
        Some(mix) if (sum - 1.0).abs() <= 1e-6 => Ok(mix),
        _ => {
            let problem = Problem::Contradiction {
                owner: fields.owner.clone(),
                why: format!("the shares of methane, ethane and nitrogen add up to {sum}, not to 1"),
                instead: "write shares by mole that add up to 1: methane = 0.7, ethane = 0.2, nitrogen = 0.1".into(),
            };
            Err(SystemError::at(fields.span.clone(), problem))
        }
    }
}

fn needed(fields: &Fields<'_>, range: (f64, f64), needs: &str) -> Result<Vec<(f64, f64)>, SystemError> {
    let rows = temperatures(fields, range, needs)?;
    if rows.is_empty() { Err(fields.missing("temperature", "\"277 K\"")) } else { Ok(rows) }
}

/// One temperature, or rows of depth and temperature from the surface down.
fn temperatures(fields: &Fields<'_>, range: (f64, f64), needs: &str) -> Result<Vec<(f64, f64)>, SystemError> {
    let Some(value) = fields.value("temperature") else { return Ok(Vec::new()) };
    if !matches!(value.get_ref(), DeValue::Array(_)) {
        return Ok(vec![(0.0, fields.required_within("temperature", "277 K", range, needs)?)]);
    }
    let shape = "[[\"0 m\", \"290 K\"], [\"1000 m\", \"277 K\"]]";
    let mut rows: Vec<(f64, f64)> = Vec::new();
    for row in fields.list("temperature", shape)?.unwrap_or_default() {
        let DeValue::Array(pair) = row.get_ref() else {
            return Err(fields.wrong_kind("temperature", row, "a list of pairs, depth and temperature", shape));
        };
        let [depth, warmth] = &pair[..] else {
            let shown = format!("a row of {}", pair.len());
            return Err(fields.out_of_range(
                "temperature",
                row.span(),
                shown,
                "a list of pairs, depth and temperature",
            ));
        };
        let depth = fields.quantity_of("depth of temperature", depth, "1000 m")?;
        let warmth = fields.quantity_of("temperature by depth", warmth, "277 K")?;
        if !(depth.value >= 0.0 && depth.value <= 1e7 && rows.last().is_none_or(|last| depth.value > last.0)) {
            let shown = format!("{} m", depth.value);
            return Err(fields.out_of_range("temperature", depth.span, shown, "given at depths that rise from 0"));
        }
        if !(warmth.value >= range.0 && warmth.value <= range.1) {
            return Err(fields.out_of_range("temperature", warmth.span, format!("{} K", warmth.value), needs));
        }
        rows.push((depth.value, warmth.value));
    }
    Ok(rows)
}

/// The sea under its body's air and gravity.
pub(super) fn built(body: &str, draft: Option<&SeaDraft>, shore: Shore) -> Result<Option<Sea>, SystemError> {
    let Some(draft) = draft else {
        return Ok(None);
    };
    let refuse = |why: String, instead: &str| {
        let problem = Problem::Contradiction { owner: format!("`sea` of body `{body}`"), why, instead: instead.into() };
        Err(SystemError::at(draft.span.clone(), problem))
    };
    match draft.water {
        Water::Linear { density, compressibility, .. } => {
            // The closed form of the pressure ends where compressibility times weight reaches 1.
            let squeeze = compressibility * density * shore.gravity * draft.depth.1;
            if squeeze >= 0.5 {
                let why = format!(
                    "its water would shrink to nothing: compressibility × density × gravity × depth is {squeeze:.2}"
                );
                return refuse(why, "write a smaller compressibility or depth");
            }
        }
        Water::SeaWater { .. } | Water::Hydrocarbon(_) => {
            // At the densities of the surface, a little below what is found then.
            let most = if matches!(draft.water, Water::Hydrocarbon(_)) { 1e9 } else { GREATEST_PRESSURE };
            let about = shore.air_pressure + 1000.0 * shore.gravity * draft.depth.1;
            if about > 1.02 * most {
                let why = format!("about {about:.3e} Pa at its floor are beyond the {most:.3e} Pa of its equation");
                return refuse(why, "write a smaller depth, or a sea of constant compressibility");
            }
        }
    }
    Ok(Some(Sea::new(draft.water, draft.temperature.clone(), draft.depth, draft.sites.clone(), shore)))
}
