//! The noun `Arc`: a conic that joins two places in a given time, or two bodies on given dates.

use std::fmt::Write as _;

use serde_json::{Value, json};
use visviva_engine::arc::lambert::{self, Branch, LambertError, Way};
use visviva_engine::arc::{self, PlanError, TransferOptions};
use visviva_engine::conic::State;
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::Body;
use visviva_engine::time::Epoch;
use visviva_engine::vector::Vec3;

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{BODY, EPOCH, Kind, LENGTH, ORBIT, TIME, VECTOR};
use super::noun::Noun;
use super::refusal::{no_burn, no_orbit, no_place};
use super::value;
use super::vector::Vector;

const ARC: Kind = Kind::Noun("Arc");

/// An arc: its conic from its first place on, and what is known of the bodies at its ends.
#[derive(Debug, Clone, PartialEq)]
pub struct Arc {
    orbit: Orbit,
    v2: Vec3,
    time: f64,
    angle: f64,
    bodies: Option<Box<arc::Arc>>,
}

impl From<arc::Arc> for Arc {
    fn from(solved: arc::Arc) -> Self {
        let time = solved.meet.seconds_since(solved.leave);
        Self { orbit: solved.orbit.clone(), v2: solved.v2, time, angle: solved.theta, bodies: Some(Box::new(solved)) }
    }
}

impl Arc {
    fn depart(&self) -> Epoch {
        self.bodies.as_ref().map_or_else(|| self.orbit.epoch(), |bodies| bodies.depart)
    }

    fn arrive(&self) -> Result<Epoch, Fault> {
        match &self.bodies {
            Some(bodies) => Ok(bodies.arrive),
            None => Ok(self.orbit.epoch().try_after(self.time)?),
        }
    }
}

impl Noun for Arc {
    const NAME: &'static str = "Arc";
    const ABOUT: &'static str =
        "A conic that joins two places in a given time, or two bodies on given dates, centre to centre.";

    fn show(&self) -> String {
        let mut text = match &self.bodies {
            Some(bodies) => {
                format!("arc from {} to {} about {}", bodies.from.name(), bodies.to.name(), bodies.about.name())
            }
            None => format!("arc about {}", self.orbit.body().name()),
        };
        let mut row = |name: &str, value: String| {
            let _ = write!(text, "\n  {name:<22}{value}");
        };
        row("depart", self.depart().show());
        if let Ok(arrive) = self.arrive() {
            row("arrive", arrive.show());
        }
        row("time", Quantity::time(self.time).show());
        row("angle swept", value::degrees(self.angle));
        if let Some(bodies) = &self.bodies {
            row("c3", Quantity::specific_energy(bodies.c3).show());
            for (name, v_inf) in
                [("v-infinity, leaving", bodies.v_inf_depart), ("v-infinity, arriving", bodies.v_inf_arrive)]
            {
                if let Some(v_inf) = v_inf {
                    row(name, Quantity::speed(v_inf.norm()).show());
                }
            }
        } else {
            row("speed, leaving", Quantity::speed(self.orbit.speed()).show());
            row("speed, arriving", Quantity::speed(self.v2.norm()).show());
        }
        text
    }

    fn to_json(&self) -> Value {
        let vector = |v: &Vec3| json!({ "value": [v.x, v.y, v.z], "unit": "m/s", "frame": "inertial" });
        let bodies = self.bodies.as_ref();
        json!({
            "about": self.orbit.body().name(),
            "from": bodies.map(|bodies| bodies.from.name().to_owned()),
            "to": bodies.map(|bodies| bodies.to.name().to_owned()),
            "depart": Noun::to_json(&self.depart()),
            "arrive": self.arrive().ok().map(|arrive| Noun::to_json(&arrive)),
            "v1": vector(&self.orbit.state().velocity),
            "v2": vector(&self.v2),
            "c3": bodies.map(|bodies| json!({ "value": bodies.c3, "unit": "m²/s²" })),
            "v_inf_depart": bodies.and_then(|bodies| bodies.v_inf_depart).map(|v| vector(&v)),
            "v_inf_arrive": bodies.and_then(|bodies| bodies.v_inf_arrive).map(|v| vector(&v)),
            "orbit": self.orbit.to_json(),
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

/// What a planner between bodies refuses, with what to write.
pub(super) fn no_plan(error: &PlanError) -> Fault {
    let fault = Fault::new(error.to_string());
    match error {
        PlanError::Ephemeris(error) => no_place(error),
        PlanError::Orbit(error) => no_orbit(error),
        PlanError::Burn(error) => no_burn(error),
        PlanError::NoArc { .. } => fault.help("choose other dates: the places stand in line, or the time is too short"),
        PlanError::ArrivalNotAfterDeparture { .. } => {
            fault.help("the departure comes first: transfer(a, b, depart, arrive)")
        }
        _ => fault,
    }
}

fn no_arc(error: &LambertError) -> Fault {
    let fault = Fault::new(error.to_string());
    match error {
        LambertError::Time { .. } | LambertError::OutOfRange { .. } => fault.at(3),
        LambertError::Place { which } => fault.at(usize::from(*which)),
        LambertError::IdenticalPoints | LambertError::ThroughCentre => fault.at(2),
        LambertError::PlaneOpen => fault.at(2).help("say `way: \"prograde\"` or `\"retrograde\"`"),
        LambertError::NormalUseless => {
            fault.at(2).help("say `way: \"short\"` or `\"long\"`: the plane holds the body's pole")
        }
        LambertError::TooFewSeconds { revolutions, least_s, .. } => {
            let least = Quantity::time(*least_s).show();
            let what = format!("with {revolutions} revolutions between these places the time is at least {least}");
            Fault::new(what).at(3).help("give more time, or ask for fewer revolutions")
        }
        LambertError::GravitationalParameter { .. } => fault.at(0),
    }
}

const LAMBERT_OPTIONS: &[Parameter] = &[
    Parameter::optional("revolutions", Kind::Whole, "whole ones on the way; 0 when left out"),
    Parameter::optional(
        "branch",
        Kind::Text,
        "with revolutions: \"left\" or \"right\" of the least-time arc; \"left\" when left out",
    ),
    Parameter::optional(
        "way",
        Kind::Text,
        "\"prograde\" or \"retrograde\" about the pole of the body's orbit plane, \"short\" or \"long\" by the angle swept; prograde when left out",
    ),
    Parameter::optional("epoch", EPOCH, "when the craft is at the first place; the system's epoch when left out"),
];

fn solved(given: &Given) -> Answer {
    let (body, options) = (given.noun::<Body>(0)?, given.options(4)?);
    let (r1, r2) = (given.vector_of(1, Dimension::LENGTH)?, given.vector_of(2, Dimension::LENGTH)?);
    let time = given.time(3)?;
    let pole = body.orbit_plane().column(2).into_owned();
    let way = match options.text("way")?.as_deref() {
        None | Some("prograde") => Way::Prograde(pole),
        Some("retrograde") => Way::Retrograde(pole),
        Some("short") => Way::Short,
        Some("long") => Way::Long,
        Some(other) => {
            return Err(options
                .fault("way", format!("there is no way `{other}`"))
                .help("the ways are \"prograde\", \"retrograde\", \"short\" and \"long\""));
        }
    };
    let branch = match options.text("branch")?.as_deref() {
        None | Some("left") => Branch::Left,
        Some("right") => Branch::Right,
        Some(other) => {
            return Err(options
                .fault("branch", format!("there is no branch `{other}`"))
                .help("the branches are \"left\" and \"right\""));
        }
    };
    let revolutions = options.whole("revolutions")?.unwrap_or(0);
    let Some(count) = u32::try_from(revolutions).ok().filter(|count| *count <= 1000) else {
        return Err(options.fault("revolutions", format!("revolutions are 0 to 1000, not {revolutions}")));
    };
    let found =
        lambert::solve_one(Orbit::gm_of(&body), &r1, &r2, time, way, count, branch).map_err(|error| no_arc(&error))?;
    let epoch = options.epoch("epoch")?.unwrap_or_else(|| body.system().epoch());
    let orbit = Orbit::new(body, epoch, State::new(r1, found.v1)).map_err(|error| no_orbit(&error))?;
    Ok(value::noun(Arc { orbit, v2: found.v2, time, angle: found.transfer_angle, bodies: None }))
}

fn this(given: &Given) -> Result<Arc, Fault> {
    given.this::<Arc>()
}

fn bodies(given: &Given) -> Result<arc::Arc, Fault> {
    this(given)?.bodies.map(|bodies| *bodies).ok_or_else(|| {
        Fault::new(format!("this arc joins two places: `{}` is known of an arc between bodies", given.definition.name))
            .help("read `v1` and `v2`, or plan with transfer(a, b, depart, arrive)")
    })
}

fn excess(given: &Given, v_inf: Option<Vec3>, end: &str) -> Answer {
    match v_inf {
        Some(v_inf) => Ok(Vector::new(v_inf, Dimension::SPEED).into_value()),
        None => Err(Fault::new(format!(
            "this arc {end} the body that it goes round: there is no `{}`",
            given.definition.name
        ))),
    }
}

/// An arc as the examples make it: [Vallado2013], example 7-5 (from memory).
macro_rules! example {
    ($property:literal, $result:literal, $within:literal) => {
        &[Example::close(
            concat!(
                "lambert(system(\"sol\").Earth, vec(15945.34.km, 0.km, 0.km), vec(12214.83899.km, 10249.46731.km, 0.km), 76.min).",
                $property
            ),
            $result,
            $within,
        )]
    };
}

/// A transfer as the examples make it.
macro_rules! between {
    ($property:literal, $result:literal) => {
        &[Example::exact(
            concat!(
                "let s = system(\"sol\"); let a = transfer(s.Earth, s.Mars, epoch(\"2026-11-10 TDB\"), epoch(\"2027-09-01 TDB\")); ",
                $property
            ),
            $result,
        )]
    };
}

/// The definitions of arcs.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The conic arc that joins two places about a body in a given time.",
        parameters: &[
            Parameter::new("body", BODY, "what the arc goes round"),
            Parameter::new("r1", VECTOR, "of lengths, from the centre, inertial"),
            Parameter::new("r2", VECTOR, "of lengths, from the centre, inertial"),
            Parameter::new("time", TIME, "from the first to the second, positive"),
            Parameter::optional("options", Kind::Options(LAMBERT_OPTIONS), "which of the arcs"),
        ],
        returns: (ARC, "no such arc is an error"),
        source: Some("[LancasterBlanchard1969]; [Gooding1990]; [Izzo2015]"),
        see_also: &["transfer", "Arc.v1"],
        examples: example!("v1.norm", "3.569.km_s", "1.m_s"),
        ..Definition::function("lambert", solved)
    },
    Definition {
        summary: "The arc that leaves one body on one date and reaches another on another, centre to centre, at any depth.",
        parameters: &[
            Parameter::new("a", BODY, "what is left"),
            Parameter::new("b", BODY, "what is reached"),
            Parameter::new("depart", EPOCH, "of the central arc's begin, within the ephemeris"),
            Parameter::new("arrive", EPOCH, "of the central arc's end, after the departure"),
        ],
        returns: (ARC, "in the sense of the motion of `a`, with less than one revolution"),
        source: Some("[Battin1999], chapters 7 and 9"),
        see_also: &["lambert", "departure", "Arc.c3"],
        examples: between!("a.c3 < 15.km2_s2", "true"),
        ..Definition::function("transfer", |given| {
            let (from, to) = (given.noun::<Body>(0)?, given.noun::<Body>(1)?);
            arc::transfer(&from, &to, given.epoch(2)?, given.epoch(3)?, &TransferOptions::default())
                .map(|solved| value::noun(Arc::from(solved)))
                .map_err(|error| no_plan(&error))
        })
    },
    Definition {
        summary: "The velocity at the first place, about the body that the arc goes round.",
        returns: (VECTOR, "of speeds, inertial"),
        see_also: &["Arc.v2"],
        examples: example!("v1.y", "2.915965.km_s", "0.01.m_s"),
        ..Definition::property("Arc", "v1", |given| {
            Ok(Vector::new(this(given)?.orbit.state().velocity, Dimension::SPEED).into_value())
        })
    },
    Definition {
        summary: "The velocity at the second place, about the body that the arc goes round.",
        returns: (VECTOR, "of speeds, inertial"),
        see_also: &["Arc.v1"],
        examples: example!("v2.x", "-3.451565.km_s", "0.01.m_s"),
        ..Definition::property("Arc", "v2", |given| Ok(Vector::new(this(given)?.v2, Dimension::SPEED).into_value()))
    },
    Definition {
        summary: "When the arc begins: between bodies, the epoch of the departure burn.",
        returns: (EPOCH, ""),
        see_also: &["Arc.arrive", "Arc.time"],
        examples: between!("a.depart", "epoch(\"2026-11-10 TDB\")"),
        ..Definition::property("Arc", "depart", |given| Ok(value::noun(this(given)?.depart())))
    },
    Definition {
        summary: "When the arc ends: between bodies, the closest approach to the one reached.",
        returns: (EPOCH, ""),
        see_also: &["Arc.depart", "Arc.time"],
        examples: between!("a.arrive", "epoch(\"2027-09-01 TDB\")"),
        ..Definition::property("Arc", "arrive", |given| Ok(value::noun(this(given)?.arrive()?)))
    },
    Definition {
        summary: "From one end of the central conic to the other.",
        returns: (TIME, ""),
        see_also: &["Arc.depart", "Arc.arrive"],
        examples: example!("time", "76.min", "1e-9.s"),
        ..Definition::property("Arc", "time", |given| Ok(value::of(this(given)?.time, Dimension::TIME)))
    },
    Definition {
        summary: "The angle swept about the centre, whole revolutions left out.",
        returns: (super::kind::ANGLE, "0 to 360°"),
        see_also: &["Arc.orbit"],
        examples: example!("angle", "40.deg", "0.0001.deg"),
        ..Definition::property("Arc", "angle", |given| Ok(value::of(this(given)?.angle, Dimension::ANGLE)))
    },
    Definition {
        summary: "The conic, with the craft where the arc begins.",
        returns: (ORBIT, ""),
        see_also: &["Arc.v1", "Orbit.after"],
        examples: example!("orbit.after(76.min).r.x", "12214.83899.km", "1.m"),
        ..Definition::property("Arc", "orbit", |given| Ok(value::noun(this(given)?.orbit)))
    },
    Definition {
        summary: "The lowest distance of the arc's conic from the centre, reached on the arc or not.",
        returns: (LENGTH, ""),
        see_also: &["Arc.orbit"],
        examples: &[Example::exact(
            "let a = lambert(system(\"sol\").Earth, vec(15945.34.km, 0.km, 0.km), vec(12214.83899.km, 10249.46731.km, 0.km), 76.min); \
             a.periapsis_radius == a.orbit.periapsis_radius",
            "true",
        )],
        ..Definition::property("Arc", "periapsis_radius", |given| {
            Ok(value::of(this(given)?.orbit.periapsis_radius(), Dimension::LENGTH))
        })
    },
    Definition {
        summary: "Twice the energy per mass about the body left: the square of v-infinity.",
        returns: (
            Kind::Of(Dimension::SPECIFIC_ENERGY),
            "of an arc between bodies; negative where it stays bound to the body left",
        ),
        see_also: &["Arc.v_inf_depart", "transfer"],
        examples: between!("a.c3.to(\"km²/s²\") > 8", "true"),
        ..Definition::property("Arc", "c3", |given| Ok(value::of(bodies(given)?.c3, Dimension::SPECIFIC_ENERGY)))
    },
    Definition {
        summary: "The excess velocity about the body left.",
        returns: (VECTOR, "of speeds, inertial; of an arc between bodies"),
        see_also: &["Arc.c3", "departure"],
        examples: between!("abs(a.v_inf_depart.norm ** 2 - a.c3) < 1e-6.m2_s2", "true"),
        ..Definition::property("Arc", "v_inf_depart", |given| {
            excess(given, bodies(given)?.v_inf_depart, "begins on an orbit about")
        })
    },
    Definition {
        summary: "The excess velocity about the body reached.",
        returns: (VECTOR, "of speeds, inertial; of an arc between bodies"),
        see_also: &["Arc.v_inf_depart", "hyperbola"],
        examples: between!("a.v_inf_arrive.norm < 4.km_s", "true"),
        ..Definition::property("Arc", "v_inf_arrive", |given| {
            excess(given, bodies(given)?.v_inf_arrive, "ends on an orbit about")
        })
    },
];
