//! The noun `Flyby`: how far a body bends a passing craft, and which pass gives a wanted bend.

use std::fmt::Write as _;

use serde_json::{Value, json};
use visviva_engine::arc::approach::BPlaneAxes;
use visviva_engine::arc::flyby::{self, FlybyError};
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::Body;
use visviva_engine::vector::Vec3;

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{ANGLE, BODY, Kind, LENGTH, SPEED, VECTOR};
use super::noun::Noun;
use super::options::Options;
use super::orbit::distance;
use super::value;
use super::vector::Vector;

const FLYBY: Kind = Kind::Noun("Flyby");

/// A pass of a body.
#[derive(Debug, Clone, PartialEq)]
pub struct Flyby {
    body: Body,
    pass: flyby::Flyby,
}

impl Noun for Flyby {
    const NAME: &'static str = "Flyby";
    const ABOUT: &'static str = "A pass of a body on a hyperbola: what comes in, how it is bent, what goes out.";

    fn show(&self) -> String {
        let mut text = format!("flyby of {}", self.body.name());
        let mut row = |name: &str, value: String| {
            let _ = write!(text, "\n  {name:<22}{value}");
        };
        let altitude = self.pass.periapsis_radius - self.body.radius();
        row("v-infinity, in", Quantity::speed(self.pass.v_in.norm()).show());
        row("v-infinity, out", Quantity::speed(self.pass.v_out.norm()).show());
        row("turn", value::degrees(self.pass.turn_angle));
        row("periapsis altitude", Quantity::length(altitude).show());
        row("aim radius", Quantity::length(self.pass.aim.norm()).show());
        row("change of velocity", Quantity::speed(self.pass.dv()).show());
        if self.pass.burn != 0.0 {
            row("burn at periapsis", Quantity::speed(self.pass.burn).show());
        }
        text
    }

    fn to_json(&self) -> Value {
        let vector = |v: &Vec3, unit: &str| json!({ "value": [v.x, v.y, v.z], "unit": unit, "frame": "inertial" });
        json!({
            "body": self.body.name(),
            "v_in": vector(&self.pass.v_in, "m/s"), "v_out": vector(&self.pass.v_out, "m/s"), "aim": vector(&self.pass.aim, "m"),
            "turn": { "value": self.pass.turn_angle, "unit": "rad" },
            "periapsis_radius": { "value": self.pass.periapsis_radius, "unit": "m" },
            "burn": { "value": self.pass.burn, "unit": "m/s" },
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

const FLYBY_OPTIONS: &[Parameter] = &[
    Parameter::new("body", BODY, "what is passed"),
    Parameter::new("v_in", VECTOR, "of speeds: the excess velocity on the way in, inertial"),
    Parameter::optional("periapsis_altitude", LENGTH, "of the pass: how far it bends is the answer"),
    Parameter::optional("periapsis_radius", LENGTH, "the same from the centre"),
    Parameter::optional("turn", ANGLE, "wanted: the periapsis is the answer"),
    Parameter::optional("v_out", VECTOR, "wanted on the way out: periapsis, side and burn are the answer"),
    Parameter::optional(
        "aim_angle",
        ANGLE,
        "side of the pass in the B-plane, from T towards R; 0 (with the rotation) when left out",
    ),
    Parameter::optional("least_altitude", LENGTH, "a lower pass is refused; the ground when left out"),
];

fn refused(error: &FlybyError, body: &Body) -> Fault {
    let fault = Fault::new(error.to_string()).at(0);
    match error {
        FlybyError::TooLow { turn_rad, periapsis_m, least_m, greatest_turn_rad, .. } => {
            let low = Quantity::length(periapsis_m - body.radius()).show();
            let least = Quantity::length(least_m - body.radius()).show();
            let turn = value::degrees(*turn_rad);
            Fault::new(format!(
                "a turn of {turn} needs a periapsis altitude of {low} at {}, below the least of {least}",
                body.name()
            ))
            .help(format!("at the least altitude the turn is {}", value::degrees(*greatest_turn_rad)))
            .at(0)
        }
        FlybyError::Turn { .. } => fault.help("a smaller turn, or a flyby of another body"),
        _ => fault,
    }
}

/// The axes of the B-plane with the pole of the body's orbit plane.
fn side(body: &Body, v_in: &Vec3, options: &Options) -> Result<Vec3, Fault> {
    let pole = body.orbit_plane().column(2).into_owned();
    let axes = BPlaneAxes::new(v_in, &pole).map_err(|error| Fault::from(error).at_key(0, "v_in"))?;
    let (sine, cosine) = options.si("aim_angle")?.unwrap_or(0.0).sin_cos();
    Ok(axes.aim(cosine, sine))
}

fn speeds(options: &Options, key: &str) -> Result<Option<Vec3>, Fault> {
    match options.noun::<Vector>(key)? {
        Some(vector) if vector.dimension == Dimension::SPEED => Ok(Some(vector.components)),
        Some(_) => {
            Err(options.fault(key, format!("`{key}` is a vector of speeds")).help("write vec(3.km_s, 0.km_s, 0.km_s)"))
        }
        None => Ok(None),
    }
}

fn flyby(given: &Given) -> Answer {
    let options = given.options(0)?;
    let (Some(body), Some(v_in)) = (options.noun::<Body>("body")?, speeds(&options, "v_in")?) else {
        return Err(Fault::new("`flyby` needs `body` and `v_in`").at(0));
    };
    let gm = Orbit::gm_of(&body);
    let low = distance(&body, &options, "periapsis_radius", "periapsis_altitude")?;
    let least = body.radius() + options.si("least_altitude")?.unwrap_or(0.0);
    let (turn, v_out) = (options.si("turn")?, speeds(&options, "v_out")?);
    let said = |error: FlybyError| refused(&error, &body);
    let pass = match (low, turn, v_out) {
        (Some(low), None, None) => {
            if low < least {
                return Err(Fault::new(format!(
                    "this pass is {} lower than allowed",
                    Quantity::length(least - low).show()
                ))
                .at(0));
            }
            flyby::bend(gm, &v_in, low, &side(&body, &v_in, &options)?).map_err(said)?
        }
        (None, Some(turn), None) => {
            flyby::turning(gm, &v_in, turn, &side(&body, &v_in, &options)?, least).map_err(said)?
        }
        (None, None, Some(v_out)) => flyby::powered(gm, &v_in, &v_out, least).map_err(said)?,
        _ => {
            return Err(Fault::new(
                "a flyby is told by one of `periapsis_altitude` (or `_radius`), `turn` and `v_out`",
            )
            .help("give the altitude to see the turn, or the turn or `v_out` to see the altitude")
            .at(0));
        }
    };
    Ok(value::noun(Flyby { body, pass }))
}

fn pass(given: &Given) -> Result<flyby::Flyby, Fault> {
    Ok(given.this::<Flyby>()?.pass)
}

/// A pass as the examples make it.
macro_rules! example {
    ($property:literal, $result:literal, $within:literal) => {
        &[Example::close(
            concat!(
                "flyby(#{ body: system(\"sol\").Venus, v_in: vec(5.km_s, 1.km_s, 0.km_s), periapsis_altitude: 300.km }).",
                $property
            ),
            $result,
            $within,
        )]
    };
}

/// The definitions of flybys.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "A pass of a body: how far a periapsis bends an excess velocity, or which periapsis gives a wanted bend.",
        parameters: &[Parameter::new(
            "pass",
            Kind::Options(FLYBY_OPTIONS),
            "body, excess velocity, and what is known of the pass",
        )],
        returns: (FLYBY, "with a burn at periapsis where `v_out` has another size than `v_in`"),
        source: Some("[Battin1999], section 9.4"),
        see_also: &["approach", "hyperbola"],
        examples: &[
            Example::close(
                "flyby(#{ body: system(\"sol\").Venus, v_in: vec(5.km_s, 0.km_s, 0.km_s), turn: 60.deg }).turn",
                "60.deg",
                "1e-9.deg",
            ),
            Example::close(
                "let v = system(\"sol\").Venus; let there = flyby(#{ body: v, v_in: vec(5.km_s, 1.km_s, 0.km_s), periapsis_altitude: 300.km }); \
                 flyby(#{ body: v, v_in: there.v_in, v_out: there.v_out }).periapsis_altitude",
                "300.km",
                "1.m",
            ),
        ],
        ..Definition::function("flyby", flyby)
    },
    Definition {
        summary: "The excess velocity on the way in.",
        returns: (VECTOR, "of speeds, inertial"),
        see_also: &["Flyby.v_out"],
        examples: example!("v_in.x", "5.km_s", "1e-9.m_s"),
        ..Definition::property("Flyby", "v_in", |given| {
            Ok(Vector::new(pass(given)?.v_in, Dimension::SPEED).into_value())
        })
    },
    Definition {
        summary: "The excess velocity on the way out.",
        returns: (VECTOR, "of speeds, inertial"),
        see_also: &["Flyby.v_in", "Flyby.turn"],
        examples: example!("v_out.norm", "sqrt(26).km_s", "1e-6.m_s"),
        ..Definition::property("Flyby", "v_out", |given| {
            Ok(Vector::new(pass(given)?.v_out, Dimension::SPEED).into_value())
        })
    },
    Definition {
        summary: "The angle between the asymptotes.",
        returns: (ANGLE, "0 to 180°"),
        see_also: &["Flyby.v_out", "Flyby.dv"],
        examples: example!("turn", "2 * asin(1 / (1 + 6351.8.km * 26.km2_s2 / 324858.59.km3_s2))", "0.01.deg"),
        ..Definition::property("Flyby", "turn", |given| Ok(value::of(pass(given)?.turn_angle, Dimension::ANGLE)))
    },
    Definition {
        summary: "The lowest distance from the centre.",
        returns: (LENGTH, ""),
        see_also: &["Flyby.periapsis_altitude"],
        examples: example!("periapsis_radius", "system(\"sol\").Venus.radius + 300.km", "1.mm"),
        ..Definition::property("Flyby", "periapsis_radius", |given| {
            Ok(value::of(pass(given)?.periapsis_radius, Dimension::LENGTH))
        })
    },
    Definition {
        summary: "The lowest height above the equatorial radius.",
        returns: (LENGTH, ""),
        see_also: &["Flyby.periapsis_radius"],
        examples: example!("periapsis_altitude", "300.km", "1.mm"),
        ..Definition::property("Flyby", "periapsis_altitude", |given| {
            let flyby = given.this::<Flyby>()?;
            Ok(value::of(flyby.pass.altitude_above(flyby.body.radius()), Dimension::LENGTH))
        })
    },
    Definition {
        summary: "The aim B on the way in: from the centre to the asymptote, square to the motion.",
        returns: (VECTOR, "of lengths, inertial"),
        see_also: &["approach"],
        examples: example!("aim.dot(vec(5.km_s, 1.km_s, 0.km_s)).to(\"m²/s\")", "0", "1"),
        ..Definition::property(
            "Flyby",
            "aim",
            |given| Ok(Vector::new(pass(given)?.aim, Dimension::LENGTH).into_value()),
        )
    },
    Definition {
        summary: "How much the pass changes the velocity about the parent.",
        returns: (SPEED, "for nothing, unless there is a burn"),
        see_also: &["Flyby.burn"],
        examples: example!("dv", "2 * sqrt(26).km_s / (1 + 6351.8.km * 26.km2_s2 / 324858.59.km3_s2)", "1.m_s"),
        ..Definition::property("Flyby", "dv", |given| Ok(value::of(pass(given)?.dv(), Dimension::SPEED)))
    },
    Definition {
        summary: "The burn along the motion at periapsis that makes the sizes fit.",
        returns: (SPEED, "0 for a pass without one; negative where it brakes"),
        see_also: &["flyby"],
        examples: example!("burn", "0.m_s", "0.m_s"),
        ..Definition::property("Flyby", "burn", |given| Ok(value::of(pass(given)?.burn, Dimension::SPEED)))
    },
];
