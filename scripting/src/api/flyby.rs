//! The noun `Flyby`: how far a body bends a passing craft, and which pass gives a wanted bend.

use std::fmt::Write as _;

use serde_json::{Value, json};
use visviva_engine::arc::approach::BPlaneAxes;
use visviva_engine::arc::flyby::{self, FlybyError};
use visviva_engine::arc::flyby_burn::{self, BurnPass};
use visviva_engine::arc::pass_bounds::{self, PassError};
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::Body;
use visviva_engine::vector::Vec3;

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{ANGLE, BODY, EPOCH, Kind, LENGTH, SPEED, TIME, VECTOR};
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
    /// Where the burn is, for a pass between two given excess velocities.
    burn: Option<BurnPass>,
    /// The greatest turn without a burn at the least altitude, rad.
    greatest_turn: f64,
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
        row("most without a burn", value::degrees(self.greatest_turn));
        if let Some(burn) = self.burn.as_ref().filter(|burn| burn.dv.norm() > 0.0) {
            row("burn", Quantity::speed(burn.dv.norm()).show());
            let place = if burn.after_periapsis == 0.0 {
                format!("at periapsis, {} the motion", if self.pass.burn < 0.0 { "against" } else { "along" })
            } else {
                let side = if burn.after_periapsis > 0.0 { "after" } else { "before" };
                let altitude = Quantity::length(burn.before.radius() - self.body.radius()).show();
                format!("{} {side} periapsis, {altitude} up", Quantity::time(burn.after_periapsis.abs()).show())
            };
            row("burn place", place);
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
            "greatest_turn": { "value": self.greatest_turn, "unit": "rad" },
            "burn": { "value": self.pass.burn, "unit": "m/s" },
            "burn_vector": self.burn.map(|burn| vector(&burn.dv, "m/s")),
            "burn_time": self.burn.map(|burn| json!({ "value": burn.after_periapsis, "unit": "s" })),
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
    Parameter::optional(
        "least_altitude",
        LENGTH,
        "no pass goes lower; the top of the air, or the ground, when left out. With `v_out` the burn then stands beside the periapsis",
    ),
    Parameter::optional("epoch", EPOCH, "of the pass, for the ring's plane; the system's epoch when left out"),
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
    let asked = options.si("least_altitude")?;
    let least = pass_bounds::least_radius(&body).max(body.radius() + asked.unwrap_or(0.0));
    let (turn, v_out) = (options.si("turn")?, speeds(&options, "v_out")?);
    let said = |error: FlybyError| refused(&error, &body);
    let mut burn = None;
    let pass = match (low, turn, v_out) {
        (Some(low), None, None) => {
            pass_bounds::clear_of_ground(&body, low, asked).map_err(|error| out_of_bounds(&error, least, &body))?;
            flyby::bend(gm, &v_in, low, &side(&body, &v_in, &options)?).map_err(said)?
        }
        (None, Some(turn), None) => {
            flyby::turning(gm, &v_in, turn, &side(&body, &v_in, &options)?, least).map_err(said)?
        }
        (None, None, Some(v_out)) => {
            let found = flyby_burn::with_burn(gm, &v_in, &v_out, least, body.sphere_of_influence()).map_err(said)?;
            burn = Some(found);
            found.pass
        }
        _ => {
            return Err(Fault::new(
                "a flyby is told by one of `periapsis_altitude` (or `_radius`), `turn` and `v_out`",
            )
            .help("give the altitude to see the turn, or the turn or `v_out` to see the altitude")
            .at(0));
        }
    };
    let epoch = options.epoch("epoch")?.unwrap_or_else(|| body.system().epoch());
    let clear = match &burn {
        Some(burn) => pass_bounds::check_burn(&body, epoch, gm, burn),
        None => pass_bounds::check(&body, epoch, gm, &pass, asked),
    };
    clear.map_err(|error| out_of_bounds(&error, least, &body))?;
    let greatest_turn = flyby::turn_angle(gm, v_in.norm(), least).map_err(said)?;
    Ok(value::noun(Flyby { body, pass, burn, greatest_turn }))
}

fn out_of_bounds(error: &PassError, least: f64, body: &Body) -> Fault {
    let fault = Fault::new(error.to_string()).at(0);
    match error {
        PassError::Ring { .. } | PassError::RingPlane { .. } => {
            fault.help("another `aim_angle` crosses the ring's plane elsewhere; a periapsis outside of the ring clears it from any side")
        }
        _ => fault.help(format!("the lowest pass allowed is {} up", Quantity::length(least - body.radius()).show())),
    }
}

fn burn_of(given: &Given) -> Result<Option<BurnPass>, Fault> {
    Ok(given.this::<Flyby>()?.burn)
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

/// A pass with a burn.
macro_rules! burnt {
    ($property:literal, $result:literal, $within:literal) => {
        &[Example::close(
            concat!(
                "flyby(#{ body: system(\"sol\").Venus, v_in: vec(5.km_s, 0.km_s, 0.km_s), v_out: vec(5.km_s, 4.km_s, 0.km_s) }).",
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
        returns: (
            FLYBY,
            "with a burn where `v_out` asks for one: at periapsis, or beside it where the periapsis would lie too low; a pass below the \
             ground, in the air or through the ring is refused",
        ),
        source: Some("[Battin1999], sections 9.4 and 6.8"),
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
    Definition {
        summary: "The greatest turn that gravity alone gives, at the least altitude and the incoming excess speed.",
        returns: (ANGLE, "0 to 180°"),
        see_also: &["Flyby.turn", "Flyby.burn"],
        examples: &[Example::exact(
            "flyby(#{ body: system(\"sol\").Venus, v_in: vec(5.km_s, 0.km_s, 0.km_s), periapsis_altitude: 900.km }).greatest_turn > 60.deg",
            "true",
        )],
        ..Definition::property("Flyby", "greatest_turn", |given| {
            Ok(value::of(given.this::<Flyby>()?.greatest_turn, Dimension::ANGLE))
        })
    },
    Definition {
        summary: "The burn as a vector.",
        returns: (VECTOR, "of speeds, inertial; zero for a pass without one"),
        see_also: &["Flyby.burn", "Flyby.burn_time"],
        examples: &[Example::close(
            "let f = flyby(#{ body: system(\"sol\").Venus, v_in: vec(5.km_s, 0.km_s, 0.km_s), v_out: vec(5.km_s, 4.km_s, 0.km_s) }); \
             f.burn_vector.norm - f.burn",
            "0.m_s",
            "1e-9.m_s",
        )],
        ..Definition::property("Flyby", "burn_vector", |given| {
            let dv = burn_of(given)?.map_or_else(Vec3::zeros, |burn| burn.dv);
            Ok(Vector::new(dv, Dimension::SPEED).into_value())
        })
    },
    Definition {
        summary: "When the burn is, counted from the periapsis.",
        returns: (TIME, "0 at periapsis, below 0 before it"),
        see_also: &["Flyby.burn_vector", "Flyby.burn_altitude"],
        examples: burnt!("burn_time", "0.s", "0.s"),
        ..Definition::property("Flyby", "burn_time", |given| {
            Ok(value::of(burn_of(given)?.map_or(0.0, |burn| burn.after_periapsis), Dimension::TIME))
        })
    },
    Definition {
        summary: "How high the burn is, above the equatorial radius.",
        returns: (LENGTH, "the periapsis altitude where the burn is there"),
        see_also: &["Flyby.burn_time", "Flyby.periapsis_altitude"],
        examples: &[Example::close(
            "flyby(#{ body: system(\"sol\").Venus, v_in: vec(5.km_s, 0.km_s, 0.km_s), periapsis_altitude: 300.km }).burn_altitude",
            "300.km",
            "1.mm",
        )],
        ..Definition::property("Flyby", "burn_altitude", |given| {
            let flyby = given.this::<Flyby>()?;
            let radius = flyby.burn.map_or(flyby.pass.periapsis_radius, |burn| burn.before.radius());
            Ok(value::of(radius - flyby.body.radius(), Dimension::LENGTH))
        })
    },
];
