//! What a correction is to meet, the noun `Aim`; and what a coast waits for, the noun `Event`.

use serde_json::{Value, json};
use std::fmt::Write as _;
use visviva_engine::arc::pass_bounds;
use visviva_engine::arc::shoot::{Aim, Turn};
use visviva_engine::quantity::Quantity;
use visviva_engine::system::Body;
use visviva_engine::voyage::Goal;

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{ANGLE, BODY, EPOCH, Kind, LENGTH, VECTOR};
use super::ledger::flown;
use super::noun::Noun;
use super::value;
use super::vector::Vector;

/// An aim.
pub(super) const AIM: Kind = Kind::Noun("Aim");
/// An event that has more to it than its name.
pub(super) const EVENT: Kind = Kind::Noun("Event");

/// Something a coast waits for.
#[derive(Debug, Clone, PartialEq)]
pub struct Occasion {
    pub(super) goal: Goal,
}

impl Noun for Occasion {
    const NAME: &'static str = "Event";
    const ABOUT: &'static str = "What a coast waits for, such as the arrival at a body.";

    fn show(&self) -> String {
        self.goal.to_string()
    }

    fn to_json(&self) -> Value {
        json!(self.goal.to_string())
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

impl Noun for Aim {
    const NAME: &'static str = "Aim";
    const ABOUT: &'static str = "What a correction is to meet at a body.";

    fn show(&self) -> String {
        let length = |metres: f64| Quantity::length(metres).show();
        let body = self.body().name();
        let mut text = match self {
            Aim::BPlane { bt, br, .. } => format!("B-plane of {body}: B·T {}, B·R {}", length(*bt), length(*br)),
            Aim::Periapsis { radius, inclination, body: target, .. } => {
                let plane =
                    inclination.map_or(String::new(), |angle| format!(", inclination {}", value::degrees(angle)));
                let (altitude, radius) = (length(radius - target.radius()), length(*radius));
                format!("periapsis at {body}: {altitude} altitude, {radius} radius{plane}")
            }
            Aim::Flyby { radius, inclination, turn, body: target, .. } => {
                let plane =
                    inclination.map_or(String::new(), |angle| format!(", inclination {}", value::degrees(angle)));
                let side = match turn {
                    Some(Turn::Brake) => ", on the side that brakes",
                    Some(Turn::Boost) => ", on the side that boosts",
                    None => "",
                };
                let (altitude, radius) = (length(radius - target.radius()), length(*radius));
                format!("flyby of {body}: {altitude} altitude, {radius} radius{plane}{side}")
            }
            Aim::Intercept { .. } => format!("the centre of {body}"),
        };
        if let Some(epoch) = self.epoch() {
            let _ = write!(text, ", at {}", epoch.show_to_millisecond());
        }
        text
    }

    fn to_json(&self) -> Value {
        let length = |metres: f64| json!({ "value": metres, "unit": "m" });
        let mut object =
            json!({ "body": self.body().name(), "epoch": self.epoch().map(|epoch| Noun::to_json(&epoch)) });
        let more = match self {
            Aim::BPlane { bt, br, .. } => json!({ "b_t": length(*bt), "b_r": length(*br) }),
            Aim::Periapsis { radius, inclination, .. } => json!({
                "periapsis_radius": length(*radius),
                "inclination": inclination.map(|angle| json!({ "value": angle, "unit": "rad" })),
            }),
            Aim::Flyby { radius, inclination, turn, .. } => json!({
                "periapsis_radius": length(*radius),
                "inclination": inclination.map(|angle| json!({ "value": angle, "unit": "rad" })),
                "turn": turn.map(|turn| if turn == Turn::Brake { "brake" } else { "boost" }),
            }),
            Aim::Intercept { .. } => json!({}),
        };
        if let (Some(object), Value::Object(more)) = (object.as_object_mut(), more) {
            object.extend(more);
        }
        object
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

const PERIAPSIS: &[Parameter] = &[
    Parameter::optional("periapsis_altitude", LENGTH, "above the equatorial radius"),
    Parameter::optional("periapsis_radius", LENGTH, "from the centre, instead of the altitude"),
    Parameter::optional(
        "inclination",
        ANGLE,
        "to the body's equator, 0 to 180°, not below the declination of the approach; free when left out",
    ),
    Parameter::optional("epoch", EPOCH, "of periapsis; free when left out"),
];

const FLYBY: &[Parameter] = &[
    Parameter::optional("periapsis_altitude", LENGTH, "above the equatorial radius; above the air, where there is any"),
    Parameter::optional("periapsis_radius", LENGTH, "from the centre, instead of the altitude"),
    Parameter::optional(
        "turn",
        Kind::Text,
        "\"brake\": the side that lowers the energy about the parent, ahead of the body; \"boost\": the one that raises it; the \
         nearer one when left out",
    ),
    Parameter::optional(
        "inclination",
        ANGLE,
        "to the body's equator, 0 to 180°, not below the declination of the approach; free when left out",
    ),
    Parameter::optional("epoch", EPOCH, "of periapsis; free when left out"),
];

const POINT: &[Parameter] = &[
    Parameter::new("t", LENGTH, "B·T: along T = S × pole, with S the direction of the incoming asymptote"),
    Parameter::new("r", LENGTH, "B·R: along R = S × T"),
    Parameter::optional("pole", VECTOR, "k of the plane, inertial; the body's pole when left out"),
    Parameter::optional("epoch", EPOCH, "of periapsis; free when left out"),
];

fn periapsis(given: &Given) -> Answer {
    let (body, options) = (given.noun::<Body>(0)?, given.options(1)?);
    let Some(radius) = super::orbit::distance(&body, &options, "periapsis_radius", "periapsis_altitude")? else {
        return Err(Fault::new("this aim says no periapsis")
            .help("give it one: #{ periapsis_altitude: 300.km }")
            .at(1));
    };
    if radius.is_nan() || radius <= 0.0 {
        return Err(Fault::new(format!("a periapsis radius of {} is none", Quantity::length(radius).show())).at(1));
    }
    Ok(value::noun(Aim::Periapsis {
        body,
        radius,
        inclination: options.si("inclination")?,
        epoch: options.epoch("epoch")?,
    }))
}

fn flyby(given: &Given) -> Answer {
    let (body, options) = (given.noun::<Body>(0)?, given.options(1)?);
    let Some(radius) = super::orbit::distance(&body, &options, "periapsis_radius", "periapsis_altitude")? else {
        return Err(Fault::new("this aim says no periapsis")
            .help("give it one: #{ periapsis_altitude: 300.km, turn: \"brake\" }")
            .at(1));
    };
    let key = if options.has("periapsis_radius") { "periapsis_radius" } else { "periapsis_altitude" };
    pass_bounds::clear_of_ground(&body, radius, None).map_err(|error| {
        let least = Quantity::length(pass_bounds::least_radius(&body) - body.radius()).show();
        options
            .fault(key, error.to_string())
            .help(format!("stay at or above {least}; `periapsis_aim` is for what enters the air"))
    })?;
    let turn = match options.text("turn")?.as_deref() {
        None => None,
        Some("brake") => Some(Turn::Brake),
        Some("boost") => Some(Turn::Boost),
        Some(other) => {
            return Err(options
                .fault("turn", format!("`{other}` is no turn"))
                .help("write \"brake\" or \"boost\", or leave it out"));
        }
    };
    let (inclination, epoch) = (options.si("inclination")?, options.epoch("epoch")?);
    Ok(value::noun(Aim::Flyby { body, radius, inclination, turn, epoch }))
}

fn point(given: &Given) -> Answer {
    let (body, options) = (given.noun::<Body>(0)?, given.options(1)?);
    let pole = match options.noun::<Vector>("pole")? {
        None => None,
        Some(pole) => Some(
            pole.components
                .try_normalize(0.0)
                .ok_or_else(|| options.fault("pole", "a pole of zeros has no direction"))?,
        ),
    };
    Ok(value::noun(Aim::BPlane {
        body,
        bt: options.si("t")?.unwrap_or_default(),
        br: options.si("r")?.unwrap_or_default(),
        pole,
        epoch: options.epoch("epoch")?,
    }))
}

/// The definitions of aims and events.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The event of entering a body's sphere of influence.",
        parameters: &[Parameter::new("body", BODY, "of the voyage's system")],
        returns: (EVENT, "for `coast_to`"),
        see_also: &["Voyage.coast_to"],
        examples: &[Example::exact("print(arrival(system(\"sol\").Moon))", "()")],
        ..Definition::function("arrival", |given| {
            Ok(value::noun(Occasion { goal: Goal::Arrival(given.noun::<Body>(0)?) }))
        })
    },
    Definition {
        summary: "The aim of a periapsis at a body: how high, and perhaps in which plane and when.",
        parameters: &[
            Parameter::new("body", BODY, "that is arrived at or passed, or that the craft is about already"),
            Parameter::new("demands", Kind::Options(PERIAPSIS), "the fewer, the less Δv"),
        ],
        returns: (AIM, "for `correct`"),
        source: Some("aim and periapsis of a hyperbola, [Battin1999], section 9.2"),
        see_also: &["Voyage.correct", "flyby_aim", "b_plane"],
        examples: &[Example::exact(
            "print(periapsis_aim(system(\"sol\").Mars, #{ periapsis_altitude: 400.km, inclination: 45.deg }))",
            "()",
        )],
        ..Definition::function("periapsis_aim", periapsis)
    },
    Definition {
        summary: "The aim of a flyby of a body: how low, on which side, and perhaps in which plane and when.",
        parameters: &[
            Parameter::new("body", BODY, "that is passed"),
            Parameter::new("demands", Kind::Options(FLYBY), "the fewer, the less Δv"),
        ],
        returns: (AIM, "for `correct`; a pass below the ground, in the air or through the ring is refused"),
        source: Some("aim and periapsis of a hyperbola, [Battin1999], section 9.2; the sides, section 9.4"),
        see_also: &["Voyage.correct", "flyby", "periapsis_aim", "b_plane"],
        examples: &[Example::exact(
            "print(flyby_aim(system(\"velm\").Keld, #{ periapsis_altitude: 340.km, turn: \"brake\" }))",
            "()",
        )],
        ..Definition::function("flyby_aim", flyby)
    },
    Definition {
        summary: "A point in the B-plane of a body as aim.",
        parameters: &[
            Parameter::new("body", BODY, "that is arrived at or passed"),
            Parameter::new("point", Kind::Options(POINT), "B·T and B·R"),
        ],
        returns: (AIM, "for `correct`"),
        source: Some("[Kizner1961]"),
        see_also: &["Voyage.correct", "periapsis_aim"],
        examples: &[Example::exact("print(b_plane(system(\"sol\").Mars, #{ t: 7000.km, r: -500.km }))", "()")],
        ..Definition::function("b_plane", point)
    },
    Definition {
        summary: "The centre of a body at an epoch as aim: what an arc from centre to centre is for.",
        parameters: &[
            Parameter::new("body", BODY, "that is met"),
            Parameter::new("epoch", EPOCH, "when it is met, its own gravity left out"),
        ],
        returns: (AIM, "for `correct`"),
        see_also: &["Voyage.correct"],
        examples: &[Example::exact(flown!("print(meeting(system(\"sol\").Mars, v.epoch + 300.days))"), "()")],
        ..Definition::function("meeting", |given| {
            Ok(value::noun(Aim::Intercept { body: given.noun::<Body>(0)?, epoch: given.epoch(1)? }))
        })
    },
];
