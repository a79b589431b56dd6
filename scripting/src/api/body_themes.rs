//! The nouns `Shape`, `Spin` and `Gravity`: what a body is, by theme.

use serde_json::{Value, json};
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::Body;

use super::definition::{Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{EPOCH, Kind, LENGTH, SPEED, TIME, VECTOR};
use super::noun::Noun;
use super::value;
use super::vector::Vector;

/// The radii of a body.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape(pub(super) Body);

/// The rotation of a body.
#[derive(Debug, Clone, PartialEq)]
pub struct Spin(pub(super) Body);

/// The attraction of a body.
#[derive(Debug, Clone, PartialEq)]
pub struct Gravity(pub(super) Body);

fn length(metres: f64) -> String {
    Quantity::length(metres).show()
}

impl Noun for Shape {
    const NAME: &'static str = "Shape";
    const ABOUT: &'static str = "The radii of a body: `body.shape`.";

    fn show(&self) -> String {
        let (equatorial, polar) = (length(self.0.radius()), length(self.0.polar_radius()));
        format!(
            "equatorial radius {equatorial}, polar radius {polar}, flattening {}",
            value::show_number(self.0.flattening())
        )
    }

    fn to_json(&self) -> Value {
        let metres = |value: f64| json!({ "value": value, "unit": "m" });
        json!({
            "equatorial_radius": metres(self.0.radius()), "polar_radius": metres(self.0.polar_radius()),
            "mean_radius": metres(self.0.mean_radius()), "flattening": self.0.flattening(),
        })
    }
}

impl Noun for Spin {
    const NAME: &'static str = "Spin";
    const ABOUT: &'static str = "How a body turns: `body.spin`.";

    fn show(&self) -> String {
        match self.0.spin() {
            None => "no rotation is known".to_owned(),
            Some(spin) => format!(
                "sidereal period {}{}{}",
                Quantity::time(spin.period).show(),
                if spin.retrograde { ", retrograde" } else { "" },
                if spin.locked { ", one face to its parent" } else { "" }
            ),
        }
    }

    fn to_json(&self) -> Value {
        match self.0.spin() {
            None => Value::Null,
            Some(spin) => json!({
                "period": { "value": spin.period, "unit": "s" }, "retrograde": spin.retrograde, "locked": spin.locked,
            }),
        }
    }
}

impl Noun for Gravity {
    const NAME: &'static str = "Gravity";
    const ABOUT: &'static str = "How a body attracts: `body.gravity`.";

    fn show(&self) -> String {
        let surface = Quantity::acceleration(self.0.surface_gravity()).show();
        format!("{surface} at the equatorial radius, escape speed {}", Quantity::speed(self.0.escape_speed()).show())
    }

    fn to_json(&self) -> Value {
        json!({
            "at_surface": { "value": self.0.surface_gravity(), "unit": "m/s²" },
            "escape_speed": { "value": self.0.escape_speed(), "unit": "m/s" },
        })
    }
}

fn spin(given: &Given) -> Result<visviva_engine::system::Spin, Fault> {
    let body = given.this::<Spin>()?.0;
    body.spin().ok_or_else(|| Fault::new(format!("no rotation of `{}` is known", body.name())))
}

/// The definitions of shape, spin and gravity.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The radius at the equator.",
        returns: (LENGTH, "the longest one where the equator is no circle"),
        see_also: &["Shape.polar_radius", "Shape.mean_radius"],
        examples: &[Example::exact("system(\"sol\").Earth.shape.equatorial_radius", "6378.1366.km")],
        ..Definition::property("Shape", "equatorial_radius", |given| {
            Ok(value::of(given.this::<Shape>()?.0.radius(), Dimension::LENGTH))
        })
    },
    Definition {
        summary: "The radius at the poles.",
        returns: (LENGTH, ""),
        see_also: &["Shape.equatorial_radius", "Shape.flattening"],
        examples: &[Example::close("system(\"sol\").Earth.shape.polar_radius", "6356.75.km", "10.m")],
        ..Definition::property("Shape", "polar_radius", |given| {
            Ok(value::of(given.this::<Shape>()?.0.polar_radius(), Dimension::LENGTH))
        })
    },
    Definition {
        summary: "The mean radius.",
        returns: (LENGTH, "as the system states it, else the mean of the three axes"),
        see_also: &["Shape.equatorial_radius"],
        examples: &[Example::close("system(\"sol\").Earth.shape.mean_radius", "6371.01.km", "10.m")],
        ..Definition::property("Shape", "mean_radius", |given| {
            Ok(value::of(given.this::<Shape>()?.0.mean_radius(), Dimension::LENGTH))
        })
    },
    Definition {
        summary: "How much shorter the polar radius is, as a part of the equatorial one.",
        returns: (Kind::Number, ""),
        see_also: &["Shape.polar_radius"],
        examples: &[Example::close("1 / system(\"sol\").Earth.shape.flattening", "298.2", "0.2")],
        ..Definition::property("Shape", "flattening", |given| {
            Ok(value::of(given.this::<Shape>()?.0.flattening(), Dimension::NUMBER))
        })
    },
    Definition {
        summary: "Mass over volume.",
        returns: (Kind::Of(Dimension::DENSITY), "of the sphere of the mean radius"),
        see_also: &["Shape.mean_radius"],
        examples: &[Example::close("system(\"sol\").Earth.shape.density.to(\"kg/m³\")", "5513", "5")],
        ..Definition::property("Shape", "density", |given| {
            Ok(value::of(given.this::<Shape>()?.0.density(), Dimension::DENSITY))
        })
    },
    Definition {
        summary: "The time of one turn against the stars.",
        returns: (TIME, "positive; `retrograde` says the sense"),
        see_also: &["Spin.retrograde", "Spin.locked"],
        examples: &[Example::close("system(\"sol\").Earth.spin.period", "23.9345.hours", "1.s")],
        ..Definition::property("Spin", "period", |given| Ok(value::of(spin(given)?.period, Dimension::TIME)))
    },
    Definition {
        summary: "Whether the body turns westward about its north pole.",
        returns: (Kind::Flag, ""),
        see_also: &["Spin.period"],
        examples: &[Example::exact("system(\"sol\").Venus.spin.retrograde", "true")],
        ..Definition::property("Spin", "retrograde", |given| Ok(spin(given)?.retrograde.into()))
    },
    Definition {
        summary: "Whether the body keeps one face to its parent.",
        returns: (Kind::Flag, ""),
        see_also: &["Spin.period"],
        examples: &[Example::exact("system(\"sol\").Moon.spin.locked", "true")],
        ..Definition::property("Spin", "locked", |given| Ok(spin(given)?.locked.into()))
    },
    Definition {
        summary: "The direction of the north pole.",
        parameters: &[Parameter::new("epoch", EPOCH, "when")],
        returns: (VECTOR, "of norm 1, in the system's inertial axes"),
        see_also: &["Spin.period"],
        examples: &[Example::close(
            "system(\"sol\").Earth.spin.pole(epoch(\"2000-01-01T12:00:00 TDB\")).z",
            "1",
            "1e-6",
        )],
        ..Definition::method("Spin", "pole", |given| {
            let pole = given.this::<Spin>()?.0.pole(given.epoch(0)?);
            Ok(Vector::new(pole, Dimension::NUMBER).into_value())
        })
    },
    Definition {
        summary: "The altitude of the circular orbit that keeps step with the body's rotation.",
        returns: (LENGTH, "above the equatorial radius"),
        see_also: &["Spin.period", "circular"],
        examples: &[Example::close("system(\"sol\").Earth.spin.synchronous_altitude", "35786.km", "2.km")],
        ..Definition::property("Spin", "synchronous_altitude", |given| {
            let body = given.this::<Spin>()?.0;
            match body.synchronous_altitude() {
                Some(altitude) => Ok(value::of(altitude, Dimension::LENGTH)),
                None => Err(Fault::new(format!("no rotation of `{}` is known", body.name()))),
            }
        })
    },
    Definition {
        summary: "The attraction at the equatorial radius.",
        returns: (Kind::Of(Dimension::ACCELERATION), "without oblateness and rotation"),
        see_also: &["Gravity.escape_speed", "Body.gm"],
        examples: &[Example::close("system(\"sol\").Earth.gravity.at_surface", "9.798.m_s2", "0.001.m_s2")],
        ..Definition::property("Gravity", "at_surface", |given| {
            Ok(value::of(given.this::<Gravity>()?.0.surface_gravity(), Dimension::ACCELERATION))
        })
    },
    Definition {
        summary: "The speed that leaves the equatorial radius for good.",
        returns: (SPEED, ""),
        see_also: &["Gravity.at_surface"],
        examples: &[Example::close("system(\"sol\").Moon.gravity.escape_speed", "2.376.km_s", "3.m_s")],
        ..Definition::property("Gravity", "escape_speed", |given| {
            Ok(value::of(given.this::<Gravity>()?.0.escape_speed(), Dimension::SPEED))
        })
    },
    Definition {
        summary: "A zonal harmonic J of the gravity field, unnormalised.",
        parameters: &[Parameter::new("degree", Kind::Whole, "2 to 6")],
        returns: (Kind::Number, "0 where none is known"),
        see_also: &["Gravity.harmonics_radius"],
        examples: &[Example::close("system(\"sol\").Earth.gravity.zonal(2)", "0.0010826", "0.0000005")],
        ..Definition::method("Gravity", "zonal", |given| {
            let degree = given.whole(0)?;
            if !(2..=6).contains(&degree) {
                return Err(Fault::new(format!("zonal harmonics are known from 2 to 6, not {degree}")).at(0));
            }
            let body = given.this::<Gravity>()?.0;
            let zonal = body.harmonics().map_or(0.0, |harmonics| harmonics.zonal(usize::try_from(degree).unwrap_or(0)));
            Ok(value::of(zonal, Dimension::NUMBER))
        })
    },
    Definition {
        summary: "The radius that the harmonics belong to.",
        returns: (LENGTH, "not always the equatorial one; an error where no harmonics are known"),
        see_also: &["Gravity.zonal"],
        examples: &[Example::close("system(\"sol\").Earth.gravity.harmonics_radius", "6378.1363.km", "1.m")],
        ..Definition::property("Gravity", "harmonics_radius", |given| {
            let body = given.this::<Gravity>()?.0;
            match body.harmonics() {
                Some(harmonics) => Ok(value::of(harmonics.reference_radius(), Dimension::LENGTH)),
                None => Err(Fault::new(format!("no gravity harmonics of `{}` are known", body.name()))),
            }
        })
    },
];
