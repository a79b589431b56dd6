//! One `[[body]]` of a system file, read and checked by itself.

use std::f64::consts::{FRAC_PI_2, PI};
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::air_file::{self, AirDraft};
use super::document::{Fields, Located};
use super::error::{Problem, SystemError};
use super::gravity::Harmonics;
use super::sea_file::{self, SeaDraft};
use super::tree::Ring;
use crate::time::{Epoch, Scale};

/// Gravitational parameters from a pebble's to a galaxy's, m³/s²; outside of it derived figures overflow.
const GM_RANGE: (f64, f64) = (1e-12, 1e40);
/// Lengths of bodies and orbits, m.
const LENGTH_RANGE: (f64, f64) = (1e-2, 1e21);

pub(super) struct BodyDraft {
    pub(super) name: Located<String>,
    pub(super) about: String,
    pub(super) parent: Option<Located<String>>,
    pub(super) span: Range<usize>,
    pub(super) gm: f64,
    pub(super) gm_system: Option<f64>,
    pub(super) radius: f64,
    pub(super) intermediate_radius: Option<f64>,
    pub(super) polar_radius: Option<f64>,
    pub(super) mean_radius: Option<f64>,
    pub(super) luminosity: Option<f64>,
    pub(super) harmonics: Option<Harmonics>,
    pub(super) orbit: Option<OrbitDraft>,
    pub(super) spin: Option<SpinDraft>,
    pub(super) air: Option<AirDraft>,
    pub(super) sea: Option<SeaDraft>,
    pub(super) ring: Option<Ring>,
}

pub(super) struct OrbitDraft {
    pub(super) span: Range<usize>,
    pub(super) epoch: Option<Epoch>,
    pub(super) equator_of_parent: bool,
    pub(super) semi_major_axis: f64,
    pub(super) eccentricity: f64,
    /// Inclination, ascending node, argument of periapsis, mean anomaly, rad.
    pub(super) angles: [f64; 4],
    /// Drift of the last three, rad/s; the mean motion that the sizes imply where none is given.
    pub(super) rates: Option<[Option<f64>; 3]>,
}

pub(super) enum SpinDraft {
    Locked { span: Range<usize> },
    Steady { period: f64, right_ascension: f64, declination: f64, meridian: f64 },
}

const BODY_KEYS: [&str; 16] = [
    "name",
    "about",
    "parent",
    "gm",
    "gm_system",
    "radius",
    "intermediate_radius",
    "polar_radius",
    "mean_radius",
    "luminosity",
    "gravity",
    "orbit",
    "spin",
    "air",
    "sea",
    "ring",
];

pub(super) fn read(table: &DeTable<'_>, span: Range<usize>, number: usize) -> Result<BodyDraft, SystemError> {
    let owner = match table.get("name").map(Spanned::get_ref) {
        Some(DeValue::String(name)) => format!("body `{name}`"),
        _ => format!("body number {number}"),
    };
    let fields = Fields::open(owner, span.clone(), table, &BODY_KEYS)?;
    let name = fields.required_text("name", "Maren")?;
    if name.value.is_empty() || name.value.trim() != name.value || name.value.chars().any(char::is_control) {
        return Err(fields.out_of_range(
            "name",
            name.span,
            format!("{:?}", name.value),
            "a name without spaces at its ends or control characters in it",
        ));
    }
    let positive = "positive, and within what a body can have";
    let radius = |key, example| fields.quantity_within(key, example, LENGTH_RANGE, positive);
    Ok(BodyDraft {
        about: fields.text("about", "cold small giant")?.map(|text| text.value).unwrap_or_default(),
        parent: fields.text("parent", "Oru")?,
        gm: fields.required_within("gm", "9.8e4 km^3/s^2", GM_RANGE, positive)?,
        gm_system: fields.quantity_within("gm_system", "9.8e4 km^3/s^2", GM_RANGE, positive)?,
        radius: fields.required_within("radius", "4250 km", LENGTH_RANGE, positive)?,
        intermediate_radius: radius("intermediate_radius", "4240 km")?,
        polar_radius: radius("polar_radius", "4230 km")?,
        mean_radius: radius("mean_radius", "4240 km")?,
        luminosity: fields.quantity_within("luminosity", "6.7e26 W", (f64::MIN_POSITIVE, 1e40), "positive")?,
        harmonics: gravity(&fields)?,
        orbit: orbit(&fields)?,
        spin: spin(&fields)?,
        air: air_file::read(&fields)?,
        sea: sea_file::read(&fields)?,
        ring: ring(&fields)?,
        name,
        span,
    })
}

fn gravity(body: &Fields<'_>) -> Result<Option<Harmonics>, SystemError> {
    const ZONAL: [&str; 5] = ["J2", "J3", "J4", "J5", "J6"];
    let known = ["reference_radius", "J2", "J3", "J4", "J5", "J6", "C22"];
    let Some(fields) = body.fields("gravity", &known, "{ J2 = 1.5e-3 }")? else {
        return Ok(None);
    };
    let small = |key: &'static str| match fields.number(key, "1.5e-3")? {
        Some(found) if found.value.abs() >= 1.0 => {
            Err(fields.out_of_range(key, found.span, found.value.to_string(), "smaller than 1"))
        }
        found => Ok(found.map_or(0.0, |found| found.value)),
    };
    let mut zonal = [0.0; 5];
    for (value, key) in zonal.iter_mut().zip(ZONAL) {
        *value = small(key)?;
    }
    let stated = fields.quantity_within("reference_radius", "4250 km", LENGTH_RANGE, "positive")?;
    let own = body.required_quantity("radius", "4250 km")?.value;
    Ok(Some(Harmonics { reference_radius: stated.unwrap_or(own), zonal, c22: small("C22")? }))
}

fn orbit(body: &Fields<'_>) -> Result<Option<OrbitDraft>, SystemError> {
    let known = [
        "epoch",
        "plane",
        "semi_major_axis",
        "eccentricity",
        "inclination",
        "ascending_node",
        "argument_of_periapsis",
        "mean_anomaly",
        "rates",
    ];
    let Some(fields) = body.fields("orbit", &known, "{ plane = \"reference\", semi_major_axis = \"1.85 au\", … }")?
    else {
        return Ok(None);
    };
    let plane = fields.required_text("plane", "reference")?;
    let equator_of_parent = match plane.value.as_str() {
        "reference" => false,
        "equator of parent" => true,
        other => {
            let needs = "\"reference\" or \"equator of parent\"";
            return Err(fields.out_of_range("plane", plane.span, format!("{other:?}"), needs));
        }
    };
    let semi_major_axis = fields.required_within(
        "semi_major_axis",
        "1.85 au",
        LENGTH_RANGE,
        "positive, and within what an orbit can have",
    )?;
    let eccentricity = fields.required_number("eccentricity", "0.025")?;
    if !(0.0..1.0).contains(&eccentricity.value) {
        let needs = "from 0 to less than 1: a body's orbit is closed";
        return Err(fields.out_of_range("eccentricity", eccentricity.span, eccentricity.value.to_string(), needs));
    }
    let turn = (-1e6, 1e6);
    let angle = |key| fields.required_within(key, "95 deg", turn, "an angle of some turns at most");
    let inclination =
        fields.required_within("inclination", "0.4 deg", (0.0, PI * (1.0 + 1e-15)), "from 0 to 180 degrees")?;
    let angles = [inclination, angle("ascending_node")?, angle("argument_of_periapsis")?, angle("mean_anomaly")?];
    let rates = match fields.fields("rates", &["ascending_node", "argument_of_periapsis", "mean_anomaly"], "{ }")? {
        Some(rates) => {
            let rate = |key| rates.quantity_within(key, "0.05 deg/d", (-1e3, 1e3), "a slower turn");
            Some([rate("ascending_node")?, rate("argument_of_periapsis")?, rate("mean_anomaly")?])
        }
        None => None,
    };
    let epoch = match fields.text("epoch", "2140-01-01T00:00:00 TDB")? {
        Some(text) => Some(epoch(&fields, &text)?),
        None => None,
    };
    let span = fields.span.clone();
    Ok(Some(OrbitDraft {
        span,
        epoch,
        equator_of_parent,
        semi_major_axis,
        eccentricity: eccentricity.value,
        angles,
        rates,
    }))
}

/// An epoch written in a file. UTC is refused: its leap seconds belong to the Earth.
pub(super) fn epoch(fields: &Fields<'_>, text: &Located<String>) -> Result<Epoch, SystemError> {
    let unreadable = |message: String| {
        let example = "epoch = \"2140-01-01T00:00:00 TDB\"".to_string();
        let problem = Problem::Unreadable { owner: fields.owner.clone(), key: "epoch".into(), message, example };
        SystemError::at(text.span.clone(), problem)
    };
    match Epoch::parse(&text.value) {
        Ok(epoch) if epoch.scale() == Scale::Utc => Err(unreadable("a system file counts no leap seconds".into())),
        Ok(epoch) => Ok(epoch),
        Err(error) => Err(unreadable(error.to_string())),
    }
}

fn spin(body: &Fields<'_>) -> Result<Option<SpinDraft>, SystemError> {
    let example = "{ locked = true }";
    let Some(fields) = body.fields("spin", &["period", "pole", "meridian", "locked"], example)? else {
        return Ok(None);
    };
    if fields.boolean("locked")? == Some(true) {
        if let Some(key) = ["period", "pole", "meridian"].into_iter().find(|key| fields.has(key)) {
            return Err(SystemError::at(
                fields.value(key).map_or(fields.span.clone(), Spanned::span),
                Problem::Contradiction {
                    owner: fields.owner.clone(),
                    why: format!("a locked body takes its turning from its orbit, so `{key}` says it twice"),
                    instead: format!("leave `{key}` out, or leave `locked` out"),
                },
            ));
        }
        return Ok(Some(SpinDraft::Locked { span: fields.span.clone() }));
    }
    let period = fields.required_within("period", "22 h", (1e-3, 1e15), "positive")?;
    let meridian = fields.required_within("meridian", "0 deg", (-1e6, 1e6), "an angle of some turns at most")?;
    let keys = ["right_ascension", "declination"];
    let shape = "{ right_ascension = \"330 deg\", declination = \"72 deg\" }";
    let pole = fields.fields("pole", &keys, shape)?.ok_or_else(|| fields.missing("pole", shape))?;
    let quarter = FRAC_PI_2 * (1.0 + 1e-15);
    Ok(Some(SpinDraft::Steady {
        period,
        meridian,
        right_ascension: pole.required_within(
            "right_ascension",
            "330 deg",
            (-1e6, 1e6),
            "an angle of some turns at most",
        )?,
        declination: pole.required_within("declination", "72 deg", (-quarter, quarter), "from -90 to 90 degrees")?,
    }))
}

fn ring(body: &Fields<'_>) -> Result<Option<Ring>, SystemError> {
    let example = "{ inner = \"76000 km\", outer = \"97500 km\" }";
    let Some(fields) = body.fields("ring", &["inner", "outer"], example)? else {
        return Ok(None);
    };
    let inner = fields.required_within("inner", "76000 km", LENGTH_RANGE, "positive")?;
    let outer = fields.required_within("outer", "97500 km", (inner, LENGTH_RANGE.1), "outside the inner edge")?;
    Ok(Some(Ring { inner, outer }))
}
