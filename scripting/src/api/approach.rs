//! The noun `Approach`: how an orbit comes to a body: v-infinity, aim in the B-plane, lowest point.

use std::fmt::Write as _;

use serde_json::{Value, json};
use visviva_engine::arc::approach as engine;
use visviva_engine::numerics::watch::Watch;
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::Body;
use visviva_engine::time::Epoch;

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{ANGLE, BODY, EPOCH, Kind, LENGTH, ORBIT, TIME, VECTOR};
use super::noun::Noun;
use super::refusal::no_orbit;
use super::value;
use super::vector::Vector;

/// An approach to a body.
#[derive(Debug, Clone, PartialEq)]
pub struct Approach {
    body: Body,
    closest: Epoch,
    plane: engine::Approach,
    hyperbola: engine::Hyperbola,
}

impl Noun for Approach {
    const NAME: &'static str = "Approach";
    const ABOUT: &'static str =
        "How a craft comes to a body: excess velocity, aim in the B-plane (T = S × pole, R = S × T), lowest point.";

    fn show(&self) -> String {
        let mut text = format!("approach to {}", self.body.name());
        let length = |metres: f64| Quantity::length(metres).show();
        let mut row = |name: &str, value: String| {
            let _ = write!(text, "\n  {name:<22}{value}");
        };
        row("closest", self.closest.show());
        row("v-infinity", Quantity::speed(self.plane.v_infinity.norm()).show());
        row("B·T, B·R", format!("{}, {}", length(self.plane.dot_t), length(self.plane.dot_r)));
        row("aim radius", length(self.plane.aim_radius()));
        row("periapsis altitude", length(self.hyperbola.periapsis_radius - self.body.radius()));
        row("turn", value::degrees(self.hyperbola.turn_angle));
        text
    }

    fn to_json(&self) -> Value {
        let metres = |value: f64| json!({ "value": value, "unit": "m" });
        let v = self.plane.v_infinity;
        json!({
            "body": self.body.name(),
            "closest": Noun::to_json(&self.closest),
            "v_inf": { "value": [v.x, v.y, v.z], "unit": "m/s", "frame": "inertial" },
            "b_t": metres(self.plane.dot_t), "b_r": metres(self.plane.dot_r),
            "periapsis_radius": metres(self.hyperbola.periapsis_radius),
            "turn": { "value": self.hyperbola.turn_angle, "unit": "rad" },
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

const APPROACH_OPTIONS: &[Parameter] = &[
    Parameter::optional("within", TIME, "how far ahead the closest approach is looked for; 10 years when left out"),
    Parameter::optional(
        "pole",
        VECTOR,
        "k of the B-plane; that of the body's equator, about the root of the reference plane, when left out",
    ),
];

/// Ten Julian years, s.
const WITHIN: f64 = 10.0 * 365.25 * 86_400.0;

fn approach(given: &Given) -> Answer {
    let (orbit, body, options) = (given.noun::<Orbit>(0)?, given.noun::<Body>(1)?, given.options(2)?);
    let pole = match options.noun::<Vector>("pole")? {
        Some(pole) => pole.components,
        None => body.orbit_plane().column(2).into_owned(),
    };
    let gm = Orbit::gm_of(&body);
    let (made, closest) = if *orbit.body() == body {
        let made = engine::Approach::from_state(gm, orbit.state(), &pole).map_err(|error| {
            Fault::from(error).at(0).help("a hyperbola has an approach; an ellipse has `periapsis_altitude`")
        })?;
        (made, orbit.periapsis_epoch().map_err(|error| no_orbit(&error))?)
    } else if body.parent().as_ref() == Some(orbit.body()) {
        let within = options.si("within")?.unwrap_or(WITHIN);
        let stop = || !given.run.ceiling.count(1);
        let watch = Watch::new(&stop);
        let found = orbit.closest_inside(&body, within, false, &watch).map_err(|error| no_orbit(&error).at(0))?;
        if stop() {
            return Err(super::search::interrupted());
        }
        let Some(found) = found else {
            let (time, sphere) = (Quantity::time(within).show(), Quantity::length(body.sphere_of_influence()).show());
            return Err(Fault::new(format!(
                "this orbit does not come into the sphere of influence of {} within {time}",
                body.name()
            ))
            .note(format!("its radius is {sphere}"))
            .help("look further ahead: #{ within: 20.years }, or aim the orbit closer")
            .at(1));
        };
        let made = engine::Approach::new(&found.relative.velocity, &found.relative.position, &pole)?;
        (made, orbit.epoch().try_after(found.time)?)
    } else {
        return Err(Fault::new(format!("an orbit about {} does not meet {}", orbit.body().name(), body.name()))
            .help("approach an orbit's own body on a hyperbola, or a body that goes round the same one")
            .at(1));
    };
    let hyperbola = made.hyperbola(gm)?;
    Ok(value::noun(Approach { body, closest, plane: made, hyperbola }))
}

fn this(given: &Given) -> Result<Approach, Fault> {
    given.this::<Approach>()
}

/// An approach as the examples make it.
macro_rules! example {
    ($property:literal, $result:literal, $within:literal) => {
        &[Example::close(
            concat!(
                "let m = system(\"sol\").Mars; let h = hyperbola(m, #{ v_inf: vec(2.km_s, 1.km_s, 0.km_s), periapsis_altitude: 400.km, \
                 aim_angle: 30.deg }); approach(h, m).",
                $property
            ),
            $result,
            $within,
        )]
    };
}

/// The definitions of approaches.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "How an orbit comes to a body: on a hyperbola about it, or at the next closest approach on an orbit about its parent.",
        parameters: &[
            Parameter::new("orbit", ORBIT, "a hyperbola about the body, or an orbit about the body's parent"),
            Parameter::new("body", BODY, "what is approached"),
            Parameter::optional(
                "options",
                Kind::Options(APPROACH_OPTIONS),
                "how far to look ahead, the pole of the B-plane",
            ),
        ],
        returns: (Kind::Noun("Approach"), "an orbit that does not come inside the sphere of influence is an error"),
        source: Some("[Kizner1961]; [Battin1999], section 3.6"),
        see_also: &["flyby", "hyperbola"],
        examples: example!("aim_angle", "30.deg", "1e-6.deg"),
        ..Definition::function("approach", approach)
    },
    Definition {
        summary: "When the craft is closest: the periapsis epoch of the hyperbola.",
        returns: (EPOCH, ""),
        see_also: &["Approach.periapsis_altitude"],
        examples: &[Example::close(
            "let m = system(\"sol\").Mars; let h = hyperbola(m, #{ v_inf: 3.km_s, periapsis_altitude: 400.km }); \
             approach(h.after(-2.hours), m).closest - h.epoch",
            "0.s",
            "1e-3.s",
        )],
        ..Definition::property("Approach", "closest", |given| Ok(value::noun(this(given)?.closest)))
    },
    Definition {
        summary: "The excess velocity on the way in.",
        returns: (VECTOR, "of speeds, inertial"),
        see_also: &["Approach.aim"],
        examples: example!("v_inf.norm", "sqrt(5).km_s", "1e-6.m_s"),
        ..Definition::property("Approach", "v_inf", |given| {
            Ok(Vector::new(this(given)?.plane.v_infinity, Dimension::SPEED).into_value())
        })
    },
    Definition {
        summary: "The aim B: from the centre to the incoming asymptote, square to the motion.",
        returns: (VECTOR, "of lengths, inertial"),
        see_also: &["Approach.b_t", "Approach.b_r"],
        examples: example!("aim.dot(vec(2.km_s, 1.km_s, 0.km_s)).to(\"m²/s\")", "0", "1"),
        ..Definition::property("Approach", "aim", |given| {
            Ok(Vector::new(this(given)?.plane.aim, Dimension::LENGTH).into_value())
        })
    },
    Definition {
        summary: "The distance of the incoming asymptote from the centre.",
        returns: (LENGTH, ""),
        see_also: &["Approach.aim"],
        examples: example!("aim_radius", "sqrt(3796.19.km * (3796.19.km + 2 * 42828.375.km3_s2 / 5.km2_s2))", "1.km"),
        ..Definition::property("Approach", "aim_radius", |given| {
            Ok(value::of(this(given)?.plane.aim_radius(), Dimension::LENGTH))
        })
    },
    Definition {
        summary: "The angle of the aim from T towards R.",
        returns: (ANGLE, "−180° to 180°; 0 passes with the rotation"),
        see_also: &["Approach.b_t", "Approach.b_r"],
        examples: example!("aim_angle", "30.deg", "1e-6.deg"),
        ..Definition::property("Approach", "aim_angle", |given| {
            Ok(value::of(this(given)?.plane.angle(), Dimension::ANGLE))
        })
    },
    Definition {
        summary: "The aim along T, which lies in the equator of the pole.",
        returns: (LENGTH, ""),
        see_also: &["Approach.b_r"],
        examples: example!(
            "b_t",
            "sqrt(3796.19.km * (3796.19.km + 2 * 42828.375.km3_s2 / 5.km2_s2)) * cos(30.deg)",
            "1.km"
        ),
        ..Definition::property("Approach", "b_t", |given| Ok(value::of(this(given)?.plane.dot_t, Dimension::LENGTH)))
    },
    Definition {
        summary: "The aim along R, away from the pole.",
        returns: (LENGTH, ""),
        see_also: &["Approach.b_t"],
        examples: example!(
            "b_r",
            "sqrt(3796.19.km * (3796.19.km + 2 * 42828.375.km3_s2 / 5.km2_s2)) * sin(30.deg)",
            "1.km"
        ),
        ..Definition::property("Approach", "b_r", |given| Ok(value::of(this(given)?.plane.dot_r, Dimension::LENGTH)))
    },
    Definition {
        summary: "The lowest distance from the centre.",
        returns: (LENGTH, ""),
        see_also: &["Approach.periapsis_altitude"],
        examples: example!("periapsis_radius", "system(\"sol\").Mars.radius + 400.km", "1.m"),
        ..Definition::property("Approach", "periapsis_radius", |given| {
            Ok(value::of(this(given)?.hyperbola.periapsis_radius, Dimension::LENGTH))
        })
    },
    Definition {
        summary: "The lowest height above the equatorial radius.",
        returns: (LENGTH, "negative where the craft would strike"),
        see_also: &["Approach.periapsis_radius"],
        examples: example!("periapsis_altitude", "400.km", "1.m"),
        ..Definition::property("Approach", "periapsis_altitude", |given| {
            let approach = this(given)?;
            Ok(value::of(approach.hyperbola.altitude_above(approach.body.radius()), Dimension::LENGTH))
        })
    },
    Definition {
        summary: "The angle between the asymptotes.",
        returns: (ANGLE, "0 to 180°"),
        see_also: &["flyby"],
        examples: example!(
            "turn - flyby(#{ body: m, v_in: h.v_inf_in, periapsis_altitude: 400.km }).turn",
            "0.deg",
            "1e-6.deg"
        ),
        ..Definition::property("Approach", "turn", |given| {
            Ok(value::of(this(given)?.hyperbola.turn_angle, Dimension::ANGLE))
        })
    },
    Definition {
        summary: "The hyperbola, with the craft at periapsis.",
        returns: (ORBIT, ""),
        see_also: &["hyperbola"],
        examples: example!("orbit.periapsis_altitude", "400.km", "1.m"),
        ..Definition::property("Approach", "orbit", |given| {
            let approach = this(given)?;
            let orbit = Orbit::new(approach.body.clone(), approach.closest, approach.hyperbola.at_periapsis);
            orbit.map(value::noun).map_err(|error| no_orbit(&error))
        })
    },
];
