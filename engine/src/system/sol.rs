//! The Solar System, put together from its built-in tables.

use super::assembly::{self, Motion, Placement, Turning};
use super::body_file::BodyDraft;
use super::ellipse::{CENTURY, Drift, MeanEllipse, Wave};
use super::error::{Problem, SystemError};
use super::path::{PackBody, PackPlace, Path};
use super::spin::{Quantity, Rotation, RotationModel, Term, equator};
use super::table::{Row, Table};
use super::tree::{EphemerisChoice, Inner};
use crate::constants::{ASTRONOMICAL_UNIT, OBLIQUITY_J2000};
use crate::time::Epoch;
use crate::vector::{Mat3, Vec3};

const FILE: &str = include_str!("../../data/sol.toml");
const ROTATION: &str = include_str!("../../data/sol_rotation.csv");
const ROTATION_TERMS: &str = include_str!("../../data/rotation_terms.csv");
const PLANETS: &str = include_str!("../../data/standish_elements.csv");
const MOONS: &str = include_str!("../../data/moons_mean_elements.csv");
const BOUNDS: &str = include_str!("../../data/sol_bounds.csv");

/// Mass of the Earth over that of the Moon. DE440, as the pack's description gives it.
pub(crate) const EARTH_MOON_RATIO: f64 = 81.300_568_221_497_215;
/// Spans in TDB days past J2000, JD 2451545: the pack's, and those that the source states for its two tables of elements.
const PACK_SPAN: (f64, f64) = (2_433_282.5 - 2_451_545.0, 2_488_069.5 - 2_451_545.0);
const TABLE_1_SPAN: (f64, f64) = (2_378_496.5 - 2_451_545.0, 2_470_172.5 - 2_451_545.0);
const TABLE_2_SPAN: (f64, f64) = (625_673.5 - 2_451_545.0, 2_816_787.5 - 2_451_545.0);

/// The ecliptic of J2000 as columns in ICRF axes: a turn about x by the obliquity of 1976.
pub(super) fn ecliptic() -> Mat3 {
    let (sin, cos) = OBLIQUITY_J2000.sin_cos();
    Mat3::from_columns(&[Vec3::x(), Vec3::new(0.0, cos, sin), Vec3::new(0.0, -sin, cos)])
}

pub(super) fn read(choice: EphemerisChoice) -> Result<Inner, SystemError> {
    let tables = Tables {
        choice,
        rotation: Table::read("sol_rotation.csv", ROTATION),
        terms: Table::read("rotation_terms.csv", ROTATION_TERMS),
        planets: Table::read("standish_elements.csv", PLANETS),
        moons: Table::read("moons_mean_elements.csv", MOONS),
        bounds: Table::read("sol_bounds.csv", BOUNDS),
    };
    let mut inner = assembly::read(FILE, "sol", ecliptic(), &|draft| tables.place(draft))?;
    let (first, last) = tables.span();
    let epoch = |days: f64| {
        Epoch::from_julian_date_tdb(2_451_545.0 + days, 0.0).map_err(|error| {
            let problem = Problem::DamagedTable { table: "spans of the ephemerides", message: error.to_string() };
            SystemError::nowhere(problem)
        })
    };
    inner.span = Some((epoch(first)?, epoch(last)?));
    inner.counts_utc = true;
    inner.identity.1 = format!("{choice:?}");
    Ok(inner)
}

struct Tables<'t> {
    choice: EphemerisChoice,
    rotation: Table<'t>,
    terms: Table<'t>,
    planets: Table<'t>,
    moons: Table<'t>,
    bounds: Table<'t>,
}

impl Tables<'_> {
    fn span(&self) -> (f64, f64) {
        match self.choice {
            EphemerisChoice::Default => PACK_SPAN,
            EphemerisChoice::Mean => TABLE_2_SPAN,
            EphemerisChoice::MeanNarrow => TABLE_1_SPAN,
        }
    }

    fn place(&self, draft: &BodyDraft) -> Result<Placement, SystemError> {
        let name = draft.name.value.as_str();
        let key = name.to_lowercase();
        let words = (key == "ceres").then(|| {
            let source = "fixed ellipse that touched its path on 2026-06-09, JPL small-body database".to_string();
            (source, "not measured; exact on that day, degrees off decades away from it".to_string())
        });
        Ok(Placement { motion: self.motion(name, &key)?, turning: self.turning(&key)?, words })
    }

    fn motion(&self, name: &str, key: &str) -> Result<Option<Motion>, SystemError> {
        let row_name = if key == "earth" { "EMB" } else { name };
        let planet = self.planets.find(&[("table", "1"), ("planet", row_name)]);
        let moon = self.moons.find(&[("moon", key)]);
        let size = match (&planet, &moon) {
            (Some(row), _) => (row.number("a_au")? * ASTRONOMICAL_UNIT, row.number("e")?),
            (_, Some(row)) => (row.number("a_km")? * 1e3, row.number("e")?),
            _ if key == "sun" => {
                let source = "the origin of the axes".to_string();
                let accuracy = "exact by definition".to_string();
                return Ok(Some(Motion { path: Path::Root, size: None, source, accuracy }));
            }
            // Ceres: the fixed ellipse of the file.
            _ => return Ok(None),
        };
        let size = Some(size);
        if self.choice == EphemerisChoice::Default
            && let Some(place) = PackPlace::by_name(key)
        {
            return self.pack(key, place).map(|path| {
                let (source, accuracy) = pack_words(place);
                Some(Motion { path, size, source, accuracy })
            });
        }
        if let Some(row) = moon {
            let path = Path::Mean(Box::new(moon_ellipse(row)?));
            let source = format!("precessing mean ellipse [JPLMoons]; {}", row.text("method")?);
            return Ok(Some(Motion { path, size, source, accuracy: moon_words(row)? }));
        }
        let table = if self.choice == EphemerisChoice::MeanNarrow { "1" } else { "2" };
        let Some(row) = self.planets.find(&[("table", table), ("planet", row_name)]) else {
            return Ok(None);
        };
        let ellipse = Box::new(planet_ellipse(row)?);
        let path = match self.moons.find(&[("moon", "moon")]) {
            Some(moon) if key == "earth" => {
                Path::MeanWithMoon { barycentre: ellipse, moon: Box::new(moon_ellipse(moon)?), ratio: EARTH_MOON_RATIO }
            }
            _ => Path::Mean(ellipse),
        };
        let source = format!("mean elements of [JPLPlanets], table {table}{}", barycentre_words(key));
        Ok(Some(Motion { path, size, source, accuracy: planet_words(row)? }))
    }

    fn pack(&self, key: &str, place: PackPlace) -> Result<Path, SystemError> {
        let (radial_bounds, speed_bound) = match self.bounds.find(&[("body", key)]) {
            Some(row) => {
                let radial = (row.number("least_km")? * 1e3, row.number("greatest_km")? * 1e3);
                (radial, row.number("speed_km_s")? * 1e3)
            }
            None => ((0.0, f64::INFINITY), f64::INFINITY),
        };
        Ok(Path::Pack(PackBody { place, radial_bounds, speed_bound }))
    }

    fn turning(&self, key: &str) -> Result<Option<Turning>, SystemError> {
        let Some(row) = self.rotation.find(&[("body", key)]) else {
            return Ok(None);
        };
        let three = |a: &str, b: &str, c: &str| -> Result<[f64; 3], SystemError> {
            Ok([row.degrees(a)?, row.degrees(b)?, row.degrees(c)?])
        };
        let mut model = RotationModel {
            right_ascension: three("ra0", "ra1", "ra2")?,
            declination: three("dec0", "dec1", "dec2")?,
            meridian: three("w0", "w1", "w2")?,
            terms: Vec::new(),
        };
        for term in self.terms.rows() {
            if term.text("body")? != key {
                continue;
            }
            let quantity = match term.text("quantity")? {
                "ra" => Quantity::RightAscension,
                "dec" => Quantity::Declination,
                _ => Quantity::Meridian,
            };
            let angle = [term.degrees("a0_deg")?, term.degrees("a1_deg_per_cy")?, term.degrees("a2_deg_per_cy2")?];
            model.terms.push(Term { quantity, coefficient: term.degrees("coeff_deg")?, angle });
        }
        let rate = model.meridian[1];
        let locked = row.number("locked")? != 0.0;
        Ok(Some(Turning { rotation: Rotation::Model(Box::new(model)), rate, locked }))
    }
}

/// Elements of a planet, ecliptic J2000, rates per Julian century: mean anomaly L − ϖ + b T² + c cos fT + s sin fT. [JPLPlanets]
fn planet_ellipse(row: Row<'_>) -> Result<MeanEllipse, SystemError> {
    let drift = |value: &str, rate: &str, unit: f64| -> Result<Drift, SystemError> {
        Ok(Drift { value: row.number(value)? * unit, rate: row.number(rate)? * unit / CENTURY })
    };
    let degree = 1.0_f64.to_radians();
    let longitude = drift("L_deg", "L_rate_deg_cy", degree)?;
    let periapsis = drift("long_peri_deg", "long_peri_rate_deg_cy", degree)?;
    let node = drift("long_node_deg", "long_node_rate_deg_cy", degree)?;
    let less = |a: Drift, b: Drift| Drift { value: a.value - b.value, rate: a.rate - b.rate };
    let rate = row.degrees("f_deg")? / CENTURY;
    let wave = |amplitude: f64, phase: f64| Wave { amplitude, phase, rate };
    let waves = [wave(row.degrees("c_deg")?, std::f64::consts::FRAC_PI_2), wave(row.degrees("s_deg")?, 0.0)];
    Ok(MeanEllipse {
        epoch: (0.0, 0.0),
        frame: ecliptic(),
        semi_major_axis: drift("a_au", "a_rate_au_cy", ASTRONOMICAL_UNIT)?,
        eccentricity: drift("e", "e_rate_cy", 1.0)?,
        inclination: drift("i_deg", "i_rate_deg_cy", degree)?,
        ascending_node: node,
        argument_of_periapsis: less(periapsis, node),
        mean_anomaly: less(longitude, periapsis),
        longitudes: Some([
            (row.number("L_deg")?, row.number("L_rate_deg_cy")?),
            (row.number("long_peri_deg")?, row.number("long_peri_rate_deg_cy")?),
        ]),
        mean_anomaly_square: row.degrees("b_deg")? / (CENTURY * CENTURY),
        waves: waves.into_iter().filter(|wave| wave.amplitude != 0.0).collect(),
    })
}

/// Elements of a moon about its planet, in a plane given by its pole, as the table's own header explains.
fn moon_ellipse(row: Row<'_>) -> Result<MeanEllipse, SystemError> {
    let still = |value: f64| Drift { value, rate: 0.0 };
    let drift = |value: &str, rate: &str| -> Result<Drift, SystemError> {
        Ok(Drift { value: row.degrees(value)?, rate: row.degrees(rate)? })
    };
    let node = drift("node0_deg", "node_rate_deg_day")?;
    let argument = drift("peri0_deg", "peri_rate_deg_day")?;
    let longitude = drift("lambda0_deg", "n_deg_day")?;
    let sense = row.number("s")?;
    let libration = Wave {
        amplitude: row.degrees("lib_amp_deg")?,
        phase: row.degrees("lib_phase0_deg")?,
        rate: row.degrees("lib_rate_deg_cy")? / CENTURY,
    };
    Ok(MeanEllipse {
        epoch: (0.0, 0.0),
        frame: equator(row.degrees("pole_ra_deg")?, row.degrees("pole_dec_deg")?),
        semi_major_axis: still(row.number("a_km")? * 1e3),
        eccentricity: still(row.number("e")?),
        inclination: still(row.degrees("i_deg")?),
        ascending_node: node,
        argument_of_periapsis: argument,
        mean_anomaly: Drift {
            value: longitude.value - sense * node.value - argument.value,
            rate: longitude.rate - sense * node.rate - argument.rate,
        },
        longitudes: None,
        mean_anomaly_square: row.degrees("q_deg_day2")?,
        waves: Some(libration).into_iter().filter(|wave| wave.amplitude != 0.0).collect(),
    })
}

/// From Mars outward a table's planet is the barycentre of the planet and its moons.
fn barycentre_words(key: &str) -> &'static str {
    match key {
        "mars" | "jupiter" | "saturn" | "uranus" | "neptune" => "; the planet stands for its system's barycentre",
        "pluto" => "; Pluto stands for its system's barycentre, 2132 km from its centre",
        _ => "",
    }
}

fn pack_words(place: PackPlace) -> (String, String) {
    let key = format!("{place:?}").to_lowercase();
    let source = format!("Chebyshev refit of DE440 [Park2021]{}", barycentre_words(&key));
    (source, "about 1 km and 0.2 m/s at worst, 1950 to 2100; pieces join to within twice that".to_string())
}

fn planet_words(row: Row<'_>) -> Result<String, SystemError> {
    let thousands = row.number("err_r_1000km")?;
    let distance =
        if thousands < 1000.0 { format!("{thousands} 000 km") } else { format!("{} million km", thousands / 1e3) };
    Ok(format!(
        "typically {} arcseconds and {distance}, as the source states; at worst several times more",
        row.text("err_ra_arcsec")?
    ))
}

fn moon_words(row: Row<'_>) -> Result<String, SystemError> {
    let (angle, distance) = (row.text("err_after_deg")?, row.text("err_after_km")?);
    Ok(if angle.is_empty() {
        "not compared with published positions".to_string()
    } else {
        format!("{angle} degrees, {distance} km at worst over the positions compared; more between and far from them")
    })
}
