//! The noun `Orbit`: a conic about a body, and the ways to make one.

use std::fmt::Write as _;

use serde_json::{Value, json};
use visviva_engine::arc::approach::Approach;
use visviva_engine::orbit::{Anomaly, Orbit, Placement, Shape};
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::Body;
use visviva_engine::time::Epoch;
use visviva_engine::vector::Mat3;

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{ANGLE, BODY, EPOCH, Kind, LENGTH, ORBIT, TIME, VECTOR};
use super::noun::Noun;
use super::options::Options;
use super::refusal::no_orbit;
use super::value;

impl Noun for Orbit {
    const NAME: &'static str = "Orbit";
    const ABOUT: &'static str = "A conic about a body, with the craft's place on it at an epoch.";

    fn show(&self) -> String {
        let length = |metres: f64| Quantity::length(metres).show();
        let mut text = format!("orbit about {} at {}", self.body().name(), self.epoch().show_to_millisecond());
        let mut row = |name: &str, value: String| {
            let _ = write!(text, "\n  {name:<24}{value}");
        };
        let low = self.periapsis_radius();
        row("periapsis", format!("{} altitude, {} radius", length(self.periapsis_altitude()), length(low)));
        if let (Some(altitude), Some(radius)) = (self.apoapsis_altitude(), self.apoapsis_radius()) {
            row("apoapsis", format!("{} altitude, {} radius", length(altitude), length(radius)));
        }
        match (self.period(), self.v_infinity()) {
            (Some(period), _) => row("period", Quantity::time(period).show()),
            (None, Some(excess)) => row("v-infinity", Quantity::speed(excess).show()),
            (None, None) => row("period", "none: a parabola".to_owned()),
        }
        if let Ok(elements) = self.elements() {
            let angle = value::degrees;
            row("eccentricity", value::show_number((elements.eccentricity * 1e6).round() / 1e6));
            let plane = if self.body().parent().is_none() { "reference plane" } else { "equator" };
            row("inclination", format!("{} to the {plane}", angle(elements.inclination)));
            row("ascending node", angle(elements.ascending_node));
            row("argument of periapsis", angle(elements.argument_of_periapsis));
            row("true anomaly", angle(elements.true_anomaly));
        }
        row("now at", format!("{} altitude, {}", length(self.altitude()), Quantity::speed(self.speed()).show()));
        text
    }

    fn to_json(&self) -> Value {
        let state = self.state();
        let vector = |v: &visviva_engine::vector::Vec3, unit: &str| json!({ "value": [v.x, v.y, v.z], "unit": unit, "frame": "inertial" });
        json!({
            "body": self.body().name(),
            "epoch": Noun::to_json(&self.epoch()),
            "r": vector(&state.position, "m"),
            "v": vector(&state.velocity, "m/s"),
            "elements": super::elements::Elements::of(self, super::elements::Plane::Body).ok().map(|elements| elements.to_json()),
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

/// The axes of a frame by the name that scripts use, columns in inertial axes.
pub(super) fn frame(body: &Body, options: &Options) -> Result<Mat3, Fault> {
    match options.text("frame")?.as_deref() {
        None => Ok(body.orbit_plane()),
        Some("reference") => Ok(body.system().plane()),
        Some("equator") => Ok(body.equator(body.system().epoch())),
        Some(other) => Err(options
            .fault("frame", format!("there is no frame `{other}`"))
            .help("the frames are \"equator\" and \"reference\"")),
    }
}

/// The epoch among options; that of the system when it was left out.
fn epoch(body: &Body, options: &Options) -> Result<Epoch, Fault> {
    Ok(options.epoch("epoch")?.unwrap_or_else(|| body.system().epoch()))
}

/// A distance that may be given as a radius or as an altitude.
pub(super) fn distance(body: &Body, options: &Options, radius: &str, altitude: &str) -> Result<Option<f64>, Fault> {
    match (options.si(radius)?, options.si(altitude)?) {
        (Some(_), Some(_)) => Err(options
            .fault(altitude, format!("`{radius}` and `{altitude}` say the same thing twice"))
            .help("give one of the two")),
        (Some(radius), None) => Ok(Some(radius)),
        (None, Some(altitude)) => Ok(Some(body.radius() + altitude)),
        (None, None) => Ok(None),
    }
}

/// How the conic lies and where on it the craft is.
fn placement(options: &Options) -> Result<Placement, Fault> {
    let mean = if options.knows("mean_anomaly") { options.si("mean_anomaly")? } else { None };
    let anomaly = match (options.si("true_anomaly")?, mean) {
        (Some(_), Some(_)) => {
            return Err(options
                .fault("mean_anomaly", "`true_anomaly` and `mean_anomaly` say the same thing twice")
                .help("give one of the two"));
        }
        (Some(anomaly), None) => Anomaly::True(anomaly),
        (None, Some(mean)) => Anomaly::Mean(mean),
        (None, None) => Anomaly::True(0.0),
    };
    Ok(Placement {
        inclination: options.si("inclination")?.unwrap_or(0.0),
        ascending_node: options.si("ascending_node")?.unwrap_or(0.0),
        argument_of_periapsis: options.si("argument_of_periapsis")?.unwrap_or(0.0),
        anomaly,
    })
}

const WAYS: &str = "an orbit is told by two of: `periapsis_altitude` (or `_radius`), `apoapsis_altitude` (or `_radius`), \
                    `semi_major_axis`, `period`, `eccentricity`";

/// Size and form, from any two figures that fix them.
fn shape(body: &Body, options: &Options) -> Result<Shape, Fault> {
    let low = distance(body, options, "periapsis_radius", "periapsis_altitude")?;
    let high = distance(body, options, "apoapsis_radius", "apoapsis_altitude")?;
    let (axis, period) = (options.si("semi_major_axis")?, options.si("period")?);
    let eccentricity = options.number("eccentricity")?;
    Ok(match (low, high, axis, period, eccentricity) {
        (Some(periapsis_radius), Some(apoapsis_radius), None, None, None) => {
            Shape::Apsides { periapsis_radius, apoapsis_radius }
        }
        (Some(periapsis_radius), None, None, None, Some(eccentricity)) => {
            Shape::Periapsis { periapsis_radius, eccentricity }
        }
        (None, None, Some(semi_major_axis), None, Some(eccentricity)) => {
            Shape::SemiMajorAxis { semi_major_axis, eccentricity }
        }
        (None, None, None, Some(period), Some(eccentricity)) => Shape::Period { period, eccentricity },
        (Some(periapsis_radius), None, None, Some(period), None) => {
            Shape::PeriapsisAndPeriod { periapsis_radius, period }
        }
        (Some(periapsis_radius), None, Some(semi_major_axis), None, None) => {
            Shape::PeriapsisAndAxis { periapsis_radius, semi_major_axis }
        }
        _ => {
            let given = [low.is_some(), high.is_some(), axis.is_some(), period.is_some(), eccentricity.is_some()];
            let count = given.iter().filter(|given| **given).count();
            let what = match count {
                0 | 1 => "this says too little about the size and form of the orbit",
                2 => "size and form of an orbit do not follow from these two",
                _ => "this says more than size and form of an orbit leave open",
            };
            return Err(Fault::new(what).help(WAYS).at(1));
        }
    })
}

const NODE: &str = "of the ascending node, from the frame's x axis; 0 when left out";
const FRAME: &str = "\"equator\" or \"reference\"; the equator, about the root the reference plane, when left out";

const ORBIT_OPTIONS: &[Parameter] = &[
    Parameter::optional("semi_major_axis", LENGTH, "negative for a hyperbola"),
    Parameter::optional("eccentricity", Kind::Number, "0 for a circle, 1 for a parabola, more for a hyperbola"),
    Parameter::optional("periapsis_radius", LENGTH, "lowest distance from the centre"),
    Parameter::optional("periapsis_altitude", LENGTH, "lowest height above the equatorial radius"),
    Parameter::optional("apoapsis_radius", LENGTH, "greatest distance from the centre"),
    Parameter::optional("apoapsis_altitude", LENGTH, "greatest height above the equatorial radius"),
    Parameter::optional("period", TIME, "of an ellipse"),
    Parameter::optional("inclination", ANGLE, "0 to 180°; 0 when left out"),
    Parameter::optional("ascending_node", ANGLE, NODE),
    Parameter::optional("argument_of_periapsis", ANGLE, "from the node along the motion; 0 when left out"),
    Parameter::optional("true_anomaly", ANGLE, "of the craft, from periapsis; 0 when left out"),
    Parameter::optional("mean_anomaly", ANGLE, "of the craft, instead of the true one"),
    Parameter::optional("epoch", EPOCH, "when the craft is there; the system's epoch when left out"),
    Parameter::optional("frame", Kind::Text, FRAME),
];

const HYPERBOLA_OPTIONS: &[Parameter] = &[
    Parameter::new(
        "v_inf",
        Kind::Either(&[super::kind::SPEED, VECTOR]),
        "excess speed, or the excess velocity on the way in as a vector",
    ),
    Parameter::optional("periapsis_radius", LENGTH, "lowest distance from the centre"),
    Parameter::optional("periapsis_altitude", LENGTH, "lowest height above the equatorial radius"),
    Parameter::optional("inclination", ANGLE, "with an excess speed: 0 to 180°; 0 when left out"),
    Parameter::optional("ascending_node", ANGLE, "with an excess speed: from the frame's x axis; 0 when left out"),
    Parameter::optional("argument_of_periapsis", ANGLE, "with an excess speed: from the node; 0 when left out"),
    Parameter::optional("true_anomaly", ANGLE, "of the craft, from periapsis, negative before it; 0 when left out"),
    Parameter::optional(
        "aim_angle",
        ANGLE,
        "with a vector: of the aim in the B-plane, from T towards R; 0 (with the rotation) when left out",
    ),
    Parameter::optional("epoch", EPOCH, "when the craft is there; the system's epoch when left out"),
    Parameter::optional("frame", Kind::Text, FRAME),
];

fn hyperbola(given: &Given) -> Answer {
    let (body, options) = (given.noun::<Body>(0)?, given.options(1)?);
    let epoch = epoch(&body, &options)?;
    let Some(periapsis_radius) = distance(&body, &options, "periapsis_radius", "periapsis_altitude")? else {
        return Err(Fault::new("a hyperbola needs its lowest point")
            .help("add `periapsis_altitude: 300.km` or `periapsis_radius: ...`")
            .at(1));
    };
    let refuse = |keys: &[&str], why: &str| match keys.iter().find(|key| options.has(key)) {
        Some(key) => Err(options.fault(key, format!("`{key}` {why}"))),
        None => Ok(()),
    };
    if let Some(v_infinity) = options.value("v_inf").and_then(value::scalar).map(|speed| speed.value) {
        refuse(&["aim_angle"], "belongs to an excess velocity that is given as a vector")?;
        let shape = Shape::Hyperbola { v_infinity, periapsis_radius };
        let made = Orbit::shaped(&body, shape, placement(&options)?, epoch, &frame(&body, &options)?);
        return made.map(value::noun).map_err(|error| no_orbit(&error).at(1));
    }
    refuse(
        &["inclination", "ascending_node", "argument_of_periapsis", "frame"],
        "follows from an excess velocity that is given as a vector: say `aim_angle`",
    )?;
    let vector = options.noun::<super::vector::Vector>("v_inf")?;
    let Some(v_infinity) = vector.filter(|vector| vector.dimension == Dimension::SPEED) else {
        return Err(options.fault("v_inf", "`v_inf` is a speed, or a vector of speeds"));
    };
    let angle = options.si("aim_angle")?.unwrap_or(0.0);
    let pole = body.orbit_plane().column(2).into_owned();
    let aimed = Approach::low_point(Orbit::gm_of(&body), &v_infinity.components, periapsis_radius, angle, &pole)
        .map_err(|error| Fault::from(error).at(1))?;
    let made = Orbit::approaching(&body, aimed.v_infinity, aimed.aim, epoch).and_then(|orbit| {
        match options.si("true_anomaly") {
            Ok(Some(anomaly)) => orbit.with_true_anomaly(anomaly),
            _ => Ok(orbit),
        }
    });
    made.map(value::noun).map_err(|error| no_orbit(&error).at(1))
}

/// The definitions that make orbits.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "A circular orbit at an altitude above a body's equatorial radius.",
        parameters: &[
            Parameter::new("body", BODY, "what is orbited"),
            Parameter::new("altitude", LENGTH, "above the equatorial radius, inside the sphere of influence"),
            Parameter::optional("epoch", EPOCH, "when the craft is at the node; the system's epoch when left out"),
        ],
        returns: (ORBIT, "in the body's equator, about the root in the reference plane"),
        see_also: &["orbit", "hyperbola", "Orbit.period"],
        examples: &[
            Example::close("circular(system(\"sol\").Earth, 300.km).period", "90.52.min", "1.s"),
            Example::exact("circular(system(\"velm\").Veyra, 180.km).eccentricity", "0"),
        ],
        ..Definition::function("circular", |given| {
            let body = given.noun::<Body>(0)?;
            let epoch = if given.has(2) { given.epoch(2)? } else { body.system().epoch() };
            Orbit::circular(&body, given.length(1)?, epoch).map(value::noun).map_err(|error| no_orbit(&error).at(1))
        })
    },
    Definition {
        summary: "An orbit by two figures for its size and form, and angles for how it lies.",
        parameters: &[
            Parameter::new("body", BODY, "what is orbited"),
            Parameter::new(
                "elements",
                Kind::Options(ORBIT_OPTIONS),
                "two for size and form; angles as far as they matter",
            ),
        ],
        returns: (ORBIT, "with the craft at the given anomaly at the epoch"),
        see_also: &["circular", "hyperbola", "orbit_from", "Orbit.in_frame"],
        examples: &[
            Example::close(
                "orbit(system(\"sol\").Earth, #{ periapsis_altitude: 300.km, apoapsis_altitude: 35786.km }).eccentricity",
                "0.7265",
                "0.0001",
            ),
            Example::close(
                "orbit(system(\"sol\").Mars, #{ period: 24.6229.hours, eccentricity: 0.1 }).semi_major_axis",
                "20428.km",
                "2.km",
            ),
        ],
        ..Definition::function("orbit", |given| {
            let (body, options) = (given.noun::<Body>(0)?, given.options(1)?);
            let (shape, placement) = (shape(&body, &options)?, placement(&options)?);
            Orbit::shaped(&body, shape, placement, epoch(&body, &options)?, &frame(&body, &options)?)
                .map(value::noun)
                .map_err(|error| no_orbit(&error).at(1))
        })
    },
    Definition {
        summary: "The orbit through a place with a velocity.",
        parameters: &[
            Parameter::new("body", BODY, "what is orbited"),
            Parameter::new("r", VECTOR, "of lengths, from the centre, in the system's inertial axes"),
            Parameter::new("v", VECTOR, "of speeds, about the body"),
            Parameter::new("epoch", EPOCH, "when the craft is there"),
        ],
        returns: (ORBIT, ""),
        see_also: &["orbit", "Orbit.r", "Orbit.v"],
        examples: &[Example::close(
            "orbit_from(system(\"sol\").Earth, vec(7000.km, 0.km, 0.km), vec(0.km_s, 8.km_s, 0.km_s), \
             epoch(\"2031-03-12 TDB\")).periapsis_radius",
            "7000.km",
            "1.mm",
        )],
        ..Definition::function("orbit_from", |given| {
            let body = given.noun::<Body>(0)?;
            let position = given.vector_of(1, Dimension::LENGTH)?;
            let velocity = given.vector_of(2, Dimension::SPEED)?;
            let state = visviva_engine::conic::State::new(position, velocity);
            Orbit::new(body, given.epoch(3)?, state).map(value::noun).map_err(|error| no_orbit(&error).at(1))
        })
    },
    Definition {
        summary: "A hyperbola by its excess speed, or by its excess velocity on the way in, and its lowest point.",
        parameters: &[
            Parameter::new("body", BODY, "what is passed"),
            Parameter::new(
                "elements",
                Kind::Options(HYPERBOLA_OPTIONS),
                "v-infinity, the lowest point, and how it lies",
            ),
        ],
        returns: (ORBIT, "with the craft at periapsis at the epoch, unless a true anomaly is given"),
        source: Some("[Battin1999], section 3.6"),
        see_also: &["orbit", "approach", "flyby"],
        examples: &[
            Example::close(
                "hyperbola(system(\"sol\").Earth, #{ v_inf: 3.km_s, periapsis_altitude: 300.km }).v_inf",
                "3.km_s",
                "1e-9.m_s",
            ),
            Example::close(
                "hyperbola(system(\"sol\").Mars, #{ v_inf: vec(2.km_s, 1.km_s, 0.km_s), periapsis_altitude: 400.km }).periapsis_altitude",
                "400.km",
                "1.mm",
            ),
        ],
        ..Definition::function("hyperbola", hyperbola)
    },
];
