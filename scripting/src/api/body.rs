//! The noun `Body`: a body of a system, its size and attraction, where it is, and its themes.

use rhai::Dynamic;
use serde_json::{Value, json};
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::Body;
use visviva_engine::voyage::{Thing, Voyage, VoyageError};

use super::body_themes::{Gravity, Shape, Spin};
use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::handle::{Handle, VOYAGE, refused};
use super::kind::{ANGLE, BODY, EPOCH, Kind, LENGTH, ORBIT, TIME, VECTOR};
use super::ledger::flown;
use super::noun::Noun;
use super::refusal::{no_orbit, no_place};
use super::value;
use super::vector::Vector;

impl Noun for Body {
    const NAME: &'static str = "Body";
    const ABOUT: &'static str = "A star, planet or moon of a system.";

    fn show(&self) -> String {
        let about = if self.about().is_empty() { String::new() } else { format!(", {}", self.about()) };
        let goes = self.parent().map_or_else(String::new, |parent| format!(", goes round {}", parent.name()));
        let gm = Quantity::new(self.gm(), Dimension::GRAVITATIONAL_PARAMETER).show();
        format!("{}{about}{goes}: radius {}, gm {gm}", self.name(), Quantity::length(self.radius()).show())
    }

    fn to_json(&self) -> Value {
        json!({
            "body": self.name(), "system": self.system().name(), "parent": self.parent().map(|parent| parent.name().to_owned()),
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

fn this(given: &Given) -> Result<Body, Fault> {
    given.this::<Body>()
}

fn bodies(list: Vec<Body>) -> Dynamic {
    Dynamic::from_array(list.into_iter().map(value::noun).collect())
}

/// A radius that the root does not have.
fn edge(given: &Given, radius: f64) -> Answer {
    if radius.is_finite() {
        Ok(value::of(radius, Dimension::LENGTH))
    } else {
        let body = this(given)?;
        Err(Fault::new(format!("`{}` goes round nothing: its `{}` has no edge", body.name(), given.definition.name)))
    }
}

fn of_orbit(given: &Given, figure: Option<f64>, dimension: Dimension) -> Answer {
    match figure {
        Some(figure) => Ok(value::of(figure, dimension)),
        None => Err(Fault::new(format!("`{}` goes round nothing: it has no orbit", this(given)?.name()))),
    }
}

/// A body or a voyage.
const PLACED: Kind = Kind::Either(&[BODY, VOYAGE]);

/// What has a place: a body, or a voyage as it is now.
enum Placed {
    Body(Body),
    Voyage(Box<Voyage>),
}

impl Placed {
    fn given(given: &Given, index: usize) -> Result<Self, Fault> {
        if VOYAGE.accepts(given.value(index)?) {
            Ok(Self::Voyage(Box::new(given.noun::<Handle>(index)?.voyage())))
        } else {
            Ok(Self::Body(given.noun::<Body>(index)?))
        }
    }

    fn thing(&self) -> Thing<'_> {
        match self {
            Self::Body(body) => Thing::Body(body),
            Self::Voyage(voyage) => Thing::Voyage(voyage),
        }
    }
}

/// Things that do not stand to each other at the epoch of an argument.
fn unrelated(error: &VoyageError, epoch: usize) -> Fault {
    match error {
        VoyageError::Ephemeris(error) => no_place(error),
        VoyageError::OutsideTheRecord { .. } => refused(error).at(epoch),
        VoyageError::NoAngle { at, .. } => Fault::new(format!("`{at}` sees no direction to itself"))
            .help("name three different things, the one that looks in the middle"),
        _ => refused(error),
    }
}

/// The definitions of bodies.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The body's name.",
        returns: (Kind::Text, "as the system writes it"),
        see_also: &["System.body"],
        examples: &[Example::exact("system(\"velm\").Veyra.name", "\"Veyra\"")],
        ..Definition::property("Body", "name", |given| Ok(value::text(this(given)?.name())))
    },
    Definition {
        summary: "The gravitational parameter.",
        returns: (Kind::Of(Dimension::GRAVITATIONAL_PARAMETER), "of the body alone, without its moons"),
        see_also: &["Body.gravity", "Body.gm_system"],
        examples: &[Example::close("system(\"sol\").Earth.gm", "398600.44.km3_s2", "1.km3_s2")],
        ..Definition::property("Body", "gm", |given| {
            Ok(value::of(this(given)?.gm(), Dimension::GRAVITATIONAL_PARAMETER))
        })
    },
    Definition {
        summary: "The gravitational parameter of the body with all that goes round it.",
        returns: (Kind::Of(Dimension::GRAVITATIONAL_PARAMETER), "the body's own where the system does not state it"),
        see_also: &["Body.gm"],
        examples: &[Example::exact("let e = system(\"sol\").Earth; e.gm_system > e.gm", "true")],
        ..Definition::property("Body", "gm_system", |given| {
            Ok(value::of(this(given)?.gm_system(), Dimension::GRAVITATIONAL_PARAMETER))
        })
    },
    Definition {
        summary: "The equatorial radius: altitudes of orbits are counted from it.",
        returns: (LENGTH, "the longest one where the equator is no circle"),
        see_also: &["Body.shape"],
        examples: &[Example::exact("system(\"sol\").Earth.radius", "6378.1366.km")],
        ..Definition::property("Body", "radius", |given| Ok(value::of(this(given)?.radius(), Dimension::LENGTH)))
    },
    Definition {
        summary: "The body that this one goes round.",
        returns: (BODY, "the root has none: an error"),
        see_also: &["Body.moons", "Body.planets"],
        examples: &[Example::exact("system(\"sol\").Moon.parent.name", "\"Earth\"")],
        ..Definition::property("Body", "parent", |given| {
            let body = this(given)?;
            match body.parent() {
                Some(parent) => Ok(value::noun(parent)),
                None => Err(Fault::new(format!("`{}` is the root of its system: it goes round nothing", body.name()))),
            }
        })
    },
    Definition {
        summary: "What goes round this body.",
        returns: (Kind::List, "of bodies, in the system's order; empty where nothing does"),
        see_also: &["Body.planets", "Body.parent"],
        examples: &[Example::exact("system(\"sol\").Mars.moons.len", "2")],
        ..Definition::property("Body", "moons", |given| Ok(bodies(this(given)?.moons())))
    },
    Definition {
        summary: "What goes round the root: the same as its moons, in the word for a star.",
        returns: (Kind::List, "of bodies; a body that is not the root has none"),
        see_also: &["Body.moons"],
        examples: &[Example::exact(
            "system(\"velm\").root.planets.map(|body| body.name)",
            "[\"Brenn\", \"Oru\", \"Veyra\", \"Dovra\"]",
        )],
        ..Definition::property("Body", "planets", |given| {
            let body = this(given)?;
            Ok(bodies(if body.parent().is_none() { body.children() } else { Vec::new() }))
        })
    },
    Definition {
        summary: "The radius of the sphere of influence, inside which conics count from this body.",
        returns: (LENGTH, "a (m/M)^(2/5); the root has none: an error"),
        source: Some("[Curtis2014], chapter 8"),
        see_also: &["Body.hill_radius"],
        examples: &[Example::close("system(\"sol\").Mars.sphere_of_influence", "577000.km", "1000.km")],
        ..Definition::property("Body", "sphere_of_influence", |given| edge(given, this(given)?.sphere_of_influence()))
    },
    Definition {
        summary: "The Hill radius, inside which moons can stay.",
        returns: (LENGTH, "a (1 − e) (m/3M)^(1/3); the root has none: an error"),
        source: Some("[Murray1999], chapter 3"),
        see_also: &["Body.sphere_of_influence"],
        examples: &[Example::exact("let m = system(\"sol\").Mars; m.hill_radius > m.sphere_of_influence", "true")],
        ..Definition::property("Body", "hill_radius", |given| edge(given, this(given)?.hill_radius()))
    },
    Definition {
        summary: "The mean semi-major axis of the body's orbit about its parent.",
        returns: (LENGTH, "as the system states it; the root has none: an error"),
        see_also: &["Body.orbit", "Body.eccentricity", "Body.orbital_period"],
        examples: &[Example::close("system(\"sol\").Earth.semi_major_axis", "1.au", "0.0001.au")],
        ..Definition::property("Body", "semi_major_axis", |given| {
            of_orbit(given, this(given)?.semi_major_axis(), Dimension::LENGTH)
        })
    },
    Definition {
        summary: "The mean eccentricity of the body's orbit about its parent.",
        returns: (Kind::Number, "the root has none: an error"),
        see_also: &["Body.orbit", "Body.semi_major_axis"],
        examples: &[Example::close("system(\"sol\").Earth.eccentricity", "0.0167", "0.0001")],
        ..Definition::property("Body", "eccentricity", |given| {
            of_orbit(given, this(given)?.eccentricity(), Dimension::NUMBER)
        })
    },
    Definition {
        summary: "The mean period of the body's orbit about its parent, by the two-body law with both masses.",
        returns: (TIME, "the root has none: an error"),
        see_also: &["Body.orbit", "Body.spin"],
        examples: &[Example::close("system(\"sol\").Earth.orbital_period", "365.256.days", "0.02.days")],
        ..Definition::property("Body", "orbital_period", |given| {
            of_orbit(given, this(given)?.orbital_period(), Dimension::TIME)
        })
    },
    Definition {
        summary: "The body's radii and flattening.",
        returns: (Kind::Noun("Shape"), ""),
        see_also: &["Body.radius"],
        examples: &[Example::close("system(\"sol\").Earth.shape.polar_radius", "6356.75.km", "10.m")],
        ..Definition::property("Body", "shape", |given| Ok(value::noun(Shape(this(given)?))))
    },
    Definition {
        summary: "How the body turns: sidereal period, pole, whether one face is kept to the parent.",
        returns: (Kind::Noun("Spin"), ""),
        see_also: &["Body.shape"],
        examples: &[Example::exact("system(\"sol\").Moon.spin.locked", "true")],
        ..Definition::property("Body", "spin", |given| Ok(value::noun(Spin(this(given)?))))
    },
    Definition {
        summary: "The body's attraction: at the surface, escape speed, harmonics.",
        returns: (Kind::Noun("Gravity"), ""),
        see_also: &["Body.gm"],
        examples: &[Example::close("system(\"sol\").Earth.gravity.escape_speed", "11.18.km_s", "10.m_s")],
        ..Definition::property("Body", "gravity", |given| Ok(value::noun(Gravity(this(given)?))))
    },
    Definition {
        summary: "The body's air.",
        returns: (Kind::Noun("Air"), "a body without air: an error; `has_air` asks"),
        see_also: &["Body.has_air", "Body.sea"],
        examples: &[Example::exact("system(\"velm\").Maren.air.top > 10.km", "true")],
        ..Definition::property("Body", "air", |given| {
            let body = this(given)?;
            let air = body.air().cloned();
            air.map(value::noun)
                .ok_or_else(|| Fault::new(format!("`{}` has no air", body.name())).help("ask `has_air` first"))
        })
    },
    Definition {
        summary: "The velocity of air that turns with the body, at a place: rigid rotation, no winds of its own.",
        parameters: &[
            Parameter::new("place", VECTOR, "from the body's centre, in the system's inertial axes"),
            Parameter::new("epoch", EPOCH, "when: the pole may move"),
        ],
        returns: (VECTOR, "about the body's centre, the same axes; zero where the body does not turn"),
        see_also: &["Body.air", "Body.spin"],
        examples: &[Example::close(
            "let b = system(\"sol\").Earth; b.air_velocity(vec(7000.km, 0.km, 0.km), epoch(\"2000-01-01T12:00:00 TDB\")).norm",
            "510.44.m_s",
            "0.1.m_s",
        )],
        ..Definition::method("Body", "air_velocity", |given| {
            let (body, epoch) = (this(given)?, given.epoch(1)?);
            let place = given.vector_of(0, Dimension::LENGTH)?;
            Ok(Vector::new(body.air_velocity(&place, epoch), Dimension::SPEED).into_value())
        })
    },
    Definition {
        summary: "Whether the body has air.",
        returns: (Kind::Flag, ""),
        see_also: &["Body.air"],
        examples: &[Example::exact("system(\"velm\").Uldre.has_air", "false")],
        ..Definition::property("Body", "has_air", |given| Ok(this(given)?.air().is_some().into()))
    },
    Definition {
        summary: "The body's sea.",
        returns: (Kind::Noun("Sea"), "a body without a sea: an error; `has_sea` asks"),
        see_also: &["Body.has_sea", "Body.air"],
        examples: &[Example::exact("system(\"velm\").Maren.sea.greatest_depth > 100.m", "true")],
        ..Definition::property("Body", "sea", |given| {
            let body = this(given)?;
            let sea = body.sea().cloned();
            sea.map(value::noun)
                .ok_or_else(|| Fault::new(format!("`{}` has no sea", body.name())).help("ask `has_sea` first"))
        })
    },
    Definition {
        summary: "Whether the body has a sea.",
        returns: (Kind::Flag, ""),
        see_also: &["Body.sea"],
        examples: &[Example::exact("system(\"velm\").Maren.has_sea", "true")],
        ..Definition::property("Body", "has_sea", |given| Ok(this(given)?.sea().is_some().into()))
    },
    Definition {
        summary: "Where the body's places come from.",
        returns: (Kind::Text, "in words"),
        see_also: &["Body.accuracy"],
        examples: &[Example::exact("system(\"sol\").Mars.source.len > 0", "true")],
        ..Definition::property("Body", "source", |given| Ok(value::text(this(given)?.source())))
    },
    Definition {
        summary: "How good the body's places are.",
        returns: (Kind::Text, "in words"),
        see_also: &["Body.source"],
        examples: &[Example::exact("system(\"sol\").Mars.accuracy.len > 0", "true")],
        ..Definition::property("Body", "accuracy", |given| Ok(value::text(this(given)?.accuracy())))
    },
    Definition {
        summary: "Where the body is and how it moves, geometric: without light time.",
        parameters: &[
            Parameter::new("epoch", EPOCH, "when, within the ephemeris"),
            Parameter::optional("about", BODY, "of the same system; its parent when left out"),
        ],
        returns: (Kind::Map, "`r` and `v`, vectors in the system's inertial axes; zero for the root about nothing"),
        see_also: &["Body.orbit", "distance"],
        examples: &[Example::close(
            "let sol = system(\"sol\"); sol.Moon.state(epoch(\"2026-01-01 TDB\"), sol.Earth).r.norm",
            "362000.km",
            "3000.km",
        )],
        ..Definition::method("Body", "state", |given| {
            let (body, epoch) = (this(given)?, given.epoch(0)?);
            let state = if given.has(1) { body.state_about(&given.noun::<Body>(1)?, epoch) } else { body.state(epoch) };
            let state = state.map_err(|error| no_place(&error).at(0))?;
            let mut map = rhai::Map::new();
            map.insert("r".into(), Vector::new(state.position, Dimension::LENGTH).into_value());
            map.insert("v".into(), Vector::new(state.velocity, Dimension::SPEED).into_value());
            Ok(Dynamic::from_map(map))
        })
    },
    Definition {
        summary: "The body's own orbit about its parent at an epoch: the conic through its place and velocity.",
        parameters: &[Parameter::new("epoch", EPOCH, "when, within the ephemeris")],
        returns: (ORBIT, "both masses counted; the root has none: an error"),
        see_also: &["Body.state", "Orbit.semi_major_axis", "synodic_period"],
        examples: &[Example::close(
            "let s = system(\"sol\"); s.Mars.orbit(epoch(\"2026-01-01 TDB\")).period",
            "686.98.days",
            "0.5.days",
        )],
        ..Definition::method("Body", "orbit", |given| {
            let body = this(given)?;
            match Orbit::of_body(&body, given.epoch(0)?).map_err(|error| no_orbit(&error).at(0))? {
                Some(orbit) => Ok(value::noun(orbit)),
                None => Err(Fault::new(format!("`{}` is the root of its system: it goes round nothing", body.name()))),
            }
        })
    },
    Definition {
        summary: "The distance between two bodies, counted from their centres, or voyages.",
        parameters: &[
            Parameter::new("a", PLACED, "from here"),
            Parameter::new("b", PLACED, "to here, of the same system"),
            Parameter::new("epoch", EPOCH, "when, within the ephemeris and the records of the voyages"),
        ],
        returns: (LENGTH, "geometric: without light time"),
        see_also: &["angle", "Body.state"],
        examples: &[
            Example::close(
                "let s = system(\"sol\"); distance(s.Sun, s.Earth, epoch(\"2026-07-06 TDB\"))",
                "1.0166.au",
                "0.0003.au",
            ),
            Example::close(flown!("distance(v, v.body, v.epoch) - v.orbit.altitude"), "6378.1366.km", "1.mm"),
        ],
        ..Definition::function("distance", |given| {
            let (a, b, epoch) = (Placed::given(given, 0)?, Placed::given(given, 1)?, given.epoch(2)?);
            let far = visviva_engine::voyage::distance(&a.thing(), &b.thing(), epoch);
            Ok(value::of(far.map_err(|error| unrelated(&error, 2))?, Dimension::LENGTH))
        })
    },
    Definition {
        summary: "The angle between two bodies or voyages as seen from the one in the middle.",
        parameters: &[
            Parameter::new("a", PLACED, "one side"),
            Parameter::new("b", PLACED, "the one that looks"),
            Parameter::new("c", PLACED, "the other side"),
            Parameter::new("epoch", EPOCH, "when, within the ephemeris and the records of the voyages"),
        ],
        returns: (ANGLE, "from 0 to 180°: the angle at `b`"),
        see_also: &["distance", "phase_angle"],
        examples: &[Example::exact(
            "let s = system(\"sol\"); angle(s.Sun, s.Earth, s.Venus, epoch(\"2026-01-01 TDB\")) < 48.deg",
            "true",
        )],
        ..Definition::function("angle", |given| {
            let (a, b, c) = (Placed::given(given, 0)?, Placed::given(given, 1)?, Placed::given(given, 2)?);
            let seen = visviva_engine::voyage::angle(&a.thing(), &b.thing(), &c.thing(), given.epoch(3)?);
            Ok(value::of(seen.map_err(|error| unrelated(&error, 3))?, Dimension::ANGLE))
        })
    },
];
