//! The noun `Elements`: the classical elements of an orbit, counted in a frame.

use std::fmt::Write as _;

use serde_json::{Value, json};
use visviva_engine::conic;
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::Body;
use visviva_engine::vector::Mat3;

use super::definition::{Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{ANGLE, Kind, LENGTH};
use super::noun::Noun;
use super::refusal::no_orbit;
use super::value;

/// The plane and axes in which elements are counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Plane {
    /// The one in which orbits about this body are counted.
    Body,
    /// The body's equator at the system's epoch.
    Equator,
    /// The system's reference plane.
    Reference,
}

impl Plane {
    fn axes(self, body: &Body) -> Mat3 {
        match self {
            Plane::Body => body.orbit_plane(),
            Plane::Equator => body.equator(body.system().epoch()),
            Plane::Reference => body.system().plane(),
        }
    }

    fn name(self, body: &Body) -> &'static str {
        match self {
            Plane::Equator => "equator",
            Plane::Reference => "reference",
            Plane::Body => {
                if body.parent().is_none() {
                    "reference"
                } else {
                    "equator"
                }
            }
        }
    }
}

/// Elements with the name of the frame they are counted in.
#[derive(Debug, Clone, PartialEq)]
pub struct Elements {
    frame: &'static str,
    elements: conic::Elements,
}

impl Elements {
    /// The elements of an orbit in a plane.
    pub(super) fn of(orbit: &Orbit, plane: Plane) -> Result<Self, Fault> {
        let elements = orbit.elements_in(&plane.axes(orbit.body())).map_err(|error| no_orbit(&error))?;
        Ok(Self { frame: plane.name(orbit.body()), elements })
    }
}

impl Noun for Elements {
    const NAME: &'static str = "Elements";
    const ABOUT: &'static str = "The classical elements of an orbit in a frame: `orbit.in_frame(\"reference\")`.";

    fn show(&self) -> String {
        let elements = &self.elements;
        let mut text = format!("elements, frame {}", self.frame);
        let mut row = |name: &str, value: String| {
            let _ = write!(text, "\n  {name:<24}{value}");
        };
        let axis = elements.semi_major_axis();
        row(
            "semi-major axis",
            if axis.is_finite() { Quantity::length(axis).show() } else { "none: a parabola".to_owned() },
        );
        row("eccentricity", value::show_number(elements.eccentricity));
        for (name, angle) in [
            ("inclination", elements.inclination),
            ("ascending node", elements.ascending_node),
            ("argument of periapsis", elements.argument_of_periapsis),
            ("true anomaly", elements.true_anomaly),
        ] {
            row(name, value::degrees(angle));
        }
        text
    }

    fn to_json(&self) -> Value {
        let (elements, axis) = (&self.elements, self.elements.semi_major_axis());
        let angle = |radians: f64| json!({ "value": radians, "unit": "rad" });
        json!({
            "frame": self.frame,
            "semi_major_axis": if axis.is_finite() { json!({ "value": axis, "unit": "m" }) } else { Value::Null },
            "eccentricity": elements.eccentricity,
            "inclination": angle(elements.inclination),
            "ascending_node": angle(elements.ascending_node),
            "argument_of_periapsis": angle(elements.argument_of_periapsis),
            "true_anomaly": angle(elements.true_anomaly),
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

fn elements(given: &Given) -> Result<conic::Elements, Fault> {
    Ok(given.this::<Elements>()?.elements)
}

const MADE: &str = "orbit(system(\"sol\").Earth, #{ periapsis_altitude: 300.km, eccentricity: 0.1, inclination: 30.deg, \
                    ascending_node: 40.deg, argument_of_periapsis: 50.deg, true_anomaly: 60.deg }).in_frame(\"equator\")";

/// The example of one element of `MADE`.
macro_rules! example {
    ($property:literal, $result:literal, $within:literal) => {
        &[Example::close(
            concat!(
                "orbit(system(\"sol\").Earth, #{ periapsis_altitude: 300.km, eccentricity: 0.1, inclination: 30.deg, \
                 ascending_node: 40.deg, argument_of_periapsis: 50.deg, true_anomaly: 60.deg }).in_frame(\"equator\").",
                $property
            ),
            $result,
            $within,
        )]
    };
}

/// The definitions of elements.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The elements of the orbit, counted in a frame.",
        parameters: &[Parameter::new(
            "frame",
            Kind::Text,
            "\"equator\" of the body, or the system's \"reference\" plane",
        )],
        returns: (Kind::Noun("Elements"), "the orbit itself does not change"),
        see_also: &["Orbit.inclination", "orbit"],
        examples: &[
            Example::exact(MADE, MADE),
            Example::close(
                "circular(system(\"sol\").Earth, 300.km).in_frame(\"reference\").inclination",
                "23.439.deg",
                "0.01.deg",
            ),
        ],
        ..Definition::method("Orbit", "in_frame", |given| {
            let plane = match given.text(0)?.as_str() {
                "equator" => Plane::Equator,
                "reference" => Plane::Reference,
                other => {
                    return Err(Fault::new(format!("there is no frame `{other}`"))
                        .help("the frames are \"equator\" and \"reference\"")
                        .at(0));
                }
            };
            Elements::of(&given.this::<Orbit>()?, plane).map(value::noun)
        })
    },
    Definition {
        summary: "The frame in which these elements are counted.",
        returns: (Kind::Text, "\"equator\" or \"reference\""),
        see_also: &["Orbit.in_frame"],
        examples: &[Example::exact(
            "circular(system(\"sol\").Earth, 300.km).in_frame(\"reference\").frame",
            "\"reference\"",
        )],
        ..Definition::property("Elements", "frame", |given| Ok(value::text(given.this::<Elements>()?.frame)))
    },
    Definition {
        summary: "Half the length of the conic.",
        returns: (LENGTH, "negative for a hyperbola; a parabola has none: an error"),
        see_also: &["Orbit.semi_major_axis"],
        examples: example!("semi_major_axis", "(6378.1366.km + 300.km) / 0.9", "1.mm"),
        ..Definition::property("Elements", "semi_major_axis", |given| {
            super::orbit_readings::axis(elements(given)?.semi_major_axis())
        })
    },
    Definition {
        summary: "How far the conic is from a circle.",
        returns: (Kind::Number, "0 for a circle, 1 for a parabola"),
        see_also: &["Orbit.eccentricity"],
        examples: example!("eccentricity", "0.1", "1e-12"),
        ..Definition::property("Elements", "eccentricity", |given| {
            Ok(value::of(elements(given)?.eccentricity, Dimension::NUMBER))
        })
    },
    Definition {
        summary: "The angle of the orbit's plane to the frame's.",
        returns: (ANGLE, "0 to 180°; above 90° against the rotation"),
        see_also: &["Orbit.inclination"],
        examples: example!("inclination", "30.deg", "1e-9.deg"),
        ..Definition::property("Elements", "inclination", |given| {
            Ok(value::of(elements(given)?.inclination, Dimension::ANGLE))
        })
    },
    Definition {
        summary: "The right ascension of the ascending node, from the frame's x axis.",
        returns: (ANGLE, "0 to 360°; 0 in the frame's plane"),
        see_also: &["Orbit.ascending_node"],
        examples: example!("ascending_node", "40.deg", "1e-9.deg"),
        ..Definition::property("Elements", "ascending_node", |given| {
            Ok(value::of(elements(given)?.ascending_node, Dimension::ANGLE))
        })
    },
    Definition {
        summary: "The angle from the ascending node to periapsis, along the motion.",
        returns: (ANGLE, "0 to 360°; 0 for a circle"),
        see_also: &["Orbit.argument_of_periapsis"],
        examples: example!("argument_of_periapsis", "50.deg", "1e-9.deg"),
        ..Definition::property("Elements", "argument_of_periapsis", |given| {
            Ok(value::of(elements(given)?.argument_of_periapsis, Dimension::ANGLE))
        })
    },
    Definition {
        summary: "The angle from periapsis to the craft.",
        returns: (ANGLE, "0 to 360°, on open orbits −180° to 180°"),
        see_also: &["Orbit.true_anomaly"],
        examples: example!("true_anomaly", "60.deg", "1e-9.deg"),
        ..Definition::property("Elements", "true_anomaly", |given| {
            Ok(value::of(elements(given)?.true_anomaly, Dimension::ANGLE))
        })
    },
];
